//! A storm taken back: its own entry goes where there is one, else entries say again what the other reports say.

use std::collections::BTreeSet;

use serde_json::{Map, Value};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, Path, Report, RoadReport, Weather, When};

use super::expect_clear::no_longer_expected_clear;
use super::listed;
use crate::Changes;
use crate::book_file::BookFile;
use crate::changes::{BookChange, Remark};
use crate::note::{after, before};
use crate::trouble::{OfStorm, Trouble};
use crate::{Edit, append_weather};

/// Takes the storm of a range back, at some places or, where none is named, at all.
pub fn clear(file: &BookFile, on: Range, places: &[&str]) -> Result<Changes, Trouble> {
    let book = &file.written.book;
    let list = Path::default().field("weather");
    let mut changes = Changes::default();
    let own: Vec<usize> = (0..book.weather.len()).filter(|n| is_own(&book.weather[*n], on, places)).collect();
    if own.is_empty() {
        let entries = as_the_others_say(book, on, places);
        if entries.is_empty() {
            return Err(none(book, on, places));
        }
        for entry in &entries {
            changes.tell(BookChange::StormBack { on: entry.on.range, at: entry.at.clone(), removed: false });
            changes.remarks.extend(no_longer_expected_clear(book, entry).map(Remark::ClearOnlyAfter));
        }
        changes.edits = append_weather(&entries);
        return Ok(changes);
    }
    for n in own.iter().rev() {
        changes.edits.push(Edit::Remove(list.index(*n)));
    }
    if own.len() == book.weather.len() && is_last_field(file.text()) {
        // So was the book before its first report.
        changes.edits.push(Edit::Remove(list));
    }
    changes.tell(BookChange::StormBack { on, at: listed(places), removed: true });
    let mut left = book.clone();
    let mut n = 0..;
    left.weather.retain(|_| !n.next().is_some_and(|n| own.contains(&n)));
    if !as_the_others_say(&left, on, places).is_empty() {
        changes.remarks.push(Remark::StormLeft);
    }
    Ok(changes)
}

/// Whether the command `storm` appends such entries: of this range and these places, with a storm and nothing that it
/// does not say.
fn is_own(entry: &Weather, on: Range, places: &[&str]) -> bool {
    let there: BTreeSet<&str> = entry.at.iter().flatten().map(String::as_str).collect();
    entry.when() == When::from(on)
        && entry.at.is_some() != places.is_empty()
        && there == places.iter().copied().collect()
        && entry.storm == Report::Said(true)
        && entry.low_f.is_unsaid()
        && entry.high_f.is_unsaid()
        && entry.rain.is_unsaid()
        && entry.extra.is_empty()
}

/// What a report of a storm can say besides; what holds in a half-day at a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Reported {
    storm: Option<bool>,
    no_travel: Option<bool>,
    roads: Option<RoadReport>,
    gust_mph: Option<f64>,
}

impl Reported {
    /// What the entries say, each over those before it.
    fn by<'w>(entries: impl Iterator<Item = &'w Weather>) -> Self {
        let mut said = Self::default();
        for entry in entries {
            entry.storm.over(&mut said.storm);
            entry.no_travel.over(&mut said.no_travel);
            entry.roads.over(&mut said.roads);
            entry.gust_mph.over(&mut said.gust_mph);
        }
        said
    }
}

/// The entries that take back, in a range at some places or all, what reports of a storm say there: the storm, travel,
/// roads and gusts are again as the other reports have them. None where that changes nothing.
fn as_the_others_say(book: &Book, on: Range, places: &[&str]) -> Vec<Weather> {
    let all: Vec<&str> = book.places.iter().map(|place| place.id.as_str()).collect();
    let scope: Vec<&str> = if places.is_empty() { all } else { places.to_vec() };
    let mut entries: Vec<Weather> = Vec::new();
    for part in parts(&book.weather, on) {
        let mut groups: Vec<(Weather, Vec<&str>)> = Vec::new();
        for place in &scope {
            let here = |entry: &&Weather| {
                entry.when().holds(part.first) && entry.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place))
            };
            let now = Reported::by(book.weather.iter().filter(here));
            let others =
                Reported::by(book.weather.iter().filter(here).filter(|entry| entry.storm != Report::Said(true)));
            if now == others {
                continue;
            }
            let entry = from_to(part, now, others);
            match groups.iter_mut().find(|(known, _)| *known == entry) {
                Some((_, there)) => there.push(place),
                None => groups.push((entry, vec![place])),
            }
        }
        for (mut entry, there) in groups {
            entry.at = if places.is_empty() && there.len() == scope.len() { None } else { listed(&there) };
            let joins = |last: &&mut Weather| {
                after(last.on.range.last) == part.first && Weather { on: entry.on, ..(**last).clone() } == entry
            };
            match entries.last_mut().filter(joins) {
                Some(last) => last.on = Range { last: part.last, ..last.on.range }.into(),
                None => entries.push(entry),
            }
        }
    }
    entries
}

/// The entry that makes of what holds now what is to hold.
fn from_to(on: Range, now: Reported, then: Reported) -> Weather {
    fn report<T: Copy + PartialEq>(now: Option<T>, then: Option<T>) -> Report<T> {
        if now == then { Report::Unsaid } else { then.map_or(Report::TakenBack, Report::Said) }
    }
    Weather {
        storm: report(now.storm, then.storm),
        no_travel: report(now.no_travel, then.no_travel),
        roads: report(now.roads, then.roads),
        gust_mph: report(now.gust_mph, then.gust_mph),
        ..Weather::quiet(on)
    }
}

/// A range in parts throughout which the same entries speak.
fn parts(entries: &[Weather], on: Range) -> Vec<Range> {
    let stretches = entries.iter().filter_map(|entry| entry.when().within(on)).flat_map(When::stretches);
    let ends = stretches.flat_map(|stretch| [before(stretch.first), stretch.last]);
    let ends: BTreeSet<HalfDay> = ends.filter(|end| on.holds(*end)).chain([on.last]).collect();
    let mut first = on.first;
    ends.into_iter()
        .map(|last| {
            let part = Range { first, last };
            first = after(last);
            part
        })
        .collect()
}

/// Whether the book's weather is its last field, where the first report puts it.
fn is_last_field(text: &str) -> bool {
    let fields: Option<Map<String, Value>> = serde_json::from_str(text).ok();
    fields.and_then(|fields| fields.keys().next_back().map(|last| last == "weather")).unwrap_or(false)
}

fn none(book: &Book, on: Range, places: &[&str]) -> Trouble {
    let storms = book.weather.iter().filter(|entry| entry.storm == Report::Said(true));
    let known = storms.map(|entry| (entry.on.range, entry.at.clone())).collect();
    OfStorm::None { on, at: listed(places), known }.into()
}
