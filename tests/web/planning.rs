//! Planning in the background, what it would change, and giving out.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use super::service::{Came, Service, Somebody, hidden};

/// Waits until planning has come to something.
pub fn found(owner: &Somebody) -> serde_json::Value {
    let began = Instant::now();
    loop {
        let seen = owner.get("/api/planning").json();
        if seen["state"] != "running" {
            return seen;
        }
        assert!(began.elapsed() < Duration::from_secs(60), "{seen}");
        std::thread::sleep(Duration::from_millis(30));
    }
}

/// Plans for a second and gives the plan out.
pub fn give_out(owner: &Somebody) {
    let started = owner.post("/plan/start", &[("seconds", "1")]);
    assert_eq!(started.status, 303, "{}", started.body);
    assert_eq!(found(owner)["state"], "found");
    let page = owner.get("/plan").body;
    let given = owner.post("/plan/give-out", &[("number", hidden(&page, "number")), ("form", hidden(&page, "form"))]);
    assert_eq!(given.status, 303, "{}", given.body);
    assert!(given.head("location").starts_with("/given-out/"), "who must be told comes next");
}

/// The page of a question that may take long, once it has its answer.
pub fn answered(who: &Somebody, path: &str) -> Came {
    let began = Instant::now();
    loop {
        let came = who.get(path);
        if !came.body.contains("The answer is being worked out") {
            return came;
        }
        assert!(came.body.contains("http-equiv=\"refresh\"") && came.body.contains("Stop"), "{}", came.body);
        assert!(began.elapsed() < Duration::from_secs(120), "{path}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn plan_is_made_beside_the_kept_one_and_takes_its_place_only_when_it_is_given_out() {
    let service = Service::start();
    let owner = service.owner();
    assert!(owner.get("/").body.contains("No plan has been given out yet"));
    assert_eq!(owner.get("/api/plan").status, 409);
    give_out(&owner);
    let first = owner.get("/api/plan").json();
    assert_eq!((first["revision"].as_i64(), first["breaches"].as_array().map(Vec::len)), (Some(1), Some(0)));
    let week = owner.get("/").body;
    assert!(week.contains("<svg class=\"sheet\"") && week.contains("Blower 2") && week.contains("THE WHOLE PLAN"));
    // A storm on the days to come: the plan given out does not hold any more, and says so.
    assert_eq!(
        owner.post("/weather/storm", &[("first", "2026-12-14"), ("last", "2026-12-15"), ("no_travel", "on")]).status,
        303
    );
    let week = owner.get("/").body;
    assert!(week.contains("This plan does not hold by the book as it is now"), "{week}");
    assert_eq!(owner.post("/plan/start", &[("seconds", "2")]).status, 303);
    let page = owner.get("/plan").body;
    assert!(page.contains("data-seen=\"cost\"") && !page.contains("not known"), "{page}");
    assert_eq!(owner.post("/plan/start", &[("seconds", "2")]).status, 409, "one at a time");
    let seen = found(&owner);
    assert!(seen["cost"].is_string() && seen["bound"].is_string() && seen["gap"].is_number(), "{seen}");
    let page = owner.get("/plan").body;
    assert!(page.contains("WHAT CHANGES") && page.contains("moved"), "{page}");
    // What is moved is moved because of the storm, on the days for which it was told.
    let because = page.split("<th scope=\"row\">because</th>").skip(1).filter_map(|rest| rest.split("</tr>").next());
    let because: Vec<&str> = because.collect();
    assert!(because.iter().any(|why| why.contains("14 Dec") || why.contains("15 Dec")), "{because:?}");
    assert_eq!(owner.get("/api/plan").json()["revision"], 1, "not given out yet");
    let given = owner.post("/plan/give-out", &[("number", hidden(&page, "number"))]);
    assert_eq!(given.status, 303, "{}", given.body);
    let second = owner.get("/api/plan").json();
    assert_eq!((second["revision"].as_i64(), second["breaches"].as_array().map(Vec::len)), (Some(2), Some(0)));
    assert_eq!(owner.post("/plan/give-out", &[("number", hidden(&page, "number"))]).status, 409, "given out already");
    // The first is given out again.
    assert_eq!(owner.post("/changes/plan/1/give-out", &[]).status, 303);
    let third = owner.get("/api/plan").json();
    assert_eq!((third["revision"].as_i64(), &third["plan"]), (Some(3), &first["plan"]));
}

#[test]
fn plan_found_for_a_book_that_has_changed_is_judged_anew() {
    let service = Service::start();
    let owner = service.owner();
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    let page = owner.get("/plan").body;
    let number = hidden(&page, "number").to_owned();
    assert_eq!(
        owner.post("/weather/storm", &[("first", "2026-12-14"), ("last", "2026-12-18"), ("no_travel", "on")]).status,
        303
    );
    assert!(owner.get("/plan").body.contains("has changed since it was begun"));
    let refused = owner.post("/plan/give-out", &[("number", &number)]);
    assert!(refused.status == 409 && refused.body.contains("does not hold"), "{}", refused.body);
    assert_eq!(owner.get("/api/plan").status, 409);
}

#[test]
fn planning_is_told_as_it_goes_and_stopped_at_will() {
    let mut service = Service::start();
    let owner = service.owner();
    let mut live = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    let cookie = format!("Cookie: yardless={}\r\n", owner.token);
    live.write_all(format!("GET /api/planning/live HTTP/1.1\r\nHost: x\r\n{cookie}\r\n").as_bytes()).expect("sent");
    assert_eq!(owner.post("/plan/start", &[("seconds", "300")]).status, 303);
    live.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
    let (mut told, mut part) = (String::new(), [0; 4096]);
    while !(told.contains("\"state\":\"running\"") && told.contains("\"cost\":\"")) {
        let n = live.read(&mut part).expect("events");
        assert!(n > 0, "{told}");
        told.push_str(&String::from_utf8_lossy(&part[..n]));
    }
    let page = owner.get("/plan").body;
    assert!(page.contains("Stop, with the best so far") && page.contains("http-equiv=\"refresh\""), "{page}");
    let began = Instant::now();
    assert_eq!(owner.post("/plan/stop", &[]).status, 303);
    assert_eq!(found(&owner)["says"], "stopped by hand");
    assert!(began.elapsed() < Duration::from_secs(60), "long before its time is over: {:?}", began.elapsed());
    // The service ends in good order, a planning under way and somebody listening.
    assert_eq!(owner.post("/plan/start", &[("seconds", "300")]).status, 303);
    let took = service.stop();
    assert!(took < Duration::from_secs(60), "long before the planning would be over: {took:?}");
}

#[test]
fn crew_tells_how_it_goes_and_the_owner_sees_it() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let crew = service.add(&owner, "Northern hand", "crew north");
    let sheet = crew.get("/crews/north").body;
    assert!(sheet.contains("North crew, week of Mon 7 Dec") && sheet.contains("birch-attic/seal"), "{sheet}");
    let told = crew.post("/crews/north", &[("step", "birch-attic/seal"), ("says", "left"), ("left", "6")]);
    assert_eq!(told.status, 303, "{}", told.body);
    let progress = owner.book().1["jobs"][0]["steps"][0]["progress"].clone();
    assert_eq!((progress["crew"].as_str(), progress["left"].as_f64()), (Some("north"), Some(6.0)));
    assert_eq!(crew.post("/crews/north", &[("step", "birch-attic/seal"), ("says", "done")]).status, 303);
    assert!(owner.book().1["jobs"][0]["steps"][0]["done"].is_object());
    assert!(owner.get("/changes").body.contains("Northern hand"));
    // What is noted of this half-day keeps nobody from planning and asking in it.
    assert_eq!(answered(&owner, "/questions/why?job=cedar-pack").status, 200);
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    // One that is not due, and more left than there was, are slips.
    for sent in [
        [("step", "alder-attic/seal"), ("says", "done"), ("left", "")],
        [("step", "birch-attic/seal"), ("says", "left"), ("left", "999")],
    ] {
        assert_eq!(crew.post("/crews/north", &sent).status, 422, "{sent:?}");
    }
    assert_eq!(crew.post("/crews/north", &[("step", "birch-attic/seal"), ("says", "again")]).status, 303);
    assert!(owner.book().1["jobs"][0]["steps"][0]["done"].is_null());
    assert_eq!(crew.post("/crews/north", &[("step", "row-house-reno/strip"), ("says", "done")]).status, 403);
    assert_eq!(
        crew.post("/crews/north", &[("step", "birch-attic/blow"), ("says", "left"), ("left", "some")]).status,
        422
    );
}

#[test]
fn long_question_is_told_as_it_goes_and_stopped_at_will() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    // It takes twenty seconds, and so is not there at once.
    let path = "/questions/worth?rows=8";
    let page = owner.get(path).body;
    assert!(page.contains("s so far") && page.contains("http-equiv=\"refresh\""), "{page}");
    let mut live = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    let cookie = format!("Cookie: yardless={}\r\n", owner.token);
    live.write_all(format!("GET /questions/worth/live?rows=8 HTTP/1.1\r\nHost: x\r\n{cookie}\r\n").as_bytes())
        .expect("sent");
    live.set_read_timeout(Some(Duration::from_secs(10))).expect("set");
    let (mut told, mut part) = (String::new(), [0; 4096]);
    let mut stopped = false;
    while !told.contains("\"state\":\"over\"") {
        let n = live.read(&mut part).expect("events");
        assert!(n > 0, "{told}");
        told.push_str(&String::from_utf8_lossy(&part[..n]));
        if told.contains("\"state\":\"running\"") && !stopped {
            stopped = true;
            let fields = [("job", ""), ("sooner", ""), ("rows", "8")];
            assert_eq!(owner.post("/questions/worth/stop", &fields).head("location"), "/questions#stopped");
        }
    }
    assert!(stopped, "it ran before it was over: {told}");
    // Nobody stops another one's question, and one that was never asked is over.
    let reader = service.add(&owner, "Looker-on", "reader");
    assert!(owner.get(path).body.contains("s so far"));
    assert_eq!(reader.post("/questions/worth/stop", &[("rows", "8")]).status, 303);
    assert!(owner.get(path).body.contains("s so far"));
}

