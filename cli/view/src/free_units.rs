//! When units of a kind are free together; where each is, until when it is held, where it goes next, and when the second
//! one comes free.

use serde_json::{Value, json};
use yardless_answer::{Ask, Offer, Together};
use yardless_book::money::Cents;
use yardless_plan::shop::{KindId, PlaceId, Shop, UnitId};
use yardless_plan::{HaulRow, Plan};

use super::course::{At, Course, Occupancy, Trip};
use super::lacks::drives;
use super::told::Told;
use super::words::{count, half, list};

/// The units of a kind as of a half-day.
pub struct FreeUnits<'a> {
    course: Course<'a>,
    kind: KindId,
    at: usize,
    units: Vec<UnitId>,
    count: usize,
    half_days: usize,
    place: Option<PlaceId>,
}

/// Half-days that the shop works, in a row, in which a unit is free.
#[derive(Clone, Copy)]
struct Gap {
    unit: UnitId,
    first: usize,
    last: usize,
    half_days: usize,
    /// Whether it lasts to the plan's end.
    to_the_end: bool,
}

impl<'a> FreeUnits<'a> {
    /// The units of the kind asked about, as of the half-day from which on.
    pub fn new(shop: &'a Shop, plan: &'a Plan, ask: &Ask) -> Self {
        let Ask { kind, count, half_days, place, from: at } = *ask;
        let units = shop.units.ids().filter(|unit| shop.units[*unit].kinds.contains(&kind)).collect();
        Self { course: Course::new(shop, plan), kind, at, units, count, half_days, place }
    }

    /// For people: the answer first, then where each unit is.
    pub fn told(&self, found: Option<&Together>, sooner: Option<&Offer>) -> Told {
        let shop = self.course.shop;
        let kind = &shop.kinds[self.kind].name;
        let now = half(shop.horizon.half_day(self.at));
        let mut rows: Vec<[String; 2]> = Vec::new();
        for unit in &self.units {
            rows.push([shop.units[*unit].name.clone(), self.whereabouts(*unit)]);
            rows.push([String::new(), self.next(*unit)]);
        }
        let units = count(self.units.len(), "unit", "units");
        Told::says(&[self.together_says(found), sooner_says(sooner)].concat())
            .gap()
            .head(format!("{kind}: {units}, as of {now}"))
            .rows(0, rows, [20, 0])
            .say(&self.second_says())
    }

    /// `Both blowers together for 4 half-days at Mill Street: from ...`.
    fn together_says(&self, found: Option<&Together>) -> String {
        let shop = self.course.shop;
        let kind = &shop.kinds[self.kind].name;
        let what = if self.count == 1 { kind.clone() } else { format!("{kind}, {} together", self.count) };
        let time = if self.half_days == 1 { String::new() } else { format!(" for {} half-days", self.half_days) };
        let place = self.place.map_or(String::new(), |place| format!(" at {}", shop.places[place].name));
        let Some(found) = found else {
            let cut_off = drives(&shop.book, |of| self.place.is_some_and(|place| shop.places[place].id == of.id));
            let says = format!("{what}{time}: not to be had{place} within the plan as it stands.");
            return [vec![says], cut_off].concat().join(" ");
        };
        let (name, at) = (|id| shop.unit_name(id), |id| shop.place_name(id));
        let units: Vec<String> =
            found.units.iter().map(|(unit, place)| format!("{} at {}", name(unit), at(place))).collect();
        let span = if found.first == found.last {
            format!("on {}", half(found.first))
        } else {
            format!("from {} to {}", half(found.first), half(found.last))
        };
        let moved = |hauls: &[HaulRow]| list(&hauls.iter().map(|haul| hauled(shop, haul)).collect::<Vec<_>>());
        let as_planned = found.then.is_empty() && found.instead.is_empty();
        let mut says = vec![format!(
            "{what}{time}{place}: first {span} ({}), {}.",
            list(&units),
            if as_planned { "nothing else moved" } else { "no work moved" }
        )];
        if !found.hauls.is_empty() {
            says.push(format!("For that {}.", moved(&found.hauls)));
        }
        if !found.then.is_empty() {
            says.push(format!("After it {}.", moved(&found.then)));
        }
        if !found.instead.is_empty() {
            let planned: Vec<String> = found.instead.iter().map(|haul| goes(shop, haul)).collect();
            says.push(format!("Not hauled as planned: {}.", list(&planned)));
        }
        says.join(" ")
    }

