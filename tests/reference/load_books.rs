//! Writes random weeks with things, each with its plan: `load_books FOLDER SMALL WHOLE`, so many small ones and whole ones from
//! seeds that no other check draws. A line a week: book, plan.

#[path = "../solver/loads/random.rs"]
mod random;

use random::Week;
use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_plan::Plan;
use yardless_support::draw::Draw;

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().collect();
    let folder = args.get(1).map_or(".", String::as_str);
    let many = |n: usize| args.get(n).and_then(|many| many.parse::<u64>().ok()).unwrap_or(0);
    let small = (0..many(2)).map(|n| (format!("small-{n}"), 900_000 + n, random::small(900_000 + n)));
    let whole = (0..many(3)).map(|n| (format!("week-{n}"), 910_000 + n, random::week(910_000 + n, 200)));
    for (name, seed, Week { shop, plan }) in small.chain(whole) {
        let (book, stored) = (format!("{folder}/{name}.json"), format!("{folder}/{name}.plan.json"));
        let more = more(&shop.book, &plan, &mut Draw::new(seed));
        std::fs::write(&book, serde_json::to_vec_pretty(&more)?)?;
        std::fs::write(&stored, serde_json::to_vec_pretty(&plan)?)?;
        println!("{book} {stored}");
    }
    Ok(())
}

/// The book with a depot that nobody comes away from, orders, and cold nights where nobody works, as no plan feels them.
fn more(book: &Book, plan: &Plan, draw: &mut Draw) -> Book {
    let mut book = book.clone();
    let works = |id: &String| book.jobs.iter().any(|job| job.place == *id);
    let mut bases: Vec<String> = book.places.iter().map(|place| place.id.clone()).filter(|id| !works(id)).collect();
    bases.push("depot".to_owned());
    let all: Vec<String> = book.places.iter().map(|place| place.id.clone()).collect();
    for to in &all {
        book.drives.push(of(json!({ "from": "depot", "to": to, "minutes": draw.between(10, 90) })));
    }
    book.places.push(of(json!({ "id": "depot" })));
    for place in &mut book.places {
        place.heated |= bases.contains(&place.id) && draw.chance(30);
    }
    book.weather.push(of(json!({ "on": "2026-12-07/2026-12-20", "at": ["depot"], "no_travel": true })));
    for day in 0..7 {
        let (date, half) = (7 + day, if draw.chance(50) { "am" } else { "pm" });
        let low = draw.between(20, 60);
        book.weather.push(of(json!({ "on": format!("2026-12-{date:02} {half}"), "at": bases, "low_f": low })));
    }
    for thing in &mut book.things {
        thing.keep_above_f = draw.chance(40).then(|| draw.between(25, 50) as f64);
    }
    for job in &mut book.jobs {
        for step in &mut job.steps {
            let row = plan.steps.iter().find(|row| row.job == job.id && row.step == step.id && row.span == 1);
            if let Some(row) = row.filter(|_| draw.chance(40)) {
                step.material.push(of(material(row.start, &all, draw)));
            }
        }
    }
    book
}

/// Material that lies in the depot, is on order in time, or is not ordered yet.
fn material(start: HalfDay, places: &[String], draw: &mut Draw) -> Value {
    let loads = draw.between(1, 3);
    match draw.below(4) {
        0 => json!({ "what": "panels", "at": "depot", "loads": loads }),
        1 => json!({ "what": "panels", "lead_days": draw.below(9), "to": draw.pick(places), "loads": loads }),
        _ => {
            let date = start.date() - chrono::Days::new(draw.below(2) as u64);
            json!({ "what": "panels", "expected": date, "to": draw.pick(places), "loads": loads })
        }
    }
}

fn of<T: serde::de::DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).expect("a part of a book")
}
