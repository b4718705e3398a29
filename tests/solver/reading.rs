//! Reading a book: every kind of fault, its place and its words; and that no bytes whatever make it panic.

use std::collections::BTreeSet;
use std::fmt::Write;

use serde_json::Value;
use yardless_book::{Code, Faults, MOST_BYTES, Path, read, schema};

#[path = "reading/random.rs"]
mod random;
#[path = "reading/spoilt.rs"]
mod spoilt;

use spoilt::{GOOD, MEANING, NOT_JSON, SHAPE};

/// The good book with texts replaced, each of which it holds exactly once.
fn spoilt(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(GOOD.to_owned(), |text, (from, to)| {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text.replace(from, to)
    })
}

fn faults(bytes: &[u8]) -> Faults {
    match read(bytes) {
        Ok(_) => panic!("read without fault: {}", String::from_utf8_lossy(bytes)),
        Err(faults) => faults,
    }
}

/// Each fault as it may be printed: code, path, line and column, what is wrong, what to do.
fn printed(bytes: &[u8]) -> String {
    let mut out = String::new();
    for (fault, at) in faults(bytes).all {
        let before = String::from_utf8_lossy(&bytes[..at.start]);
        let (line, column) =
            (before.matches('\n').count() + 1, before.rsplit('\n').next().unwrap_or("").chars().count() + 1);
        writeln!(out, "{} at {}, {line}:{column}\n  {}", fault.code.text(), fault.path, fault.says).expect("a text");
        if let Some(help) = fault.help {
            writeln!(out, "  help: {help}").expect("a text");
        }
        writeln!(out, "  points at: {}", String::from_utf8_lossy(&bytes[at]).replace('\0', "\\0")).expect("a text");
    }
    out
}

/// One spoilt book after another, each with its faults.
fn one_by_one(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(String::new(), |out, edit| {
        out + &format!("# {} -> {}\n{}\n", edit.0, edit.1, printed(spoilt(&[*edit]).as_bytes()))
    })
}

/// A kind is shared, and its unit has another besides.
const SHARED_AND_NOT: [(&str, &str); 2] = [
    ("\"id\": \"generator\", \"power\": true", "\"id\": \"blower\", \"shared\": true"),
    ("\"kinds\": [\"blower\"]", "\"kinds\": [\"blower\", \"generator\"]"),
];

/// E8: the kind is shared, and its unit has another; or a unit is named twice for one need of several.
#[test]
fn units_of_shared_kinds_have_no_other_kind_and_are_named_once() {
    let [shared, both] = SHARED_AND_NOT;
    let found = faults(spoilt(&[shared, both]).as_bytes()).all;
    let [(fault, _)] = &found[..] else { panic!("{found:?}") };
    assert_eq!((fault.code, fault.path.to_string().as_str()), (Code::SharedKind, "equipment[0].kinds[1]"));
    let seal = "{ \"id\": \"seal\", \"needs\": [{ \"kind\": \"blower\", \"count\": 2 }], \"progress\": \
        { \"crew\": \"north\", \"start\": \"2026-12-07 am\", \"left\": 1, \"units\": [\"blower-1\", \"blower-1\"] },";
    let there = ("\"weight_lb\": 3000, \"place\": \"yard\"", "\"weight_lb\": 3000, \"place\": \"elm-street\"");
    let found = faults(spoilt(&[shared, there, ("{ \"id\": \"seal\",", seal)]).as_bytes()).all;
    let told: Vec<_> = found.iter().map(|(fault, _)| (fault.code, fault.path.to_string())).collect();
    let units = "jobs[0].steps[0].progress.units";
    assert!(told.contains(&(Code::History, format!("{units}[1]"))), "{told:?}");
    assert!(told.contains(&(Code::History, units.to_owned())), "{told:?}");
}

