//! Who may see and do what.

use super::service::{PASSWORD, Service, Somebody};

const OF_READERS: [&str; 14] = [
    "/book/prices",
    "/book/jobs/of/birch-attic",
    "/season",
    "/crews",
    "/crews/north",
    "/jobs",
    "/jobs.csv",
    "/people",
    "/equipment",
    "/places",
    "/prices",
    "/weather",
    "/questions",
    "/api/book",
];
const OF_OWNERS: [&str; 8] = [
    "/plan",
    "/given-out/1",
    "/changes",
    "/changes/1",
    "/sign-ins",
    "/book/jobs/new",
    "/api/planning",
    "/api/book/revisions",
];

#[test]
fn nobody_sees_anything_before_signing_in() {
    let service = Service::start();
    let owner = service.owner();
    let nobody = Somebody::nobody(&service.base);
    for path in OF_READERS.iter().chain(&OF_OWNERS).chain(&["/", "/me", "/start", "/week/2026-12-07"]) {
        let came = nobody.get(path);
        if path.starts_with("/api/") {
            assert_eq!((came.status, came.head("content-type")), (401, "application/problem+json"), "{path}");
            assert_eq!(came.json()["type"], "urn:yardless:problem:web:not-signed-in");
        } else {
            assert_eq!(came.status, 303, "{path}");
            assert!(came.head("location").starts_with("/sign-in?then="), "{path}");
        }
        assert!(!came.body.contains("Birch"), "{path}");
    }
    assert_eq!(owner.get("/jobs").status, 200);
}

#[test]
fn name_and_password_lead_back_to_where_one_was_going() {
    let service = Service::start();
    let owner = service.owner();
    let mut again = Somebody::nobody(&service.base);
    let wrong =
        again.post_bare("/sign-in", &[("name", "Rae Owner"), ("password", "another password"), ("then", "/jobs")]);
    assert_eq!((wrong.status, wrong.head("set-cookie")), (403, ""));
    assert!(wrong.body.contains("Name or password is wrong"));
    let right = again.post_bare("/sign-in", &[("name", "rae owner"), ("password", PASSWORD), ("then", "/jobs")]);
    assert_eq!((right.status, right.head("location")), (303, "/jobs"));
    again.is(&right);
    assert_eq!(again.get("/jobs").status, 200);
    // Signing out ends this session and no other.
    assert_eq!(again.post("/sign-out", &[]).status, 303);
    assert_eq!((again.get("/jobs").status, owner.get("/jobs").status), (303, 200));
    // A link is used once.
    let link = format!("/link/{}", service.link.as_ref().expect("a link"));
    assert_eq!(owner.get(&link).status, 410);
}

#[test]
fn crew_sees_its_own_sheet_and_no_price() {
    let service = Service::start();
    let owner = service.owner();
    let crew = service.add(&owner, "Northern hand", "crew north");
    assert_eq!(crew.get("/").head("location"), "/crews/north");
    for path in OF_READERS.iter().chain(&OF_OWNERS).filter(|path| **path != "/crews/north") {
        assert_eq!(crew.get(path).status, 403, "{path}");
    }
    assert_eq!(crew.get("/crews/south").status, 403);
    assert_eq!(crew.post("/crews/south", &[("step", "birch-attic/seal"), ("says", "done")]).status, 403);
    for (path, fields) in [
        ("/plan/start", vec![]),
        ("/weather/storm", vec![("first", "2026-12-09")]),
        ("/book/jobs/new", vec![("name", "x")]),
        ("/book/jobs/of/birch-attic/remove", vec![("base", "1")]),
        ("/sign-ins", vec![("name", "x"), ("role", "owner")]),
        ("/changes/1/undo", vec![]),
    ] {
        assert_eq!(crew.post(path, &fields).status, 403, "{path}");
    }
    let sheet = crew.get("/crews/north");
    assert!(sheet.status == 200 && !sheet.body.contains('$'), "{}", sheet.body);
}

#[test]
fn reader_reads_all_and_changes_nothing() {
    let service = Service::start();
    let owner = service.owner();
    let reader = service.add(&owner, "Looker-on", "reader");
    for path in OF_READERS {
        assert_eq!(reader.get(path).status, 200, "{path}");
    }
    for path in OF_OWNERS {
        assert_eq!(reader.get(path).status, 403, "{path}");
    }
    let book = owner.book();
    assert_eq!(reader.post("/weather/storm", &[("first", "2026-12-20")]).status, 403);
    assert_eq!(owner.book(), book);
    let form = reader.get("/book/jobs/of/birch-attic").body;
    assert!(form.contains("disabled") && !form.contains("Keep"), "no way to change is shown: {form}");
}

#[test]
fn closed_sign_in_ends_at_once_and_a_new_password_ends_all_others() {
    let service = Service::start();
    let owner = service.owner();
    let reader = service.add(&owner, "Looker-on", "reader");
    assert_eq!(owner.post("/sign-ins/2/close", &[]).status, 303);
    assert_eq!(reader.get("/jobs").status, 303);
    let nobody = Somebody::nobody(&service.base);
    assert_eq!(nobody.post_bare("/sign-in", &[("name", "Looker-on"), ("password", PASSWORD)]).status, 403);
    assert_eq!(owner.post("/sign-ins/1/close", &[]).status, 422, "not one's own");
    assert_eq!(owner.post("/sign-ins", &[("name", "rae OWNER"), ("role", "reader")]).status, 422, "the name is taken");
    let short = owner.post("/me", &[("old", PASSWORD), ("password", "short"), ("again", "short")]);
    assert!(short.status == 422 && short.body.contains("10 to 200"), "{}", short.body);
    let new = "another long password";
    assert_eq!(owner.post("/me", &[("old", "wrong"), ("password", new), ("again", new)]).status, 422);
    assert_eq!(owner.post("/me", &[("old", PASSWORD), ("password", new), ("again", new)]).status, 303);
    assert_eq!(owner.get("/jobs").status, 303, "signed out");
    assert_eq!(nobody.post_bare("/sign-in", &[("name", "Rae Owner"), ("password", new)]).status, 303);
}
