//! What a plan costs, rules C1 to C6, C10, C12, C13 and C16 to C18: the only definition of cost.
//!
//! Written from the book's own figures, so that a table which an engine weighs plans by cannot be wrong unseen.

use chrono::{Datelike, NaiveDate, Weekday};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::money::Cents;
use yardless_book::{Job, Moves, Rank, Step, When};

use crate::shop::{CrewId, Id, JobId, PlaceId, Shop, UnitId};

/// C1: a done job whose steps end in the half-days.
pub fn late(shop: &Shop, job: JobId, ends: &[HalfDay]) -> Cents {
    let (Some(due), Some(end)) = (shop.book.jobs[job.index()].due, ends.iter().max()) else { return Cents::ZERO };
    late_day(shop, job) * worked_dates(shop, due, end.date())
}

/// C2: a job left out.
pub fn left_out(shop: &Shop, job: JobId) -> Cents {
    let written = &shop.book.jobs[job.index()];
    let last = shop.horizon.last_date();
    let of_rank = rank(shop, written).and_then(|rank| rank.left_out);
    match (written.left_out.or(of_rank), written.due) {
        (Some(given), _) => given,
        (None, Some(due)) if due <= last => late_day(shop, job) * (20 + worked_dates(shop, due, last)),
        (None, _) => late_day(shop, job) * 5,
    }
}

/// C3: a haul of so many minutes, hitching or loading included.
pub fn haul(shop: &Shop, moves: Moves, minutes: u32) -> Cents {
    let minute = match moves {
        Moves::Towed => shop.book.prices.tow_minute,
        Moves::Carried => shop.book.prices.carry_minute,
    };
    minute * i64::from(minutes)
}

/// C4: a done job's crews, a crew named once or more.
pub fn crews(shop: &Shop, crews: impl Iterator<Item = CrewId>) -> Cents {
    let mut own: Vec<CrewId> = crews.filter(|crew| shop.crews[*crew].own).collect();
    own.sort_unstable();
    own.dedup();
    shop.book.prices.extra_crew * own.len().saturating_sub(1) as i64
}

/// C5: a done job whose steps end in the half-days; one before the horizon counts as its first (N1).
pub fn waiting(shop: &Shop, ends: &[HalfDay]) -> Cents {
    let index = |end: &HalfDay| shop.horizon.offset(*end).max(0);
    let last = ends.iter().map(index).max().unwrap_or(0);
    shop.book.prices.wait_half_day * last + Cents(ends.iter().map(index).sum())
}

/// C1: a step of a done job that ends in a half-day, by its own `due`.
pub fn step_late(shop: &Shop, job: JobId, step: &Step, end: HalfDay) -> Cents {
    let day = step.late_day.unwrap_or_else(|| late_day(shop, job));
    step.due.map_or(Cents::ZERO, |due| day * worked_dates(shop, due, end.date()))
}

/// C10: a done step that starts in a half-day, by what somebody was told of it.
pub fn told(shop: &Shop, step: &Step, start: HalfDay) -> Cents {
    let Some(told) = &step.told else { return Cents::ZERO };
    let (day, date) = (told.day.unwrap_or(shop.book.prices.told_day), start.date());
    let early = match (date.pred_opt(), told.from.pred_opt()) {
        (Some(before), Some(last)) => worked_dates(shop, before, last),
        _ => 0,
    };
    day * (early + worked_dates(shop, told.to, date))
}

/// C12: a half-day in which a unit stands at a place, or is on the road from it.
pub fn standing(shop: &Shop, unit: UnitId, place: PlaceId) -> Cents {
    match shop.book.equipment[unit.index()].moves {
        Moves::Towed => shop.book.places[place.index()].stand_half_day,
        Moves::Carried => Cents::ZERO,
    }
}

