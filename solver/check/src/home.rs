//! Who is home late, and what still stands where the work is over: rules C17 and C18.

use chrono::NaiveDate;
use yardless_book::Step;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::shop::{Id, JobId, PlaceId, Shop, UnitId};
use yardless_plan::{Costs, cost};

use super::hauls::Yard;
use super::history;
use super::later::{open, text};
use super::rows::{Fate, Works};

/// Adds up what each unit costs as each date begins that the shop works.
pub(super) fn late(shop: &Shop, works: &Works, yard: &Yard, costs: &mut Costs) {
    let over: Vec<Option<NaiveDate>> = shop.places.ids().map(|place| over(shop, works, place)).collect();
    for (unit, begins) in yard.begins.pairs() {
        for (date, h) in dates(shop) {
            let Some(place) = begins[h] else { continue };
            costs.home += cost::home(shop, unit, place, date);
            costs.clear += uncleared(shop, unit, place, over[place.index()], date);
        }
    }
}

fn uncleared(shop: &Shop, unit: UnitId, place: PlaceId, over: Option<NaiveDate>, date: NaiveDate) -> Cents {
    over.map_or(Cents::ZERO, |last| cost::clear(shop, unit, place, (last, date)))
}

/// The dates that the shop works, each with the first half-day of it that it works; from now on.
fn dates(shop: &Shop) -> impl Iterator<Item = (NaiveDate, usize)> + '_ {
    let mut last = None;
    let worked = (0..shop.len()).filter(|h| shop.works[*h]).map(|h| (shop.horizon.half_day(h).date(), h));
    let first = worked.filter(move |(date, _)| last.replace(*date) != Some(*date));
    first.filter(|(_, h)| *h >= shop.now)
}

/// The date of the last end at a place, where the work there is over: no job there is later, nor a step of it, and each that
/// has begun is done.
fn over(shop: &Shop, works: &Works, place: PlaceId) -> Option<NaiveDate> {
    let mut last: Option<HalfDay> = None;
    for job in shop.jobs.ids().filter(|job| shop.jobs[*job].place == place) {
        let begun = text(shop, job).steps.iter().any(Step::started);
        if works.later.jobs[job] || works.later.is_part(shop, job) {
            return None;
        }
        match works.fates[job] {
            Fate::LeftOut if !begun => {}
            Fate::Done { .. } | Fate::Over => last = last.max(end(shop, works, job)),
            _ => return None,
        }
    }
    last.map(HalfDay::date)
}

/// The latest end of a job's steps, those done before now too.
fn end(shop: &Shop, works: &Works, job: JobId) -> Option<HalfDay> {
    let rows = open(shop, job).filter_map(|step| Some(works.steps[step].last()?.row.end));
    history::of(shop, job).iter().map(|step| step.end).chain(rows).max()
}
