//! What one more would save: a unit, a crew, a truck, a Saturday, a road without its season.
//!
//! Each is a what-if: the best plan of the book with one more, against the best of the book as it is, both from now on
//! and from a clean sheet (nothing told counts). A plan's true cost lies between its bound and its cost, and so does
//! what is saved. One more that is carried, works or hauls never makes the best plan dearer; one more trailer may, where
//! spots are few (E6), as it has to stand somewhere.

use chrono::{Datelike, NaiveDate, Weekday};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::money::Cents;
use yardless_book::recurring::Season;
use yardless_book::{Book, Equipment, Moves, Truck, WeekDay, When};
use yardless_check::check;
use yardless_engine::Limits;
use yardless_plan::shop::{Closure, RoadState, Shop};
use yardless_plan::{HaulRow, Plan, StepRow};

use super::Given;
use super::given::{Shares, new_id};
use super::let_in::{Alone, Outside};

/// One more of something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum More {
    /// A unit of this kind, like the first one that the shop has.
    Unit(String),
    /// A crew like this one.
    Crew(String),
    /// A truck like the one that tows most, for whoever wants it.
    Truck,
    /// This Saturday, worked by whoever gains by it; what that costs in wages is not counted.
    Day(NaiveDate),
    /// This road open to trailers whatever the season, storms and covered roads apart.
    Road(String),
    /// The same on this date alone: a clear day.
    Clear(String, NaiveDate),
}

/// What it would save.
#[derive(Clone, Debug)]
pub struct Worth {
    /// What.
    pub more: More,
    /// The least that it saves, in cents of the best plans: below 0 only for a trailer.
    pub least: Cents,
    /// The most.
    pub most: Cents,
    /// The dates in which the plan with it uses it; `None`: it does not.
    pub when: Option<(NaiveDate, NaiveDate)>,
    /// On how many dates it is used.
    pub days: usize,
    /// Whether the same is saved where it is there on those dates only. For a crew, a truck and a road: not asked.
    pub only_then: bool,
    /// The jobs that the plan with it does and the best without it does not.
    pub lets_in: Vec<String>,
    /// What it saves where it lets in none of them; `None`: it lets in none, or that could not be planned.
    pub alone: Option<Alone>,
    /// The plan with it.
    pub plan: Plan,
}

/// The plan that all is compared with, and what one more would save, the most first.
pub fn worth(given: &Given, more: &[More], limits: &Limits) -> Option<(Plan, Vec<Worth>)> {
    let roads = more.iter().filter(|more| matches!(more, More::Road(_))).count();
    // Where jobs are left out each is asked twice: with those that it lets in, and without.
    let times = if given.plan.left_out.is_empty() { 1 } else { 2 };
    let mut shares = Shares::new(limits, (more.len() + roads) * times + 1);
    let base_shop = given.what_if(&[], |_| {})?;
    let base = given.planned(&base_shop, &given.plan, &shares.next());
    let outside = Outside::of(given, &base);
    let mut ask = |more: &More| {
        let mut worth = one(given, &base, more, &shares.next())?;
        if let Some(outside) = &outside {
            let limits = shares.next();
            worth.lets_in = outside.let_in(&worth.plan);
            worth.alone = (!worth.lets_in.is_empty()).then(|| alone(given, &worth, outside, &limits)).flatten();
        }
        Some(worth)
    };
    let mut found: Vec<Worth> = Vec::new();
    for more in more {
        let Some(worth) = ask(more) else { continue };
        // Of a road's winter the first date on which it helps, alone.
        let clear = match (&worth.more, worth.when) {
            (More::Road(road), Some((first, last))) if first < last => Some(More::Clear(road.clone(), first)),
            _ => None,
        };
        found.push(worth);
        found.extend(clear.and_then(|clear| ask(&clear)));
    }
    found.sort_by_key(|worth| (std::cmp::Reverse(worth.least.max(Cents::ZERO)), std::cmp::Reverse(worth.most)));
    Some((base, found))
}

