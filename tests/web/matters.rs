//! What matters to the owner: from the first question to the revision that keeps the prices.

use std::time::{Duration, Instant};

use super::planning::give_out;
use super::service::{Came, Service, Somebody, hidden};

/// The page, once the plans are found that are chosen between.
fn known(who: &Somebody, path: &str) -> Came {
    let began = Instant::now();
    loop {
        let came = who.get(path);
        if !came.body.contains("Looking for plans to choose between:") {
            return came;
        }
        assert!(came.body.contains("http-equiv=\"refresh\"") && came.body.contains("Stop"), "{}", came.body);
        assert!(began.elapsed() < Duration::from_secs(180), "{path}");
        std::thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn prices_are_set_by_choices_and_kept_as_one_change() {
    let service = Service::start();
    let owner = service.owner();
    assert!(owner.get("/matters").body.contains("No plan has been given out yet"));
    give_out(&owner);
    let before = owner.book();
    let page = owner.get("/matters").body;
    assert!(page.contains("Ask me"), "{page}");
    let of = hidden(&page, "of").to_owned();
    let mut answers = String::new();
    let mut page = known(&owner, &format!("/matters?of={of}")).body;
    for number in 1..=5 {
        if !page.contains("which of these two would you rather have?") {
            break;
        }
        assert!(page.contains(&format!("{number} of 5")), "{page}");
        let table = page.split_once("<table").and_then(|(_, rest)| rest.split_once("</table>")).expect("a table").0;
        assert!(table.matches("<tr>").count() >= 2 && !table.contains('$'), "{table}");
        assert_eq!(hidden(&page, "answers"), answers, "the answers are in the form");
        let choice = if number % 2 == 0 { "b" } else { "a" };
        page = known(&owner, &format!("/matters?of={of}&answers={answers}&choice={choice}")).body;
        answers.push_str(choice);
    }
    assert!(page.contains("What your answers say"), "{page}");
    assert_eq!(owner.book(), before, "nothing is kept before it is said");
    let set: Vec<(String, String)> = page
        .split("<input type=\"hidden\" name=\"")
        .filter_map(|part| {
            let (name, rest) = part.split_once("\" value=\"")?;
            let value = rest.split('"').next()?;
            (name.starts_with("price.") || name.starts_with("rank.")).then(|| (name.to_owned(), value.to_owned()))
        })
        .collect();
    assert!(!set.is_empty(), "{page}");
    let form = hidden(&page, "form").to_owned();
    let mut sent: Vec<(&str, &str)> = vec![("form", &form), ("of", &of), ("says", "as chosen")];
    sent.extend(set.iter().map(|(name, value)| (name.as_str(), value.as_str())));
    let kept = owner.post("/matters/keep", &sent);
    assert_eq!(kept.head("location"), "/prices#kept", "{}", kept.body);
    let (number, book) = owner.book();
    assert_eq!(number, before.0 + 1);
    let mut expected = before.1.clone();
    for (name, cents) in &set {
        let dollars = cents.parse::<i64>().expect("cents") as f64 / 100.0;
        let price = if dollars.fract() == 0.0 { (dollars as i64).into() } else { dollars.into() };
        match name.split_once('.').expect("a name") {
            ("price", field) => expected["prices"][field] = price,
            (_, id) => {
                let ranks = expected["ranks"].as_array_mut().expect("ranks");
                ranks.iter_mut().find(|rank| rank["id"] == id).expect("the rank")["late_day"] = price;
            }
        }
    }
    assert_eq!(book, expected);
    assert!(owner.get("/changes").body.contains("Set what matters: as chosen"));
    // The page of before is of a book that there is no more; a change is taken back as any other.
    assert_eq!(owner.get(&format!("/matters?of={of}&answers=a")).status, 409);
    assert_eq!(owner.post(&format!("/changes/{number}/undo"), &[]).status, 303);
    assert_eq!(owner.book().1, before.1);
    for (wrong, status) in [("answers=xyz", 422), ("answers=aaaaaaaaaaaaaaa", 422)] {
        let of = hidden(&owner.get("/matters").body, "of").to_owned();
        assert_eq!(owner.get(&format!("/matters?of={of}&{wrong}")).status, status, "{wrong}");
    }
    for sent in [
        &[("of", "1-1")][..],
        &[("of", "1-1"), ("price.extra_crew", "much")],
        &[("of", "x"), ("price.extra_crew", "1")],
    ] {
        assert_eq!(owner.post("/matters/keep", sent).status, 422, "{sent:?}");
    }
    let reader = service.add(&owner, "Looker-on", "reader");
    assert_eq!((reader.get("/matters").status, reader.post("/matters/keep", &sent).status), (403, 403));
    assert_eq!(owner.post("/matters/stop", &[]).head("location"), "/matters?stopped=1#stopped");
}
