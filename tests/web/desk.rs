//! The owner's desk: what is not entered yet, what is not planned, whom to tell, and the book to begin with.

use std::sync::Arc;

use super::planning::{found, give_out};
use super::service::{Service, filled, hidden, with};

#[test]
fn place_that_no_drive_leads_to_is_told_where_it_is_entered_and_where_its_job_is_not_planned() {
    let service = Service::start();
    let owner = service.owner();
    let form = filled(&owner.get("/book/places/new").body);
    assert_eq!(
        owner.post_bare("/book/places/new", &with(&form, "name", "Fern Hollow")).head("location"),
        "/places#kept"
    );
    let says = "Nothing can be hauled to Fern Hollow: it has neither drive minutes nor coordinates.";
    for path in ["/places", "/book/places/of/fern-hollow"] {
        assert!(owner.get(path).body.contains(says), "{path}");
    }
    assert!(!owner.get("/jobs").body.contains(says) && !owner.get("/book/places/of/drive").body.contains(says));
    let job = "/book/jobs/of/alder-attic";
    let form = filled(&owner.get(job).body);
    assert_eq!(owner.post_bare(job, &with(&form, "place", "fern-hollow")).status, 303);
    for path in ["/jobs", job] {
        assert!(owner.get(path).body.contains(says), "{path}");
    }
    // Planned, it is named first with the reason, beside the button too, and where it was given out.
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    let page = owner.get("/plan").body;
    let place = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}: {page}"));
    let why = "nothing can be hauled to Fern Hollow: it has neither drive minutes nor coordinates";
    assert!(place("planned:</strong>") < place(why) && place(why) < place("A plan was found"), "{page}");
    assert!(!page.contains("no road there is open"), "{page}");
    let hint = &page[place("Give out</button>")..];
    assert!(hint[..hint.find("</p>").expect("its end")].contains("Alder attic"), "{hint}");
    let given = owner.post("/plan/give-out", &[("number", hidden(&page, "number"))]);
    let told = owner.get(given.head("location")).body;
    assert!(told.contains("planned:</strong>") && told.contains(why), "{told}");
    // With coordinates nothing is lacking any more.
    let form = filled(&owner.get("/book/places/of/fern-hollow").body);
    assert_eq!(owner.post_bare("/book/places/of/fern-hollow", &with(&form, "at.0", "44.3, -72.5")).status, 303);
    assert!(!owner.get("/places").body.contains(says));
}

#[test]
fn who_must_be_told_is_reached_from_every_plan_given_out() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    assert!(owner.get("/").body.contains("href=\"/given-out/1\""));
    let first = owner.get("/given-out/1").body;
    assert!(first.contains("North crew, week of Mon 7 Dec") && first.contains("Hello, this is "), "{first}");
    // A job that came into the book since stands first where is planned again.
    let table =
        "job id,job name,job place,step id,step skill,step half_days\ngable,Gable end,cedar,seal,air sealing,2\n";
    let base = owner.book().0.to_string();
    assert_eq!(owner.upload("/jobs.csv", &[("base", &base)], ("table", "jobs.csv", table.as_bytes())).status, 303);
    let page = owner.get("/plan").body;
    assert!(page.contains("<strong>Gable end</strong>: it came into the book since"), "{page}");
    give_out(&owner);
    let second = owner.get("/given-out/2").body;
    assert!(second.contains("Gable end") && second.contains("What it changes"), "{second}");
    // What is not in force any more says so; one given out again is a plan of its own.
    assert!(owner.get("/given-out/1").body.contains("not the plan in force any more"));
    assert_eq!(owner.post("/changes/plan/1/give-out", &[]).head("location"), "/given-out/3");
    let changes = owner.get("/changes").body;
    assert!((1..=3).all(|n| changes.contains(&format!("href=\"/given-out/{n}\""))), "{changes}");
    assert_eq!(owner.get("/given-out/9").status, 404);
}

#[test]
fn book_beside_an_empty_database_is_offered_and_never_taken_silently() {
    let folder = Arc::new(tempfile::tempdir().expect("a folder"));
    let book = folder.path().join("book.json");
    std::fs::write(&book, "{ \"book\": 1 }").expect("written");
    let service = Service::start_in(Arc::clone(&folder), &[]);
    let owner = service.first_owner();
    // One with faults is told with them, and there is no way to take it.
    let page = owner.get("/start").body;
    assert!(page.contains("cannot be taken over as it is") && page.contains("shop"), "{page}");
    assert!(!page.contains("value=\"beside\""), "{page}");
    assert_eq!(owner.post("/start", &[("with", "beside")]).status, 422);
    let five = include_bytes!("../../data/five-jobs.json");
    std::fs::write(&book, five).expect("written");
    let page = owner.get("/start").body;
    assert!(page.contains("Take over book.json (5 jobs, 2 crews)?"), "{page}");
    assert_eq!(owner.get("/api/book").status, 409, "nothing is taken before it is asked for");
    assert_eq!(owner.post("/start", &[("with", "beside")]).head("location"), "/");
    assert_eq!(Some(owner.book().1), serde_json::from_slice(five).ok());
    assert_eq!(std::fs::read(&book).expect("the book"), five, "the file stays as it is");
}
