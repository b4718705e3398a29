//! Everything that an owner can type wrong: what a page says of it is an owner's sentence, leads to the field that it is
//! about, and everything typed is still there.

use std::collections::BTreeSet;

use serde_json::Value;

use super::planning::give_out;
use super::service::{Came, Service, Somebody, filled};

/// A form of the book: its address, what is typed into which fields, and the field that the fault leads to.
type Wrong = (&'static str, &'static [(&'static str, &'static str)], &'static str);

/// A step that is planned for now.
const STEP: &str = "/step/birch-attic/seal";
const BIRCH: &str = "/book/jobs/of/birch-attic";
const CEDAR: &str = "/book/jobs/of/cedar-pack";
const LIFT: &str = "/book/equipment/of/lift";
const HOSE: &str = "/book/things/of/hose-1";
const PATTERN: &str = "/book/patterns/of/attic";

const BOOK: [Wrong; 76] = [
    (BIRCH, &[("due", "2026-02-30")], "due"),
    (BIRCH, &[("due", "soon")], "due"),
    (BIRCH, &[("due", "2026-11-02"), ("earliest", "2026-12-14")], "due"),
    (BIRCH, &[("earliest", "2026-13-01")], "earliest"),
    (BIRCH, &[("place", "")], "place"),
    (BIRCH, &[("place", "nowhere")], "place"),
    (BIRCH, &[("rank", "urgent")], "rank"),
    (BIRCH, &[("late_day", "-5")], "late_day"),
    (BIRCH, &[("late_day", "a lot")], "late_day"),
    (BIRCH, &[("late_day", "99999999999999")], "late_day"),
    (BIRCH, &[("steps.0.long", "")], "steps.0.long"),
    (BIRCH, &[("steps.0.long", "-2")], "steps.0.long"),
    (BIRCH, &[("steps.0.long", "0")], "steps.0.long"),
    (BIRCH, &[("steps.0.long", "two")], "steps.0.long"),
    (BIRCH, &[("steps.0.skill", "")], "steps.0.skill"),
    (BIRCH, &[("steps.0.skill", "roofing")], "steps.0.skill"),
    (BIRCH, &[("steps.1.needs.0.count", "0")], "steps.1.needs.0.count"),
    (BIRCH, &[("steps.1.needs.0.count", "many")], "steps.1.needs.0.count"),
    (BIRCH, &[("steps.1.needs.0.kind", "crane")], "steps.1.needs.0.kind"),
    (BIRCH, &[("steps.1.max_gust_mph", "-10")], "steps.1.max_gust_mph"),
    (BIRCH, &[("steps.1.fixed.start.date", "2026-02-31")], "steps.1.fixed.start.date"),
    (BIRCH, &[("steps.1.after.0.step", "paint")], "steps.1.after.0.step"),
    (BIRCH, &[("steps.0.after.0.step", "blow"), ("steps.1.after.0.step", "seal")], ""),
    (BIRCH, &[("steps.1.after.0.step", "seal"), ("steps.1.after.0.wait_half_days", "-1")], "steps.1.after.0.step"),
    (
        BIRCH,
        &[
            ("steps.1.after.0.step", "seal"),
            ("steps.1.after.0.wait_half_days", "6"),
            ("steps.1.after.0.within_half_days", "2"),
        ],
        "steps.1.after.0.step",
    ),
    (BIRCH, &[("steps.1.min_people", "4"), ("steps.1.max_people", "2")], "steps.1.min_people"),
    (BIRCH, &[("steps.0.id", "blow")], "steps.1.name"),
    (BIRCH, &[("no_access.0.from", "2026-12-14"), ("no_access.0.to", "2026-12-10")], "no_access.0.from"),
    (BIRCH, &[("no_access.0.from", "2026-12-99")], "no_access.0.from"),
    (CEDAR, &[("parked.0.from", "take-down"), ("parked.0.to", "set-up")], "parked.0.to"),
    (CEDAR, &[("parked.0.kind", "scaffold")], "parked.0.kind"),
    (CEDAR, &[("parked.0.count", "-1")], "parked.0.count"),
    ("/book/places/of/drive", &[("id", "barn")], "id"),
    ("/book/places/of/drive", &[("road", "lane")], "road"),
    ("/book/places/of/drive", &[("trailer_spots", "-3")], "trailer_spots"),
    ("/book/places/of/meadow", &[("at.0", "far")], "at.0"),
    ("/book/crews/of/north", &[("people", "-1")], "people"),
    ("/book/crews/of/north", &[("people", "two")], "people"),
    ("/book/crews/of/north", &[("home", "moon")], "home"),
    ("/book/crews/of/north", &[("away.0.on.from", "2026-12-16"), ("away.0.on.to", "2026-12-14")], "away.0.on.from"),
    ("/book/crews/of/north", &[("away.0.people", "-1")], "away.0.people"),
    ("/book/trucks/of/truck-1", &[("crew", "nobody")], "crew"),
    ("/book/trucks/of/truck-1", &[("tow_lb", "heavy")], "tow_lb"),
    ("/book/equipment/of/staging-a", &[("weight_lb", "-4000")], "weight_lb"),
    ("/book/equipment/of/staging-a", &[("place", "")], "place"),
    ("/book/equipment/of/lift", &[("hire_place", "")], "hire_half_day"),
    ("/book/weather/of/%230", &[("gust_mph", "900")], "gust_mph"),
    ("/book/prices", &[("late_day", "-1")], "late_day"),
    ("/book/weather/of/%230", &[("high_f", "hot")], "high_f"),
    (LIFT, &[("hire_half_day", "-35")], "hire_half_day"),
    (LIFT, &[("hire_half_day", "by the day")], "hire_half_day"),
    (LIFT, &[("hire_place", "moon")], "hire_place"),
    (LIFT, &[("home_by.date", "2026-12-32")], "home_by.date"),
    (LIFT, &[("home_by.place", "moon")], "home_by.place"),
    (LIFT, &[("home_by.late_day", "-40")], "home_by.late_day"),
    (LIFT, &[("moves", "")], "moves"),
    (HOSE, &[("id", "saw-1")], "id"),
    (HOSE, &[("rides_in", "wagon")], "rides_in"),
    (HOSE, &[("rides_in", "hose-1")], "rides_in"),
    (HOSE, &[("home", "attic")], "home"),
    (HOSE, &[("pounds", "-60")], "pounds"),
    (HOSE, &[("pounds", "heavy")], "pounds"),
    (HOSE, &[("keep_above_f", "warm")], "keep_above_f"),
    (HOSE, &[("seen.when.date", "2026-12-40")], "seen.when.date"),
    (HOSE, &[("seen.when.date", "2026-12-04"), ("seen.at", "moon")], "seen.at"),
    (
        BIRCH,
        &[("steps.1.material.0.what", "cellulose"), ("steps.1.material.0.amount", "-60")],
        "steps.1.material.0.amount",
    ),
    (
        BIRCH,
        &[
            ("steps.1.material.0.what", "cellulose"),
            ("steps.1.material.0.amount", "60"),
            ("steps.1.material.0.expected", "2026-02-30"),
        ],
        "steps.1.material.0.expected",
    ),
    (
        BIRCH,
        &[
            ("steps.1.material.0.what", "cellulose"),
            ("steps.1.material.0.amount", "60"),
            ("steps.1.material.0.lead_days", "-3"),
        ],
        "steps.1.material.0.lead_days",
    ),
    (
        BIRCH,
        &[
            ("steps.1.material.0.what", "cellulose"),
            ("steps.1.material.0.amount", "60"),
            ("steps.1.material.0.loads", "0"),
        ],
        "steps.1.material.0.loads",
    ),
    (BIRCH, &[("steps.1.takes.0.is", "shovel")], "steps.1.takes.0.is"),
    (PATTERN, &[("steps.0.skill", "roofing")], "steps.0.skill"),
    (PATTERN, &[("steps.0.labor_hours", "-16")], "steps.0.labor_hours"),
    (PATTERN, &[("steps.0.labor_hours", "many")], "steps.0.labor_hours"),
    (PATTERN, &[("steps.0.half_days", "2")], "steps.0.labor_hours"),
    (PATTERN, &[("steps.0.needs.0.kind", "crane")], "steps.0.needs.0.kind"),
    (PATTERN, &[("steps.1.id", "seal")], "steps.1.id"),
];

/// The other forms likewise.
const OTHERS: [Wrong; 25] = [
    ("/weather/storm", &[("first", "")], "storm-first"),
    ("/weather/storm", &[("first", "2026-12-33"), ("gust_mph", "40")], "storm-first"),
    ("/weather/storm", &[("first", "2026-12-21"), ("last", "2026-12-20"), ("last_half", "am")], "storm-last"),
    ("/weather/storm", &[("first", "2026-12-21"), ("gust_mph", "lots")], "storm-gust"),
    ("/weather/storm", &[("first", "2026-12-21"), ("gust_mph", "-4")], "storm-gust"),
    ("/weather/storm", &[("first", "2026-11-30")], "storm-first"),
    ("/weather/storm", &[("first", "2027-01-11"), ("at", "hill-farm"), ("clear", "on")], "storm-first"),
    ("/weather/storm", &[("first", "2026-12-21"), ("at", "atlantis")], "storm-first"),
    ("/weather/report", &[("first", "2026-12-21")], "report-roads"),
    ("/weather/report", &[("first", "2026-12-21"), ("low_f", "cold")], "report-low"),
    ("/weather/report", &[("first", "2026-12-21"), ("gust_mph", "4000")], "report-gust"),
    ("/plan/start", &[("seconds", "-1")], "seconds"),
    ("/plan/start", &[("date", "2026-02-30"), ("half", "pm"), ("seconds", "2")], "date"),
    ("/plan/start", &[("weeks", "0"), ("seconds", "2")], "weeks"),
    ("/plan/start", &[("date", "2026-12-01"), ("half", "pm"), ("seconds", "2")], "date"),
    ("/plan/start", &[("date", "2031-06-02"), ("half", "pm"), ("seconds", "2")], "date"),
    ("/wish", &[("contact", "Ms. Instance"), ("due", "2026-02-30")], "due"),
    (
        "/wish",
        &[("like", "pattern/attic"), ("new_place.address", "Far Lane"), ("new_place.at", "near the mill")],
        "new_place.at",
    ),
    (
        "/wish",
        &[("like", "pattern/attic"), ("new_place.address", "Far Lane"), ("new_place.minutes.drive", "-5")],
        "minutes",
    ),
    ("/crews/north/tell", &[("about", "else"), ("place", "hill-farm")], "remark"),
    ("/crews/north/tell", &[("about", "gossip"), ("remark", "typed with care")], "about"),
    ("/crews/north/tell", &[("about", "left"), ("thing", "hose-1")], "place"),
    ("/sign-ins", &[("name", ""), ("role", "owner")], "name"),
    ("/sign-ins", &[("name", "Rae Owner"), ("role", "crew north")], "name"),
    ("/me", &[("old", ""), ("password", "short"), ("again", "short")], "old"),
];

/// The text of what is told on a page: in warnings, in lists of faults, and all of a page that tells nothing else.
fn messages(page: &str) -> String {
    let main = page.split_once("<main").map_or(page, |(_, main)| main);
    let main = main.split("</main>").next().unwrap_or_default();
    let whole = main.contains("Go back in your browser");
    let (mut told, mut open) = (String::new(), Vec::<(String, bool)>::new());
    for part in main.split('<').skip(1) {
        let (tag, text) = part.split_once('>').unwrap_or((part, ""));
        let name = tag.split([' ', '/']).find(|name| !name.is_empty()).unwrap_or_default().to_owned();
        if tag.starts_with('/') {
            while open.pop().is_some_and(|(of, _)| of != name) {}
        } else if !["input", "br", "link", "meta"].contains(&name.as_str()) {
            let tells =
                tag.contains("class=\"wrong\"") || tag.contains("role=\"alert\"") || tag.contains("class=\"faults\"");
            open.push((name, tells));
        }
        if whole || open.iter().any(|(_, tells)| *tells) {
            told.push_str(text);
            told.push(' ');
        }
    }
    told.replace("&#39;", "'")
        .replace("&#34;", "\"")
        .replace("&#38;", "&")
        .replace("&#123;", "{")
        .replace("&#125;", "}")
}

/// Every id of the book that is the name of nothing in it.
fn ids(book: &Value) -> BTreeSet<String> {
    let (mut ids, mut names) = (BTreeSet::new(), BTreeSet::new());
    let mut walk = vec![book];
    while let Some(of) = walk.pop() {
        if let Some(id) = of["id"].as_str() {
            match of["name"].as_str() {
                Some(name) => {
                    names.insert(name.to_lowercase());
                    ids.insert(id.to_owned());
                }
                None => {
                    names.insert(id.to_owned());
                }
            }
        }
        match of {
            Value::Object(fields) => walk.extend(fields.values()),
            Value::Array(all) => walk.extend(all),
            _ => {}
        }
    }
    ids.retain(|id| !names.contains(id));
    ids
}

/// What of a message is no owner's word. `typed`: what was sent, of which a message may speak.
fn unspoken(said: &str, ids: &BTreeSet<String>, typed: &[&str]) -> Vec<String> {
    let mut wrong = Vec::new();
    for sign in ["_", "{", "}", "[", "]", "`", "::", "()", "jobs.", "steps.", "JSON", "schema", "yardless ", "--"] {
        if said.contains(sign) {
            wrong.push(format!("has {sign}"));
        }
    }
    let letters = |c: char| c.is_alphanumeric() || c == '-' || c == '/';
    for word in said.split(|c| !letters(c)).filter(|word| !word.is_empty() && !typed.contains(word)) {
        let date = word.len() == 10
            && word.bytes().enumerate().all(|(n, b)| if n == 4 || n == 7 { b == b'-' } else { b.is_ascii_digit() });
        let mut of = word.chars();
        let rule =
            of.next().is_some_and(|c| c.is_ascii_uppercase()) && word.len() > 1 && of.all(|c| c.is_ascii_digit());
        // An id of one plain word may be that word.
        let id =
            word.contains('-') && ids.contains(word) || word.split_once('/').is_some_and(|(job, _)| ids.contains(job));
        if date || rule || id {
            wrong.push(format!("says {word}"));
        }
    }
    for quoted in said.split('“').skip(1).filter_map(|rest| rest.split_once('”')).map(|(word, _)| word) {
        if ids.contains(quoted) && !typed.contains(&quoted) {
            wrong.push(format!("quotes {quoted}"));
        }
    }
    wrong
}

/// Whether what was typed is in the page's form still.
fn holds(page: &str, field: &str, value: &str) -> bool {
    let value = value.replace('&', "&#38;").replace('\'', "&#39;").replace('"', "&#34;");
    page.split('<').any(|tag| {
        (tag.contains(&format!("name=\"{field}\"")) && tag.contains(&format!("value=\"{value}\"")))
            || (tag.starts_with("option") && tag.contains(&format!("value=\"{value}\" selected")))
            || (tag.starts_with("option selected") && tag.ends_with(&format!(">{value}")))
            || (tag.starts_with("textarea") && tag.contains(&format!("name=\"{field}\"")) && tag.contains(&value))
    })
}

fn judged(of: &str, came: &Came, ids: &BTreeSet<String>, typed: &[(&str, &str)], leads_to: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    if ![409, 422].contains(&came.status) {
        return vec![format!("{of}: taken, {}", came.status)];
    }
    // The table that the jobs page gives is called so.
    let said = messages(&came.body).replace("jobs.csv", "");
    if said.trim().is_empty() {
        wrong.push(format!("{of}: nothing is said"));
    }
    let values: Vec<&str> = typed.iter().map(|(_, value)| *value).collect();
    wrong.extend(unspoken(&said, ids, &values).into_iter().map(|what| format!("{of}: {what}: {said}")));
    if !leads_to.is_empty() {
        let there = came.body.contains(&format!("id=\"{leads_to}\""));
        if !there || !came.body.contains(&format!("href=\"#{leads_to}\"")) {
            wrong.push(format!("{of}: no link to {leads_to} (there: {there}): {said}"));
        }
    }
    for (field, value) in typed.iter().filter(|(_, value)| !value.is_empty()) {
        if !holds(&came.body, field, value) {
            wrong.push(format!("{of}: {field}={value} is lost"));
        }
    }
    wrong
}

fn owner() -> (Service, Somebody) {
    let service = Service::start();
    let owner = service.owner();
    (service, owner)
}

#[test]
fn fault_of_any_form_of_the_book_is_an_owners_sentence_at_its_field() {
    let (_service, owner) = owner();
    let before = owner.book();
    let ids = ids(&before.1);
    assert!(ids.len() > 60, "{ids:?}");
    let mut wrong = Vec::new();
    for (address, typed, leads_to) in BOOK {
        let page = owner.get(address);
        assert_eq!(page.status, 200, "{address}");
        let form = filled(&page.body);
        let mut sent: Vec<(&str, &str)> = form.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        for (name, value) in typed {
            assert!(form.iter().any(|(of, _)| of == name), "{address} has no {name}: {form:?}");
            sent.retain(|(of, _)| of != name);
            sent.push((name, value));
        }
        let came = owner.post_bare(address, &sent);
        wrong.extend(judged(&format!("{address} {typed:?}"), &came, &ids, typed, leads_to));
    }
    wrong.dedup();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), BOOK.len(), wrong.join("\n"));
}

