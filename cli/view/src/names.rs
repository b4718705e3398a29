//! What jobs, steps, units and half-days are called in a sentence, for the terminal and on sheets: one vocabulary for both.

use chrono::NaiveDate;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Half, WeekDay, When};
use yardless_check::fact::Holder;
use yardless_plan::shop::{CrewId, JobId, PlaceId, Shop, StepId, TruckId, UnitId};

use super::words::{day, half};

/// How half-days and dates are told.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// As the book has them: `2026-12-09 am`.
    Written,
    /// As the sheets do: `Wed 9 Dec am`.
    Spoken,
}

/// The names of a shop.
pub(super) struct Names<'a> {
    /// The shop by which the plan was judged.
    pub(super) shop: &'a Shop,
    /// How its half-days are told.
    pub(super) style: Style,
}

impl Names<'_> {
    pub(super) fn job(&self, job: JobId) -> &str {
        &self.shop.jobs[job].name
    }

    /// `the attic at 12 Elm Street`.
    pub(super) fn step(&self, step: StepId) -> String {
        let facts = &self.shop.steps[step];
        format!("{} at {}", facts.name, self.job(facts.job))
    }

    pub(super) fn crew(&self, crew: CrewId) -> &str {
        &self.shop.crews[crew].name
    }

    pub(super) fn unit(&self, unit: UnitId) -> &str {
        &self.shop.units[unit].name
    }

    pub(super) fn truck(&self, truck: TruckId) -> &str {
        &self.shop.trucks[truck].name
    }

    pub(super) fn place(&self, place: PlaceId) -> &str {
        &self.shop.places[place].name
    }

    pub(super) fn holder(&self, by: Holder) -> String {
        match by {
            Holder::Step(step) => self.step(step),
            Holder::Job(job) => self.job(job).to_owned(),
            Holder::Parked(job) => format!("{} (parked)", self.job(job)),
            Holder::Begun(job) => format!("{} (begun, and not ended)", self.job(job)),
        }
    }

    pub(super) fn half(&self, at: HalfDay) -> String {
        match self.style {
            Style::Written => at.to_string(),
            Style::Spoken => half(at),
        }
    }

    pub(super) fn date(&self, date: NaiveDate) -> String {
        match self.style {
            Style::Written => date.to_string(),
            Style::Spoken => day(HalfDay::am(date)),
        }
    }

    /// The same of some weekdays or a half: `on wed from Wed 9 Dec to Fri 18 Dec, mornings only`.
    pub(super) fn when(&self, when: When) -> String {
        let days: Vec<&str> = when.weekdays().into_iter().flatten().map(WeekDay::text).collect();
        let days = if days.is_empty() { String::new() } else { format!("every {} ", days.join(" and ")) };
        let half = match when.half() {
            None => "",
            Some(Half::Am) => ", mornings only",
            Some(Half::Pm) => ", afternoons only",
        };
        format!("{days}{}{half}", self.range(when.range))
    }

    /// `on 2026-12-09`, `on Wed 9 Dec am`, `from Wed 9 Dec to Fri 11 Dec`, `from Wed 9 Dec on`.
    pub(super) fn range(&self, range: Range) -> String {
        let Range { first, last } = range;
        if range.is_open() {
            return format!("from {} on", if first.is_pm() { self.half(first) } else { self.date(first.date()) });
        }
        match (first.is_pm(), last.is_pm(), first.date() == last.date()) {
            (false, true, true) => format!("on {}", self.date(first.date())),
            _ if first == last => format!("on {}", self.half(first)),
            (false, true, false) => format!("from {} to {}", self.date(first.date()), self.date(last.date())),
            _ => format!("from {} to {}", self.half(first), self.half(last)),
        }
    }
}
