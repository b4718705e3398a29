//! Equal neighbours made into one entry: half-days next to each other, then places.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, Extra, Report, RoadReport, Weather};

/// Longest note, in letters.
const LONGEST_NOTE: usize = 300;
/// Most alerts that an entry names; a place seldom has more than five at once. As many names fill the note.
const MOST_NAMED: usize = 20;

/// What an entry says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(clippy::struct_excessive_bools)] // the fields of a weather entry
pub(super) struct EntrySays {
    pub(super) storm: bool,
    pub(super) no_travel: bool,
    pub(super) covered: bool,
    pub(super) gust_mph: Option<f64>,
    pub(super) low_f: Option<f64>,
    pub(super) high_f: Option<f64>,
    pub(super) rain: Option<bool>,
}

/// What is said, in an order.
type Key = (bool, bool, bool, [Option<u64>; 3], Option<bool>);

impl EntrySays {
    /// Storms and roads, which alerts give over long stretches.
    pub(super) fn states(&self) -> Self {
        Self { gust_mph: None, low_f: None, high_f: None, rain: None, ..*self }
    }
    /// Gust, low, high and rain, which change from one half-day to the next.
    pub(super) fn measures(&self) -> Self {
        Self { storm: false, no_travel: false, covered: false, ..*self }
    }
    fn and(&mut self, other: &Self) {
        self.storm |= other.storm;
        self.no_travel |= other.no_travel;
        self.covered |= other.covered;
        self.gust_mph = self.gust_mph.or(other.gust_mph);
        self.low_f = self.low_f.or(other.low_f);
        self.high_f = self.high_f.or(other.high_f);
        self.rain = self.rain.or(other.rain);
    }
    fn key(&self) -> Key {
        let numbers = [self.gust_mph, self.low_f, self.high_f].map(|number| number.map(f64::to_bits));
        (self.storm, self.no_travel, self.covered, numbers, self.rain)
    }
}

/// The first of what an entry comes from, by their positions among all, and whether there is more.
#[derive(Clone, Debug, Default)]
pub(super) struct Few {
    kept: BTreeSet<u32>,
    more: bool,
}

impl Few {
    /// The first of these, which stand in order.
    pub(super) fn of<'n>(mut all: impl Iterator<Item = &'n u32>) -> Self {
        Self { kept: all.by_ref().take(MOST_NAMED).copied().collect(), more: all.next().is_some() }
    }
    pub(super) fn add(&mut self, one: u32) {
        self.kept.insert(one);
        if self.kept.len() > MOST_NAMED {
            self.kept.pop_last();
            self.more = true;
        }
    }
    fn and(&mut self, other: &Self) {
        for one in &other.kept {
            self.add(*one);
        }
        self.more |= other.more;
    }
}

/// What an entry comes from.
#[derive(Clone, Debug, Default)]
pub(super) struct EntrySources {
    /// Alerts, by id.
    pub(super) ids: Few,
    /// Alerts and forecasts, by how they are called.
    pub(super) names: Few,
}

impl EntrySources {
    fn and(&mut self, other: &Self) {
        self.ids.and(&other.ids);
        self.names.and(&other.names);
    }
}

/// Stretches of half-days, each with what is said and by whom, and the places of which it is said.
pub(super) type Blocks = BTreeMap<(HalfDay, HalfDay, Key), (EntrySays, EntrySources, Vec<usize>)>;

/// Half-days of one place, next to each other, in which one half of what is said stays the same. The halves apart, so that a
/// gust that changes twice a day does not cut a storm of three days to pieces.
pub(super) struct OpenBlock {
    place: usize,
    half_of: fn(&EntrySays) -> EntrySays,
    open: Option<(Range, EntrySays, EntrySources)>,
}

impl OpenBlock {
    pub(super) fn new(place: usize, half_of: fn(&EntrySays) -> EntrySays) -> Self {
        Self { place, half_of, open: None }
    }

    /// Takes in the next stretch: what is said in it, by whom, and by whom since the one before.
    pub(super) fn take(
        &mut self,
        on: Range,
        said: &EntrySays,
        fresh: &EntrySources,
        all: &EntrySources,
        blocks: &mut Blocks,
    ) {
        let said = (self.half_of)(said);
        if said == EntrySays::default() {
            return;
        }
        if let Some((open, same, named)) = &mut self.open
            && open.last.following() == on.first
            && *same == said
        {
            open.last = on.last;
            named.and(fresh);
            return;
        }
        self.close(blocks);
        let mut named = all.clone();
        named.and(fresh);
        self.open = Some((on, said, named));
    }

    pub(super) fn close(&mut self, blocks: &mut Blocks) {
        if let Some((on, said, named)) = self.open.take() {
            let block = blocks.entry((on.first, on.last, said.key()));
            let (_, all, places) = block.or_insert_with(|| (said, EntrySources::default(), Vec::new()));
            all.and(&named);
            places.push(self.place);
        }
    }
}

/// The entries that say what is new, with the ids and names of what they come from, each list in order.
pub(super) fn entries(book: &Book, blocks: Blocks, ids: &[&str], names: &[String]) -> Vec<Weather> {
    let mut all: BTreeMap<(HalfDay, HalfDay, Vec<usize>), (EntrySays, EntrySources)> = BTreeMap::new();
    for ((first, last, _), (said, named, places)) in blocks {
        let (whole, by) = all.entry((first, last, places)).or_default();
        whole.and(&said);
        by.and(&named);
    }
    let all = all.into_iter();
    all.map(|((first, last, places), (said, named))| {
        entry(book, Range { first, last }, &places, &said, extra(&named, ids, names))
    })
    .collect()
}

/// Where an entry comes from.
fn extra(named: &EntrySources, ids: &[&str], names: &[String]) -> Extra {
    let mut extra = Extra::new();
    let listed: Vec<&str> = named.names.kept.iter().map(|at| names[*at as usize].as_str()).collect();
    let many = if named.ids.more { format!(" (more than {MOST_NAMED} alerts)") } else { String::new() };
    let note = format!("published{many}: {}", listed.join("; "));
    extra.insert("note".to_owned(), Value::from(note.chars().take(LONGEST_NOTE).collect::<String>()));
    if !named.ids.kept.is_empty() {
        extra.insert("x_alerts".to_owned(), named.ids.kept.iter().map(|at| Value::from(ids[*at as usize])).collect());
    }
    extra
}

fn entry(book: &Book, on: Range, places: &[usize], said: &EntrySays, extra: Extra) -> Weather {
    let yes = |said: bool| if said { Report::Said(true) } else { Report::Unsaid };
    Weather {
        at: Some(places.iter().filter_map(|place| book.places.get(*place)).map(|place| place.id.clone()).collect()),
        storm: yes(said.storm),
        no_travel: yes(said.no_travel),
        roads: if said.covered { Report::Said(RoadReport::Covered) } else { Report::Unsaid },
        gust_mph: said.gust_mph.map_or(Report::Unsaid, Report::Said),
        low_f: said.low_f.map_or(Report::Unsaid, Report::Said),
        high_f: said.high_f.map_or(Report::Unsaid, Report::Said),
        rain: said.rain.map_or(Report::Unsaid, Report::Said),
        extra,
        ..Weather::quiet(on)
    }
}