    /// For programs.
    pub fn json(&self, together: Option<&Together>, sooner: Option<&Offer>) -> Value {
        let shop = self.course.shop;
        let at = |h: usize| shop.horizon.half_day(h).to_string();
        let gap = |gap: Gap| {
            json!({
                "unit": shop.units[gap.unit].id, "from": at(gap.first), "until": at(gap.last),
                "half_days": gap.half_days, "to_the_end": gap.to_the_end,
            })
        };
        let units: Vec<Value> = self
            .units
            .iter()
            .map(|unit| {
                let (place, road) = match self.course.standing[*unit][self.at] {
                    At::Place(place) => (Some(&shop.places[place].id), None),
                    At::Road(place) => (None, Some(&shop.places[place].id)),
                };
                let hold = self.course.hold_at(*unit, self.at);
                json!({
                    "unit": shop.units[*unit].id, "place": place, "on_the_road_to": road,
                    "held_until": hold.map(|hold| at(hold.last)),
                    "held_by": hold.map(|hold| json!({
                        "job": shop.jobs[hold.job].id, "step": hold.step.map(|step| &shop.steps[step].id),
                    })),
                    "out": shop.units[*unit].out[self.at],
                    "free": self.gap(*unit).map(gap),
                    "next_haul": self.next_trip(*unit).map(|trip| json!({
                        "to": shop.places[trip.to].id, "at": at(trip.at), "evening": trip.evening,
                        "truck": shop.trucks[trip.truck].id, "needs_clear": trip.needs_clear,
                    })),
                })
            })
            .collect();
        json!({
            "kind": shop.kinds[self.kind].id, "at": at(self.at), "units": units, "second": self.second().map(gap),
            "together": together.map(|found| json!({
                "from": found.first.to_string(), "until": found.last.to_string(),
                "hauls": found.hauls, "then": found.then, "instead": found.instead,
                "units": found.units.iter().map(|(unit, place)| json!({ "unit": unit, "place": place })).collect::<Vec<_>>(),
            })),
            "sooner": sooner.map(|offer| json!({
                "from": offer.start.to_string(), "until": offer.end.to_string(), "moved": offer.moved, "extra": offer.extra,
            })),
        })
    }

    fn whereabouts(&self, unit: UnitId) -> String {
        let shop = self.course.shop;
        let place = match self.course.standing[unit][self.at] {
            At::Place(place) => format!("at {}", shop.places[place].name),
            At::Road(place) => format!("on the road to {}", shop.places[place].name),
        };
        if let Some(hold) = self.course.hold_at(unit, self.at) {
            let shared = if shop.units[unit].shared { "; shared, it serves others there meanwhile" } else { "" };
            let until = half(shop.horizon.half_day(hold.last));
            return format!("{place}, held until {until} by {}{shared}", self.holder(hold));
        }
        if shop.units[unit].out[self.at] {
            let last = (self.at..shop.len()).take_while(|h| shop.units[unit].out[*h]).last().unwrap_or(self.at);
            return format!("{place}, out of service until {}", half(shop.horizon.half_day(last)));
        }
        match self.gap(unit) {
            Some(gap) => format!("{place}, free {}", self.span(gap)),
            None => format!("{place}, not free again within the plan"),
        }
    }

    fn holder(&self, hold: Occupancy) -> String {
        let shop = self.course.shop;
        let job = &shop.jobs[hold.job].name;
        match hold.step {
            Some(step) => format!("{job}, {}", shop.steps[step].name),
            None if hold.whole => format!("{job} (parked for the whole job)"),
            None => format!("{job} (parked)"),
        }
    }

    fn next(&self, unit: UnitId) -> String {
        let shop = self.course.shop;
        let next_hold = self.course.holds[unit].iter().find(|hold| hold.first > self.at);
        let held = next_hold
            .map(|hold| format!("held from {} by {}", half(shop.horizon.half_day(hold.first)), self.holder(*hold)));
        let hauled = self.next_trip(unit).map(|trip| {
            let clear = if trip.needs_clear { ", needs a clear day" } else { "" };
            format!(
                "hauled to {} on {} ({}, {}{clear})",
                shop.places[trip.to].name,
                super::words::day(shop.horizon.half_day(trip.at)),
                trip.moment(shop),
                shop.trucks[trip.truck].name,
            )
        });
        match (hauled, held) {
            (Some(hauled), Some(held)) => format!("next: {hauled}; {held}"),
            (Some(next), None) | (None, Some(next)) => format!("next: {next}"),
            (None, None) => "next: stays where it is to the plan's end".to_owned(),
        }
    }