/// What is told of a step, and how it is fixed.
fn told_of_a_step(owner: &Somebody, ids: &BTreeSet<String>) -> Vec<String> {
    let mut wrong = Vec::new();
    let step = STEP;
    for (fields, typed) in [
        (&[("says", "left"), ("left", "lots")][..], "lots"),
        (&[("says", "left"), ("left", "-3")], "-3"),
        (&[("says", "left"), ("left", "400")], "400"),
        (&[("says", "flown")], ""),
    ] {
        let came = owner.post(&format!("{step}/note"), fields);
        let shown: Vec<(&str, &str)> = [("left", typed)].into_iter().filter(|_| !typed.is_empty()).collect();
        wrong.extend(judged(&format!("note {fields:?}"), &came, ids, &shown, ""));
    }
    let came = owner.get("/questions/why?job=birch-attic&sooner=2026-02-30");
    wrong.extend(judged("why", &came, ids, &[("sooner", "2026-02-30")], "sooner"));
    let came = owner.post(&format!("{step}/fix"), &[("as", "glued")]);
    wrong.extend(judged("fix", &came, ids, &[], ""));
    wrong
}

/// Questions, moves and addresses.
fn asked(owner: &Somebody, ids: &BTreeSet<String>) -> Vec<String> {
    let mut wrong = Vec::new();
    let step = STEP;
    for asked in [
        "free?kind=blowing+machine&count=9&half_days=2",
        "free?kind=crane&count=1&half_days=1",
        "free?kind=blowing+machine&count=two&half_days=1",
        "free?kind=blowing+machine&count=1&half_days=-1&at=hill-farm",
        "why?job=no-such-job",
        "offer?job=no-such-job",
        "worth?rows=-1",
    ] {
        let came = owner.get(&format!("/questions/{asked}"));
        wrong.extend(judged(asked, &came, ids, &[], ""));
    }
    for to in ["soon", "2026-12-01+am", "2028-01-03+am", "2026-12-21+am&crew=nobody"] {
        let came = owner.get(&format!("{step}/move?to={to}"));
        wrong.extend(judged(&format!("move {to}"), &came, ids, &[], ""));
    }
    for address in [
        "/book/nothing",
        "/book/jobs/of/no-such",
        "/crews/no-such",
        "/step/birch-attic/no-such",
        "/week/soon",
        "/week/2035-01-01",
    ] {
        let said = messages(&owner.get(address).body);
        wrong.extend(unspoken(&said, ids, &["no-such"]).into_iter().map(|what| format!("{address}: {what}: {said}")));
    }
    wrong
}

