//! What a plan costs, rules C1 to C6: the only definition of cost.
//!
//! Written from the book's own figures, so that a table which an engine weighs plans by cannot be wrong unseen.

use crate::book::Moves;
use crate::money::Cents;
use crate::shop::{CrewId, Id, JobId, Shop};

/// C1: a done job whose last step ends at the index.
pub fn late(shop: &Shop, job: JobId, end: usize) -> Cents {
    let Some(due) = shop.book.jobs[job.index()].due else { return Cents::ZERO };
    late_day(shop, job) * shop.worked_dates(due, shop.horizon.date(end))
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

/// C5: a done job whose steps end at the indices.
pub fn waiting(shop: &Shop, ends: impl Iterator<Item = usize>) -> Cents {
    let (mut sum, mut last) = (0, 0);
    for end in ends {
        sum += end;
        last = last.max(end);
    }
    shop.book.prices.wait_half_day * last as i64 + Cents(sum as i64)
}

fn late_day(shop: &Shop, job: JobId) -> Cents {
    shop.book.jobs[job.index()].late_day.unwrap_or(shop.book.prices.late_day)
}
