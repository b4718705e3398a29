//! When units of a kind are free together, where each is, and how much sooner if other work moves.

use yardless_answer::{Ask, Given, Offer, Together, sooner, together};
use yardless_book::half_day::HalfDay;
use yardless_check::check;
use yardless_edit::book_file::BookFile;
use yardless_edit::judged::{Judged, judge};
use yardless_edit::named;
use yardless_edit::plan_file::PlanFile;
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{Noun, OfQuestion, Trouble};
use yardless_engine::Limits;
use yardless_plan::shop::{Id, KindId, PlaceId, Shop};
use yardless_plan::{Assumed, Plan};
use yardless_view::FreeUnits;
use yardless_view::breach::{first, says};

use super::{Answered, then};
use crate::asked::Asked;

/// What is wanted, in the user's words.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The kind, by its id or name.
    pub kind: String,
    /// How many together.
    pub count: u32,
    /// For how many half-days that the shop works.
    pub half_days: u32,
    /// Where, by id or name; `None`: wherever they stand.
    pub at: Option<String>,
    /// From which half-day on; `None`: now by the clock.
    pub now: Option<HalfDay>,
}

/// Refuses what no plan answers: an unknown kind, more units than the book has.
pub fn may_be_asked(shop: &Shop, wanted: &Wanted) -> Result<(), Trouble> {
    enough(shop, kind(shop, &wanted.kind)?, wanted.count as usize)
}

/// Answers from a plan; `stored`: where it is the one given out.
pub fn free(
    file: &BookFile,
    shop: &Shop,
    plan: &Plan,
    stored: Option<(PlanFile, Called)>,
    wanted: &Wanted,
) -> Result<Answered, Trouble> {
    let kind = kind(shop, &wanted.kind)?;
    enough(shop, kind, wanted.count as usize)?;
    let from = as_of(file, shop, wanted.now)?;
    let mut assumed = None;
    if let Some((stored, called)) = &stored {
        let as_of = shop.horizon.half_day(from).max(stored.begins());
        assumed = then(file, stored, called, as_of)?.assumed;
        let judged = judge(file, stored, None, Some(as_of))?;
        holds(&judged, called)?;
        // What only breaks before now is history: asked of the plan as it stands from now on.
        if let Some((then, rest)) = judged.then.filter(|_| !check(shop, plan).holds()) {
            let mut asked = Asked::new(then, rest, called.clone(), Some(judged.now))?;
            asked.assumed = assumed;
            return free_now(&asked, wanted);
        }
    }
    // Sooner, if other work moves: only where the plan given out still holds from now on can that be told.
    let now = stored.and_then(|(stored, called)| Asked::new(file.clone(), stored, called, wanted.now).ok());
    answered(&file.written.digest, shop, plan, now.as_ref(), wanted, from, assumed.as_ref())
}

/// The same of the plan as it stands from now on.
pub fn free_now(asked: &Asked, wanted: &Wanted) -> Result<Answered, Trouble> {
    let given = asked.given()?;
    let kind = kind(&asked.shop, &wanted.kind)?;
    enough(&asked.shop, kind, wanted.count as usize)?;
    answered(given.digest, &asked.shop, &given.plan, Some(asked), wanted, asked.shop.now, asked.assumed.as_ref())
}

fn answered(
    digest: &str,
    shop: &Shop,
    plan: &Plan,
    now: Option<&Asked>,
    wanted: &Wanted,
    from: usize,
    assumed: Option<&Assumed>,
) -> Result<Answered, Trouble> {
    let kind = kind(shop, &wanted.kind)?;
    let place = wanted.at.as_deref().map(|asked| place(shop, asked)).transpose()?;
    let ask = Ask { kind, count: wanted.count as usize, half_days: wanted.half_days as usize, place, from };
    let found = together(&given(shop, digest, plan)?, &ask);
    let sooner = now.and_then(|now| sooner_than(now, &ask, found.as_ref(), shop));
    let units = FreeUnits::new(shop, plan, &ask);
    Ok(Answered::new(units.told(found.as_ref(), sooner.as_ref()), units.json(found.as_ref(), sooner.as_ref()), assumed))
}

/// The soonest time from now on if other work moves, before the one that is found.
fn sooner_than(now: &Asked, ask: &Ask, found: Option<&Together>, shop: &Shop) -> Option<Offer> {
    let given = now.given().ok()?;
    let stands = || now.shop.places.find(|of| Some(&of.id) == found.map(|found| &found.units[0].1));
    let from = ask.from.max(now.shop.now);
    let before = found.map_or(now.shop.horizon.half_day(now.shop.len() - 1), |found| found.first);
    if now.shop.horizon != shop.horizon || before <= now.shop.horizon.half_day(from) {
        return None;
    }
    sooner(&given, &Ask { from, ..*ask }, ask.place.or_else(stands)?, before, &Limits::steps(ROUNDS))
}

/// Rounds of search for each plan in which other work moves.
const ROUNDS: u64 = 120;

/// The plan as a question takes it; it holds, as has been looked at.
fn given<'a>(shop: &'a Shop, digest: &'a str, plan: &Plan) -> Result<Given<'a>, Trouble> {
    Given::new(shop, digest, plan).map_err(|breaches| {
        let first = first(shop, &breaches).map_or(String::new(), |breach| says(shop, breach));
        OfQuestion::FoundBreaks { first }.into()
    })
}

/// A count above what the shop owns is no question of time.
fn enough(shop: &Shop, kind: KindId, count: usize) -> Result<(), Trouble> {
    let owned: Vec<String> =
        shop.units.iter().filter(|unit| unit.kinds.contains(&kind)).map(|unit| unit.name.clone()).collect();
    if count <= owned.len() {
        return Ok(());
    }
    Err(OfQuestion::Count { count, kind: shop.kinds[kind].name.clone(), owned }.into())
}

/// The place by its id or name.
fn place(shop: &Shop, asked: &str) -> Result<PlaceId, Trouble> {
    let all: Vec<(&str, &str)> = shop.places.iter().map(|place| (place.id.as_str(), place.name.as_str())).collect();
    Ok(named::position(Noun::Place, asked, &all).map(PlaceId::from_index)?)
}

/// The kind by its id or name.
fn kind(shop: &Shop, asked: &str) -> Result<KindId, Trouble> {
    let all: Vec<(&str, &str)> = shop.kinds.iter().map(|kind| (kind.id.as_str(), kind.name.as_str())).collect();
    Ok(named::position(Noun::Kind, asked, &all).map(KindId::from_index)?)
}

/// The half-day asked about: as given, else now, else the plan's first.
fn as_of(file: &BookFile, shop: &Shop, asked: Option<HalfDay>) -> Result<usize, Trouble> {
    let horizon = shop.horizon;
    let Some(at) = asked else {
        return Ok(horizon.index(file.half_day_now()).unwrap_or(0));
    };
    let outside = || OfQuestion::Outside { at, first: horizon.monday(), last: horizon.last_date() };
    Ok(horizon.index(at).ok_or_else(outside)?)
}

/// Where a plan does not hold, what it says of equipment is not to be relied on.
fn holds(judged: &Judged, called: &Called) -> Result<(), Trouble> {
    if judged.breaches.is_empty() {
        return Ok(());
    }
    Err(OfQuestion::FreeBreaks { plan: called.clone() }.into())
}
