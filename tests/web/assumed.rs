//! Days that nobody noted: questions, planning again and giving out go on as if all had gone as planned, and say so.

use serde_json::Value;

use super::planning::{answered, found, give_out};
use super::service::{Service, Somebody, hidden};

const WHY: &str = "/api/questions/why?job=alder-attic";
const FREE: &str = "/api/questions/free?kind=blowing%20machine&half_days=2";

/// An answer, and what it assumes.
fn asked(owner: &Somebody, path: &str) -> (Value, Value) {
    let came = owner.get(path);
    assert_eq!(came.status, 200, "{path}: {}", came.body);
    let mut answer = came.json();
    let assumed = answer["assumed"].take();
    (answer, assumed)
}

/// Starts the service again over the same folder, as of another half-day.
fn again(mut service: Service, owner: &Somebody, now: &str) -> (Service, Somebody) {
    service.stop();
    let service = Service::start_in(service.shared(), &["--now", now]);
    let owner = owner.at(&service.base);
    (service, owner)
}

#[test]
fn week_goes_on_though_nobody_notes_anything() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    assert_eq!(asked(&owner, WHY).1, Value::Null, "nothing lies before");
    let (service, owner) = again(service, &owner, "2026-12-09 pm");
    let book = owner.book();
    let plan = owner.get("/api/plan").json()["plan"].clone();
    let until = "2026-12-09 pm";
    let begun = |row: &&Value| row["start"].as_str().expect("a half-day") < until;
    let begun = plan["steps"].as_array().expect("rows").iter().filter(begun).count();
    for path in [WHY, FREE] {
        let assumed = asked(&owner, path).1;
        assert_eq!(assumed["until"], until, "{path}");
        assert_eq!(assumed["steps"].as_array().map(Vec::len), Some(begun), "{path}: {assumed}");
    }
    let page = answered(&owner, "/questions/why?job=alder-attic").body;
    assert!(page.contains("id=\"assumed\"") && page.contains("taken to have gone as planned"), "{page}");
    assert!(!page.contains("yardless note"), "a page names no command");
    // Planned again and given out without a note, it holds; and it is asked a day later.
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    assert_eq!(owner.get("/api/planning/found").json()["assumed"]["until"], until);
    let page = owner.get("/plan").body;
    assert!(page.contains("id=\"assumed\""), "{page}");
    let given = owner.post("/plan/give-out", &[("number", hidden(&page, "number")), ("form", hidden(&page, "form"))]);
    assert_eq!(given.status, 303, "{}", given.body);
    let plan = owner.get("/api/plan").json();
    assert_eq!((plan["breaches"].as_array().map(Vec::len), plan["revision"].as_i64()), (Some(0), Some(2)));
    assert_eq!(owner.book(), book, "nothing is written");
    let (_service, owner) = again(service, &owner, "2026-12-10 pm");
    let breaches = owner.get("/api/plan").json()["breaches"].clone();
    assert_eq!(breaches.as_array().map(Vec::len), Some(0), "{breaches}");
    let before: Vec<(Value, Value)> = [WHY, FREE].map(|path| asked(&owner, path)).to_vec();
    assert!(before.iter().all(|(_, assumed)| assumed["until"] == "2026-12-10 pm"), "{before:?}");
    // Noted at last, both days come into the book, and the answers stay.
    assert_eq!(owner.post("/plan/went", &[("seen", "on")]).status, 303);
    assert_ne!(owner.book(), book);
    for (path, (answer, _)) in [WHY, FREE].into_iter().zip(before) {
        assert_eq!(asked(&owner, path), (answer, Value::Null), "{path}");
    }
}
