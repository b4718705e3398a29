//! A caller's wish: dates for a job that is not in the book, and the one that is taken.

use std::time::{Duration, Instant};

use serde_json::json;

use super::planning::{found, give_out};
use super::service::{Came, Service, Somebody, hidden};

/// The page of a wish, once it has its dates.
fn dates(who: &Somebody, path: &str) -> Came {
    let began = Instant::now();
    loop {
        let came = who.get(path);
        if !came.body.contains("Looking for dates") {
            return came;
        }
        assert!(came.body.contains("http-equiv=\"refresh\"") && came.body.contains("Stop"), "{}", came.body);
        assert!(began.elapsed() < Duration::from_secs(120), "{path}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

const ATTIC: [(&str, &str); 6] = [
    ("like", "pattern/attic"),
    ("place", ""),
    ("new_place.address", "17 Hollis Road"),
    ("new_place.minutes.drive", "25"),
    ("contact", "Mrs. Placeholder, 555-0117"),
    ("due", "2027-01-08"),
];

#[test]
fn date_that_is_taken_makes_the_job_with_it_once_and_plans() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let before = owner.book();
    let asked = owner.post("/wish", &ATTIC);
    assert_eq!(asked.status, 303, "{}", asked.body);
    let path = asked.head("location").to_owned();
    let page = dates(&owner, &path).body;
    assert_eq!(owner.book(), before, "nothing is kept before a date is taken");
    assert!(page.contains("17 Hollis Road, attic, air sealed and blown: start "), "{page}");
    let (_, row) = page.split_once("/take\">").expect("a date to take");
    let sent = ["step", "start", "last", "last_start", "last_crew", "last_way", "end", "extra", "form"]
        .map(|name| (name, hidden(row, name)));
    let taken = owner.post(&format!("{path}/take"), &sent);
    assert_eq!((taken.status, taken.head("location")), (303, "/plan"), "{}", taken.body);
    let of = |name: &str| sent.iter().find(|(of, _)| *of == name).expect("it is sent").1;
    let (step, start, end, form) = (of("step"), of("start"), of("end"), of("form"));
    let ((_, was), (_, book)) = (before, owner.book());
    let many = |book: &serde_json::Value| book["jobs"].as_array().map_or(0, Vec::len);
    assert_eq!(many(&book), many(&was) + 1);
    let job = &book["jobs"][many(&was)];
    assert_eq!(step, "seal", "the first step of the pattern");
    assert_eq!((&job["contact"], &job["due"]), (&json!("Mrs. Placeholder, 555-0117"), &json!(&end[..10])));
    assert_eq!(
        (&job["steps"][0]["fixed"], &job["steps"][0]["told"]),
        (&json!({ "start": start }), &json!({ "from": &start[..10], "to": &start[..10] }))
    );
    let ends =
        job["steps"].as_array().and_then(|all| all.iter().find(|step| step["id"] == of("last"))).expect("its last");
    assert_eq!(
        (&ends["fixed"]["start"], &ends["fixed"]["crew"], &ends["fixed"]["way"]),
        (&json!(of("last_start")), &json!(of("last_crew")), &json!(of("last_way")))
    );
    let costs = of("extra").parse::<i64>().expect("cents");
    assert!(costs < 10_000 || job["late_day"].as_i64().is_some_and(|late| late * 100 > costs), "{job}");
    let place = book["places"].as_array().and_then(|all| all.last()).expect("a place");
    assert_eq!((&place["address"], &place["id"]), (&json!("17 Hollis Road"), &job["place"]));
    assert!(book["drives"].as_array().is_some_and(|all| all.contains(&json!({
        "from": "drive", "to": job["place"], "minutes": 25
    }))));
    // Sent twice it is taken once; for another date the wish is over.
    assert_eq!(owner.post(&format!("{path}/take"), &sent).status, 303);
    assert_eq!(many(&owner.book().1), many(&was) + 1);
    let other = [("start", "2027-01-04 am"), ("last_start", "2027-01-05 am"), ("end", "2027-01-05 pm"), ("extra", "0")];
    let other = [&other[..], &[("step", "seal"), ("last", "blow"), ("form", form)]].concat();
    assert_eq!(owner.post(&format!("{path}/take"), &other).status, 409);
    // The plan that is being made keeps the date.
    assert_eq!(found(&owner)["state"], "found");
    let page = owner.get("/plan").body;
    let given = owner.post("/plan/give-out", &[("number", hidden(&page, "number"))]);
    assert_eq!(given.status, 303, "{}", given.body);
    let plan = owner.get("/api/plan").json();
    let rows = plan["plan"]["steps"].as_array().expect("rows");
    let row = rows.iter().find(|row| row["job"] == job["id"] && row["step"] == "seal");
    assert_eq!(row.expect("it is planned")["start"], start);
    let ends = rows.iter().filter(|row| row["job"] == job["id"]).filter_map(|row| row["end"].as_str()).max();
    assert_eq!(ends, Some(end), "and the finish that was offered");
}

#[test]
fn wish_may_be_for_what_another_job_is_and_takes_nothing_of_that_jobs_own() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let asked = owner.post("/wish", &[("like", "job/cedar-pack"), ("place", "birch")]);
    assert_eq!(asked.status, 303, "{}", asked.body);
    let path = asked.head("location").to_owned();
    let page = dates(&owner, &path).body;
    assert!(page.contains("Take this date"), "{page}");
    let (_, row) = page.split_once("/take\">").expect("a date to take");
    let sent = ["step", "start", "last", "last_start", "last_crew", "last_way", "end", "extra", "form"]
        .map(|name| (name, hidden(row, name)));
    assert_eq!(owner.post(&format!("{path}/take"), &sent).status, 303);
    let (_, book) = owner.book();
    let job = book["jobs"].as_array().and_then(|all| all.last()).expect("a job");
    let like = &book["jobs"][2];
    let ids = |job: &serde_json::Value| -> Vec<String> {
        job["steps"].as_array().into_iter().flatten().map(|step| step["id"].to_string()).collect()
    };
    assert_eq!((ids(job), job["contact"].is_null()), (ids(like), true));
    assert!(job["parked"].as_array().is_some_and(|all| all.iter().all(|need| need.get("units").is_none())));
}

/// A job of a book.
fn job_of<'b>(book: &'b mut serde_json::Value, id: &str) -> &'b mut serde_json::Value {
    let mut jobs = book["jobs"].as_array_mut().into_iter().flatten();
    jobs.find(|job| job["id"] == id).expect("the job")
}

