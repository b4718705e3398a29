//! What must be moved by when: units that are to be home, and trailers that are to be gone from where the work is over
//! (C17, C18), what the plan does about it, and how many hauls fit before.

use std::ops::Range;

use chrono::NaiveDate;
use yardless_book::money::Cents;
use yardless_plan::cost;
use yardless_plan::shop::{Clearing, Id, PlaceId, Shop, TruckFacts, TruckId, UnitId};

use super::course::{At, Course, Trip};
use super::words::{count, half};

/// A unit that must be moved by a date.
pub struct Move {
    unit: UnitId,
    /// The date by whose end.
    by: NaiveDate,
    /// To where; `None`: only away from where the work is over.
    home: Option<PlaceId>,
    /// Where it stands until then.
    from: PlaceId,
    /// The haul by which the plan does it.
    trip: Option<Trip>,
    /// The dates that the shop works as which begin it is still to be moved.
    late: usize,
    /// What those cost.
    cost: Cents,
}

/// All of them, the soonest first.
pub fn moves(course: &Course) -> Vec<Move> {
    let shop = course.shop;
    let home = shop.units.ids().filter_map(|unit| going_home(course, unit));
    let sites = shop.clearings.iter().flat_map(|site| leaving(course, site));
    let mut moves: Vec<Move> = home.chain(sites).collect();
    moves.sort_by_key(|to_move| (to_move.by, to_move.unit));
    moves
}

/// C17: a unit that is not at home all the time up to its date.
fn going_home(course: &Course, unit: UnitId) -> Option<Move> {
    let shop = course.shop;
    let by = shop.book.equipment[unit.index()].home_by.as_ref()?;
    let home = shop.find_place(&by.place)?;
    let until = last_of(course, by.date)?;
    let away = |h: &usize| course.standing[unit][*h] != At::Place(home);
    if by.date < shop.horizon.date(shop.now) && begins_at(course, unit, shop.now) == home {
        return None;
    }
    (shop.now..=until.max(shop.now)).find(away)?;
    // The last haul home that leaves it there, as far as these weeks go.
    let trip = course.trips.iter().rev().find(|trip| trip.unit == unit).filter(|trip| trip.to == home).cloned();
    let from = trip.as_ref().map_or_else(|| begins_at(course, unit, until + 1), |trip| trip.from);
    let late =
        dates(course).filter(|(h, date)| cost::home(shop, unit, begins_at(course, unit, *h), *date) > Cents::ZERO);
    let each = late.map(|(h, date)| cost::home(shop, unit, begins_at(course, unit, h), date));
    let each: Vec<Cents> = each.collect();
    Some(Move { unit, by: by.date, home: Some(home), from, trip, late: each.len(), cost: each.into_iter().sum() })
}

/// C18: the trailers that stand at a site when the last step there ends, or later.
fn leaving<'c>(course: &'c Course, site: &'c Clearing) -> impl Iterator<Item = Move> + 'c {
    let shop = course.shop;
    let ends = || site.jobs.iter().filter_map(|job| course.span(*job)).map(|(_, end)| end);
    let charged = shop.clear_from(site, |job| course.span(job).map(|(_, end)| end));
    let over = (site.past.is_some() || ends().next().is_some()) && charged < shop.len();
    let since = ends().max().unwrap_or(shop.now);
    let by = shop.horizon.date(charged.min(shop.len() - 1)).pred_opt();
    let stands = move |unit: UnitId| (since..shop.len()).any(|h| course.standing[unit][h] == At::Place(site.place));
    let units = shop.units.ids().filter(move |unit| over && shop.units[*unit].towed() && stands(*unit));
    units.filter_map(move |unit| {
        let leaves = |trip: &&Trip| trip.unit == unit && trip.from == site.place && trip.at >= since;
        let trip = course.trips.iter().find(leaves).cloned();
        let there = |(h, _): &(usize, NaiveDate)| *h >= charged && begins_at(course, unit, *h) == site.place;
        let late = dates(course).filter(there).count();
        Some(Move { unit, by: by?, home: None, from: site.place, trip, late, cost: site.late_day * late as i64 })
    })
}

