//! What is kept of a form, what is told of one that cannot be, and what becomes of two at once.

use serde_json::{Value, json};

use super::service::{Service, filled, hidden, with};

fn fields(all: &[(String, String)]) -> Vec<(&str, &str)> {
    all.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect()
}

#[test]
fn form_sent_back_as_it_came_changes_nothing_and_one_field_only_itself() {
    let service = Service::start();
    let owner = service.owner();
    let (revision, before) = owner.book();
    let page = owner.get("/book/jobs/of/alder-attic").body;
    let form = filled(&page);
    assert_eq!(owner.post_bare("/book/jobs/of/alder-attic", &fields(&form)).status, 303);
    assert_eq!(owner.book(), (revision, before.clone()));
    let changed = with(&form, "due", "2026-12-21");
    assert_eq!(owner.post_bare("/book/jobs/of/alder-attic", &changed).status, 303);
    let mut expected = before;
    expected["jobs"][1]["due"] = "2026-12-21".into();
    assert_eq!(owner.book(), (revision + 1, expected));
    let told = owner.get("/changes").body;
    assert!(told.contains("Changed the job Alder attic: wanted by") && told.contains("Rae Owner"), "{told}");
}

#[test]
fn every_fault_is_told_at_its_field_and_nothing_typed_is_lost() {
    let service = Service::start();
    let owner = service.owner();
    let before = owner.book();
    let form = filled(&owner.get("/book/jobs/of/alder-attic").body);
    let mut sent = with(&form, "due", "2026-02-30");
    for (name, value) in &mut sent {
        match *name {
            "steps.0.long" => *value = "many",
            "steps.2.ways.0.needs.0.count" => *value = "0",
            "contact" => *value = "typed with care",
            _ => {}
        }
    }
    let came = owner.post_bare("/book/jobs/of/alder-attic", &sent);
    assert_eq!(came.status, 422);
    assert!(came.body.contains("3 things are wrong"), "{}", came.body);
    for (field, value) in [("due", "2026-02-30"), ("steps.0.long", "many"), ("steps.2.ways.0.needs.0.count", "0")] {
        let hint = element(&came.body, &format!("id=\"{field}-hint\""), "</p>");
        assert!(hint.contains("<strong class=\"wrong\">"), "{field}: {hint}");
        let input = element(&came.body, &format!("<input id=\"{field}\""), ">");
        assert!(input.contains(&format!("value=\"{value}\"")) && input.contains("aria-invalid=\"true\""), "{input}");
    }
    assert!(came.body.contains("typed with care"));
    assert_eq!(owner.book(), before);
}

/// A page's text from what names an element up to where it ends.
fn element<'p>(page: &'p str, names: &str, end: &str) -> &'p str {
    let from = page.split_once(names).unwrap_or_else(|| panic!("no {names}")).1;
    from.split_once(end).unwrap_or_else(|| panic!("{names} does not end")).0
}

#[test]
fn new_member_is_named_by_its_name_and_removed_again() {
    let service = Service::start();
    let owner = service.owner();
    let page = owner.get("/book/places/new").body;
    let form = filled(&page);
    let sent = with(&form, "name", "Fern Hollow");
    assert_eq!(owner.post_bare("/book/places/new", &sent).status, 303);
    let last = |book: &Value| book["places"].as_array().and_then(|all| all.last().cloned());
    let many = |book: &Value| book["places"].as_array().map(Vec::len);
    let (_, book) = owner.book();
    assert_eq!(last(&book), Some(json!({ "name": "Fern Hollow", "id": "fern-hollow" })));
    // A place that something uses cannot go; this one can.
    let base = hidden(&owner.get("/book/places/of/drive").body, "base").to_owned();
    let used = owner.post("/book/places/of/drive/remove", &[("base", &base)]);
    assert!(
        used.status == 422 && used.body.contains("Blower 1 (trailer), where it stands at the beginning"),
        "{}",
        used.body
    );
    assert_eq!(owner.post("/book/places/of/fern-hollow/remove", &[("base", &base)]).status, 303);
    assert_eq!(many(&owner.book().1), many(&book).map(|all| all - 1));
}