#[test]
fn what_a_crew_said_is_shown_before_all_else_is_noted_as_planned_and_stands_unless_it_is_ticked() {
    let mut service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let crew = service.add(&owner, "Northern hand", "crew north");
    // All of it but an hour is left on Monday noon; by the plan it is done two days later.
    let step = |owner: &Somebody| owner.book().1["jobs"][0]["steps"][0].clone();
    let left = (step(&owner)["labor_hours"].as_f64().expect("hours") - 1.0).to_string();
    let said = [("step", "birch-attic/seal"), ("says", "left"), ("left", &left)];
    assert_eq!(crew.post("/crews/north", &said).status, 303);
    service.stop();
    let service = Service::start_in(service.shared(), &["--now", "2026-12-10 am"]);
    let owner = owner.at(&service.base);
    let before = owner.book();
    let page = owner.post("/plan/went", &[]);
    assert_eq!((page.status, owner.book()), (200, before.clone()), "{}", page.body);
    assert!(page.body.contains(&format!("{left} labor hours left as of Mon 7 Dec am")), "{}", page.body);
    assert!(page.body.contains("by the plan") || page.body.contains("By the plan"), "{}", page.body);
    assert_eq!(owner.post("/plan/went", &[("seen", "on")]).status, 303);
    let stands = step(&owner);
    assert!(stands["progress"].is_object() && stands["done"].is_null(), "{stands}");
    let noted = owner.book().1["jobs"].to_string();
    assert!(noted.contains("\"done\":{"), "all else is noted: {noted}");
    let over = [("seen", "on"), ("over", "birch-attic/seal")];
    assert_eq!(owner.post("/plan/went", &over).status, 303);
    assert!(step(&owner)["done"].is_object(), "{}", step(&owner));
}