/// A table of jobs, which is told by row and column and is not kept.
const TABLES: [(&str, &str); 10] = [
    ("Job,Wanted by\nBirch attic,soon\n", "Row 2"),
    ("Job,Place\nBirch attic,Atlantis\n", "Row 2"),
    ("Job,Step,Crew skill\nBirch attic,Air seal attic,roofing\n", "roofing"),
    ("Job,Step,Half-days\nBirch attic,Air seal attic,-2\n", "Half-days"),
    ("Job,Wanted by\n,2026-12-14\n", "Row 2 names no job"),
    ("Job,colour\nBirch attic,red\n", "colour"),
    ("", "No table was chosen"),
    ("\0\u{1}\u{2}", "no job has"),
    ("Job,Wanted by\n\"Birch attic,2026-12-14\n", "Row 2 of the table has one cell"),
    ("job id,step id,step skill,step half_days\nx,s,flying,1\n", "flying"),
];

/// Tables and files of alerts that are sent in, and alerts that are accepted.
fn sent_in(owner: &Somebody, ids: &BTreeSet<String>) -> Vec<String> {
    let mut wrong = Vec::new();
    for (table, names) in TABLES {
        let base = owner.book().0.to_string();
        let came = owner.upload("/jobs.csv", &[("base", &base)], ("table", "jobs.csv", table.as_bytes()));
        wrong.extend(judged(&format!("table {table:?}"), &came, ids, &[], ""));
        if !came.body.contains(names) {
            wrong.push(format!("table {table:?}: does not say {names}: {}", messages(&came.body)));
        }
    }
    let page = owner.upload("/weather/alerts", &[], ("alerts", "a.json", b"{ not alerts"));
    let said = messages(&page.body);
    assert!(page.status == 200 && !said.trim().is_empty(), "{}", page.body);
    wrong.extend(unspoken(&said, ids, &["a.json"]).into_iter().map(|what| format!("alerts: {what}: {said}")));
    for fields in [&[][..], &[("read", "gone"), ("entry", "0")], &[("read", "gone"), ("entry", "many")]] {
        wrong.extend(judged(&format!("accept {fields:?}"), &owner.post("/weather/accept", fields), ids, &[], ""));
    }
    wrong
}

