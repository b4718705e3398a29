//! Units, trucks and what may be hauled when: rules H1 to H5, E4.

use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_book::{Book, Job, Moves, Step};

use super::names::printed;
use super::{
    CrewFacts, CrewId, Home, Id, JobId, KindFacts, KindId, PlaceFacts, PlaceId, RoadState, Shop, Table, TruckId,
    UnitId, Want,
};

/// A unit of equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitFacts {
    /// Its number.
    pub number: UnitId,
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// The kinds it can serve as.
    pub kinds: Vec<KindId>,
    /// Whether one of them gives power.
    pub power: bool,
    /// Whether it is of a shared kind: it serves any number of needs at its place at a time (E8).
    pub shared: bool,
    /// Towed or carried.
    pub moves: Moves,
    /// Pounds, loaded, as far as that is entered.
    pub weight_lb: u32,
    /// By truck: whether it may take it (H4, H7).
    pub takers: Vec<bool>,
    /// Where it stands at the beginning.
    pub place: PlaceId,
    /// Whether it is out, by half-day index (E4).
    pub out: Vec<bool>,
    /// What it costs in a half-day that the shop works in which it does not stand where it is hired from (C13).
    pub hire_half_day: Cents,
    /// Where it is hired from.
    pub hire_place: Option<PlaceId>,
    /// By when it is to stand where (C17); none where that is after the horizon.
    pub home: Option<Home>,
    /// The jobs that have begun and hold it now (N1), one at most where it is not shared: no other unit can stand in for it.
    pub bound: Vec<JobId>,
}

/// A truck.
#[derive(Clone, Debug, PartialEq)]
pub struct TruckFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Its crew.
    pub crew: Option<CrewId>,
    /// The heaviest unit it tows, pounds; 0: none.
    pub tow_lb: u32,
    /// What it weighs by itself, pounds; 0 where that is not entered.
    pub weight_lb: u32,
    /// Towed units a half-day; 0 where it tows nothing.
    pub tows: u32,
    /// Carried units a half-day.
    pub carries: u32,
    /// Whether it is available, by half-day index (H4).
    pub available: Vec<bool>,
    /// Whether it is when its crew works in overtime, by half-day index (W9).
    pub in_overtime: Vec<bool>,
}

/// What one haul takes (H5).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HaulTime {
    /// Drive plus hitching or loading, minutes.
    pub minutes: u32,
    /// Whether the drive is estimated.
    pub estimate: bool,
    /// At the start, whether it takes its whole half-day on the road; such a haul is never made in the evening.
    pub long: bool,
}

impl UnitFacts {
    /// Whether the unit is towed.
    pub fn towed(&self) -> bool {
        self.moves == Moves::Towed
    }
    /// Whether it can serve what a step wants.
    pub fn serves(&self, want: Want) -> bool {
        match want {
            Want::Kind(kind) => self.kinds.contains(&kind),
            Want::Power => self.power,
            Want::Unit(unit) => self.number == unit,
        }
    }
    /// Whether it is out at any index of `first..=last`.
    pub fn out_within(&self, first: usize, last: usize) -> bool {
        self.out[first..=last].contains(&true)
    }
}

impl TruckFacts {
    /// How many units of a way of moving it takes in a half-day.
    pub fn capacity(&self, moves: Moves) -> u32 {
        match moves {
            Moves::Towed => self.tows,
            Moves::Carried => self.carries,
        }
    }
    /// Whether it may haul in the half-day: it is available, or would be if its crew worked in overtime.
    pub fn may_come(&self, h: usize) -> bool {
        self.available[h] || self.in_overtime[h]
    }
    /// Whether it can take what moves so and weighs so much, by H4 alone.
    pub(super) fn is_able(&self, moves: Moves, weight_lb: u32) -> bool {
        match moves {
            Moves::Towed => self.tows > 0 && self.tow_lb >= weight_lb,
            Moves::Carried => self.carries > 0,
        }
    }
}

impl Shop {
    /// Minutes of a haul (H5, H6); `None` where the drive is not known.
    pub fn haul_time(&self, moves: Moves, from: PlaceId, to: PlaceId) -> Option<HaulTime> {
        let drive = self.drives.between(from, to)?;
        let hauling = &self.book.hauling;
        let besides = match moves {
            Moves::Towed => hauling.hitch_minutes,
            Moves::Carried => hauling.load_minutes,
        };
        let minutes = drive.minutes + besides;
        Some(HaulTime { minutes, estimate: drive.estimate, long: minutes > hauling.same_half_day_minutes })
    }

    /// What a haul of so many minutes costs (C3).
    pub fn haul_cost(&self, moves: Moves, minutes: u32) -> Cents {
        let prices = &self.book.prices;
        let minute = match moves {
            Moves::Towed => prices.tow_minute,
            Moves::Carried => prices.carry_minute,
        };
        minute * i64::from(minutes)
    }