#[test]
fn two_who_change_the_same_are_shown_the_difference_and_two_who_do_not_are_both_kept() {
    let service = Service::start();
    let owner = service.owner();
    let other = service.add(&owner, "Second owner", "owner");
    let address = "/book/jobs/of/birch-attic";
    let (first, second) = (filled(&owner.get(address).body), filled(&other.get(address).body));
    // The name is the first one's, the contact the second one's: both are kept.
    assert_eq!(owner.post_bare(address, &with(&first, "name", "Birch roof")).status, 303);
    assert_eq!(other.post_bare(address, &with(&second, "contact", "Ms. Instance")).status, 303);
    let job = owner.book().1["jobs"][0].clone();
    assert_eq!((&job["name"], &job["contact"]), (&json!("Birch roof"), &json!("Ms. Instance")));
    // Both change the date, the first the contact besides: the second is told, and keeps what they typed.
    let (first, second) = (filled(&owner.get(address).body), filled(&other.get(address).body));
    let both: Vec<(&str, &str)> = with(&first, "due", "2026-12-11")
        .into_iter()
        .map(|(name, value)| (name, if name == "contact" { "Mr. Placeholder" } else { value }))
        .collect();
    assert_eq!(owner.post_bare(address, &both).status, 303);
    let came = other.post_bare(address, &with(&second, "due", "2026-12-14"));
    assert_eq!(came.status, 409);
    assert!(came.body.contains("Somebody else has changed the same"), "{}", came.body);
    for shown in ["Birch roof, wanted by", "Fri 4 Dec 2026", "Fri 11 Dec 2026", "Mon 14 Dec 2026"] {
        assert!(came.body.contains(shown), "{shown}");
    }
    assert_eq!(owner.book().1["jobs"][0]["due"], "2026-12-11");
    // Sent once more from what is shown now, it is kept.
    let again = filled(&came.body);
    assert_eq!(other.post_bare(address, &fields(&again)).status, 303);
    let job = owner.book().1["jobs"][0].clone();
    assert_eq!(
        (&job["due"], &job["contact"]),
        (&json!("2026-12-14"), &json!("Mr. Placeholder")),
        "the first one's stays"
    );
}

#[test]
fn form_that_was_refused_and_is_sent_again_takes_nothing_back_from_others() {
    let service = Service::start();
    let owner = service.owner();
    let other = service.add(&owner, "Second owner", "owner");
    // A report without an id: the second of the two is about to change it when one before it goes.
    let address = "/book/weather/of/%231";
    let page = other.get(address).body;
    let base = hidden(&page, "base").to_owned();
    assert_eq!(owner.post("/book/weather/of/%230/remove", &[("base", &base)]).status, 303);
    let (_, before) = owner.book();
    let form = filled(&page);
    let wrong = other.post_bare(address, &with(&form, "gust_mph", "strong"));
    assert_eq!(wrong.status, 422);
    let again = filled(&wrong.body);
    assert_eq!(other.post_bare(address, &with(&again, "gust_mph", "50")).status, 303);
    let mut expected = before;
    expected["weather"][0]["gust_mph"] = 50.into();
    assert_eq!(owner.book().1, expected);
}

#[test]
fn every_part_that_stands_alone_is_kept_as_it_was_shown() {
    let service = Service::start();
    let owner = service.owner();
    let before = owner.book();
    for part in ["shop", "prices", "hauling", "chance", "reports"] {
        let address = format!("/book/{part}");
        let form = filled(&owner.get(&address).body);
        let came = owner.post_bare(&address, &fields(&form));
        assert_eq!(came.status, 303, "{part}: {}", came.body);
    }
    assert_eq!(owner.book(), before);
    // What is wrong in one line of several is told there.
    let form = filled(&owner.get("/book/shop").body);
    let came = owner.post_bare("/book/shop", &with(&form, "closed.1.from", "2026-13-01"));
    let row = element(&came.body, "id=\"closed.1.from-hint\"", "</p>");
    assert!(came.status == 422 && row.contains("there is no date “2026-13-01” in the calendar"), "{row}");
    assert!(came.body.contains("<a href=\"#closed.1.from\">Closed, from</a>"), "{}", came.body);
    let form = filled(&owner.get("/book/jobs/of/birch-attic").body);
    let came = owner.post_bare("/book/jobs/of/birch-attic", &with(&form, "steps.0.long", ""));
    let long = element(&came.body, "id=\"steps.0.long-hint\"", "</p>");
    assert!(came.status == 422 && long.contains("does not say how long it takes"), "{}", came.body);
}

