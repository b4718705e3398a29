//! What an alert says of itself, and what is said of one that is odd.

use serde_json::{Value, json};
use yardless_weather::{Outcome, Ruling, Verdict, weigh};

use crate::{ICE, alerts, book, collection, elsewhere, entries, feature, now, weighed};

/// The only alert of a feature, and all that came of it.
fn told(over: &Value) -> (Ruling, Outcome) {
    let outcome = weighed(&book(&json!({})), &[feature(over)]);
    assert_eq!(outcome.faults, []);
    (outcome.alerts[0].clone(), outcome)
}

#[track_caller]
fn passed_over(told: &Ruling) -> &str {
    match &told.verdict {
        Verdict::PassedOver(why) => why,
        other => panic!("{other:?}"),
    }
}

#[test]
fn alert_that_says_that_it_is_over_does_nothing() {
    // CAP 1.2, 3.2.2: responseType AllClear, "no longer poses a threat"; urgency Past, "no longer required".
    for (over, word) in [
        (json!({ "response": "AllClear" }), "AllClear"),
        (json!({ "response": ["Monitor", "allclear"] }), "AllClear"),
        (json!({ "urgency": "Past" }), "Past"),
    ] {
        let (told, outcome) = told(&over);
        assert!(passed_over(&told).contains("over") && passed_over(&told).contains(word), "{told:?}");
        assert_eq!(entries(&outcome), json!([]));
    }
    // No word of `severity` says so, nor does any other response or urgency.
    for over in [
        json!({ "severity": "Minor" }),
        json!({ "severity": "Unknown", "certainty": "Unlikely", "urgency": "Unknown" }),
        json!({ "response": "None", "urgency": "Future" }),
        json!({ "response": null, "urgency": null }),
    ] {
        assert!(matches!(told(&over).0.verdict, Verdict::Counts(_)), "{over}");
    }
    // In CAP the English part counts; a response may be given several times.
    let english = ICE.rfind("<urgency>").expect("there");
    let mut past = ICE.to_owned();
    past.replace_range(english..english + "<urgency>Expected".len(), "<urgency>Past");
    let mut clear = ICE.to_owned();
    clear.insert_str(english, "<responseType>Monitor</responseType><responseType> AllClear </responseType>");
    let first = ICE.find("<urgency>").expect("there");
    let mut french = ICE.to_owned();
    french.replace_range(first..first + "<urgency>Expected".len(), "<urgency>Past");
    let counts = |text: &str| weigh(&book(&json!({})), &alerts(text), &[], now()).entries.len();
    assert_eq!([&past, &clear, &french, &ICE.to_owned()].map(|text| counts(text)), [0, 0, 1, 1]);
}

#[test]
fn update_that_says_that_it_is_over_still_replaces_what_was_before() {
    let first = feature(&json!({ "id": "a", "sent": "2026-12-08T06:00:00Z" }));
    let update = feature(&json!({
        "id": "b", "messageType": "Update", "urgency": "Past", "response": "AllClear", "sent": "2026-12-08T07:00:00Z",
        "references": [{ "identifier": "a", "sender": "s" }]
    }));
    let outcome = weighed(&book(&json!({})), &[first, update]);
    assert_eq!(entries(&outcome), json!([]));
    assert_eq!(passed_over(&outcome.alerts[0]), "replaced by b");
    assert!(passed_over(&outcome.alerts[1]).contains("AllClear"), "{:?}", outcome.alerts[1]);
}

