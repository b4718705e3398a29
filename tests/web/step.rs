//! A step opened from the sheet: what it says, what is told of it by a click, where it is fixed, where it is moved, and
//! what became of its job.

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::planning::{found, give_out};
use super::service::{Came, Service, Somebody, hidden};

const SEAL: &str = "/step/birch-attic/seal";

/// A step of the book.
fn step(owner: &Somebody, job: &str, step: &str) -> Value {
    let (_, book) = owner.book();
    let jobs = book["jobs"].as_array().expect("jobs");
    let job = jobs.iter().find(|of| of["id"] == job).expect("the job");
    job["steps"].as_array().and_then(|all| all.iter().find(|of| of["id"] == step)).cloned().expect("the step")
}

/// A step's row in the plan given out.
fn row(owner: &Somebody, job: &str, step: &str) -> Value {
    let plan = owner.get("/api/plan").json();
    let rows = plan["plan"]["steps"].as_array().expect("rows");
    rows.iter().find(|of| of["job"] == job && of["step"] == step).cloned().expect("its row")
}

#[test]
fn strip_leads_to_its_step_with_whom_to_call_and_where() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let week = owner.get("/").body;
    let strip = format!("<a href=\"{SEAL}\" class=\"strip");
    assert!(week.contains(&strip) && week.contains(&format!("<a href=\"{SEAL}\">Air seal attic</a>")), "{week}");
    let page = owner.get(SEAL);
    assert_eq!(page.status, 200);
    let contact = "Mrs. Example, <a href=\"tel:5550102\">555-0102</a>";
    let says =
        [contact, "Birch Street", "Begun</button>", "Done</button>", "Have it here", "Move to", "What holds it there?"];
    for says in says {
        assert!(page.body.contains(says), "{says}: {}", page.body);
    }
    let at = owner.book().1["places"].as_array().and_then(|all| all.iter().find(|of| of["id"] == "birch")).cloned();
    let at = at.expect("the place")["at"].clone();
    if at.is_array() {
        assert!(page.body.contains(&format!("geo:{},{}", at[0], at[1])), "{}", page.body);
    }
    let reader = service.add(&owner, "Looker-on", "reader");
    let seen = reader.get(SEAL).body;
    assert!(seen.contains(contact) && !seen.contains("Done</button>") && !seen.contains("Move to"), "{seen}");
    let crew = service.add(&owner, "Northern hand", "crew north");
    assert_eq!(crew.get(SEAL).status, 403);
    for way in ["note", "fix", "move"] {
        assert_eq!(reader.post(&format!("{SEAL}/{way}"), &[("says", "done"), ("as", "date")]).status, 403, "{way}");
    }
    for path in ["/step/birch-attic/paint", "/step/no-job/seal", "/step/birch-attic/paint/move"] {
        assert_eq!(owner.get(path).status, 404, "{path}");
    }
}

#[test]
fn begun_done_and_left_are_told_by_a_click_and_taken_back() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (number, before) = owner.book();
    let note = format!("{SEAL}/note");
    let whole = step(&owner, "birch-attic", "seal")["labor_hours"].as_f64().expect("hours");
    let told = owner.post(&note, &[("says", "begun")]);
    assert_eq!(told.head("location"), format!("{SEAL}?kept={}", number + 1), "{}", told.body);
    assert_eq!(step(&owner, "birch-attic", "seal")["progress"]["left"].as_f64(), Some(whole));
    let page = owner.get(told.head("location")).body;
    assert!(page.contains("Take it back") && page.contains("Not begun after all"), "{page}");
    assert_eq!(owner.post(&note, &[("says", "left"), ("left", "2.5")]).status, 303);
    assert_eq!(step(&owner, "birch-attic", "seal")["progress"]["left"], json!(2.5));
    assert_eq!(owner.post(&note, &[("says", "done")]).status, 303);
    assert!(step(&owner, "birch-attic", "seal")["done"].is_object());
    // The buttons beside what was kept take it back, and so all the way.
    for change in (1..=3).rev() {
        assert_eq!(owner.post(&format!("/changes/{}/undo", number + change), &[]).status, 303);
    }
    assert_eq!(owner.book().1, before);
    let kept = owner.book();
    for sent in [
        [("says", "left"), ("left", "some")],
        [("says", "left"), ("left", "999")],
        [("says", "left"), ("left", "")],
        [("says", "gone"), ("left", "")],
        [("says", ""), ("left", "")],
    ] {
        assert_eq!(owner.post(&note, &sent).status, 422, "{sent:?}");
    }
    assert_eq!(owner.post("/step/alder-attic/seal/note", &[("says", "done")]).status, 422, "it is not due yet");
    assert_eq!(owner.get(&format!("{SEAL}?kept=99")).status, 200);
    assert_eq!(owner.get(&format!("{SEAL}?kept=x")).status, 400);
    assert_eq!(owner.book(), kept);
}