#[test]
fn form_sent_twice_is_taken_once() {
    let service = Service::start();
    let owner = service.owner();
    let page = owner.get("/weather").body;
    let form = hidden(&page, "form");
    let sent = [("form", form), ("first", "2026-12-21"), ("last", "2026-12-22"), ("gust_mph", "40")];
    let (_, before) = owner.book();
    for _ in 0..3 {
        assert_eq!(owner.post("/weather/storm", &sent).status, 303);
    }
    // The same form with something else in it is another one: nothing that is typed is dropped.
    let other = [("form", form), ("first", "2026-12-28")];
    let weather = |book: &serde_json::Value| book["weather"].as_array().map_or(0, Vec::len);
    let (_, after) = owner.book();
    assert_eq!(weather(&after), weather(&before) + 1);
    assert_eq!(
        after["weather"][weather(&before)],
        json!({ "on": "2026-12-21/2026-12-22", "storm": true, "gust_mph": 40 })
    );
    assert_eq!(owner.post("/weather/storm", &other).status, 303);
    assert_eq!(weather(&owner.book().1), weather(&before) + 2);
}

#[test]
fn any_change_is_taken_back_by_itself_and_what_came_after_stays() {
    let service = Service::start();
    let owner = service.owner();
    let (first, before) = owner.book();
    assert_eq!(owner.post("/weather/storm", &[("first", "2026-12-21")]).status, 303);
    let form = filled(&owner.get("/book/prices").body);
    assert_eq!(owner.post_bare("/book/prices", &with(&form, "late_day", "120")).status, 303);
    let storm = first + 1;
    let told = owner.get(&format!("/changes/{storm}")).body;
    assert!(told.contains(">Weather</th>") && told.contains("Mon 21 Dec 2026"), "{told}");
    assert_eq!(owner.post(&format!("/changes/{storm}/undo"), &[]).status, 303);
    let mut expected = before.clone();
    expected["prices"]["late_day"] = 120.into();
    assert_eq!(owner.book().1, expected);
    // Taken back twice: it is not there any more.
    let again = owner.post(&format!("/changes/{storm}/undo"), &[]);
    assert!(again.status == 409 || again.status == 303, "{}", again.status);
    assert_eq!(owner.book().1, expected);
    assert_eq!(owner.post(&format!("/changes/{}/undo", first + 1 + 1), &[]).status, 303);
    assert_eq!(owner.book().1, before);
    assert_eq!(owner.post("/changes/1/undo", &[]).status, 422);
}

#[test]
fn jobs_come_and_go_as_a_table() {
    let service = Service::start();
    let owner = service.owner();
    let before = owner.book();
    let table = owner.get("/jobs.csv").body;
    let put = |bytes: &str| {
        let base = owner.book().0.to_string();
        owner.upload("/jobs.csv", &[("base", &base)], ("table", "jobs.csv", bytes.as_bytes()))
    };
    assert_eq!(put(&table).status, 303);
    assert_eq!(owner.book(), before);
    let new = "job id,job name,job place,job due,step id,step skill,step half_days\n\
        gable,Gable end,cedar,2027-01-15,seal,air sealing,2\nbirch-attic,,,2026-12-18,,,\n";
    assert_eq!(put(new).status, 303);
    let (_, book) = owner.book();
    let expected = json!({ "id": "gable", "name": "Gable end", "place": "cedar", "due": "2027-01-15",
        "steps": [{ "id": "seal", "skill": "air sealing", "half_days": 2 }] });
    let last = book["jobs"].as_array().and_then(|all| all.last()).expect("a job");
    assert_eq!((last, &book["jobs"][0]["due"]), (&expected, &json!("2026-12-18")));
    assert_eq!(book["jobs"][0]["steps"], before.1["jobs"][0]["steps"]);
    assert_eq!(put("job id;job due\nbirch-attic;2026-12-21\n").status, 303);
    assert_eq!(owner.book().1["jobs"][0]["due"], "2026-12-21");
    // One row of three, with one cell: all else of the job stays, what a crew has told too.
    let (_, before) = owner.book();
    assert_eq!(put("job id,step id,step max_gust_mph\ncedar-pack,pack,30\n").status, 303);
    let mut expected = before;
    expected["jobs"][2]["steps"][1]["max_gust_mph"] = 30.into();
    assert_eq!(owner.book().1, expected);
    let wrong = put("job id,step id,step skill,step half_days\nx,s,flying,1\n");
    assert!(wrong.status == 422 && wrong.body.contains("no crew has the skill"), "{}", wrong.body);
}