/// The half-days that begin a date which the shop works, with their dates.
fn dates<'c>(course: &'c Course) -> impl Iterator<Item = (usize, NaiveDate)> + 'c {
    let shop = course.shop;
    (shop.now..shop.len()).filter(|h| shop.begins_date(*h)).map(|h| (h, shop.horizon.date(h)))
}

/// Where a unit is as a half-day begins: on the road where it is going.
fn begins_at(course: &Course, unit: UnitId, h: usize) -> PlaceId {
    let before = course.trips.iter().rfind(|trip| trip.unit == unit && trip.at < h);
    before.map_or(course.shop.units[unit].place, |trip| trip.to)
}

/// The last half-day of a date, by index; of one before these weeks the first of all, of one after them none.
fn last_of(course: &Course, date: NaiveDate) -> Option<usize> {
    let last = course.shop.horizon.offset(yardless_book::half_day::HalfDay::pm(date));
    usize::try_from(last).map_or(Some(0), |last| (last < course.shop.len()).then_some(last))
}

impl Move {
    /// In a sentence: by when what goes where, what the plan does, and how many hauls fit before.
    pub fn says(&self, course: &Course) -> String {
        let shop = course.shop;
        let (unit, from) = (&shop.units[self.unit].name, &shop.places[self.from].name);
        let goes = match self.home {
            Some(home) => format!("{unit} to {}", shop.places[home].name),
            None => format!("{unit} away from {from}"),
        };
        let by = self.by.format("%a %-d %b");
        format!("By {by}: {goes}; {}; {}.", self.planned(course), self.fits(course))
    }

    /// `hauled Thu 12 Nov pm from Hill farm with Truck 2`, and what it costs that this is late.
    fn planned(&self, course: &Course) -> String {
        let shop = course.shop;
        let hauled = match &self.trip {
            Some(trip) => {
                let at = half(shop.horizon.half_day(trip.at));
                let (from, truck) = (&shop.places[trip.from].name, &shop.trucks[trip.truck].name);
                format!("hauled {at}, {}, from {from} with {truck}", trip.moment(shop))
            }
            None => "this plan does not haul it".to_owned(),
        };
        let days = count(self.late, "working day", "working days");
        if self.late == 0 { hauled } else { format!("{hauled}, {days} late (${})", self.cost) }
    }

    /// The first half-day in which nothing needs it any more, up to one: a pm is counted in whose evening it is let go.
    fn free_from(&self, course: &Course, last: usize) -> usize {
        let held = course.holds[self.unit].iter().filter(|hold| hold.first <= last).map(|hold| hold.last).max();
        held.map_or(course.shop.now, |held| if held % 2 == 1 { held } else { held + 1 }.max(course.shop.now))
    }

    /// How many hauls fit from when it is let go up to the date: open roads, and trucks that can take it.
    fn fits(&self, course: &Course) -> String {
        let shop = course.shop;
        let Some(last) = last_of(course, self.by).filter(|last| *last >= shop.now) else {
            return "the date is past".to_owned();
        };
        let free = self.free_from(course, last);
        let hauls = self.hauls(course, free..last + 1);
        if hauls == 0 {
            let why = "no road there is open while a truck that can take it comes";
            return format!("no haul fits from when it is let go to then: {why}");
        }
        let taken = self.taken(course, free..last + 1);
        let taken = if taken == 0 { String::new() } else { format!(", {taken} of them taken by others") };
        format!("{} from when it is let go to then{taken}", count(hauls, "haul fits", "hauls fit"))
    }

    /// Where it may be hauled to.
    fn to(&self, shop: &Shop) -> Vec<PlaceId> {
        match self.home {
            Some(home) => vec![home],
            None => shop.places.ids().filter(|place| *place != self.from).collect(),
        }
    }