#[test]
fn storm_of_now_breaks_no_row_of_last_week_and_on_a_weekend_a_clean_sheet_is_of_the_week_that_begins() {
    let mut service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    service.stop();
    let service = Service::start_in(service.shared(), &["--now", "2026-12-13 am"]);
    let owner = owner.at(&service.base);
    let storm = |first, last| {
        let at = if first < "2026-12-13" { vec![("at", "birch")] } else { vec![] };
        let fields = [&[("first", first), ("last", last), ("no_travel", "on")], &at[..]].concat();
        let marked = owner.post("/weather/storm", &fields);
        assert_eq!(marked.status, 303, "{}", marked.body);
    };
    // The overdue attic was done by then.
    let breaches = || owner.get("/api/plan").json()["breaches"].as_array().map(Vec::len);
    storm("2026-12-07", "2026-12-13");
    assert_eq!(breaches(), Some(0), "{}", owner.get("/").body);
    assert_eq!(owner.post("/plan/start", &[("seconds", "1"), ("afresh", "on")]).status, 303);
    assert_eq!(found(&owner)["state"], "found");
    assert!(owner.get("/plan").body.contains("The week of Mon 14 Dec by the new plan"));
    storm("2026-12-14", "2026-12-15");
    assert!(breaches() > Some(0) && owner.get("/").body.contains("does not hold by the book as it is now"));
    let told = owner.get("/api/plan").json()["breaches"][0].clone();
    assert!(told["rule"].is_string() && told["says"].is_string() && told["fact"]["kind"].is_string(), "{told}");
}

