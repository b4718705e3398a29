//! What is stored and does not read any more: pages say so, and the way back goes on.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use rusqlite::{Connection, params};
use serde_json::json;

use super::planning::give_out;
use super::service::{Service, Somebody, command};

/// Puts a text in as the next revision, past everything that judges it, as another version or a bad disk might.
fn damaged(service: &Service, kind: &str, text: &str) -> i64 {
    let file = Connection::open(service.db()).expect("the file");
    file.execute(
        "INSERT INTO revision (kind, number, at, who, what, text)
         SELECT ?1, max(number) + 1, '2026-12-07T06:00:00Z', 'Somebody', 'a change', ?2 FROM revision WHERE kind = ?1",
        params![kind, text],
    )
    .expect("written");
    file.query_row("SELECT max(number) FROM revision WHERE kind = ?1", [kind], |row| row.get(0)).expect("a number")
}

/// Pages that need the book say what is wrong and lead to the changes, which go on with all else that needs none.
fn way_back_is_shown(owner: &Somebody, pages: &[&str], number: i64) {
    for path in pages {
        let page = owner.get(path);
        assert_eq!(page.status, 503, "{path}: {}", page.body);
        assert!(page.body.contains("cannot be read as it was saved last"), "{path}: {}", page.body);
        assert!(page.body.contains(&format!("number {number}, by Somebody")), "{path}: {}", page.body);
        assert!(page.body.contains("href=\"/changes\""), "{path}: {}", page.body);
    }
    let health = owner.get("/health");
    assert!(health.status == 503 && health.body.contains("cannot be read as it was saved last"), "{}", health.body);
    for path in ["/changes", "/changes/1", &format!("/changes?before={}", number + 1), "/me", "/sign-ins"] {
        let page = owner.get(path);
        assert_eq!(page.status, 200, "{path}: {}", page.body);
    }
    assert!(owner.get("/changes").body.contains("cannot be read as it was saved last"));
}

#[test]
fn book_that_does_not_read_is_told_and_taken_back_and_goes_out_meanwhile() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (_, book) = owner.book();
    let mut faulty = book.clone();
    faulty["jobs"][0]["steps"][0]["skill"] = "nobody has it".into();
    for (n, text) in ["{ \"book\": 1, \"jobs\": [", "", "[]", &faulty.to_string()].into_iter().enumerate() {
        let number = damaged(&service, "book", text);
        let pages =
            ["/", "/season", "/jobs", "/crews/north", "/weather", "/plan", "/questions", "/book/shop", "/start"];
        way_back_is_shown(&owner, &pages, number);
        assert_eq!(owner.get(&format!("/changes/{number}")).status, 200);
        let told = owner.get("/api/book");
        assert!(told.status == 503 && told.json()["type"] == "urn:yardless:problem:web:unread", "{}", told.body);
        let (out, copy) = (format!("out-{n}"), format!("copy-{n}.db"));
        std::fs::create_dir(service.folder().join(&out)).expect("a folder");
        for args in [["export", &out], ["backup", &copy]] {
            let ran = command(service.folder(), &args).output().expect("it runs");
            assert!(ran.status.success(), "{args:?}: {}", String::from_utf8_lossy(&ran.stderr));
        }
        assert_eq!(std::fs::read_to_string(service.folder().join(&out).join("book.json")).expect("a book"), text);
        let undone = owner.post(&format!("/changes/{number}/undo"), &[]);
        assert_eq!(undone.status, 303, "{}", undone.body);
        assert_eq!((owner.get("/").status, owner.get("/health").status), (200, 200));
        assert_eq!(owner.book(), (number + 1, book.clone()), "as it was before, in a revision of its own");
    }
}

#[test]
fn what_came_after_a_change_that_spoilt_the_book_stays_when_it_is_taken_back() {
    let service = Service::start();
    let owner = service.owner();
    let (_, mut book) = owner.book();
    let skill = book["jobs"][0]["steps"][0]["skill"].take();
    book["jobs"][0]["steps"][0]["skill"] = "nobody has it".into();
    let spoilt = damaged(&service, "book", &book.to_string());
    book["x_later"] = json!("stays");
    damaged(&service, "book", &book.to_string());
    let undone = owner.post(&format!("/changes/{spoilt}/undo"), &[]);
    assert_eq!(undone.status, 303, "{}", undone.body);
    book["jobs"][0]["steps"][0]["skill"] = skill;
    assert_eq!(owner.book().1, book);
    // Where the text is no JSON, nothing can be laid over it: the book is as it was before the change taken back.
    let first = damaged(&service, "book", "{");
    damaged(&service, "book", "{{");
    let refused = owner.post(&format!("/changes/{}/undo", first + 1), &[]);
    assert!(refused.status == 422 && refused.body.contains("nothing was saved"), "{}", refused.body);
    assert_eq!(owner.post(&format!("/changes/{first}/undo"), &[]).status, 303);
    assert_eq!(owner.book().1, book);
}

#[test]
fn plan_that_does_not_read_is_told_and_an_earlier_one_given_out_again() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let number = damaged(&service, "plan", "{ \"plan\": 1 }");
    way_back_is_shown(&owner, &["/", "/season", &format!("/given-out/{number}")], number);
    assert_eq!(owner.get("/jobs").status, 200, "the book does read");
    let asked = owner.get("/api/questions/why?job=birch-attic");
    assert_eq!(asked.status, 503, "{}", asked.body);
    let again = owner.post("/changes/plan/1/give-out", &[]);
    assert_eq!((again.status, owner.get(again.head("location")).status), (303, 200), "{}", again.head("location"));
    assert_eq!((owner.get("/").status, owner.get("/health").status), (200, 200));
    // Or another one is made.
    damaged(&service, "plan", "no plan");
    give_out(&owner);
    assert_eq!(owner.get("/").status, 200);
}

#[test]
fn closed_sign_in_hears_no_more_at_once() {
    let service = Service::start();
    let owner = service.owner();
    let second = service.add(&owner, "Second owner", "owner");
    let mut live = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    live.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
    let cookie = format!("Cookie: yardless={}\r\n", second.token);
    live.write_all(format!("GET /api/planning/live HTTP/1.1\r\nHost: x\r\n{cookie}\r\n").as_bytes()).expect("sent");
    let (mut told, mut part) = (String::new(), [0; 4096]);
    let mut until = |of: &dyn Fn(&str) -> bool| {
        while !of(&told) {
            let n = live.read(&mut part).expect("events");
            assert!(n > 0, "{told}");
            told.push_str(&String::from_utf8_lossy(&part[..n]));
        }
    };
    until(&|told| told.contains("\"state\""));
    // Somebody else's sign-in that is closed ends nothing.
    service.add(&owner, "Third", "reader");
    let accounts = owner.get("/sign-ins").body;
    let id = |name: &str| -> String {
        let (_, after) = accounts.split_once(name).expect("listed");
        let (_, rest) = after.split_once("/sign-ins/").expect("a form");
        rest.split('/').next().expect("a number").to_owned()
    };
    assert_eq!(owner.post(&format!("/sign-ins/{}/close", id("Third")), &[]).status, 303);
    assert_eq!(owner.post("/plan/start", &[("seconds", "600")]).status, 303);
    until(&|told| told.contains("\"running\""));
    assert_eq!(owner.post(&format!("/sign-ins/{}/close", id("Second owner")), &[]).status, 303);
    // The last part of a body that ends.
    until(&|told| told.ends_with("0\r\n\r\n"));
    assert_eq!(owner.get("/api/planning").json()["state"], "running", "only the hearing has ended");
}
