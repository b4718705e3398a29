//! Writes random books in the middle of their week, and the least cost of each by trying everything:
//! `midway_books FOLDER [COUNT] [FIRST SEED]`. A line a book: file, kept plan, Monday, weeks, index of now, cents.
//! Half as many again give waits, words and ranks too, and as many shared kinds and what is parked from step to step.

#[path = "../support/mod.rs"]
mod support;

use support::exhaustive::best_from;
use support::midway::midway_with;
use support::monday;
use support::tiny::Fields;

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap_or_else(|| ".".to_owned());
    let number = |text: Option<String>, default| text.map_or(default, |text| text.parse().expect("a number"));
    let count: u64 = number(args.next(), 60);
    let first: u64 = number(args.next(), 1000);
    let plain = (first..first + count).map(|seed| (seed, Fields::First, "midway"));
    let waits = (first..first + count / 2).map(|seed| (seed, Fields::Waits, "midway-waits"));
    let equipment = (first..first + count / 2).map(|seed| (seed, Fields::Equipment, "midway-equipment"));
    for (seed, fields, name) in plain.chain(waits).chain(equipment) {
        // Every second one lets some steps be left and come back to.
        let made = midway_with(seed, seed % 2 == 1, fields);
        let Some(best) = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), 400_000) else { continue };
        let (book, kept) = (format!("{folder}/{name}-{seed}.json"), format!("{folder}/{name}-{seed}.kept.json"));
        std::fs::write(&book, serde_json::to_vec_pretty(&made.book)?)?;
        std::fs::write(&kept, serde_json::to_vec_pretty(&made.kept)?)?;
        println!("{book} {kept} {} 1 {} {}", monday(), made.now, best.cents);
    }
    Ok(())
}
