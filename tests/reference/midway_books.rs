//! Writes random books in the middle of their week, and the least cost of each by trying everything:
//! `midway_books FOLDER [COUNT] [FIRST SEED]`. A line a book: file, kept plan, Monday, weeks, index of now, cents.
//! Half as many again give waits, words and ranks too, half as many what standing costs, half as many may be planned in part, half
//! as many shared kinds and what is parked from step to step, half as many both of these; a quarter have help, a quarter stops, a
//! quarter half-days kept open and rounds from home, a quarter dates by which units are to be home and sites cleared, a quarter weights posted on roads.

use yardless_support::exhaustive::best_from;
use yardless_support::midway::midway_with;
use yardless_support::monday;
use yardless_support::tiny::Fields;

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap_or_else(|| ".".to_owned());
    let number = |text: Option<String>, default| text.map_or(default, |text| text.parse().expect("a number"));
    let count: u64 = number(args.next(), 60);
    let first: u64 = number(args.next(), 1000);
    let plain = (first..first + count).map(|seed| (seed, Fields::First, "midway"));
    let with = |part: u64, fields, name| (first..first + count / part).map(move |seed| (seed, fields, name));
    let books = plain
        .chain(with(2, Fields::Waits, "midway-waits"))
        .chain(with(4, Fields::Help, "midway-help"))
        .chain(with(4, Fields::Stops, "midway-stops"))
        .chain(with(2, Fields::InPart, "midway-in-part"))
        .chain(with(2, Fields::Costs, "midway-costs"))
        .chain(with(4, Fields::Home, "midway-home"))
        .chain(with(4, Fields::Posted, "midway-posted"))
        .chain(with(4, Fields::Days, "midway-days"))
        .chain(with(2, Fields::Equipment, "midway-equipment"))
        .chain(with(2, Fields::PartEquipment, "midway-part-equipment"));
    for (seed, fields, name) in books {
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
