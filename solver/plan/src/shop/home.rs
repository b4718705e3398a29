//! By when units are to be home, and gone from where the work is over: rules C17 and C18 as tables.

use chrono::{Days, NaiveDate};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;

use super::{Id, JobId, PlaceId, Shop, UnitId};

/// By when a unit is to stand at a place (C17).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Home {
    /// The place.
    pub place: PlaceId,
    /// The first half-day, by index, as which begins it costs to be elsewhere; at least 0, the horizon's length at most.
    pub from: usize,
    /// What a date costs as which begins it is elsewhere.
    pub late_day: Cents,
}

/// A site that towed units are to leave once the work there is over (C18), where it may be over in these weeks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clearing {
    /// The place.
    pub place: PlaceId,
    /// The jobs there of which something is to be planned.
    pub jobs: Vec<JobId>,
    /// The latest end of those of which all is done.
    pub past: Option<NaiveDate>,
    /// So many dates later they are to be gone.
    pub days: u32,
    /// What each unit costs for each date after them as which begins it stands there.
    pub late_day: Cents,
}

impl Shop {
    /// Whether a half-day is the first that the shop works of its date, at or after now: as it begins, C17 and C18 look where
    /// units stand.
    pub fn begins_date(&self, h: usize) -> bool {
        self.dates_before[h + 1] > self.dates_before[h]
    }

    /// How many half-days begin a date so, from an index up to another that is not counted.
    fn dates(&self, from: usize, before: usize) -> i64 {
        if from < before { self.dates_before[before.min(self.len())] - self.dates_before[from] } else { 0 }
    }

    /// C17: what it costs that a unit stands at a place as each half-day begins from an index up to another, not counted.
    pub fn away_cost(&self, unit: UnitId, place: PlaceId, (from, before): (usize, usize)) -> Cents {
        let late = |home: &Home| home.late_day * self.dates(from.max(home.from), before);
        self.units[unit].home.as_ref().filter(|home| home.place != place).map_or(Cents::ZERO, late)
    }

    /// C18: the first half-day, by index, as which begins towed units cost that stand at a site, by the end of each job
    /// there that a plan does; the horizon's length where none does.
    pub fn clear_from(&self, site: &Clearing, end_of: impl Fn(JobId) -> Option<usize>) -> usize {
        let mut last = site.past;
        for job in &site.jobs {
            match end_of(*job) {
                Some(end) => last = last.max(Some(self.horizon.half_day(end).date())),
                None if self.jobs[*job].started => return self.len(),
                None => {}
            }
        }
        last.map_or(self.len(), |last| self.after(last, site.days))
    }

    /// C18: what it costs that a towed unit stands at a site, charged from an index on, as each half-day begins from one up to
    /// another, not counted.
    pub fn uncleared_cost(&self, site: &Clearing, charged: usize, (from, before): (usize, usize)) -> Cents {
        site.late_day * self.dates(from.max(charged), before)
    }

    /// C18: the last half-day, by index, in which the work at a site may end that is charged for as a half-day begins.
    /// `None`: it ended before the horizon.
    pub fn over_before(&self, site: &Clearing, h: usize) -> Option<usize> {
        let before = self.horizon.half_day(h).date().checked_sub_days(Days::new(u64::from(site.days) + 1))?;
        usize::try_from(self.horizon.offset(HalfDay::pm(before))).ok()
    }

    /// The index of the am that follows a date and so many more; the horizon's length at most.
    fn after(&self, date: NaiveDate, days: u32) -> usize {
        let next = date.checked_add_days(Days::new(u64::from(days) + 1));
        let index = next.map_or(self.len() as i64, |next| self.horizon.offset(HalfDay::am(next)));
        usize::try_from(index).unwrap_or(0).min(self.len())
    }

    /// C17 of every unit.
    pub(super) fn fill_homes(&mut self) {
        for unit in self.units.ids() {
            let Some(by) = &self.book.equipment[unit.index()].home_by else { continue };
            let Some(place) = self.places.find(|place| place.id == by.place) else { continue };
            let late_day = by.late_day.unwrap_or(self.book.prices.late_day);
            let from = self.after(by.date, 0);
            self.units[unit].home = Some(Home { place, from, late_day }).filter(|_| from < self.len());
        }
    }
}

/// C18: the sites that may have to be cleared; none where a job is later, or a step of it.
pub(super) fn clearings(shop: &Shop) -> Vec<Clearing> {
    let site = |(place, written): (PlaceId, &yardless_book::Place)| {
        let by = written.clear_by.as_ref()?;
        let jobs = || shop.jobs.pairs().filter(|(_, facts)| facts.place == place);
        if jobs().any(|(_, facts)| facts.later || facts.in_part()) {
            return None;
        }
        let over = jobs().filter(|(_, facts)| facts.over()).flat_map(|(_, facts)| &facts.past);
        let past = over.map(|step| step.end.date()).max();
        let jobs: Vec<JobId> = jobs().filter(|(_, facts)| facts.planned()).map(|(job, _)| job).collect();
        let late_day = by.late_day.unwrap_or(shop.book.prices.late_day);
        (past.is_some() || !jobs.is_empty()).then_some(Clearing { place, jobs, past, days: by.days, late_day })
    };
    shop.places.ids().zip(&shop.book.places).filter_map(site).collect()
}

/// By index, the horizon's length too: the half-days from now on that are the first of their date that the shop works,
/// before it.
pub(super) fn dates_before(works: &[bool], now: usize) -> Vec<i64> {
    let first = |h: usize| works[h] && h >= now && (h.is_multiple_of(2) || !works[h - 1]);
    let mut before = vec![0];
    for h in 0..works.len() {
        before.push(before[h] + i64::from(first(h)));
    }
    before
}
