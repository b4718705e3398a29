//! What a plan costs, rules C1 to C6: the only definition of cost.
//!
//! Written from the book's own figures, so that a table which an engine weighs plans by cannot be wrong unseen.

use crate::book::Moves;
use crate::half_day::HalfDay;
use crate::money::Cents;
use crate::shop::{CrewId, Id, JobId, Shop};

/// C1: a done job whose steps end in the half-days.
pub fn late(shop: &Shop, job: JobId, ends: &[HalfDay]) -> Cents {
    let (Some(due), Some(end)) = (shop.book.jobs[job.index()].due, ends.iter().max()) else { return Cents::ZERO };
    late_day(shop, job) * shop.worked_dates(due, end.date())
}

/// C2: a job left out.
pub fn left_out(shop: &Shop, job: JobId) -> Cents {
    let written = &shop.book.jobs[job.index()];
    let last = shop.horizon.last_date();
    match (written.left_out, written.due) {
        (Some(given), _) => given,
        (None, Some(due)) if due <= last => late_day(shop, job) * (20 + shop.worked_dates(due, last)),
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

fn late_day(shop: &Shop, job: JobId) -> Cents {
    shop.book.jobs[job.index()].late_day.unwrap_or(shop.book.prices.late_day)
}
