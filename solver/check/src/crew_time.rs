//! What a crew works on in a half-day, its own steps and those that it helps with: rules W4, W11, W13 and W16.

use std::collections::BTreeSet;

use yardless_plan::Rule;
use yardless_plan::shop::{CrewId, Id, Shop, StepId, Table};

use super::fact::OfWork;
use super::ids::when;
use super::rows::{KnownRow, Rows, each};
use super::{Found, help, history};

/// A step on which a crew works in a half-day, and how long it takes where it is a stop.
#[derive(Clone, Copy)]
pub(super) struct AtWork {
    pub(super) step: StepId,
    stop: Option<Time>,
}

/// Sixtieths of a millionth of an hour: minutes and the book's hours are whole in it.
type Time = u64;
const MINUTE: Time = 1_000_000;

fn hours(hours: f64) -> Time {
    (hours * 60.0 * MINUTE as f64).round() as Time
}

impl AtWork {
    /// Whether it is a stop (W16).
    pub(super) fn is_stop(self) -> bool {
        self.stop.is_some()
    }

    /// A step done in a way.
    pub(super) fn new(shop: &Shop, step: StepId, way: &str) -> Self {
        let text = history::written(shop, step);
        let given = match &text.ways {
            None => text.hours,
            Some(ways) => ways.iter().find(|of| of.id == way).and_then(|of| of.hours),
        };
        Self { step, stop: given.map(|given| hours(given) + Time::from(shop.book.shop.stop_minutes) * MINUTE) }
    }
}

/// Why a crew cannot work on all of several steps in one half-day.
pub(super) enum NoTime {
    /// One is no stop, and takes all of it (W4; beside stops W16).
    Step,
    /// They are more than it works on at once (W13).
    AtOnce(u64),
    /// They are stops, and take so long together (W16).
    Stops(Time),
}

/// Whether a crew works on some steps in one half-day, and why not.
pub(super) fn room(shop: &Shop, crew: CrewId, work: &[AtWork]) -> Result<(), NoTime> {
    let text = &shop.book.crews[crew.index()];
    let at_once = if text.own { 1 } else { text.at_once as usize };
    if work.len() <= at_once {
        return Ok(());
    }
    if at_once > 1 {
        return Err(NoTime::AtOnce(at_once as u64));
    }
    if work.iter().any(|work| work.stop.is_none()) {
        return Err(NoTime::Step);
    }
    let all: Time = work.iter().filter_map(|work| work.stop).sum();
    // To a millionth of an hour.
    if all > hours(shop.book.shop.half_day_hours) + 60 { Err(NoTime::Stops(all)) } else { Ok(()) }
}

/// The steps on which each crew works in each half-day, in the order of the rows.
pub(super) fn at_work(shop: &Shop, steps: &Rows) -> Table<CrewId, Vec<Vec<AtWork>>> {
    let mut busy = Table::filled(shop.crews.len(), vec![Vec::new(); shop.len()]);
    for (step, work) in each(steps) {
        for (crew, h) in worked(shop, step, work) {
            busy[crew][h].push(AtWork::new(shop, step, &work.row.way));
        }
    }
    busy
}

/// The crews that work on a row's step, helping too, each with a half-day.
pub(super) fn worked<'s>(
    shop: &'s Shop,
    step: StepId,
    work: &'s KnownRow,
) -> impl Iterator<Item = (CrewId, usize)> + 's {
    work.worked(shop, step).flat_map(|h| help::who_works(shop, &work.team, h).map(move |crew| (crew, h)))
}

/// No crew works on more in a half-day than it has time for; a step's pauses are free. Told once a pair of steps, or once
/// a crew and what is one too many.
pub(super) fn judge(shop: &Shop, steps: &Rows, found: &mut Found) {
    let mut said: BTreeSet<(CrewId, StepId, StepId)> = BTreeSet::new();
    for (crew, half_days) in at_work(shop, steps).pairs() {
        for (h, work) in half_days.iter().enumerate() {
            for n in 1..work.len() {
                let Err(why) = room(shop, crew, &work[..=n]) else { continue };
                let (other, step) = (work[0].step, work[n].step);
                let at = when(shop, h);
                if !said.insert((crew, other, step)) {
                    continue;
                }
                match why {
                    NoTime::Step => {
                        let rule = if work[..=n].iter().any(|work| work.is_stop()) { Rule::W16 } else { Rule::W4 };
                        found.say(rule, OfWork::TwoAtOnce { crew, step: other, other: step, at });
                    }
                    NoTime::AtOnce(most) => found.say(Rule::W13, OfWork::TooManyAtOnce { crew, step, at, most }),
                    NoTime::Stops(all) => {
                        let minutes = all.div_ceil(MINUTE);
                        found.say(Rule::W16, OfWork::StopsTooLong { crew, step, at, minutes });
                    }
                }
            }
        }
    }
}