#[test]
fn step_is_had_where_it_is_and_let_go_and_a_storm_over_it_is_told_on_the_sheet() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (_, before) = owner.book();
    let planned = row(&owner, "cedar-pack", "pack");
    let fix = "/step/cedar-pack/pack/fix";
    let fixed = || step(&owner, "cedar-pack", "pack")["fixed"].clone();
    let kept = owner.post(fix, &[("as", "date")]);
    assert!(kept.head("location").starts_with("/step/cedar-pack/pack?kept="), "{}", kept.body);
    assert_eq!(fixed(), json!({ "start": planned["start"] }));
    assert_eq!(owner.post(fix, &[("as", "crew")]).status, 303);
    assert_eq!(fixed(), json!({ "start": planned["start"], "crew": planned["crew"] }));
    let page = owner.get("/step/cedar-pack/pack").body;
    assert!(page.contains("Let it move") && page.contains("to begin "), "{page}");
    // Nobody works outside in a storm: the week is drawn all the same, and says what cannot be kept.
    let date = &planned["start"].as_str().expect("a half-day")[..10];
    assert_eq!(owner.post("/weather/storm", &[("first", date), ("last", date)]).status, 303);
    let week = owner.get("/");
    assert!(week.status == 200 && week.body.contains("where it is fixed: let it move"), "{}", week.body);
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 422, "planning names the place in the book");
    assert_eq!(owner.post(fix, &[("as", "free")]).status, 303);
    assert!(!owner.get("/").body.contains("where it is fixed"));
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    let mut book = owner.book().1;
    book["weather"] = before["weather"].clone();
    assert_eq!(book, before);
    for sent in ["", "firmly"] {
        assert_eq!(owner.post(fix, &[("as", sent)]).status, 422, "{sent}");
    }
    assert_eq!(owner.post("/step/birch-attic/seal/note", &[("says", "begun")]).status, 303);
    assert_eq!(owner.post("/step/birch-attic/seal/fix", &[("as", "date")]).status, 422, "it has begun");
    assert_eq!(owner.post("/step/orchard-barn/no/fix", &[("as", "date")]).status, 404);
}