#[test]
fn alert_of_more_than_60_days_holds_for_60_and_stops_nothing_else() {
    // From Tuesday 8 December 07:00, sixty days: to Saturday 6 February 2027, 07:00.
    let (long, outcome) = told(&json!({ "ends": "2027-03-08T11:00:00Z" }));
    assert_eq!((long.on.expect("half-days").to_string().as_str(), long.shortened), ("2026-12-08/2027-02-06 am", true));
    assert_eq!(entries(&outcome)[0]["on"], "2026-12-08/2027-02-06 am");
    // Sixty days to the second are not too many.
    let (just, _) = told(&json!({ "ends": "2027-02-06T12:00:00Z" }));
    assert_eq!((just.on, just.shortened), (long.on, false));
    // One that begins later holds for sixty days from then; one that began long ago and goes on, from now (06:00).
    let (later, _) = told(&json!({ "onset": "2027-01-01T05:00:00Z", "ends": "2027-12-01T05:00:00Z" }));
    assert_eq!(later.on.expect("half-days").to_string(), "2027-01-01/2027-03-01");
    let ago = json!({ "onset": "2026-06-01T12:00:00Z", "ends": "2027-06-01T12:00:00Z" });
    assert_eq!((told(&ago).0.on, told(&ago).0.shortened), (long.on, true));
    let nearly_over = json!({ "onset": "2026-06-01T12:00:00Z", "ends": "2026-12-09T04:00:00Z" });
    let (nearly_over, _) = told(&nearly_over);
    assert_eq!((nearly_over.on.expect("half-days").to_string().as_str(), nearly_over.shortened), ("2026-12-08", false));
    // However long it lasts, what is over is over and what is elsewhere is elsewhere.
    let (over, _) = told(&json!({ "onset": "2020-06-01T12:00:00Z", "ends": "2026-12-08T10:00:00Z" }));
    assert!(passed_over(&over).starts_with("over since") && !over.shortened, "{over:?}");
    let far = weighed(&book(&json!({})), &[elsewhere(&json!({ "ends": "2027-06-01T12:00:00Z" }))]);
    assert!(far.alerts[0].elsewhere() && !far.alerts[0].shortened, "{far:?}");
    // Without an end and with an expiry far off it is both.
    let (open, _) = told(&json!({ "onset": null, "ends": null, "expires": "2099-01-01T00:00:00Z" }));
    assert!(open.shortened && !open.open_ended, "{open:?}");
}

#[test]
fn area_in_codes_of_other_systems_is_told_as_that() {
    let shown = |text: &str| {
        let outcome = weigh(&book(&json!({})), &alerts(text), &[], now());
        let told = outcome.alerts[0].clone();
        // Which of the places lie there cannot be said of any of them.
        assert_eq!(told.unsure[..], ["hollow", "rim", "hole", "far"]);
        match told.verdict {
            Verdict::Shown(why) => why,
            other => panic!("{other:?}"),
        }
    };
    let one = |geocode: Value| collection(&[feature(&json!({ "geocode": geocode }))]);
    let other = shown(&one(json!({ "CLC": ["012345"], "EMMA_ID": ["ZZ001"], "UGC": [] })));
    assert!(other.contains("by codes of CLC, EMMA_ID") && other.contains("UGC and SAME"), "{other}");
    assert!(shown(&one(json!({}))).contains("neither an outline nor codes"));
    let from = ICE.rfind("<polygon>").expect("there");
    let to = ICE.rfind("</area>").expect("there");
    let coded = |codes: &str| format!("{}{codes}{}", &ICE[..from], &ICE[to..]);
    let code = "<geocode><valueName>layer:other</valueName><value>0123</value></geocode>";
    assert!(shown(&coded(&code.repeat(2))).contains("by codes of layer:other,"), "{}", shown(&coded(code)));
    assert!(shown(&coded("")).contains("neither an outline nor codes"));
    // Beside a code that is known it is no news.
    let known = coded(&format!("{code}<geocode><valueName>same</valueName><value>099007</value></geocode>"));
    let outcome = weigh(&book(&json!({})), &alerts(&known), &[], now());
    assert_eq!(outcome.alerts[0].places[..], ["hollow"]);
}

#[test]
fn alert_that_was_sent_after_now_is_told_and_counts() {
    let (ahead, outcome) = told(&json!({ "sent": "2026-12-08T11:00:01Z" }));
    assert!(ahead.ahead && matches!(ahead.verdict, Verdict::Counts(_)), "{ahead:?}");
    assert_eq!(outcome.entries.len(), 1);
    assert!(!told(&json!({ "sent": "2026-12-08T11:00:00Z" })).0.ahead);
}

#[test]
fn latest_of_several_that_replace_an_alert_is_named() {
    let refer = |id: &str, kind: &str, sent: &str| {
        feature(&json!({
            "id": id, "messageType": kind, "sent": sent, "references": [{ "identifier": "a", "sender": "s" }]
        }))
    };
    let chain = [
        feature(&json!({ "id": "a", "sent": "2026-12-08T06:00:00Z" })),
        refer("b", "Update", "2026-12-08T07:00:00Z"),
        refer("c", "Cancel", "2026-12-08T08:00:00Z"),
        refer("d", "Cancel", "2026-12-08T05:00:00Z"),
    ];
    for order in [[0, 1, 2, 3], [3, 2, 1, 0], [1, 0, 3, 2]] {
        let outcome = weighed(&book(&json!({})), &order.map(|at| chain[at].clone()));
        let a = outcome.alerts.iter().find(|told| told.id == "a").expect("told");
        assert_eq!(passed_over(a), "taken back by c", "{order:?}");
    }
}