/// All that may be asked about, one of each sort in turn: kinds of unit, those first that are wanted most often for each
/// unit there is; own crews; a truck; Saturdays; roads with a season.
pub fn all(shop: &Shop) -> Vec<More> {
    let book = &shop.book;
    let mut kinds: Vec<&String> = book.equipment.iter().flat_map(|unit| &unit.kinds).collect();
    kinds.sort();
    kinds.dedup();
    let wanted = |kind: &String| {
        let parked = book.jobs.iter().flat_map(|job| &job.parked).filter(|need| need.kind == *kind).count();
        let steps = book.jobs.iter().flat_map(|job| &job.steps).filter(|step| {
            let ways = step.ways.iter().flatten().flat_map(|way| &way.needs);
            step.needs.iter().chain(ways).any(|need| need.kind == *kind)
        });
        let owned = book.equipment.iter().filter(|unit| unit.kinds.contains(kind)).count();
        (parked + steps.count()) * 100 / owned.max(1)
    };
    kinds.sort_by_key(|kind| std::cmp::Reverse(wanted(kind)));
    let crews = book.crews.iter().filter(|crew| crew.own).map(|crew| More::Crew(crew.id.clone()));
    let mut days: Vec<NaiveDate> = (shop.now..shop.len()).map(|h| shop.horizon.date(h)).collect();
    days.retain(|date| is_saturday(book, *date));
    days.dedup();
    let roads = book.roads.iter().filter(|road| !road.no_trailers.is_empty());
    let sorts: [Vec<More>; 5] = [
        kinds.into_iter().map(|kind| More::Unit(kind.clone())).collect(),
        crews.collect(),
        book.trucks.first().map(|_| More::Truck).into_iter().collect(),
        days.into_iter().map(More::Day).collect(),
        roads.map(|road| More::Road(road.id.clone())).collect(),
    ];
    let most = sorts.iter().map(Vec::len).max().unwrap_or(0);
    (0..most).flat_map(|n| sorts.iter().filter_map(move |sort| sort.get(n).cloned())).collect()
}

/// Whether a date is a Saturday on which the shop does not work anyway, nor may in overtime.
fn is_saturday(book: &Book, date: NaiveDate) -> bool {
    let closed = [HalfDay::am(date), HalfDay::pm(date)];
    date.weekday() == Weekday::Sat
        && !book.shop.work_days.contains(&WeekDay::Sat)
        && book.shop.overtime_days.is_empty()
        && !closed.iter().all(|h| book.shop.closed.iter().any(|range| range.holds(*h)))
}

/// What one of them is worth; `None` where the book with it has a fault, as where a trailer has no spot to stand on.
fn one(given: &Given, base: &Plan, more: &More, limits: &Limits) -> Option<Worth> {
    let shop = given.what_if(&[], |book| more.add(book, given.shop, None))?;
    let plan = given.planned(&shop, base, limits);
    let used = more.used(given.shop, &plan);
    let when = used.first().copied().zip(used.last().copied());
    // The very plan holds, and costs the same, where it is there on those dates only.
    let then = when.and_then(|dates| given.what_if(&[], |book| more.add(book, given.shop, Some(dates))));
    let only_then = matches!(more, More::Unit(_))
        && then.is_some_and(|shop| {
            let verdict = check(&shop, &plan);
            verdict.holds() && verdict.costs.total() == plan.cost
        });
    let bound = |plan: &Plan| plan.bound.unwrap_or(Cents::ZERO);
    let (least, most) = (bound(base) - plan.cost, base.cost - bound(&plan));
    let least = if more.may_hurt(given.shop) { least } else { least.max(Cents::ZERO) };
    let (lets_in, alone) = (Vec::new(), None);
    Some(Worth { more: more.clone(), least, most, when, days: used.len(), only_then, lets_in, alone, plan })
}

