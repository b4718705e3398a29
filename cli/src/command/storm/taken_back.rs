//! A storm taken back: its own entry goes where there is one, else an entry says that it is as if never reported.

use serde_json::{Map, Value, json};
use yardless_solver::book::{Book, Path, Report, RoadReport, Weather};
use yardless_solver::half_day::{HalfDay, Range};

use super::at;
use crate::book_file::BookFile;
use crate::command::changes::Changes;
use crate::command::note::before;
use crate::edit::{Edit, value};
use crate::trouble::Trouble;

/// Takes the storm of a range back, at some places or, where none is named, at all.
pub fn clear(file: &BookFile, on: Range, places: &[&str]) -> Result<Changes, Trouble> {
    let book = &file.written.book;
    let list = Path::default().field("weather");
    let mut changes = Changes::default();
    let own: Vec<usize> = (0..book.weather.len()).filter(|n| is_own(&book.weather[*n], on, places)).collect();
    let told = format!("{on}, {}", at_words(places));
    if own.is_empty() {
        let taken = in_force(book, on, places);
        if taken.is_empty() {
            return Err(none(book, on, places));
        }
        let mut entry = Map::from_iter([("on".to_owned(), value(&on))]);
        if !places.is_empty() {
            entry.insert("at".to_owned(), json!(places));
        }
        entry.extend(taken.iter().map(|field| ((*field).to_owned(), Value::Null)));
        changes.edits.push(Edit::Append(list, entry.into()));
        changes.lines.push(format!("{told}: storm taken back, as if never reported: {}", taken.join(", ")));
        return Ok(changes);
    }
    for n in own.iter().rev() {
        changes.edits.push(Edit::Remove(list.index(*n)));
    }
    if own.len() == book.weather.len() && is_last_field(file.text()) {
        // So was the book before its first report.
        changes.edits.push(Edit::Remove(list));
    }
    changes.lines.push(format!("{told}: storm taken back, its report is removed"));
    let mut left = book.clone();
    left.weather =
        left.weather.into_iter().enumerate().filter(|(n, _)| !own.contains(n)).map(|(_, entry)| entry).collect();
    if in_force(&left, on, places).contains(&"storm") {
        changes
            .notes
            .push("another report still has a storm there: the same command once more takes that back too".to_owned());
    }
    Ok(changes)
}

/// Whether the command `storm` appends such entries: of this range and these places, with a storm and nothing that it
/// does not say.
fn is_own(entry: &Weather, on: Range, places: &[&str]) -> bool {
    let there = entry.at.iter().flatten();
    entry.on == on
        && entry.at.is_some() != places.is_empty()
        && there.clone().count() == places.len()
        && there.into_iter().all(|place| places.contains(&place.as_str()))
        && entry.storm == Report::Said(true)
        && entry.low_f.is_unsaid()
        && entry.rain.is_unsaid()
        && entry.extra.is_empty()
}

/// The fields by which reports of a storm hold in some half-day of the range at some of the places: the storm itself,
/// and what the same report said of travel, roads and gusts.
fn in_force(book: &Book, on: Range, places: &[&str]) -> Vec<&'static str> {
    let mut found = [false; 4];
    let all = book.places.iter().map(|place| place.id.as_str());
    for place in all.filter(|place| places.is_empty() || places.contains(place)) {
        let here: Vec<&Weather> = book
            .weather
            .iter()
            .filter(|entry| entry.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place)))
            .collect();
        for half_day in changing(&here, on) {
            let of = here.iter().filter(|entry| entry.on.holds(half_day));
            // Each field's value with the storm of the entry that gave it.
            let (mut storm, mut no_travel, mut roads, mut gust) = (None, None, None, None);
            for entry in of {
                let with = entry.storm == Report::Said(true);
                entry.storm.over(&mut storm);
                over(entry.no_travel, with, &mut no_travel);
                over(entry.roads, with, &mut roads);
                over(entry.gust_mph, with, &mut gust);
            }
            found[0] |= storm == Some(true);
            found[1] |= no_travel == Some((true, true));
            found[2] |= roads == Some((RoadReport::Covered, true));
            found[3] |= gust.is_some_and(|(_, with)| with);
        }
    }
    let names = ["storm", "no_travel", "roads", "gust_mph"];
    names.into_iter().zip(found).filter(|(_, found)| *found).map(|(name, _)| name).collect()
}

fn over<T: Copy>(report: Report<T>, with: bool, old: &mut Option<(T, bool)>) {
    match report {
        Report::Unsaid => {}
        Report::TakenBack => *old = None,
        Report::Said(value) => *old = Some((value, with)),
    }
}

/// The half-days of a range after which what is reported can change: before an entry begins, where one ends, the last.
fn changing(entries: &[&Weather], on: Range) -> Vec<HalfDay> {
    let ends = entries.iter().flat_map(|entry| [before(entry.on.first), entry.on.last]);
    let mut all: Vec<HalfDay> = ends.chain([on.last]).filter(|half_day| on.holds(*half_day)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Whether the book's weather is its last field, where the first report puts it.
fn is_last_field(text: &str) -> bool {
    let fields: Option<Map<String, Value>> = serde_json::from_str(text).ok();
    fields.and_then(|fields| fields.keys().next_back().map(|last| last == "weather")).unwrap_or(false)
}

fn none(book: &Book, on: Range, places: &[&str]) -> Trouble {
    let storms: Vec<String> = book
        .weather
        .iter()
        .filter(|entry| entry.storm == Report::Said(true))
        .map(|entry| format!("{} ({})", entry.on, at(entry.at.as_deref())))
        .collect();
    let help = if storms.is_empty() {
        "the book has no storm".to_owned()
    } else {
        format!("the book has {}", storms.join(", "))
    };
    Trouble::input("storm::none", format!("no storm is reported for {on}, {}", at_words(places)), help)
}

fn at_words(places: &[&str]) -> String {
    if places.is_empty() { "everywhere".to_owned() } else { places.join(", ") }
}