    /// Whether the roads let a unit go from one place to the other in a half-day in which hauls may happen (H1 to H3).
    /// `Some(true)`: it leans on a road that is only expected clear.
    pub fn roads_open(&self, moves: Moves, from: PlaceId, to: PlaceId, h: usize) -> Option<bool> {
        let (p, q) = (&self.places[from], &self.places[to]);
        if !self.open[h] {
            return None;
        }
        match moves {
            Moves::Towed => (p.road[h].is_open() && q.road[h].is_open())
                .then(|| p.road[h] == RoadState::ExpectedClear || q.road[h] == RoadState::ExpectedClear),
            Moves::Carried => (!p.weather[h].no_travel && !q.weather[h].no_travel).then_some(false),
        }
    }

    /// Whether a haul of the unit may start in the half-day, trucks apart (H1 to H3, E4). `Some(true)`: needs a clear day.
    pub fn may_haul(&self, unit: UnitId, from: PlaceId, to: PlaceId, h: usize) -> Option<bool> {
        let unit = &self.units[unit];
        if unit.out[h] || from == to {
            return None;
        }
        self.roads_open(unit.moves, from, to, h)
    }
}

pub(super) fn units(
    book: &Book,
    horizon: Horizon,
    kinds: &Table<KindId, KindFacts>,
    places: &Table<PlaceId, PlaceFacts>,
) -> Table<UnitId, UnitFacts> {
    let begun = |job: &Job| job.steps.iter().any(Step::started) && job.steps.iter().any(|step| step.done.is_none());
    let holds = |job: &Job, id: &String| {
        job.parked.iter().any(|parked| parked.units.contains(id) && job.holds_now(parked))
            || job.steps.iter().any(|step| step.progress.as_ref().is_some_and(|going| going.units.contains(id)))
    };
    book.equipment
        .iter()
        .enumerate()
        .map(|(number, unit)| {
            let mut of: Vec<KindId> = unit.kinds.iter().filter_map(|id| kinds.find(|kind| kind.id == *id)).collect();
            of.sort_unstable();
            of.dedup();
            UnitFacts {
                number: UnitId::from_index(number),
                bound: (book.jobs.iter().enumerate())
                    .filter(|(_, job)| begun(job) && holds(job, &unit.id))
                    .map(|(number, _)| JobId::from_index(number))
                    .collect(),
                id: unit.id.clone(),
                name: printed(unit.name.as_ref(), &unit.id),
                power: of.iter().any(|kind| kinds[*kind].power),
                shared: of.iter().any(|kind| kinds[*kind].shared),
                kinds: of,
                moves: unit.moves,
                weight_lb: unit.loaded_lb(),
                takers: Vec::new(),
                place: places.find(|place| place.id == unit.place).unwrap_or_else(|| PlaceId::from_index(0)),
                out: marked(&unit.out, horizon),
                hire_half_day: unit.hire_half_day,
                hire_place: unit.hire_place.as_ref().and_then(|id| places.find(|place| place.id == *id)),
                home: None,
            }
        })
        .collect()
}

pub(super) fn trucks(
    book: &Book,
    horizon: Horizon,
    works: &[bool],
    open: &[bool],
    crews: &Table<CrewId, CrewFacts>,
) -> Table<TruckId, TruckFacts> {
    book.trucks
        .iter()
        .map(|truck| {
            let crew = truck.crew.as_ref().and_then(|id| crews.find(|crew| crew.id == *id));
            let out = marked(&truck.out, horizon);
            let present = |crew: CrewId, h: usize| crews[crew].people[h] > 0;
            let may = |h: usize| open[h] && !out[h];
            let available =
                (0..works.len()).map(|h| may(h) && works[h] && crew.is_none_or(|crew| present(crew, h))).collect();
            let in_overtime =
                (0..works.len()).map(|h| may(h) && !works[h] && crew.is_some_and(|crew| present(crew, h))).collect();
            TruckFacts {
                id: truck.id.clone(),
                name: printed(truck.name.as_ref(), &truck.id),
                crew,
                tow_lb: truck.tow_lb,
                weight_lb: truck.weight_lb.unwrap_or(0),
                tows: if truck.tow_lb > 0 { truck.tows } else { 0 },
                carries: truck.carries,
                available,
                in_overtime,
            }
        })
        .collect()
}

/// The half-days of the horizon that some range covers.
pub(super) fn marked(ranges: &[yardless_book::When], horizon: Horizon) -> Vec<bool> {
    let mut marked = vec![false; horizon.len()];
    for when in ranges {
        when.each(horizon, |h| marked[h] = true);
    }
    marked
}
