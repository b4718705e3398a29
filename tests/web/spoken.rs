//! Every form of every object of the book: no text to be typed in the format of the book, none of it in what is read, and
//! sent back as it came it changes nothing.

use std::collections::BTreeSet;

use super::service::{Service, Somebody, filled};

const LISTS: [&str; 6] = ["/jobs", "/people", "/equipment", "/places", "/prices", "/weather"];

/// The addresses of forms that the lists lead to.
fn forms(owner: &Somebody) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for list in LISTS {
        let page = owner.get(list).body;
        let links = page.split("href=\"/book/").skip(1);
        all.extend(links.filter_map(|of| of.split('"').next()).map(|of| format!("/book/{}", of.replace("&#38;", "&"))));
    }
    all.insert("/book/weather/new".to_owned());
    all
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether a text has a date as the book writes it, or another part of its format.
fn is_written(text: &str) -> bool {
    let date = |word: &str| {
        let mut parts = word.split('-');
        matches!((parts.next(), parts.next(), parts.next()), (Some(y), Some(m), Some(d)) if y.len() == 4 && digits(y) && digits(m) && d.len() >= 2 && digits(&d[..2]))
    };
    let season = |word: &str| word.split_once('/').is_some_and(|(a, _)| a.len() == 5 && a.split('-').all(digits));
    let json = text.starts_with(['{', '[']);
    json || text.split([' ', ',', '(', '\n']).any(|word| date(word) || season(word))
}

/// What of a form is typed or read in the format of the book.
fn written(page: &str) -> Vec<String> {
    let main = page.split_once("<main").expect("the page's own part").1;
    let main = main.split("</main>").next().expect("its end");
    let mut found = Vec::new();
    for part in main.split('<').skip(1) {
        let (tag, text) = part.split_once('>').unwrap_or((part, ""));
        let value = tag.split_once(" value=\"").and_then(|(_, rest)| rest.split('"').next()).unwrap_or_default();
        let value = value.replace("&#34;", "\"");
        // What is noted is the owner's own text.
        let typed = tag.starts_with("input") && tag.contains("type=\"text\"") && !tag.contains("note\" name=");
        if typed && is_written(&value) {
            found.push(format!("typed: {tag}"));
        }
        if tag.starts_with("textarea") && is_written(text) {
            found.push(format!("typed: {text}"));
        }
        let id = tag.starts_with("code") || text.contains('`') || text.contains('_');
        if !text.trim().is_empty() && (is_written(text.trim()) || id) {
            found.push(format!("read: {text}"));
        }
    }
    found
}

fn walk(owner: &Somebody, least: usize) {
    let all = forms(owner);
    assert!(all.len() >= least, "{} forms", all.len());
    let before = owner.book();
    let (mut faults, mut dates) = (Vec::new(), 0);
    for address in &all {
        let page = owner.get(address);
        assert_eq!(page.status, 200, "{address}");
        dates += page.body.matches("type=\"date\" inputmode=\"text\" value=\"20").count();
        faults.extend(written(&page.body).into_iter().map(|says| format!("{address}: {says}")));
        if address.contains("/new") {
            continue;
        }
        let form = filled(&page.body);
        let fields: Vec<(&str, &str)> = form.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        let came = owner.post_bare(address, &fields);
        assert_eq!(came.status, 303, "{address}: {}", came.body);
    }
    for list in LISTS {
        let page = owner.get(list).body;
        faults.extend(written(&page).into_iter().map(|says| format!("{list}: {says}")));
    }
    assert_eq!(faults, Vec::<String>::new());
    assert_eq!(owner.book(), before, "sent back as it came");
    assert!(least < 40 || dates > 40, "{dates} dates");
}

#[test]
fn no_form_of_the_demo_asks_for_the_books_format() {
    let service = Service::start();
    walk(&service.owner(), 100);
}

#[test]
fn no_form_of_a_new_book_asks_for_the_books_format() {
    let service = Service::start();
    let owner = service.first_owner();
    assert_eq!(owner.post("/start", &[("with", "small")]).status, 303);
    walk(&owner, 30);
}

#[test]
fn half_days_ranges_and_links_are_chosen() {
    let service = Service::start();
    let owner = service.owner();
    let address = "/book/jobs/of/cedar-pack";
    let form = filled(&owner.get(address).body);
    let mut sent: Vec<(&str, &str)> = form.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    for (name, value) in [
        ("no_access.0.from", "2026-12-21"),
        ("no_access.0.from_half", "pm"),
        ("no_access.0.to", "2026-12-23"),
        ("no_access.0.weekdays", "wed"),
        ("steps.0.fixed.start.date", "2026-12-14"),
        ("steps.0.fixed.start.half", "pm"),
        ("steps.4.after.0.step", "birch-attic/seal"),
        ("steps.4.after.0.wait_half_days", "2"),
    ] {
        sent.retain(|(of, _)| *of != name);
        sent.push((name, value));
    }
    let came = owner.post_bare(address, &sent);
    assert_eq!(came.status, 303, "{}", came.body);
    let job = owner.book().1["jobs"][2].clone();
    let expected = serde_json::json!([{ "on": "2026-12-21 pm/2026-12-23", "weekdays": ["wed"] }]);
    assert_eq!(job["no_access"], expected);
    assert_eq!(job["steps"][0]["fixed"], serde_json::json!({ "start": "2026-12-14 pm" }));
    let after = serde_json::json!([{ "step": "birch-attic/seal", "wait_half_days": 2 }]);
    assert_eq!(job["steps"][4]["after"], after);
}
