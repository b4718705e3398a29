//! The sheets: what no longer holds is marked on them, and a crew says on its own who helped.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::planning::give_out;
use super::service::Service;

/// Job and step of the rows of a week's list of works, those that say that they do not hold and the others.
fn rows(page: &str) -> [BTreeSet<(String, String)>; 2] {
    let mut sets = [BTreeSet::new(), BTreeSet::new()];
    for row in page.split("<tr id=\"work-").skip(1) {
        let row = row.split("</tr>").next().expect("its end");
        let step = row.split_once("href=\"/step/").expect("where it leads").1.split('"').next().expect("its end");
        let (job, step) = step.split_once('/').expect("job and step");
        let broken = row.contains("<strong>does not hold</strong>");
        assert_eq!(row.contains(">! "), broken, "{row}");
        sets[usize::from(!broken)].insert((job.to_owned(), step.to_owned()));
    }
    sets
}

#[test]
fn rows_that_a_breach_is_about_are_marked_and_the_others_stand() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let [broken, stands] = rows(&owner.get("/week/2026-12-14").body);
    assert!(broken.is_empty() && !stands.is_empty());
    // A storm at the place of one job that works in that week.
    let plan = owner.get("/api/plan").json()["plan"].clone();
    let first = plan["steps"]
        .as_array()
        .expect("rows")
        .iter()
        .find(|row| (Some("2026-12-14 am")..=Some("2026-12-18 pm")).contains(&row["start"].as_str()));
    let first = first.expect("a row");
    let (job, date) = (&first["job"], &first["start"].as_str().expect("a half-day")[..10]);
    let book = owner.book().1;
    let place = &book["jobs"].as_array().expect("jobs").iter().find(|of| of["id"] == *job).expect("the job")["place"];
    let storm = json!({ "on": date, "at": [place], "no_travel": true });
    assert_eq!(owner.post_json("/api/storms", &storm).status, 200);
    let breaches = owner.get("/api/plan").json()["breaches"].clone();
    let at_place =
        |id: &Value| book["jobs"].as_array().expect("jobs").iter().any(|of| of["id"] == *id && of["place"] == *place);
    let page = owner.get("/week/2026-12-14").body;
    assert!(page.contains("Do not work from what has a ! before it"), "{page}");
    let [broken, others] = rows(&page);
    let named = (job.as_str().expect("an id").to_owned(), first["step"].as_str().expect("an id").to_owned());
    assert!(broken.contains(&named), "{broken:?}: {breaches}");
    assert!(broken.iter().all(|(job, _)| at_place(&job.as_str().into())), "only what is done there: {broken:?}");
    assert!(!others.is_empty() && others.union(&broken).cloned().collect::<BTreeSet<_>>() == stands);
    // The drawing marks as many, and says so to who cannot see it; the legend shows one more.
    assert_eq!(page.matches(" broken\"").count(), page.matches(", does not hold\">").count() + 1);
    assert!(page.contains(" broken\"") && owner.get("/season").body.contains(" broken\""));
}

#[test]
fn crew_says_who_helped() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let crew = service.add(&owner, "Northern hand", "crew north");
    let page = crew.get("/crews/north").body;
    assert!(page.contains("Who helps: ") && page.contains("name=\"with\" value=\"south\""), "{page}");
    assert!(!page.contains("name=\"with\" value=\"north\"") && !page.contains("value=\"inspector\""), "{page}");
    let step = |owner: &super::service::Somebody| owner.book().1["jobs"][0]["steps"][0].clone();
    let left = [("step", "birch-attic/seal"), ("says", "left"), ("left", "2")];
    let with = |more: &[(&'static str, &'static str)]| [&left[..], more].concat();
    assert_eq!(crew.post("/crews/north", &with(&[("helpers", "on"), ("with", "south")])).status, 303);
    assert_eq!(step(&owner)["progress"]["with"], json!(["south"]));
    assert!(crew.get("/crews/north").body.contains("value=\"south\" checked"));
    // Where the form does not ask, it stays; where nobody is ticked, nobody helps.
    assert_eq!(crew.post("/crews/north", &with(&[])).status, 303);
    assert_eq!(step(&owner)["progress"]["with"], json!(["south"]));
    assert_eq!(crew.post("/crews/north", &with(&[("helpers", "on")])).status, 303);
    assert_eq!(step(&owner)["progress"].get("with"), None);
    let before = owner.book();
    let refused = crew.post("/crews/north", &with(&[("helpers", "on"), ("with", "nobody"), ("with", "north")]));
    assert_eq!(refused.status, 422, "{}", refused.body);
    assert!(refused.body.contains("no crew “nobody”"), "{}", refused.body);
    assert!(!refused.body.contains("--with"), "{}", refused.body);
    // What was ticked stays ticked where it cannot be kept.
    let wrong = [("step", "birch-attic/seal"), ("says", "left"), ("left", "-1"), ("helpers", "on"), ("with", "vent")];
    let refused = crew.post("/crews/north", &wrong);
    assert!(refused.status == 422 && refused.body.contains("value=\"vent\" checked"), "{}", refused.body);
    assert_eq!(owner.book(), before);
    // A program says the same beside the words.
    let note = |with: Value, words: Value| owner.post_json("/api/notes", &json!({ "words": words, "with": with }));
    assert_eq!(note(json!(["south"]), json!(["birch-attic/seal", "left", "2"])).status, 200);
    assert_eq!(step(&owner)["progress"]["with"], json!(["south"]));
    assert_eq!(note(json!(["south"]), json!(["birch-attic/seal", "again"])).status, 422);
}