/// What it saves of the jobs that are done without it.
fn alone(given: &Given, worth: &Worth, outside: &Outside, limits: &Limits) -> Option<Alone> {
    let shop = given.what_if(&[], |book| {
        outside.put_off(book, given.shop);
        worth.more.add(book, given.shop, None);
    })?;
    let mut saved = outside.saved(&given.planned(&shop, &worth.plan, limits));
    if !worth.more.may_hurt(given.shop) {
        saved.least = saved.least.max(Cents::ZERO);
    }
    Some(saved)
}

impl More {
    /// Whether it could make the best plan dearer: a trailer takes a spot, where the place has only so many (E6), or a unit
    /// costs where it stands (C12, C13, C17, C18). Anywhere else it may stand unused.
    fn may_hurt(&self, shop: &Shop) -> bool {
        let towed = |unit: &Equipment| unit.moves == Moves::Towed;
        let spots = |id: &String| shop.places.iter().any(|place| place.id == *id && place.spots.is_some());
        let limited = |unit: &Equipment| spots(&unit.place);
        let late = |id, place| shop.away_cost(id, place, (shop.now, shop.len())) > Cents::ZERO;
        let cleared = |id, place| shop.units[id].towed() && shop.clearings.iter().any(|site| site.place == place);
        let stands = |id| {
            let place = shop.units[id].place;
            shop.stand_cost(id, place) > Cents::ZERO || late(id, place) || cleared(id, place)
        };
        let costs = |unit: &Equipment| shop.find_unit(&unit.id).is_some_and(stands);
        match self {
            Self::Unit(kind) => {
                like(&shop.book, kind).is_some_and(|unit| (towed(unit) && limited(unit)) || costs(unit))
            }
            _ => false,
        }
    }

    /// The book with it; where dates are given, on those only.
    fn add(&self, book: &mut Book, shop: &Shop, dates: Option<(NaiveDate, NaiveDate)>) {
        match self {
            Self::Unit(kind) => {
                if let Some(mut unit) = like(book, kind).cloned() {
                    unit.name = Some(format!("one more {}", unit.name.as_ref().unwrap_or(&unit.id)));
                    unit.id = new_id(&unit.id, MORE, book.equipment.iter().map(|unit| &unit.id));
                    unit.out = dates.map_or_else(Vec::new, |dates| but(shop, dates));
                    book.equipment.push(unit);
                }
            }
            Self::Crew(id) => {
                if let Some(mut crew) = book.crews.iter().find(|crew| crew.id == *id).cloned() {
                    crew.name = Some(format!("one more {}", crew.name.as_ref().unwrap_or(&crew.id)));
                    crew.id = new_id(&crew.id, MORE, book.crews.iter().map(|crew| &crew.id));
                    book.crews.push(crew);
                }
            }
            Self::Truck => {
                let strongest: Option<Truck> = book.trucks.iter().max_by_key(|truck| truck.tow_lb).cloned();
                if let Some(mut truck) = strongest {
                    truck.id = new_id(&truck.id, MORE, book.trucks.iter().map(|truck| &truck.id));
                    truck.name = Some("one more truck".to_owned());
                    truck.crew = None;
                    truck.out.clear();
                    book.trucks.push(truck);
                }
            }
            Self::Day(date) => {
                // As overtime without its price, on that day alone.
                let other: Vec<NaiveDate> = (0..shop.len())
                    .map(|h| shop.horizon.date(h))
                    .filter(|other| other != date && other.weekday() == Weekday::Sat)
                    .collect();
                let days = other.into_iter().map(|d| When::from(Range { first: HalfDay::am(d), last: HalfDay::pm(d) }));
                book.shop.closed.extend(days);
                book.shop.overtime_days = vec![WeekDay::Sat];
                book.prices.overtime_half_day = Cents::ZERO;
            }
            Self::Road(id) => {
                book.roads.iter_mut().filter(|road| road.id == *id).for_each(|road| road.no_trailers.clear());
            }
            // A report would end what is expected clear before it, so the season itself has the gap.
            Self::Clear(id, date) => {
                for road in book.roads.iter_mut().filter(|road| road.id == *id) {
                    road.no_trailers = road.no_trailers.iter().flat_map(|season| without(*season, *date)).collect();
                }
            }
        }
    }