#[test]
fn date_is_taken_for_a_job_that_is_in_the_book_and_changes_nothing_else_of_it() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (_, before) = owner.book();
    // The question of the same leads there.
    let began = Instant::now();
    let mut asked = owner.get("/questions/offer?job=alder-attic").body;
    while asked.contains("is being worked out") && began.elapsed() < Duration::from_secs(120) {
        std::thread::sleep(Duration::from_millis(100));
        asked = owner.get("/questions/offer?job=alder-attic").body;
    }
    assert!(asked.contains("href=\"/wish?job=alder-attic\""), "{asked}");
    let page = owner.get("/wish?job=alder-attic").body;
    assert!(page.contains("<option value=\"booked/alder-attic\" selected>"), "{page}");
    let asked = owner.post("/wish", &[("like", "booked/alder-attic"), ("place", "")]);
    assert_eq!(asked.status, 303, "{}", asked.body);
    let path = asked.head("location").to_owned();
    let page = dates(&owner, &path).body;
    let (_, row) = page.split_once("/take\">").unwrap_or_else(|| panic!("a date to take: {page}"));
    let sent = ["step", "start", "last", "last_start", "last_crew", "last_way", "end", "extra", "form"]
        .map(|name| (name, hidden(row, name)));
    let of = |name: &str| sent.iter().find(|(of, _)| *of == name).expect("it is sent").1;
    assert_eq!(owner.post(&format!("{path}/take"), &sent).status, 303);
    let (_, after) = owner.book();
    let mut expected = before.clone();
    let job = job_of(&mut expected, "alder-attic");
    job["due"] = json!(&of("end")[..10]);
    let steps = job["steps"].as_array_mut().expect("steps");
    let last = steps.iter_mut().find(|step| step["id"] == of("last")).expect("the last");
    last["fixed"] = json!({ "crew": of("last_crew"), "start": of("last_start") });
    if of("last_way") != "usual" {
        last["fixed"]["way"] = json!(of("last_way"));
    }
    let first = steps.iter_mut().find(|step| step["id"] == of("step")).expect("the first");
    first["fixed"]["start"] = json!(of("start"));
    first["told"] = json!({ "from": &of("start")[..10], "to": &of("start")[..10] });
    let extra = of("extra").parse::<i64>().expect("cents");
    if extra >= 10_000 {
        job_of(&mut expected, "alder-attic")["late_day"] = json!(extra / 100 + 1);
    }
    let changed: Vec<&String> =
        expected.as_object().expect("a book").keys().filter(|key| after[*key] != expected[*key]).collect();
    assert_eq!(changed, [""; 0], "{} {}", after["jobs"], expected["jobs"]);
    assert_eq!(found(&owner)["state"], "found");
    assert!(owner.get("/wish?job=no-such-job").status == 200);
}