    /// Whether a truck may make a haul of it in a half-day, the truck's own time apart.
    fn may_go(&self, shop: &Shop, truck: TruckId, h: usize) -> bool {
        let known = |to: PlaceId| shop.haul_time(shop.units[self.unit].moves, self.from, to).is_some();
        self.to(shop).into_iter().any(|to| {
            known(to)
                && shop.may_haul(self.unit, self.from, to, h).is_some()
                && shop.can_haul(truck, self.unit, (self.from, to), h)
        })
    }

    fn hauls(&self, course: &Course, half_days: Range<usize>) -> usize {
        let (shop, unit) = (course.shop, &course.shop.units[self.unit]);
        let worked = half_days.filter(|h| shop.works[*h]);
        let able = |h: usize| {
            let comes = move |(truck, facts): &(_, &TruckFacts)| facts.available[h] && self.may_go(shop, *truck, h);
            shop.trucks.pairs().filter(comes)
        };
        worked.flat_map(able).map(|(_, truck)| truck.capacity(unit.moves) as usize).sum()
    }

    /// Hauls of other units that the plan makes with those trucks in those half-days.
    fn taken(&self, course: &Course, half_days: Range<usize>) -> usize {
        let (shop, unit) = (course.shop, &course.shop.units[self.unit]);
        let other = |trip: &&Trip| {
            half_days.contains(&trip.at)
                && shop.works[trip.at]
                && trip.unit != self.unit
                && shop.units[trip.unit].moves == unit.moves
                && self.may_go(shop, trip.truck, trip.at)
        };
        course.trips.iter().filter(other).count()
    }

    /// Whether its date lies in some half-days, or it is late in them.
    pub fn concerns(&self, course: &Course, half_days: &Range<usize>) -> bool {
        let by = course.shop.horizon.offset(yardless_book::half_day::HalfDay::pm(self.by));
        usize::try_from(by).is_ok_and(|by| half_days.contains(&by)) || (self.late > 0 && by < half_days.end as i64)
    }

    /// Whether a haul is the one by which the plan does it.
    pub fn is_by(&self, trip: &Trip) -> bool {
        self.trip.as_ref().is_some_and(|of| (of.unit, of.at) == (trip.unit, trip.at))
    }

    /// In a few words: `Blower trailer to be home by Sat 14 Nov`.
    pub fn in_short(&self, course: &Course) -> String {
        let shop = course.shop;
        let (unit, by) = (&shop.units[self.unit].name, self.by.format("%a %-d %b"));
        let late = if self.late == 0 { "" } else { ", late" };
        match self.home {
            Some(home) => format!("{unit} to {} by {by}{late}", shop.places[home].name),
            None => format!("{unit} away from {} by {by}{late}", shop.places[self.from].name),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};
    use yardless_book::half_day::{Horizon, parse_date};
    use yardless_plan::Plan;
    use yardless_plan::shop::Shop;

    use super::*;

    /// What is said of a trailer that is to be home, or gone, with one step at a on Tuesday 8 am that holds it.
    fn said(unit: &Value, place: &Value, hauls: &Value) -> Vec<String> {
        let mut book = json!({
            "book": 1, "shop": { "name": "Made up", "time_zone": "America/New_York" },
            "roads": [{ "id": "hill", "no_trailers": ["12-10/12-14"] }],
            "places": [{ "id": "lot", "name": "Lot" }, { "id": "a", "name": "Hill Farm", "road": "hill" }],
            "drives": [{ "from": "lot", "to": "a", "minutes": 30 }],
            "crews": [{ "id": "c", "people": 1, "skills": ["s"] }], "trucks": [{ "id": "t", "name": "Truck", "tow_lb": 5000 }],
            "equipment": [{ "id": "u", "name": "Trailer", "kinds": ["k"], "moves": "towed", "place": "lot" }],
            "jobs": [{ "id": "x", "place": "a", "steps": [{ "id": "w", "skill": "s", "half_days": 1, "needs": [{ "kind": "k" }] }] }]
        });
        merge(&mut book["equipment"][0], unit);
        merge(&mut book["places"][1], place);
        let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 2).expect("a Monday");
        let shop = Shop::new(&serde_json::from_value(book).expect("a book"), horizon).expect("no fault");
        let haul = |row: &Value| json!({ "unit": "u", "from": row[0], "to": row[1], "at": row[2], "evening": row[3], "truck": "t", "minutes": 60 });
        let hauls: Vec<Value> = hauls.as_array().expect("rows").iter().map(haul).collect();
        let at = "2026-12-08 am";
        let plan: Plan = serde_json::from_value(json!({
            "plan": 1, "from": "2026-12-07", "weeks": 2, "cost": 0, "hauls": hauls,
            "steps": [{ "job": "x", "step": "w", "way": "usual", "crew": "c", "start": at, "end": at, "units": ["u"] }]
        }))
        .expect("a plan");
        let course = Course::new(&shop, &plan);
        moves(&course).iter().map(|of| of.says(&course)).collect()
    }