#[test]
fn alerts_are_shown_first_and_entered_when_accepted() {
    let service = Service::start();
    let owner = service.first_owner();
    let reports = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/reports");
    let book = std::fs::read(format!("{reports}/book.json")).expect("a book");
    assert_eq!(owner.upload("/start", &[("with", "file")], ("book", "book.json", &book)).status, 303);
    let alerts = std::fs::read(format!("{reports}/alerts.json")).expect("alerts");
    let before = owner.book();
    let page = owner.upload("/weather/alerts", &[], ("alerts", "alerts.json", &alerts));
    assert_eq!(page.status, 200, "{}", page.body);
    assert!(page.body.contains("Alerts brought in") && page.body.contains("passed over"), "{}", page.body);
    assert_eq!(owner.book(), before);
    assert!(
        !page.body.contains("x_alerts") && !page.body.contains("&#123;"),
        "no entry as it is written: {}",
        page.body
    );
    let read = hidden(&page.body, "read");
    let ticked = page.body.matches("name=\"entry\"").count();
    assert!(ticked > 0, "{}", page.body);
    let last = (ticked - 1).to_string();
    for wrong in [("nothing", "0"), (read, "many"), (read, "99999")] {
        assert_eq!(owner.post("/weather/accept", &[("read", wrong.0), ("entry", wrong.1)]).status, 422, "{wrong:?}");
    }
    assert_eq!(owner.book(), before);
    assert_eq!(owner.post("/weather/accept", &[("read", read), ("entry", &last)]).status, 303);
    let (was, weather) = (before.1["weather"].clone(), owner.book().1["weather"].clone());
    let many = |of: &serde_json::Value| of.as_array().map_or(0, Vec::len);
    assert_eq!(many(&weather), many(&was) + 1);
    assert!(
        weather.as_array().and_then(|all| all.last()).is_some_and(|entry| entry["x_alerts"].is_array()),
        "{weather}"
    );
    assert_eq!(owner.post("/weather/accept", &[]).status, 422);
    let broken = owner.upload("/weather/alerts", &[], ("alerts", "a.json", b"{ not alerts"));
    assert!(broken.status == 200 && broken.body.contains("class=\"wrong\""), "{}", broken.body);
}

#[test]
fn parked_need_is_held_between_steps_that_are_chosen() {
    let service = Service::start();
    let owner = service.owner();
    let address = "/book/jobs/of/cedar-pack";
    let page = owner.get(address).body;
    let choices = |page: &str, name: &str| {
        let select = element(page, &format!("<select id=\"{name}\""), "</select>").to_owned();
        let options =
            select.split("<option value=\"").skip(1).map(|of| of.split('"').next().expect("a value").to_owned());
        options.collect::<Vec<_>>()
    };
    for name in ["parked.0.from", "parked.0.to", "parked.1.to"] {
        assert_eq!(choices(&page, name), ["", "set-up", "pack", "plug", "take-down", "walk"], "{name}");
    }
    let form = filled(&page);
    assert_eq!(owner.post_bare(address, &with(&form, "parked.0.to", "pack")).status, 303);
    let parked = |n: usize| owner.book().1["jobs"][2]["parked"][n].clone();
    assert_eq!((&parked(0)["to"], parked(0).get("from")), (&json!("pack"), Some(&json!("set-up"))));
    assert!(element(&owner.get(address).body, "<select id=\"parked.0.to\"", "</select>").contains("\"pack\" selected"));
    // One that the job does not have stays as it was sent, and its fault is told there.
    let before = owner.book();
    let form = filled(&owner.get(address).body);
    let came = owner.post_bare(address, &with(&form, "parked.0.to", "paint"));
    assert_eq!((came.status, owner.book()), (422, before));
    let hint = element(&came.body, "id=\"parked.0.to-hint\"", "</p>");
    assert!(hint.contains("class=\"wrong\"") && came.body.contains("paint (not in the book)"), "{hint}");
    // What it costs where a trailer stands is in the list of places.
    let form = filled(&owner.get("/book/places/of/drive").body);
    assert_eq!(owner.post_bare("/book/places/of/drive", &with(&form, "stand_half_day", "7.5")).status, 303);
    let list = owner.get("/places").body;
    assert!(list.contains("A trailer that stands here, a half-day</th>") && list.contains(">7.5</td>"), "{list}");
}
