//! Writes random books in the middle of their week, and the least cost of each by trying everything:
//! `midway_books FOLDER [COUNT] [FIRST SEED]`. A line a book: file, kept plan, Monday, weeks, index of now, cents.

#[path = "../support/mod.rs"]
mod support;

use support::exhaustive::best_from;
use support::midway::midway;
use support::monday;

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap_or_else(|| ".".to_owned());
    let number = |text: Option<String>, default| text.map_or(default, |text| text.parse().expect("a number"));
    let count: u64 = number(args.next(), 60);
    let first: u64 = number(args.next(), 1000);
    for seed in first..first + count {
        // Every second one lets some steps be left and come back to.
        let made = midway(seed, seed % 2 == 1);
        let Some(best) = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), 400_000) else { continue };
        let (book, kept) = (format!("{folder}/midway-{seed}.json"), format!("{folder}/midway-{seed}.kept.json"));
        std::fs::write(&book, serde_json::to_vec_pretty(&made.book)?)?;
        std::fs::write(&kept, serde_json::to_vec_pretty(&made.kept)?)?;
        println!("{book} {kept} {} 1 {} {}", monday(), made.now, best.cents);
    }
    Ok(())
}