/// The page of a move, once it is known what it takes.
fn known(who: &Somebody, path: &str) -> Came {
    let began = Instant::now();
    loop {
        let came = who.get(path);
        if !came.body.contains("Planning with it on") {
            return came;
        }
        assert!(came.body.contains("http-equiv=\"refresh\"") && came.body.contains("Stop"), "{}", came.body);
        assert!(began.elapsed() < Duration::from_secs(120), "{path}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn step_is_moved_once_it_is_known_what_that_takes() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (before, at) = (owner.book(), "/step/alder-attic/seal/move");
    let to = "2026-12-21 am";
    assert!(owner.get(at).body.contains(&format!("<option value=\"{to}\">Mon 21 Dec am")), "{}", owner.get(at).body);
    let page = known(&owner, &format!("{at}?to=2026-12-21+am&crew="));
    assert!(page.status == 200 && page.body.contains("Do it") && page.body.contains("It costs $"), "{}", page.body);
    assert!(page.body.contains("WHAT CHANGES") && page.body.contains("Alder attic"), "{}", page.body);
    assert_eq!((owner.book(), &owner.get("/api/plan").json()["revision"]), (before.clone(), &json!(1)));
    let found = hidden(&page.body, "found").to_owned();
    let other = service.add(&owner, "Second owner", "owner");
    assert_eq!(other.post(at, &[("found", &found)]).status, 409, "another one's");
    assert_eq!(owner.post("/step/alder-attic/blow/move", &[("found", &found)]).status, 409, "another step's");
    // Sent twice it is done once.
    for _ in 0..2 {
        let done = owner.post(at, &[("found", &found), ("form", hidden(&page.body, "form"))]);
        assert_eq!(done.head("location"), "/given-out/2", "{}", done.body);
    }
    assert_eq!(row(&owner, "alder-attic", "seal")["start"], to);
    assert_eq!(step(&owner, "alder-attic", "seal")["fixed"], json!({ "start": to }));
    let plan = owner.get("/api/plan").json();
    assert_eq!((&plan["revision"], plan["breaches"].as_array().map(Vec::len)), (&json!(2), Some(0)));
    // It was one errand, and is taken back as one: the step is free, and the plan of before is given out again.
    let number = owner.book().0;
    assert_eq!(owner.post(&format!("/changes/{number}/undo"), &[]).status, 303);
    let plan = owner.get("/api/plan").json();
    assert_eq!((owner.book().1, &plan["revision"]), (before.1, &json!(3)));
    assert_ne!(row(&owner, "alder-attic", "seal")["start"], to);
    assert!(owner.get("/changes").body.contains("Gave plan 1 out again: took back change"));
    // What changed meanwhile is looked at again first.
    let page = known(&owner, &format!("{at}?to=2026-12-21+am&crew=north")).body;
    assert_eq!(owner.post("/weather/storm", &[("first", "2027-01-08")]).status, 303);
    assert_eq!(owner.post(at, &[("found", hidden(&page, "found"))]).status, 409);
    let history = owner.get("/book/jobs/of/alder-attic/history").body;
    let place = |text: &str| history.find(text).unwrap_or_else(|| panic!("{text}: {history}"));
    assert!(place("instead of") < place("Began with the demo book"), "the newest first");
    assert!(history.contains("Moved ") && history.contains("href=\"/given-out/2\""), "{history}");
    assert!(!history.contains("storm"), "what touched other things is not the job's: {history}");
}

#[test]
fn move_that_cannot_be_is_told_with_its_reason_and_what_is_typed_wrong_with_its_remedy() {
    let service = Service::start();
    let owner = service.owner();
    let at = "/step/alder-attic/seal/move";
    assert!(owner.get(at).body.contains("No plan has been given out yet"));
    give_out(&owner);
    let before = owner.book();
    // On a Sunday nobody works.
    let page = known(&owner, &format!("{at}?to=2026-12-13+am"));
    assert!(
        page.status == 200 && page.body.contains("No plan was found in which it begins Sun 13 Dec am"),
        "{}",
        page.body
    );
    assert!(page.body.contains("can work on it on Sun 13 Dec 2026, morning"), "{}", page.body);
    // A crew without the skill.
    let page = known(&owner, &format!("{at}?to=2026-12-21+am&crew=inspector"));
    assert!(page.body.contains("No plan was found in which it begins") || page.status == 422, "{}", page.body);
    // Too late to end within the plan's weeks.
    let page = known(&owner, "/step/cedar-pack/set-up/move?to=2027-01-15+pm");
    assert!(
        page.body.contains("No plan was found in which it begins") && !page.body.contains("Do it"),
        "{}",
        page.body
    );
    for (to, says) in [
        ("soon", "“soon” is no half-day"),
        ("2026-12-01+am", "is over"),
        ("2028-01-03+am", "after the plan"),
        ("2026-12-21+am&crew=nobody", "no crew “nobody”"),
    ] {
        let page = known(&owner, &format!("{at}?to={to}"));
        assert!(
            page.status == 422 && page.body.contains(says) && page.body.contains("To begin"),
            "{to}: {}",
            page.body
        );
    }
    assert_eq!(owner.post("/step/birch-attic/seal/note", &[("says", "begun")]).status, 303);
    let page = known(&owner, "/step/birch-attic/seal/move?to=2026-12-21+am");
    assert!(page.status == 422 && page.body.contains("is begun or done"), "{}", page.body);
    let stopped = owner.post(&format!("{at}/stop"), &[("to", "2026-12-21 am"), ("crew", "")]);
    assert_eq!(stopped.head("location"), format!("{at}?stopped=1&to=2026-12-21%20am&crew="));
    assert_eq!(owner.post(at, &[("found", "nothing")]).status, 409);
    assert_eq!(owner.post(at, &[]).status, 409);
    assert_eq!(owner.book().0, before.0 + 1, "but for what was told");
}

#[test]
fn history_of_a_job_is_its_own() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    assert_eq!(owner.post(&format!("{SEAL}/note"), &[("says", "left"), ("left", "6")]).status, 303);
    assert_eq!(owner.post("/weather/storm", &[("first", "2026-12-21")]).status, 303);
    let page = owner.get("/book/jobs/of/birch-attic/history").body;
    assert!(page.contains("left 6") && page.contains("Rae Owner") && page.contains("Plan 1"), "{page}");
    assert_eq!(page.matches("<tr><th scope=\"row\">").count(), 3, "made, planned, told of: {page}");
    assert!(owner.get("/book/jobs/of/birch-attic").body.contains("/book/jobs/of/birch-attic/history"));
    let older = owner.get("/book/jobs/of/birch-attic/history?before=2").body;
    assert!(older.contains("Began with the demo book") && !older.contains("left 6"), "{older}");
    for path in ["/book/jobs/of/no-job/history", "/book/crews/of/north/history"] {
        assert_eq!(owner.get(path).status, 404, "{path}");
    }
    assert_eq!(owner.get("/book/jobs/of/birch-attic/history?before=x").status, 400);
    let reader = service.add(&owner, "Looker-on", "reader");
    assert_eq!(reader.get("/book/jobs/of/birch-attic/history").status, 403);
}
