//! What crews' half-days, weeks and dates cost: rules C8, C14 and C15.

use std::collections::BTreeSet;

use yardless_book::money::Cents;
use yardless_plan::Rule;
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, Table};

use super::Found;
use super::crew_time::{self, AtWork};
use super::fact::OfWork;
use super::rows::{Rows, each};

/// The steps on which each crew works in each half-day.
type Worked = Table<CrewId, Vec<Vec<AtWork>>>;

/// C14: by how many half-days the crews' weeks fall short of what they keep open, at its price.
pub(super) fn reserve(shop: &Shop, worked: &Worked) -> Cents {
    let mut short = 0;
    for (crew, half_days) in worked.pairs() {
        let text = &shop.book.crews[crew.index()];
        let keep = if text.own { i64::from(text.keep_open) } else { 0 };
        for week in 0..shop.len() / 14 {
            // The week that has begun counts no more.
            let of_week = (week * 14..week * 14 + 14).filter(|_| week * 14 >= shop.now);
            let there: Vec<usize> = of_week.filter(|h| shop.works[*h] && shop.crews[crew].people[*h] > 0).collect();
            let open = there.iter().filter(|h| half_days[**h].is_empty()).count() as i64;
            short += (keep.min(there.len() as i64) - open).max(0);
        }
    }
    shop.book.prices.reserve_half_day * short
}

/// C15: the rounds of the crews that have a home. One that cannot be driven breaks it.
pub(super) fn driving(shop: &Shop, worked: &Worked, found: &mut Found) -> Cents {
    let mut minutes = 0;
    for (crew, half_days) in worked.pairs() {
        let Some(home) = home(shop, crew) else { continue };
        for (date, halves) in half_days.chunks(2).enumerate() {
            let places: Vec<PlaceId> = halves.iter().filter_map(|work| place(shop, work)).collect();
            match round(shop, home, &places) {
                Round::Takes(takes) => minutes += takes,
                Round::TooFar => {
                    let at = shop.horizon.half_day(date * 2);
                    found.say(Rule::C15, OfWork::TooFarAtNoon { crew, at });
                }
                Round::NoDrive => {
                    let at = shop.horizon.half_day(date * 2);
                    found.say(Rule::C15, OfWork::CannotDrive { crew, at });
                }
            }
        }
    }
    shop.book.prices.drive_minute * minutes
}

/// Where a crew drives from and back to, where that is counted.
fn home(shop: &Shop, crew: CrewId) -> Option<PlaceId> {
    let counts = shop.book.prices.drive_minute > Cents::ZERO && shop.crews[crew].own;
    shop.book.crews[crew.index()].home.as_ref().filter(|_| counts).and_then(|id| shop.find_place(id))
}

/// Where a crew works in a half-day, stops apart.
fn place(shop: &Shop, work: &[AtWork]) -> Option<PlaceId> {
    let step = work.iter().find(|work| !work.is_stop())?.step;
    Some(shop.jobs[shop.steps[step].job].place)
}

enum Round {
    Takes(i64),
    TooFar,
    NoDrive,
}

fn round(shop: &Shop, home: PlaceId, places: &[PlaceId]) -> Round {
    let (Some(first), Some(last)) = (places.first(), places.last()) else { return Round::Takes(0) };
    let legs = [(home, *first), (*first, *last), (*last, home)];
    let minutes: Option<Vec<i64>> =
        legs.iter().map(|(from, to)| shop.drive(*from, *to).map(|drive| i64::from(drive.minutes))).collect();
    match minutes {
        None => Round::NoDrive,
        Some(minutes) if minutes[1] > i64::from(shop.book.shop.noon_minutes) => Round::TooFar,
        Some(minutes) => Round::Takes(minutes.iter().sum()),
    }
}

/// C15: whether a crew that works on some steps already can also be where one more is, on that date.
pub(super) fn reaches(shop: &Shop, crew: CrewId, worked: &[Vec<AtWork>], (h, more): (usize, AtWork)) -> bool {
    let Some(home) = home(shop, crew) else { return true };
    let here = place(shop, &[more]);
    let other = worked.get(h ^ 1).and_then(|work| place(shop, work));
    let places = if h % 2 == 0 { [here, other] } else { [other, here] };
    let places: Vec<PlaceId> = places.into_iter().flatten().collect();
    here.is_none() || matches!(round(shop, home, &places), Round::Takes(_))
}

/// C8: the half-days of overtime that crews work, helping too, each half-day of a crew once.
pub(super) fn overtime(shop: &Shop, steps: &Rows) -> i64 {
    let mut worked: BTreeSet<(CrewId, usize)> = BTreeSet::new();
    for (step, work) in each(steps).filter(|(_, work)| work.row.overtime) {
        worked.extend(crew_time::worked(shop, step, work).filter(|(_, h)| shop.overtime[*h]));
    }
    worked.len() as i64
}