/// L1: a thing that rides in itself, in a truck that is gone, in two at once; a kit that no thing counts as; material in two
/// places: each its own fault, all at once.
#[test]
fn things_are_in_one_place_that_there_is() {
    let mut book: Value = serde_json::from_str(GOOD).expect("JSON");
    book["things"] = serde_json::json!([
        { "id": "saw", "rides_in": "saw" },
        { "id": "gun", "rides_in": "rad" },
        { "id": "hose", "rides_in": "red", "at": "yard" },
        { "id": "box", "rides_in": "saw" },
        { "id": "lost" },
        { "id": "lamp", "counts_as": "lamp", "home": "yrd", "at": "yard" },
        { "id": "tarp", "at": "yard", "seen": { "when": "2026-12-07 am" } },
        { "id": "good", "counts_as": "good kit", "rides_in": "blower-1", "home": "red" }
    ]);
    let step = &mut book["jobs"][0]["steps"][0];
    step["takes"] = serde_json::json!(["good kit", "lmp"]);
    step["material"] = serde_json::json!([
        { "what": "bags", "at": "yard", "expected": "2026-12-09" },
        { "what": "tape", "confirmed": true, "to": "elm" }
    ]);
    let found = faults(book.to_string().as_bytes()).all;
    let told: BTreeSet<(String, &str)> = found.iter().map(|(of, _)| (of.path.to_string(), of.code.text())).collect();
    let wanted = [
        ("jobs[0].steps[0].material[0].expected", "book::two-places"),
        ("jobs[0].steps[0].material[1].confirmed", "book::waits"),
        ("jobs[0].steps[0].material[1].to", "book::unknown-id"),
        ("jobs[0].steps[0].takes[1]", "book::unknown-kit"),
        ("things[0].rides_in", "book::rides-in"),
        ("things[1].rides_in", "book::unknown-id"),
        ("things[2].rides_in", "book::two-places"),
        ("things[3].rides_in", "book::rides-in"),
        ("things[4]", "book::missing-field"),
        ("things[5].home", "book::unknown-id"),
        ("things[6].seen", "book::missing-field"),
    ];
    assert_eq!(told, wanted.map(|(path, code)| (path.to_owned(), code)).into());
    let gone = found.iter().find(|(of, _)| of.path.to_string() == "things[1].rides_in").expect("told");
    assert!(gone.0.says.ends_with("did you mean `red`?"), "{}", gone.0.says);
}

