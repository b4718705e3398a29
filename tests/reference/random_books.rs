//! Writes the random books that the reference check plans: `random_books FOLDER`. A line a book: file, Monday, weeks.

use yardless_support::generate::{Shape, generate};
use yardless_support::tiny::{Fields, tiny, tiny_with};

fn main() -> std::io::Result<()> {
    let folder = std::env::args().nth(1).unwrap_or_else(|| ".".to_owned());
    // Tiny ones show every rule in odd company; the others are like a real shop's.
    let tiny = (500..512).map(|seed| (format!("tiny-{seed}"), tiny(seed), 1));
    let sizes = [(3, 1), (3, 2), (4, 1), (4, 2), (3, 2), (5, 2)];
    let real = (0..18).map(|seed| {
        let (jobs, crews) = sizes[seed % sizes.len()];
        (format!("{jobs}-jobs-{seed}"), generate(Shape::new(jobs, 2, crews), 200 + seed as u64), 2)
    });
    let with = |last: u64, fields, name: &'static str| {
        (500..last).map(move |seed| (format!("tiny-{name}-{seed}"), tiny_with(seed, fields), 1))
    };
    let more = with(512, Fields::Waits, "waits")
        .chain(with(508, Fields::Help, "help"))
        .chain(with(508, Fields::Stops, "stops"))
        .chain(with(512, Fields::InPart, "in-part"))
        .chain(with(512, Fields::Costs, "costs"))
        .chain(with(512, Fields::Home, "home"))
        .chain(with(512, Fields::Ratings, "ratings"))
        .chain(with(512, Fields::Posted, "posted"))
        .chain(with(508, Fields::Days, "days"))
        .chain(with(512, Fields::Equipment, "equipment"))
        .chain(with(512, Fields::PartEquipment, "part-equipment"));
    for (name, book, weeks) in tiny.chain(more).chain(real) {
        let file = format!("{folder}/{name}.json");
        std::fs::write(&file, serde_json::to_vec_pretty(&book)?)?;
        println!("{file} {} {weeks}", yardless_support::monday());
    }
    Ok(())
}