/// C13: a half-day in which a unit stands at a place; `None`: in which it is on the road.
pub fn hire(shop: &Shop, unit: UnitId, at: Option<PlaceId>) -> Cents {
    let unit = &shop.book.equipment[unit.index()];
    let place = at.map(|place| &shop.book.places[place.index()].id);
    if unit.hire_place.is_some() && unit.hire_place.as_ref() == place { Cents::ZERO } else { unit.hire_half_day }
}

/// C17: a date as which begins a unit stands at a place, or is still to come there.
pub fn home(shop: &Shop, unit: UnitId, place: PlaceId, date: NaiveDate) -> Cents {
    let Some(by) = &shop.book.equipment[unit.index()].home_by else { return Cents::ZERO };
    let late = by.date < date && by.place != shop.book.places[place.index()].id;
    if late { by.late_day.unwrap_or(shop.book.prices.late_day) } else { Cents::ZERO }
}

/// C18: a date as which begins a unit stands at a place where the last step ended on another date.
pub fn clear(shop: &Shop, unit: UnitId, place: PlaceId, (last, date): (NaiveDate, NaiveDate)) -> Cents {
    let towed = shop.book.equipment[unit.index()].moves == Moves::Towed;
    let Some(by) = shop.book.places[place.index()].clear_by.as_ref().filter(|_| towed) else { return Cents::ZERO };
    let late = (date - last).num_days() > i64::from(by.days);
    if late { by.late_day.unwrap_or(shop.book.prices.late_day) } else { Cents::ZERO }
}

/// C16: a done job whose planned steps go from an index to another, both counted; from now, where it has begun.
pub fn open(shop: &Shop, first: usize, last: usize) -> Cents {
    shop.book.prices.open_half_day * (first..=last).filter(|h| shop.works[*h]).count() as i64
}

fn late_day(shop: &Shop, job: JobId) -> Cents {
    let written = &shop.book.jobs[job.index()];
    let of_rank = rank(shop, written).and_then(|rank| rank.late_day);
    written.late_day.or(of_rank).unwrap_or(shop.book.prices.late_day)
}

fn rank<'s>(shop: &'s Shop, job: &Job) -> Option<&'s Rank> {
    let id = job.rank.as_ref()?;
    shop.book.ranks.iter().find(|rank| rank.id == *id)
}

/// T1: the dates after one, up to and with another, that the shop works; by whole weeks and closed ranges, not one by one.
fn worked_dates(shop: &Shop, after: NaiveDate, until: NaiveDate) -> i64 {
    let facts = &shop.book.shop;
    // Days since a Sunday: a week's Monday is 1, 8 and so on.
    let number = |date: NaiveDate| i64::from(date.num_days_from_ce());
    let upto = |day: i64| -> i64 {
        let on = |weekday: &i64| {
            facts.work_days.iter().any(|day| i64::from(Weekday::from(*day).num_days_from_monday()) == *weekday)
        };
        (0..7).filter(on).map(|weekday| (day - weekday - 1).div_euclid(7) + 1).sum()
    };
    let (first, last) = (number(after) + 1, number(until));
    if last < first {
        return 0;
    }
    let about = Range { first: HalfDay::am(after), last: HalfDay::pm(until) };
    let mut closed: Vec<Range> =
        facts.closed.iter().filter_map(|when| when.within(about)).flat_map(When::stretches).collect();
    closed.sort_by_key(|range| range.first);
    let mut lost = 0;
    let mut closed = closed.into_iter().peekable();
    while let Some(range) = closed.next() {
        // With all that follows on it without a half-day between.
        let mut end = range.last;
        while let Some(next) = closed.next_if(|next| next.first <= end.following()) {
            end = end.max(next.last);
        }
        // A date with one half open is worked.
        let from = (number(range.first.date()) + i64::from(range.first.is_pm())).max(first);
        let to = (number(end.date()) - i64::from(!end.is_pm())).min(last);
        lost += if from <= to { upto(to) - upto(from - 1) } else { 0 };
    }
    upto(last) - upto(first - 1) - lost
}
