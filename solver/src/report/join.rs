//! Equal neighbours made into one entry: half-days next to each other, then places.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::outcome::Eased;
use crate::book::{Book, Extra, Report, RoadReport, Weather};
use crate::half_day::{HalfDay, Range};

/// Longest note, in letters.
const LONGEST_NOTE: usize = 300;

/// What is new, by place (its position) and half-day.
pub(super) type Cells = BTreeMap<(usize, HalfDay), Part>;

/// What an entry says.
#[derive(Clone, Debug, Default)]
pub(super) struct Part {
    pub(super) storm: bool,
    pub(super) no_travel: bool,
    pub(super) covered: bool,
    pub(super) gust_mph: Option<f64>,
    pub(super) low_f: Option<f64>,
    pub(super) rain: Option<bool>,
    /// The reports that it comes from.
    pub(super) by: BTreeSet<String>,
    /// The alerts among them, by id.
    pub(super) ids: BTreeSet<String>,
}

impl Part {
    /// Storms and roads, which alerts give over long stretches.
    fn states(&self) -> Self {
        Self { gust_mph: None, low_f: None, rain: None, ..self.clone() }
    }
    /// Gust, low and rain, which change from one half-day to the next.
    fn measures(&self) -> Self {
        Self { storm: false, no_travel: false, covered: false, ..self.clone() }
    }
    /// What it says, apart from who says so.
    fn key(&self) -> String {
        format!("{:?}", (self.storm, self.no_travel, self.covered, self.gust_mph, self.low_f, self.rain))
    }
    fn says_nothing(&self) -> bool {
        self.key() == Self::default().key()
    }
    fn and(&mut self, other: Self) {
        self.storm |= other.storm;
        self.no_travel |= other.no_travel;
        self.covered |= other.covered;
        self.gust_mph = self.gust_mph.or(other.gust_mph);
        self.low_f = self.low_f.or(other.low_f);
        self.rain = self.rain.or(other.rain);
        self.by.extend(other.by);
        self.ids.extend(other.ids);
    }
}

/// The entries that say what is new.
pub(super) fn entries(book: &Book, cells: &Cells) -> Vec<Weather> {
    let mut all: BTreeMap<(HalfDay, HalfDay, Vec<usize>), Part> = BTreeMap::new();
    // Apart, so that a gust that changes twice a day does not cut a storm of three days to pieces.
    for half_of in [Part::states, Part::measures] {
        for ((first, last, _), (part, places)) in blocks(cells, half_of) {
            all.entry((first, last, places)).or_default().and(part);
        }
    }
    all.into_iter().map(|((first, last, places), part)| entry(book, Range { first, last }, &places, part)).collect()
}

type Blocks = BTreeMap<(HalfDay, HalfDay, String), (Part, Vec<usize>)>;

/// Runs of half-days in which one half of what is said stays the same, those of several places together.
fn blocks(cells: &Cells, half_of: fn(&Part) -> Part) -> Blocks {
    let mut runs: Vec<(usize, HalfDay, HalfDay, Part)> = Vec::new();
    for ((place, half), whole) in cells {
        let part = half_of(whole);
        match runs.last_mut() {
            _ if part.says_nothing() => {}
            Some((of, _, last, same)) if *of == *place && last.following() == *half && same.key() == part.key() => {
                *last = *half;
                same.and(part);
            }
            _ => runs.push((*place, *half, *half, part)),
        }
    }
    let mut blocks = Blocks::new();
    for (place, first, last, part) in runs {
        let (whole, places) = blocks.entry((first, last, part.key())).or_default();
        whole.and(part);
        places.push(place);
    }
    blocks
}

fn entry(book: &Book, on: Range, places: &[usize], part: Part) -> Weather {
    let yes = |said: bool| if said { Report::Said(true) } else { Report::Unsaid };
    let mut extra = Extra::new();
    let note: String = format!("published: {}", part.by.into_iter().collect::<Vec<_>>().join("; "));
    extra.insert("note".to_owned(), Value::from(note.chars().take(LONGEST_NOTE).collect::<String>()));
    if !part.ids.is_empty() {
        extra.insert("x_alerts".to_owned(), part.ids.into_iter().map(Value::from).collect());
    }
    Weather {
        on,
        at: Some(places.iter().filter_map(|place| book.places.get(*place)).map(|place| place.id.clone()).collect()),
        storm: yes(part.storm),
        no_travel: yes(part.no_travel),
        roads: if part.covered { Report::Said(RoadReport::Covered) } else { Report::Unsaid },
        gust_mph: part.gust_mph.map_or(Report::Unsaid, Report::Said),
        low_f: part.low_f.map_or(Report::Unsaid, Report::Said),
        rain: part.rain.map_or(Report::Unsaid, Report::Said),
        extra,
    }
}

/// The same easing in neighbouring half-days told once.
pub(super) fn eased(mut all: Vec<Eased>) -> Vec<Eased> {
    all.sort_by(|a, b| (&a.place, &a.says, a.on.first).cmp(&(&b.place, &b.says, b.on.first)));
    let mut joined: Vec<Eased> = Vec::new();
    for next in all {
        match joined.last_mut() {
            Some(last)
                if last.place == next.place && last.says == next.says && last.on.last.following() == next.on.first =>
            {
                last.on.last = next.on.last;
            }
            _ => joined.push(next),
        }
    }
    joined
}