    fn next_trip(&self, unit: UnitId) -> Option<&Trip> {
        self.course
            .trips
            .iter()
            .find(|trip| trip.unit == unit && (trip.at > self.at || (trip.at == self.at && trip.evening)))
    }

    fn is_free(&self, unit: UnitId, h: usize) -> bool {
        let held = self.course.hold_at(unit, h).is_some();
        !held && !self.course.shop.units[unit].out[h] && matches!(self.course.standing[unit][h], At::Place(_))
    }

    /// The first gap of a unit at or after the half-day asked about.
    fn gap(&self, unit: UnitId) -> Option<Gap> {
        let shop = self.course.shop;
        let mut worked = (self.at..shop.len()).filter(|h| shop.works[*h]);
        let first = worked.find(|h| self.is_free(unit, *h))?;
        let rest: Vec<usize> = worked.collect();
        let more = rest.iter().take_while(|h| self.is_free(unit, **h)).count();
        let last = rest[..more].last().copied().unwrap_or(first);
        Some(Gap { unit, first, last, half_days: more + 1, to_the_end: more == rest.len() })
    }

    /// The gap of the unit that comes free second.
    fn second(&self) -> Option<Gap> {
        let mut gaps: Vec<Gap> = self.units.iter().filter_map(|unit| self.gap(*unit)).collect();
        gaps.sort_by_key(|gap| gap.first);
        gaps.get(1).copied()
    }

    fn span(&self, gap: Gap) -> String {
        let horizon = self.course.shop.horizon;
        let half_days = count(gap.half_days, "working half-day", "working half-days");
        let first = half(horizon.half_day(gap.first));
        if gap.to_the_end {
            format!("from {first} to the plan's end, {half_days}")
        } else if gap.first == gap.last {
            format!("on {first} only")
        } else {
            format!("from {first} to {}, {half_days}", half(horizon.half_day(gap.last)))
        }
    }

    /// The answer to "when does the second one come free, and for how long".
    fn second_says(&self) -> String {
        let shop = self.course.shop;
        let kind = &shop.kinds[self.kind].name;
        if self.units.len() < 2 {
            return format!("There is no second {kind}: the book has one.");
        }
        let Some(gap) = self.second() else {
            return format!("No second {kind} comes free within the plan.");
        };
        let place = match self.course.standing[gap.unit][gap.first] {
            At::Place(place) | At::Road(place) => &shop.places[place].name,
        };
        let together = (self.at..shop.len())
            .filter(|h| shop.works[*h])
            .find(|h| self.units.iter().filter(|unit| self.is_free(**unit, *h)).count() > 1);
        let both = match together {
            Some(h) if h == gap.first => "; the first is free then too".to_owned(),
            Some(h) => format!("; two are free at once first on {}", half(shop.horizon.half_day(h))),
            None => "; two are never free at once within the plan".to_owned(),
        };
        format!(
            "The second {kind} to come free is {}, at {place}, {}{both}.",
            shop.units[gap.unit].name,
            self.span(gap)
        )
    }
}

/// `Blower 2 to Elm on Wed 9 Dec pm evening`: a haul in few words.
fn goes(shop: &Shop, haul: &HaulRow) -> String {
    let evening = if haul.evening { " evening" } else { "" };
    let (unit, to) = (shop.unit_name(&haul.unit), shop.place_name(&haul.to));
    format!("{unit} to {to} on {}{evening}", half(haul.at))
}

/// A haul in words, with what it takes.
fn hauled(shop: &Shop, haul: &HaulRow) -> String {
    let evening = if haul.evening { " evening" } else { "" };
    let clear = if haul.needs_clear == Some(true) { ", needs a clear day" } else { "" };
    let (unit, from, to) = (shop.unit_name(&haul.unit), shop.place_name(&haul.from), shop.place_name(&haul.to));
    format!("{unit} is hauled from {from} to {to} on {}{evening} ({} min{clear})", half(haul.at), haul.minutes)
}

fn sooner_says(sooner: Option<&Offer>) -> String {
    let Some(offer) = sooner else { return String::new() };
    let moved = count(offer.moved, "other step is moved", "other steps are moved");
    let cost = if offer.extra == Cents::ZERO { String::new() } else { format!(", at ${} more", offer.extra) };
    format!(" Sooner, if other work moves: from {} ({moved}{cost}).", half(offer.start))
}
