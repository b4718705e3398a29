//! When units of a kind are free together and can be somewhere by then; and how much sooner if other work moves.

use serde_json::json;
use yardless_book::half_day::HalfDay;
use yardless_engine::{FreeQuery, FreeUnits, Limits};
use yardless_plan::shop::{KindId, PlaceId, Shop};
use yardless_plan::{Draft, HaulRow, read, write};

use super::Given;
use super::offer::{Offer, offers};

/// What is asked for: so many units of a kind, for so many half-days, at a place or wherever they stand.
#[derive(Clone, Copy, Debug)]
pub struct Ask {
    /// The kind.
    pub kind: KindId,
    /// How many together, one at least.
    pub count: usize,
    /// For how many half-days that the shop works, one at least.
    pub half_days: usize,
    /// Where; `None`: wherever each stands.
    pub place: Option<PlaceId>,
    /// From this half-day on, an index of the horizon.
    pub from: usize,
}

/// When units are free together.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// The first half-day.
    pub first: HalfDay,
    /// The last one.
    pub last: HalfDay,
    /// The units, each with the place where it stands then.
    pub units: Vec<(String, String)>,
    /// The hauls that bring them, besides those of the plan.
    pub hauls: Vec<HaulRow>,
    /// The hauls afterwards, besides those of the plan: to where they are wanted next, or away from a spot that others want.
    pub then: Vec<HaulRow>,
    /// The hauls of the plan that are not made so.
    pub instead: Vec<HaulRow>,
}

/// The first time under the plan given out; `None`: not within these weeks.
pub fn together(given: &Given, ask: &Ask) -> Option<Together> {
    let shop = given.shop;
    let Ask { kind, count, half_days, place, from } = *ask;
    let draft = read(shop, &given.plan);
    let FreeUnits { first, last, units, hauls, then, instead } =
        yardless_engine::free_together(shop, &draft, &FreeQuery { kind, count, half_days, place, from })?;
    let rows = |hauls| write(shop, given.digest, &Draft { hauls, ..Draft::empty(shop) }, |_| String::new()).hauls;
    Some(Together {
        first: shop.horizon.half_day(first),
        last: shop.horizon.half_day(last),
        units: units.iter().map(|(unit, at)| (shop.units[*unit].id.clone(), shop.places[*at].id.clone())).collect(),
        hauls: rows(hauls),
        then: rows(then),
        instead: rows(instead),
    })
}

/// The soonest time before a half-day if other work moves, as an offer for a job that holds the units there and takes
/// nobody of the shop; `None`: none is found.
pub fn sooner(given: &Given, ask: &Ask, place: PlaceId, before: HalfDay, limits: &Limits) -> Option<Offer> {
    let shop = given.shop;
    let (name, kind) = (unused(given), &shop.kinds[ask.kind].id);
    let people = json!({ "id": name, "people": 1, "skills": [name], "own": false });
    let hold = json!({
        "id": name, "place": shop.places[place].id, "earliest": shop.horizon.date(ask.from),
        "steps": [{
            "id": name, "skill": name, "half_days": ask.half_days, "needs": [{ "kind": kind, "count": ask.count }]
        }]
    });
    let mut book = shop.book.clone();
    book.crews.push(serde_json::from_value(people).ok()?);
    let shop = Shop::again(&book, shop.horizon, shop.now, Some(&given.plan.kept())).ok()?;
    let with_people = Given { shop: &shop, digest: given.digest, plan: given.plan.clone() };
    let offers = offers(&with_people, &serde_json::from_value(hold).ok()?, 2, limits)?;
    offers.rows.into_iter().next().filter(|offer| offer.start < before)
}

/// A name that the book does not use.
fn unused(given: &Given) -> String {
    let book = &given.shop.book;
    let used = |name: &String| {
        book.jobs.iter().any(|job| job.id == *name)
            || book.crews.iter().any(|crew| crew.id == *name || crew.skills.contains(name))
    };
    (0..u32::MAX).map(|n| format!("asked-{n}")).find(|name| !used(name)).unwrap_or_default()
}