#[test]
fn questions_are_answered_on_the_page_and_by_the_api() {
    let service = Service::start();
    let owner = service.owner();
    assert!(owner.get("/questions").body.contains("there is nothing to ask"));
    give_out(&owner);
    let free = owner.get("/questions/free?kind=blowing%20machine&count=2&half_days=1&at=mill");
    assert!(free.status == 200 && free.body.contains("blowing machine"), "{}", free.body);
    let why = owner.get("/api/questions/why?job=birch-attic").json();
    assert!(why["chain"].as_array().is_some_and(|chain| !chain.is_empty()), "{why}");
    let worth = owner.get("/api/questions/worth?rows=1").json();
    assert_eq!(worth["rows"].as_array().map(Vec::len), Some(1), "{worth}");
    let offer = answered(&owner, "/questions/offer?job=cedar-pack");
    assert!(offer.status == 200 && offer.body.contains("FINISH"), "{}", offer.body);
    let lists = owner.get("/api/loads?week=2026-12-07").json();
    assert!(lists["moves"].as_array().is_some_and(|moves| !moves.is_empty()), "{lists}");
    assert_eq!(owner.get("/api/loads?week=2025-12-07").status, 422);
    assert_eq!(owner.get("/api/where?thing=heat%20camera").json()["thing"], "camera");
    assert_eq!(owner.get("/api/where?thing=heat%20camra").json()["type"], "urn:yardless:problem:where:unknown-thing");
    let unknown = answered(&owner, "/questions/why?job=nobody");
    assert!(unknown.status == 422 && unknown.body.contains("nobody"), "{}", unknown.body);
    assert_eq!(owner.get("/api/questions/why?job=nobody").json()["type"], "urn:yardless:problem:ask:unknown-job");
    assert_eq!(
        (owner.get("/questions/when").status, owner.get("/api/questions/free?kind=x&count=0").status),
        (404, 422)
    );
}

