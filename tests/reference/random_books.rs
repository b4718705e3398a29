//! Writes the random books that the reference check plans: `random_books FOLDER`. A line a book: file, Monday, weeks.

#[path = "../support/mod.rs"]
mod support;

use support::generate::{Shape, generate};
use support::tiny::{Fields, tiny, tiny_with};

fn main() -> std::io::Result<()> {
    let folder = std::env::args().nth(1).unwrap_or_else(|| ".".to_owned());
    // Tiny ones show every rule in odd company; the others are like a real shop's.
    let tiny = (500..512).map(|seed| (format!("tiny-{seed}"), tiny(seed), 1));
    let waits = (500..512).map(|seed| (format!("tiny-waits-{seed}"), tiny_with(seed, Fields::Waits), 1));
    let of = |seed: u64| (format!("tiny-equipment-{seed}"), tiny_with(seed, Fields::Equipment), 1);
    let equipment = (500..512).map(of);
    let sizes = [(3, 1), (3, 2), (4, 1), (4, 2), (3, 2), (5, 2)];
    let real = (0..18).map(|seed| {
        let (jobs, crews) = sizes[seed % sizes.len()];
        (format!("{jobs}-jobs-{seed}"), generate(Shape::new(jobs, 2, crews), 200 + seed as u64), 2)
    });
    for (name, book, weeks) in tiny.chain(waits).chain(equipment).chain(real) {
        let file = format!("{folder}/{name}.json");
        std::fs::write(&file, serde_json::to_vec_pretty(&book)?)?;
        println!("{file} {} {weeks}", support::monday());
    }
    Ok(())
}