#[test]
fn wish_that_is_no_job_comes_back_with_all_that_is_wrong_and_what_was_typed() {
    let service = Service::start();
    let owner = service.owner();
    let before = owner.book();
    let came = owner.post("/wish", &[("contact", "typed with care"), ("due", "2026-02-30")]);
    assert_eq!(came.status, 422);
    for says in ["Choose what is to be done.", "Choose a place, or give the address of a new one.", "typed with care"] {
        assert!(came.body.contains(says), "{says}: {}", came.body);
    }
    let due = came.body.split_once("id=\"due-hint\"").expect("its hint").1;
    assert!(due.split("</p>").next().is_some_and(|hint| hint.contains("class=\"wrong\"")), "{due}");
    let wrong = [
        ("like", "job/no-such-job"),
        ("new_place.address", "17 Hollis Road"),
        ("new_place.at", "near the mill"),
        ("new_place.minutes.drive", "half an hour"),
    ];
    let came = owner.post("/wish", &wrong);
    assert_eq!(came.status, 422);
    for (field, typed) in wrong.iter().skip(1) {
        assert!(came.body.contains(&format!("name=\"{field}\" value=\"{typed}\"")), "{field}: {}", came.body);
    }
    assert!(came.body.matches("<strong class=\"wrong\">").count() >= 3, "{}", came.body);
    assert_eq!(owner.book(), before);
    // Without a plan there is nothing to lay it beside, and that is said on the form.
    let asked = owner.post("/wish", &ATTIC);
    let page = dates(&owner, asked.head("location"));
    assert!(page.status == 409 && page.body.contains("No plan has been given out yet"), "{}", page.body);
    assert!(page.body.contains("17 Hollis Road"));
}

#[test]
fn wish_is_the_owners_who_asked_and_is_taken_with_a_date_only() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let other = service.add(&owner, "Second owner", "owner");
    let reader = service.add(&owner, "Looker-on", "reader");
    // To a place that no drive leads to it says why there is no date.
    let far: Vec<(&str, &str)> = ATTIC.into_iter().filter(|(name, _)| !name.contains("minutes")).collect();
    let path = owner.post("/wish", &far).head("location").to_owned();
    let page = dates(&owner, &path).body;
    assert!(page.contains("No date within these weeks") && page.contains("17 Hollis Road"), "{page}");
    assert!(other.get(&path).body.contains("That wish is not kept any more"));
    assert_eq!((reader.get(&path).status, reader.post("/wish", &ATTIC).status), (403, 403));
    let before = owner.book();
    let take = format!("{path}/take");
    for (step, start, status) in [("seal", "soon", 422), ("seal", "", 422), ("paint", "2026-12-21 am", 422)] {
        let sent = [("step", step), ("start", start), ("last", "blow"), ("last_start", "2026-12-22 am")];
        let sent = [&sent[..], &[("end", "2026-12-22 pm"), ("extra", "0")]].concat();
        assert_eq!(owner.post(&take, &sent).status, status, "{step} {start}");
    }
    let sent = [("step", "seal"), ("start", "2026-12-21 am"), ("last", "blow"), ("last_start", "2026-12-22 am")];
    assert_eq!(owner.post(&take, &sent).status, 422, "no end");
    let sent = [&sent[..], &[("end", "2026-12-22 pm"), ("extra", "0")]].concat();
    assert_eq!((other.post(&take, &sent).status, reader.post(&take, &sent).status), (409, 403));
    assert_eq!(owner.post("/wish/never/take", &sent).status, 409);
    assert_eq!(owner.post(&format!("{path}/stop"), &[]).head("location"), format!("{path}?stopped=1"));
    assert_eq!(owner.get(&format!("{path}?stopped=1")).status, 200);
    assert_eq!(owner.book(), before);
}