    fn merge(to: &mut Value, more: &Value) {
        for (field, value) in more.as_object().expect("an object") {
            to[field] = value.clone();
        }
    }

    #[test]
    fn what_must_be_home_says_by_when_how_and_how_many_hauls_fit() {
        let home = json!({ "home_by": { "date": "2026-12-09", "place": "lot", "late_day": 10 } });
        let up = json!(["lot", "a", "2026-12-07 am", false]);
        let back = |at: &str, evening: bool| said(&home, &json!({}), &json!([up, ["a", "lot", at, evening]]));
        // Let go on Tuesday at noon: its pm, and Wednesday; from Thursday to Monday the road is closed.
        let fit = "3 hauls fit from when it is let go to then.";
        let haul = "hauled Wed 9 Dec pm, evening, from Hill Farm with Truck";
        assert_eq!(back("2026-12-09 pm", true), [format!("By Wed 9 Dec: Trailer to Lot; {haul}; {fit}")]);
        let late = "hauled Tue 15 Dec am, early, from Hill Farm with Truck, 4 working days late ($40.00)";
        assert_eq!(back("2026-12-15 am", false), [format!("By Wed 9 Dec: Trailer to Lot; {late}; {fit}")]);
        let never = said(&home, &json!({}), &json!([up]));
        let late = "this plan does not haul it, 7 working days late ($70.00)";
        assert_eq!(never, [format!("By Wed 9 Dec: Trailer to Lot; {late}; {fit}")]);
        // It never leaves, or need not be there in these weeks.
        let there = json!({ "place": "a", "home_by": { "date": "2026-12-09", "place": "a" } });
        assert!(said(&there, &json!({}), &json!([])).is_empty());
        let next = json!({ "home_by": { "date": "2027-01-09", "place": "lot" } });
        assert!(said(&next, &json!({}), &json!([up])).is_empty());
    }

    #[test]
    fn what_must_be_gone_says_when_no_haul_fits() {
        let up = json!([["lot", "a", "2026-12-07 am", false]]);
        let cleared = |days: u32| said(&json!({}), &json!({ "clear_by": { "days": days, "late_day": 10 } }), &up);
        let out = json!({ "clear_by": { "days": 1, "late_day": 10 } });
        let away = said(&json!({ "out": ["2026-12-08 pm/2026-12-09"] }), &out, &up);
        let none =
            "no haul fits from when it is let go to then: no road there is open while a truck that can take it comes";
        let stays = |late: &str| format!("Trailer away from Hill Farm; this plan does not haul it{late}");
        assert_eq!(away, [format!("By Wed 9 Dec: {}; {none}.", stays(", 7 working days late ($70.00)"))]);
        // Four dates that the road is closed on are no hauls more.
        let fit = "3 hauls fit from when it is let go to then.";
        assert_eq!(cleared(1), [format!("By Wed 9 Dec: {}; {fit}", stays(", 7 working days late ($70.00)"))]);
        assert_eq!(cleared(6), [format!("By Mon 14 Dec: {}; {fit}", stays(", 4 working days late ($40.00)"))]);
    }
}
