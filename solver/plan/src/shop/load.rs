//! How many steps and stops a crew works on in one half-day: rules W4, W13 and W16 as loads.
//!
//! In a half-day a crew can take so much (its capacity), and each run that works in it takes a load of that. Of an
//! ordinary crew a step takes all; where there are stops, a half-day is counted in time, and a stop takes its `hours` and
//! `stop_minutes`, at most the whole half-day: alone it always fits. Of a crew that works on several steps at once each
//! takes one, stops too.

use yardless_book::{Book, Step};

use super::{CrewId, Shop, StepId};

/// How a half-day is counted where there are stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct HalfDayLoad {
    /// Sixtieths of a millionth of an hour in one unit of load: what the stops have in common.
    unit: u64,
    /// Units in a half-day; 1 where there are no stops.
    pub(super) whole: u64,
}

/// A minute, and an hour, in sixtieths of a millionth of an hour: both are whole, so that loads add up without error.
const MINUTE: u64 = 1_000_000;
const HOUR: f64 = 60.0e6;
/// A millionth of an hour, by which stops may overstep their half-day (W16).
const LEEWAY: u64 = 60;

impl HalfDayLoad {
    /// That of a book.
    pub(super) fn new(book: &Book) -> Self {
        let steps = book.jobs.iter().flat_map(|job| &job.steps).filter(|step| step.done.is_none());
        let stops = steps.flat_map(|step| (0..ways(step)).filter_map(|way| step.stop(way)));
        let unit = stops.map(|hours| takes(book, hours)).fold(0, greatest_common_divisor);
        let half_day = (book.shop.half_day_hours * HOUR).round() as u64 + LEEWAY;
        if unit == 0 { Self { unit: 1, whole: 1 } } else { Self { unit, whole: (half_day / unit).max(1) } }
    }

    /// What a stop of so many hours takes; `None`: a step that is no stop.
    pub(super) fn of(self, book: &Book, stop: Option<f64>) -> u64 {
        stop.map_or(self.whole, |hours| (takes(book, hours) / self.unit).min(self.whole))
    }
}

fn ways(step: &Step) -> usize {
    step.ways.as_ref().map_or(1, Vec::len)
}

fn takes(book: &Book, hours: f64) -> u64 {
    ((hours * HOUR).round() as u64).max(1) + u64::from(book.shop.stop_minutes) * MINUTE
}

/// The greatest number that divides both; of 0 and another, the other.
pub fn greatest_common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

impl Shop {
    /// W4, W13, W16: what a crew can take in a half-day.
    pub fn capacity(&self, crew: CrewId) -> u64 {
        let at_once = u64::from(self.crews[crew].at_once);
        if at_once > 1 { at_once } else { self.half_day_load.whole }
    }

    /// What a step done in a way takes of that, in each half-day in which it is worked on.
    pub fn load(&self, step: StepId, way: usize, crew: CrewId) -> u64 {
        if self.crews[crew].at_once > 1 { 1 } else { self.steps[step].ways[way].load }
    }

    /// What a step that is no stop takes of a crew that works on one at a time: all of a half-day.
    pub fn whole_half_day(&self) -> u64 {
        self.half_day_load.whole
    }

    /// Whether some crew may work on several steps or stops in one half-day.
    pub fn shares_half_days(&self) -> bool {
        self.crews.ids().any(|crew| self.capacity(crew) > 1)
    }
}