#[test]
fn what_a_crew_tells_beside_its_steps_waits_for_the_owner() {
    let service = Service::start();
    let owner = service.owner();
    let crew = service.add(&owner, "Northern hand", "crew north");
    let other = service.add(&owner, "Southern hand", "crew south");
    let reader = service.add(&owner, "Reader", "reader");
    let left = [("about", "left"), ("unit", "blower-2"), ("place", "birch"), ("form", "a")];
    for _ in 0..2 {
        assert_eq!(crew.post("/crews/north/tell", &left).status, 303);
    }
    let worn = [("about", "else"), ("remark", "The hose <is> worn"), ("form", "b")];
    assert_eq!(crew.post("/crews/north/tell", &worn).status, 303);
    assert_eq!(other.post("/crews/north/tell", &worn).status, 403);
    for wrong in [
        &[("about", "else"), ("remark", " ")][..],
        &[("about", "gossip"), ("remark", "x")],
        &[("about", "left"), ("unit", "no-such"), ("place", "birch")],
        &[("about", "left"), ("place", "birch")],
    ] {
        assert_eq!(crew.post("/crews/north/tell", wrong).status, 422, "{wrong:?}");
    }
    let told = ["Blower 2 was left at Birch Street", "Something else: The hose &#60;is&#62; worn"];
    let page = owner.get("/").body;
    for says in told {
        assert_eq!(page.matches(&format!("</b> {says}</span>")).count(), 1, "{page}");
        assert!(crew.get("/crews/north").body.contains(says));
        assert!(!reader.get("/").body.contains(says) && !other.get("/crews/south").body.contains(says));
    }
    let number = |says: &str| {
        let page = owner.get("/").body;
        let before = page.split_once(&format!("</b> {says}")).expect("it waits").0.to_owned();
        let (_, rest) = before.rsplit_once("action=\"/told/").expect("its form");
        rest.split('/').next().expect("a number").to_owned()
    };
    let (first, second) = (number(told[0]), number(told[1]));
    assert_eq!(crew.post(&format!("/told/{first}/taken"), &[]).status, 403);
    let place = |book: &serde_json::Value| {
        let units = book["equipment"].as_array().expect("units");
        units.iter().find(|unit| unit["id"] == "blower-2").expect("the unit")["place"].clone()
    };
    assert_eq!(place(&owner.book().1), "drive");
    assert_eq!(owner.post(&format!("/told/{first}/taken"), &[("enter", "on")]).status, 303);
    assert_eq!(place(&owner.book().1), "birch");
    let before = owner.book();
    assert_eq!(owner.post(&format!("/told/{second}/taken"), &[]).status, 303);
    assert_eq!(owner.post(&format!("/told/{second}/taken"), &[]).status, 409);
    assert_eq!(owner.book(), before);
    let page = owner.get("/").body;
    assert!(told.iter().all(|says| !page.contains(says)), "{page}");
}

#[test]
fn crews_day_leads_to_the_map_and_the_telephone_and_is_done_when_it_can_be() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let plan = owner.get("/api/plan").json()["plan"]["steps"].clone();
    let page = owner.get("/crews").body;
    assert!(page.contains("class=\"line-of-stops\"") && !page.contains("class=\"ruled\""), "{page}");
    let crews = owner.book().1["crews"].as_array().map_or(0, Vec::len);
    assert_eq!(page.matches("class=\"route\"").count(), crews);
    let (mut days, mut forms) = (String::new(), 0);
    for crew in ["north", "south", "vent"] {
        let body = owner.get(&format!("/crews/{crew}")).body;
        assert!(body.contains("<h3>Today, Mon 7 Dec</h3>") && body.contains("<h3>Tomorrow, Tue 8 Dec</h3>"), "{body}");
        // A step of a later day cannot be done yet.
        let shown = body.split("class=\"decides\"").next().expect("the days");
        for form in shown.split("name=\"step\" value=\"").skip(1) {
            let of = form.split('"').next().expect("a step");
            let rows = plan.as_array().expect("rows").iter();
            let of_step = |row: &&Value| format!("{}/{}", row["job"], row["step"]).replace('"', "") == of;
            let mut starts = rows.filter(of_step).filter_map(|row| row["start"].as_str());
            assert!(starts.any(|start| start < "2026-12-08"), "{of}");
            forms += 1;
        }
        days += &body;
    }
    assert!(forms > 0, "{days}");
    assert!(days.contains("href=\"geo:42.") && days.contains("href=\"tel:555010"), "{days}");
    assert!(days.contains("7:30 to ") && days.contains(": as said above"), "{days}");
}