/// A question whose answer is not read yet.
fn asked(service: &Service, who: &Somebody, path: &str) -> TcpStream {
    let mut stream = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    let cookie = format!("Cookie: yardless={}\r\n", who.token);
    stream.write_all(format!("GET {path} HTTP/1.1\r\nHost: x\r\n{cookie}\r\n").as_bytes()).expect("sent");
    stream.set_read_timeout(Some(Duration::from_millis(20))).expect("set");
    stream
}

/// The beginning of what has come so far.
fn came_so_far(stream: &TcpStream) -> String {
    let mut part = [0; 4096];
    stream.peek(&mut part).map_or_else(|_| String::new(), |n| String::from_utf8_lossy(&part[..n]).into_owned())
}

fn until(says: &str, mut is: impl FnMut() -> bool) {
    let began = Instant::now();
    while !is() {
        assert!(began.elapsed() < Duration::from_secs(40), "{says}");
        std::thread::sleep(Duration::from_millis(30));
    }
}

#[test]
fn who_asks_sixty_questions_waits_for_themselves_and_the_owner_is_next() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let reader = service.add(&owner, "Looker-on", "reader");
    let logged = |says: &str| service.log().matches(says).count();
    let first = asked(&service, &reader, "/api/questions/worth");
    until("the first has its turn", || logged("a question has its turn") == 1);
    let mut others: Vec<TcpStream> = (1..60).map(|_| asked(&service, &reader, "/api/questions/worth")).collect();
    // Three may wait; all others are told at once.
    until("the others are refused", || others.iter().filter(|of| !came_so_far(of).is_empty()).count() == 56);
    let (waiting, refused): (Vec<_>, Vec<_>) = others.drain(..).partition(|of| came_so_far(of).is_empty());
    for stream in &refused {
        let came = came_so_far(stream);
        assert!(came.starts_with("HTTP/1.1 429") && came.contains("retry-after"), "{came}");
    }
    drop(refused);
    assert_eq!(waiting.len(), 3);
    let page = answered(&reader, "/questions/offer?job=cedar-pack&rows=3");
    assert!(page.status == 429 && page.body.contains("value=\"3\""), "on the page with what was asked: {}", page.body);
    let waits = logged("a question waits for its turn");
    let owners = asked(&service, &owner, "/api/questions/why?job=birch-attic");
    until("the owner waits", || logged("a question waits for its turn") == waits + 1);
    // The reader leaves the page of the first: its question ends, and the owner's is next.
    drop(first);
    until("the owner is answered", || came_so_far(&owners).starts_with("HTTP/1.1 200"));
    assert!(waiting.iter().all(|of| came_so_far(of).is_empty()), "before those who asked sooner");
    // Planning does not wait at all, and what is left on no page is not answered.
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    drop(waiting);
    assert_eq!(found(&owner)["state"], "found");
    assert_eq!(owner.get("/questions/why?job=birch-attic").status, 200);
}

#[test]
fn new_job_hides_no_breach_of_another_one_whose_name_begins_alike() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (base, mut book) = owner.book();
    // Camp attic, which is planned, has a step more; and there is a new job, Camp.
    let jobs = book["jobs"].as_array_mut().expect("jobs");
    let attic = jobs.iter_mut().find(|job| job["id"] == "camp-attic").expect("the job");
    let mut step = attic["steps"][0].clone();
    (step["id"], step["name"]) = ("more".into(), "more".into());
    let mut camp = attic.clone();
    attic["steps"].as_array_mut().expect("steps").push(step);
    (camp["id"], camp["name"]) = ("camp".into(), "Camp".into());
    jobs.push(camp);
    let kept = owner.put("/api/book", &serde_json::json!({ "base": base, "book": book }));
    assert_eq!(kept.status, 200, "{}", kept.body);
    let week = owner.get("/").body;
    assert!(week.contains("Camp attic is done without its step more"), "{week}");
    assert!(!week.contains("Camp is neither done nor left out") && week.contains("Not planned yet: Camp"), "{week}");
}