    /// The dates on which a plan uses it, in their order.
    fn used(&self, shop: &Shop, plan: &Plan) -> Vec<NaiveDate> {
        // What the shop without it does not have.
        let unit = |id: &String| !shop.units.iter().any(|unit| unit.id == *id);
        let crew = |id: &String| !shop.crews.iter().any(|crew| crew.id == *id);
        let truck = |id: &String| !shop.trucks.iter().any(|truck| truck.id == *id);
        let worked = |rows: &mut dyn Iterator<Item = &StepRow>| -> Vec<NaiveDate> {
            let half_days = |row: &StepRow| shop.horizon.indices(Range { first: row.start, last: row.end });
            rows.flat_map(half_days).map(|h| shop.horizon.date(h)).collect()
        };
        let hauled = |of: &dyn Fn(&HaulRow) -> bool| -> Vec<NaiveDate> {
            plan.hauls.iter().filter(|haul| of(haul)).map(|haul| haul.at.date()).collect()
        };
        let mut dates = match self {
            Self::Unit(_) => {
                let parked = |row: &StepRow| {
                    plan.parked.iter().any(|parked| parked.job == row.job && parked.units.iter().any(unit))
                };
                let held = worked(&mut plan.steps.iter().filter(|row| row.units.iter().any(unit) || parked(row)));
                [held, hauled(&|haul| unit(&haul.unit))].concat()
            }
            Self::Crew(_) => worked(&mut plan.steps.iter().filter(|row| crew(&row.crew) || row.with.iter().any(crew))),
            Self::Truck => hauled(&|haul| truck(&haul.truck)),
            Self::Day(date) => plan.steps.iter().filter(|row| row.overtime).map(|_| *date).collect(),
            Self::Road(id) | Self::Clear(id, _) => hauled(&|haul| closed_by_season(shop, id, haul)),
        };
        dates.retain(|date| shop.works_date(*date) || matches!(self, Self::Day(_)));
        dates.sort_unstable();
        dates.dedup();
        dates
    }
}

/// Whether a haul goes over a road while its season forbids that.
fn closed_by_season(shop: &Shop, road: &str, haul: &HaulRow) -> bool {
    let Some(h) = shop.horizon.index(haul.at) else { return false };
    [&haul.from, &haul.to].into_iter().any(|id| {
        let on_it = shop.book.places.iter().any(|place| place.id == *id && place.road.as_deref() == Some(road));
        let closed =
            shop.places.iter().any(|place| place.id == *id && place.road[h] == RoadState::Closed(Closure::Season));
        on_it && closed
    })
}

/// A season but one date: what of it lies before and after.
fn without(season: Season, date: NaiveDate) -> Vec<Season> {
    if !season.holds(date) {
        return vec![season];
    }
    let day = |date: Option<NaiveDate>| date.map(|date| (date.month(), date.day()));
    let (before, after) = (day(date.pred_opt()), day(date.succ_opt()));
    let this = (date.month(), date.day());
    let parts = [
        before.filter(|_| season.first != this).map(|last| Season { last, ..season }),
        after.filter(|_| season.last != this).map(|first| Season { first, ..season }),
    ];
    parts.into_iter().flatten().collect()
}

/// Marks the id of what is added.
const MORE: &str = "+one";

/// The first unit of a kind.
fn like<'b>(book: &'b Book, kind: &str) -> Option<&'b Equipment> {
    book.equipment.iter().find(|unit| unit.kinds.iter().any(|of| of == kind))
}

/// All of the horizon but some dates.
fn but(shop: &Shop, (first, last): (NaiveDate, NaiveDate)) -> Vec<When> {
    let day = chrono::Days::new(1);
    let mut out = Vec::new();
    if shop.horizon.monday() < first {
        out.push(Range { first: HalfDay::am(shop.horizon.monday()), last: HalfDay::pm(first - day) }.into());
    }
    if last < shop.horizon.last_date() {
        out.push(Range { first: HalfDay::am(last + day), last: HalfDay::pm(shop.horizon.last_date()) }.into());
    }
    out
}
