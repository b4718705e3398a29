//! Who may see and do what.

use std::sync::Arc;
use std::time::{Duration, Instant};

use super::service::{Came, PASSWORD, Service, Somebody};

const OF_READERS: [&str; 15] = [
    "/step/birch-attic/seal",
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
const OF_OWNERS: [&str; 12] = [
    "/plan",
    "/step/birch-attic/seal/move",
    "/book/jobs/of/birch-attic/history",
    "/wish",
    "/matters",
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
    assert!(form.contains("disabled") && !form.contains(">Save<"), "no way to change is shown: {form}");
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

#[test]
fn link_of_a_closed_sign_in_leads_nowhere_for_good() {
    let service = Service::start();
    let owner = service.owner();
    let link = |came: &Came| came.body.split_once("/link/").map(|(_, rest)| format!("/link/{}", &rest[..64]));
    let first = link(&owner.post("/sign-ins", &[("name", "Looker-on"), ("role", "reader")])).expect("a link");
    let nobody = Somebody::nobody(&service.base);
    assert_eq!(nobody.get(&first).status, 200);
    assert_eq!(owner.post("/sign-ins/2/close", &[]).status, 303);
    let choose = [("password", PASSWORD), ("again", PASSWORD)];
    for came in [nobody.get(&first), nobody.post_bare(&first, &choose)] {
        assert!(came.status == 410 && came.body.contains("closed"), "{}", came.body);
    }
    let none = owner.post("/sign-ins/2/link", &[]);
    assert!(none.status == 422 && none.body.contains("closed") && link(&none).is_none(), "{}", none.body);
    assert!(!owner.get("/sign-ins").body.contains("/sign-ins/2/link"));
    // Opened again, it gets a new link; the old one stays dead.
    assert_eq!(owner.post("/sign-ins/2/close", &[]).status, 303);
    assert_eq!(nobody.get(&first).status, 410);
    let new = link(&owner.post("/sign-ins/2/link", &[])).expect("a link");
    assert_eq!(nobody.post_bare(&new, &choose).status, 303);
}

/// A password tried from an address, as the server in front names it.
fn tried(who: &Somebody, from: &str, name: &str, password: &str) -> Came {
    who.post_from("/sign-in", ("x-forwarded-for", from), &[("name", name), ("password", password)])
}

/// By what a browser is known that has just signed in.
fn device(came: &Came) -> String {
    let set = came.heads.iter().find(|(name, value)| name == "set-cookie" && value.starts_with("yardless_device_"));
    let (_, set) = set.expect("a cookie");
    for part in ["Path=/sign-in;", "HttpOnly", "SameSite=Strict", "Secure"] {
        assert!(set.contains(part), "{part}: {set}");
    }
    set.split(';').next().expect("its value").to_owned()
}

#[test]
fn name_that_others_guess_from_everywhere_gets_in_where_it_has_been_before_and_is_told() {
    let service = Service::start_in(Arc::new(tempfile::tempdir().expect("a folder")), &["--proxied"]);
    let owner = service.owner();
    let reader = service.add(&owner, "Looker-on", "reader");
    let nobody = Somebody::nobody(&service.base);
    let known = device(&tried(&nobody, "198.51.100.1:4711", "Rae Owner", PASSWORD));
    let of_reader = device(&tried(&nobody, "198.51.100.2", "Looker-on", PASSWORD));
    // From one address after another, each with another port, until nobody new gets as far as a password.
    let mut guesses = 0;
    let mut guess_until_refused = || {
        let (mut wrong, mut refused) = (0, 0);
        while refused < 5 {
            guesses += 1;
            assert!(guesses < 1_000, "it ends");
            let from = format!("192.0.2.{}:{}", guesses / 10, 1_000 + guesses);
            match tried(&nobody, &from, "Rae Owner", "a guess").status {
                403 => wrong += 1,
                429 => refused += 1,
                other => panic!("{other}"),
            }
        }
        wrong
    };
    let wrong = guess_until_refused();
    assert!((90..120).contains(&wrong), "{wrong}");
    assert_eq!(tried(&nobody, "[2001:db8::1]:443", "Rae Owner", PASSWORD).status, 429, "from somewhere new");
    let from = |device: &str, password| {
        nobody.post_from("/sign-in", ("cookie", device), &[("name", "rae owner"), ("password", password)])
    };
    assert_eq!(from(&of_reader, PASSWORD).status, 429, "known as somebody else");
    let mut again = nobody.clone();
    let signed = from(&known, PASSWORD);
    assert_eq!((signed.status, device(&signed)), (303, known.clone()), "where it has been before");
    again.is(&signed);
    let says = format!("{wrong} wrong passwords were given for your name since");
    let began = Instant::now();
    while !again.get("/").body.contains(&says) {
        assert!(began.elapsed() < Duration::from_secs(20), "{}", again.get("/").body);
        std::thread::sleep(Duration::from_millis(50));
    }
    assert!(!reader.get("/").body.contains("wrong password"));
    assert_eq!(again.post("/me/seen", &[]).status, 303);
    assert!(!again.get("/me").body.contains("wrong password"));
    // A known device guesses no faster than others, and is not known under another password.
    assert!((0..11).any(|_| from(&known, "a guess").status == 429));
    let new = "another long password";
    assert_eq!(owner.post("/me", &[("old", PASSWORD), ("password", new), ("again", new)]).status, 303);
    guess_until_refused();
    assert_eq!(from(&known, new).status, 429);
}

#[test]
fn who_guesses_does_not_learn_which_names_there_are() {
    let service = Service::start_in(Arc::new(tempfile::tempdir().expect("a folder")), &["--proxied"]);
    let owner = service.owner();
    service.add(&owner, "Looker-on", "reader");
    assert_eq!(owner.post("/sign-ins/2/close", &[]).status, 303);
    assert_eq!(owner.post("/sign-ins", &[("name", "Not yet in"), ("role", "reader")]).status, 200);
    let nobody = Somebody::nobody(&service.base);
    // Each sort of answer once, in their order, until there is no more trying from there.
    let told = |at: u8, name: &str, password: &str| -> Vec<(u16, String)> {
        let from = format!("2001:db8:0:{at}::1");
        let mut told = Vec::new();
        while told.last().is_none_or(|(status, _)| *status != 429) {
            let came = tried(&nobody, &from, name, password);
            assert_eq!(came.head("set-cookie"), "");
            let body = came.body.replace(name, "NAME");
            // How long to wait is told to the second.
            told.push((came.status, body.split("Wait").next().unwrap_or_default().to_owned()));
            told.dedup();
        }
        told
    };
    let of_nobody = told(1, "Nobody at all", "a guess");
    assert_eq!(of_nobody.iter().map(|(status, _)| *status).collect::<Vec<_>>(), [403, 429]);
    assert_eq!(told(2, "Rae Owner", "a guess"), of_nobody);
    assert_eq!(told(3, "Looker-on", PASSWORD), of_nobody, "closed, with its own password");
    assert_eq!(told(4, "Not yet in", ""), of_nobody);
}