/// A pattern is held to what a job made from it must be, and is told where it stands.
#[test]
fn patterns_have_the_faults_of_their_steps() {
    let told = |patterns: &str| -> Vec<String> {
        let text = spoilt(&[("\"jobs\": [", &format!("\"patterns\": [{patterns}], \"jobs\": ["))]);
        let found = read(text.as_bytes()).map_or_else(|faults| faults.all, |_| Vec::new());
        found.iter().map(|(fault, _)| format!("{} {}", fault.code.text(), fault.path)).collect()
    };
    let seal = r#"{ "id": "seal", "skill": "seal", "half_days": 1 }"#;
    assert_eq!(told(&format!(r#"{{ "id": "a", "steps": [{seal}] }}"#)), Vec::<String>::new());
    let wrong = format!(
        r#"{{ "id": "a", "steps": [{seal}, {{ "id": "blow", "skill": "flying", "after": ["sael"] }}] }},
           {{ "id": "a", "parked": [{{ "kind": "ladder" }}], "steps": [{seal}] }}"#
    );
    let expected = [
        "book::duration patterns[0].steps[1]",
        "book::unknown-skill patterns[0].steps[1].skill",
        "book::unknown-id patterns[0].steps[1].after[0]",
        "book::duplicate-id patterns[1].id",
        "book::unknown-kind patterns[1].parked[0].kind",
    ];
    assert_eq!(told(&wrong), expected);
    assert_eq!(told(r#"{ "id": "a", "steps": [] }"#).len(), 1);
}

/// E7, N1: units are named where what they are parked from has begun, and what they are parked to is not done.
#[test]
fn parked_units_are_named_just_while_they_are_held() {
    let seal = "{ \"id\": \"seal\",";
    let done = "{ \"id\": \"seal\", \"done\": { \"crew\": \"north\", \"start\": \"2026-12-07 am\", \"end\": \"2026-12-07 pm\" },";
    let told = |need: &str| -> Vec<String> {
        let parked = format!("\"parked\": [{{ \"kind\": \"generator\", {need} }}]");
        let text = spoilt(&[
            (seal, done),
            ("\"parked\": [{ \"kind\": \"generator\" }]", &parked),
            ("\"place\": \"yard\", \"out\"", "\"place\": \"elm-street\", \"out\""),
        ]);
        let found = read(text.as_bytes()).map_or_else(|faults| faults.all, |_| Vec::new());
        found.iter().map(|(fault, _)| format!("{} {}", fault.code.text(), fault.path)).collect()
    };
    let named = "\"units\": [\"generator-1\"]";
    let at = |field: &str| vec![format!("book::history jobs[0].parked[0]{field}")];
    assert_eq!(told("\"from\": \"seal\""), at(""));
    assert_eq!(told("\"from\": \"insulate\""), Vec::<String>::new());
    assert_eq!(told(&format!("\"from\": \"insulate\", {named}")), at(".units"));
    for need in ["\"from\": \"seal\"", "\"to\": \"insulate\"", "\"to\": \"seal\""] {
        assert_eq!(told(&format!("{need}, {named}")), Vec::<String>::new(), "{need}");
    }
    assert_eq!(told("\"to\": \"seal\""), Vec::<String>::new());
    assert_eq!(told("\"to\": \"insulate\""), at(""));
}

#[test]
fn text_that_is_no_json_is_refused_at_its_first_fault() {
    let mut out = String::new();
    for text in NOT_JSON {
        write!(out, "# {text:?}\n{}\n", printed(text.as_bytes())).expect("a text");
    }
    for (what, bytes) in
        [("a byte that is no letter", b"{ \"book\": \"\xff\" }".to_vec()), ("a byte order mark", "\u{feff}{}".into())]
    {
        write!(out, "# {what}\n{}\n", printed(&bytes)).expect("a text");
    }
    let (fault, at) = &faults("[".repeat(100_000).as_bytes()).all[0];
    write!(out, "# 100,000 brackets\n{} {at:?}: {}\n", fault.code.text(), fault.says).expect("a text");
    insta::assert_snapshot!(out);
}

#[test]
fn values_out_of_shape_are_refused_with_their_place_and_remedy() {
    insta::assert_snapshot!(one_by_one(SHAPE));
}

#[test]
fn fields_that_do_not_fit_together_are_refused_with_their_place_and_remedy() {
    insta::assert_snapshot!(one_by_one(MEANING));
}

#[test]
fn several_faults_are_reported_at_once_in_the_order_of_the_text() {
    let text = spoilt(&[
        ("\"tow_minute\": 1.5", "\"tow_minute\": -1"),
        ("\"id\": \"oak-hill\"", "\"id\": \"yard\""),
        ("\"moves\": \"towed\"", "\"moves\": \"pulled\""),
        ("\"place\": \"oak-hill\"", "\"place\": \"oak-hill\", \"due\": \"2026-13-01\""),
        ("\"after\": [\"elm/test\"]", "\"after\": [\"elm/tests\"], \"min_peple\": 2"),
    ]);
    insta::assert_snapshot!(printed(text.as_bytes()));
}

#[test]
fn nothing_is_concluded_from_what_could_not_be_read() {
    // Without its id no one can say whether `elm-street` is a place; without `crews`, which skills there are.
    // The duration was meant, only misspelt. So each book has the one fault, or the two of a misspelt required field.
    for (edit, codes) in [
        (("\"id\": \"elm-street\"", "\"id\": 5"), vec![Code::WrongType]),
        (("\"crews\": [", "\"crew\": ["), vec![Code::MissingField, Code::UnknownField]),
        (
            (
                "\"skill\": \"inspect\", \"half_days\": 1, \"after\": [\"elm",
                "\"skill\": \"inspect\", \"half_day\": 1, \"after\": [\"elm",
            ),
            vec![Code::UnknownField],
        ),
        (("\"kinds\": [\"blower\"]", "\"kinds\": [7]"), vec![Code::WrongType]),
    ] {
        let found: Vec<Code> = faults(spoilt(&[edit]).as_bytes()).all.iter().map(|(fault, _)| fault.code).collect();
        assert_eq!(found, codes, "{edit:?}");
    }
}

#[test]
fn every_code_that_reading_gives_is_shown_by_a_test() {
    use Code::*;
    // TooManyTrailers and FixedStart's clock are judged with a horizon, after reading.
    let all = [
        NotText,
        TooLarge,
        NotJson,
        TooDeep,
        DuplicateKey,
        MissingField,
        UnknownField,
        WrongType,
        OutOfRange,
        WrongNumber,
        UnknownWord,
        WrongTime,
        WrongCoordinates,
        UnknownTimeZone,
        BadId,
        DuplicateId,
        UnknownId,
        UnknownKind,
        UnknownSkill,
        SharedKind,
        Duration,
        People,
        Waits,
        DueBeforeEarliest,
        DriveTwice,
        Cycle,
        Parked,
        FixedStart,
        History,
    ];
    let mut texts: Vec<Vec<u8>> = NOT_JSON.iter().map(|text| text.as_bytes().to_vec()).collect();
    texts.extend(SHAPE.iter().chain(MEANING).map(|edit| spoilt(&[*edit]).into_bytes()));
    texts.push(spoilt(&SHARED_AND_NOT).into_bytes());
    texts.extend([b"\xff".to_vec(), "[".repeat(65).into_bytes(), vec![b' '; MOST_BYTES + 1]]);
    let seen: BTreeSet<Code> = texts.iter().flat_map(|text| faults(text).all).map(|(fault, _)| fault.code).collect();
    assert_eq!(seen, BTreeSet::from(all));
}

/// The book written out and read again.
fn round_trips(bytes: &[u8]) {
    let written = read(bytes).unwrap_or_else(|faults| panic!("{faults:?}"));
    let again = serde_json::to_vec(&written.book).expect("a book is JSON");
    assert_eq!(read(&again).unwrap_or_else(|faults| panic!("{faults:?}")).book, written.book);
}

#[test]
fn good_book_round_trips_with_notes_nulls_and_whole_numbers() {
    round_trips(GOOD.as_bytes());
    let written = read(GOOD.as_bytes()).expect("a good book");
    // `2.0` is a whole number, `null` takes a report back, `x_` and `note` are kept.
    assert_eq!(written.book.jobs[0].steps[1].ways.as_ref().expect("ways")[0].half_days, Some(2));
    assert_eq!(written.book.places[2].extra["x_gate"]["code"], 12);
    assert_eq!(written.book.extra["note"], "made up");
    let text = serde_json::to_value(&written.book).expect("a book is JSON");
    assert_eq!(text["weather"][1]["gust_mph"], Value::Null);
    let path = Path::default().field("jobs").index(1).field("steps").index(0).field("skill");
    assert_eq!(&GOOD[written.bytes_at([&path])[0].clone()], "\"inspect\"");
}

#[test]
fn as_many_faults_as_a_text_can_hold_are_found_in_moments() {
    // With a look through the whole book for each of them, these take minutes.
    let mut keys = GOOD.trim_end().trim_end_matches('}').to_owned();
    (0..100_000).for_each(|_| keys.push_str(", \"x_a\": 1"));
    let unknown: Vec<String> = (0..20_000)
        .map(|n| format!("{{ \"id\": \"u{n}\", \"kinds\": [\"k\"], \"moves\": \"towed\", \"place\": \"yrd{n}\" }}"))
        .collect();
    let units = GOOD.replace("\"equipment\": [", &format!("\"equipment\": [{},", unknown.join(",\n")));
    let step = |n: usize| {
        format!(
            "{{ \"id\": \"j{n}\", \"place\": \"yard\", \"steps\": [{{ \"id\": \"a{n}\", \"skill\": \"blow\", \"half_days\": 1, \"after\": [\"b{n}\"] }}] }}"
        )
    };
    let jobs =
        GOOD.replace("\"jobs\": [", &format!("\"jobs\": [{},", (0..20_000).map(step).collect::<Vec<_>>().join(",\n")));
    let drive = |n: usize| format!("{{ \"from\": \"yard\", \"to\": \"old {n}\", \"minutes\": 9 }}");
    let place = |n: usize| format!("{{ \"id\": \"new {n} street\" }}");
    let drives = GOOD
        .replace("\"drives\": [", &format!("\"drives\": [{},", (0..10_000).map(drive).collect::<Vec<_>>().join(",")))
        .replace("\"places\": [", &format!("\"places\": [{},", (0..10_000).map(place).collect::<Vec<_>>().join(",")));
    for (text, code, least) in [
        (keys + "}", Code::DuplicateKey, 99_999),
        (units, Code::UnknownId, 20_000),
        (jobs, Code::UnknownId, 20_000),
        (drives, Code::UnknownId, 0),
    ] {
        let began = std::time::Instant::now();
        let found = faults(text.as_bytes()).all.iter().filter(|(fault, _)| fault.code == code).count();
        assert!(found >= least, "{code:?}: {found}");
        assert!(began.elapsed().as_secs() < 60, "{code:?}: {:?}", began.elapsed());
    }
}

#[test]
fn digest_is_the_sha_256_of_the_file() {
    let bytes = include_bytes!("../cases/cold.json");
    // By sha256sum of GNU coreutils.
    let expected = "e87df35c47a0123b1cb31463e8cfd21056574cae6560cdaff745275861f4ee4b";
    assert_eq!(read(bytes).expect("a case").digest, expected);
}

#[test]
fn odd_but_harmless_books_are_no_faults() {
    for edit in [
        // The same drive twice with the same minutes; a drive from a place to itself; one to a place not in this book.
        ("\"minutes\": 25 }", "\"minutes\": 25 }, { \"from\": \"elm-street\", \"to\": \"yard\", \"minutes\": 25 }"),
        ("\"minutes\": 25 }", "\"minutes\": 25 }, { \"from\": \"yard\", \"to\": \"yard\", \"minutes\": 3 }"),
        ("\"minutes\": 25 }", "\"minutes\": 25 }, { \"from\": \"yard\", \"to\": \"mill-pond\", \"minutes\": 9 }"),
        // A kind that has a name and no unit; more units needed than there are (E2: leaves the job out); a kind needed twice.
        ("\"power\": true }", "\"power\": true }, { \"id\": \"crane\" }"),
        (
            "\"needs\": [{ \"kind\": \"blower\" }]",
            "\"needs\": [{ \"kind\": \"blower\", \"count\": 9 }, { \"kind\": \"blower\" }]",
        ),
        // A step that can begin only when the job is due; the same predecessor twice; more people than any crew has.
        ("\"labor_hours\": 24.5", "\"labor_hours\": 24.5, \"earliest\": \"2027-01-01\""),
        ("[\"elm/test\"]", "[\"elm/test\", \"elm/test\"]"),
        ("\"min_people\": 2, \"max_people\": 3", "\"min_people\": 900"),
        // Power is needed where there is none, and no unit gives any (E5: leaves the job out).
        ("\"power\": true", "\"power\": false"),
        // Due on the earliest date itself; waiting exactly as long as is allowed.
        ("\"due\": \"2026-12-18\"", "\"due\": \"2026-12-07\""),
        ("\"within_half_days\": 6", "\"within_half_days\": 1"),
        ("\"people\": 3", "\"people\": 3e0"),
        // A range that means no half-day; a wait without a date beside a fixed start, and one on its very date; due long ago.
        (
            "\"half_days\": 1, \"after\": [\"elm/test\"]",
            "\"half_days\": 1, \"after\": [\"elm/test\"], \"no_access\": [{ \"on\": \"2026-12-07\", \"weekdays\": [\"tue\"] }, \"2027-01-01/\"]",
        ),
        (
            "\"due\": \"2026-12-18\"",
            "\"due\": \"2026-12-18\", \"waits_on\": [{ \"what\": \"a permit\" }, { \"what\": \"windows\", \"expected\": \"2026-12-10\" }]",
        ),
        (
            "\"half_days\": 1, \"after\": [\"elm/test\"]",
            "\"half_days\": 1, \"after\": [\"elm/test\"], \"due\": \"2026-01-01\", \"needs_power\": 9, \"told\": { \"from\": \"2026-12-10\", \"to\": \"2026-12-10\" }",
        ),
        // A stop that fills its half-day, with help and leaving that count for nothing; usual partners that cannot help; one
        // at once.
        (
            "\"half_days\": 1, \"after\": [\"elm/test\"]",
            "\"hours\": 4, \"help\": 8, \"may_split\": true, \"after\": [\"elm/test\"]",
        ),
        ("\"people\": 3", "\"at_once\": 1, \"usual_with\": [\"inspector\"], \"people\": 3"),
        ("\"own\": false", "\"own\": false, \"at_once\": 1000, \"usual_with\": [\"north\", \"north\"]"),
    ] {
        round_trips(spoilt(&[edit]).as_bytes());
    }
}

/// The good book with so many more own crews, and a step that so many may help.
fn with_crews(more: usize, help: u32) -> Vec<u8> {
    let mut book: Value = serde_json::from_str(GOOD).expect("JSON");
    let crew = |n: usize| serde_json::json!({ "id": format!("c{n}"), "people": 1, "skills": ["seal"] });
    book["crews"].as_array_mut().expect("crews").extend((0..more).map(crew));
    book["jobs"][0]["steps"][0]["help"] = help.into();
    serde_json::to_vec(&book).expect("JSON")
}

#[test]
fn helpers_of_which_there_are_too_many_sets_are_a_fault() {
    // Of n others n (n + 1) / 2 + 1 sets of two at most: 991 of 44, 1,036 of 45. The inspector is none of them.
    round_trips(&with_crews(44, 2));
    let told = printed(&with_crews(45, 2));
    assert!(told.starts_with("book::people at jobs[0].steps[0].help,") && told.contains("1036 ways"), "{told}");
    round_trips(&with_crews(999, 1));
    printed(&with_crews(1000, 1));
    // Of nine others every set but the whole: 511. Of eleven, 1,981.
    round_trips(&with_crews(9, 8));
    printed(&with_crews(11, 8));
}

#[test]
fn case_books_are_read_without_fault_and_round_trip() {
    let mut count = 0;
    let mut folders = vec![concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/cases").into()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir::<std::path::PathBuf>(folder).expect("the cases") {
            let path = entry.expect("a case").path();
            if path.is_dir() {
                folders.push(path.clone());
            }
            let is_book = path.extension().is_some_and(|extension| extension == "json")
                && path.file_name().is_some_and(|name| name != "index.json");
            if is_book {
                round_trips(&std::fs::read(&path).expect("a case"));
                count += 1;
            }
        }
    }
    assert!(count >= 140, "{count}");
}

#[test]
fn schema_uses_no_rule_that_the_reader_does_not_check() {
    // The reader holds values against these; `pattern` is looser than the `format` beside it, `default` and texts ask nothing.
    let known = "$defs $id $ref $schema additionalProperties anyOf const default description enum exclusiveMinimum format items \
                 maxItems maxLength maximum minItems minLength minimum oneOf pattern patternProperties prefixItems properties \
                 required title type";
    let formats = "range half-day season clock-hours date power-from id zone coordinates time-zone dollars caution";
    let mut open = vec![schema()];
    while let Some(next) = open.pop() {
        let Value::Object(object) = next else { continue };
        for (keyword, value) in object {
            assert!(known.split(' ').any(|word| word == keyword), "{keyword}");
            match (keyword.as_str(), value) {
                ("format", value) => assert!(formats.split(' ').any(|word| value == word), "{value}"),
                ("properties" | "$defs" | "patternProperties", Value::Object(schemas)) => {
                    open.extend(schemas.into_values());
                }
                ("anyOf" | "oneOf" | "prefixItems", Value::Array(schemas)) => open.extend(schemas),
                ("items", schema) => open.push(schema),
                _ => {}
            }
        }
    }
}