/// Members that cannot go.
fn still_used(owner: &Somebody, ids: &BTreeSet<String>) -> Vec<String> {
    let mut wrong = Vec::new();
    // What is still used cannot go, and what uses it is named.
    let base = owner.book().0.to_string();
    for address in [
        "/book/places/of/hill-farm",
        "/book/crews/of/north",
        "/book/kinds/of/hand%20kit",
        "/book/roads/of/hill",
        "/book/equipment/of/staging-a",
        "/book/trucks/of/truck-1",
    ] {
        let came = owner.post(&format!("{address}/remove"), &[("base", &base)]);
        if came.status == 303 {
            let number = owner.book().0.to_string();
            assert_eq!(owner.post(&format!("/changes/{number}/undo"), &[]).status, 303);
            continue;
        }
        wrong.extend(judged(&format!("remove {address}"), &came, ids, &[], ""));
    }
    wrong
}

#[test]
fn refusal_of_any_other_form_is_an_owners_sentence_at_its_field() {
    let (_service, owner) = owner();
    give_out(&owner);
    let (_, book) = owner.book();
    let ids = ids(&book);
    let mut wrong = Vec::new();
    for (address, typed, leads_to) in OTHERS {
        let came = owner.post(address, typed);
        let shown: Vec<(&str, &str)> = typed
            .iter()
            .copied()
            .filter(|(name, value)| {
                !["clear", "old", "password", "again"].contains(name) && !["atlantis", "gossip"].contains(value)
            })
            .collect();
        wrong.extend(judged(&format!("{address} {typed:?}"), &came, &ids, &shown, leads_to));
    }
    wrong.extend(told_of_a_step(&owner, &ids));
    wrong.extend(asked(&owner, &ids));
    wrong.extend(still_used(&owner, &ids));
    wrong.extend(sent_in(&owner, &ids));
    wrong.dedup();
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}
