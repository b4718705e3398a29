//! Who passes where, and where trucks and units stand: what the plan does anyway (L3).

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, StepId, Team, TruckId, UnitId};
use yardless_plan::{HaulRow, Plan, StepRow};

use crate::moves::Moment;

/// A way of one truck, or of a crew without one, at the start of a half-day or in its evening: places in their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Round {
    /// The crew; `None`: a truck without a crew, which only hauls.
    pub crew: Option<CrewId>,
    /// The truck, in which things may stay; `None`: the crew's is out, or it has none.
    pub truck: Option<TruckId>,
    /// The places, in their order.
    pub visits: Vec<PlaceId>,
    /// The units that it hauls, each with the position of the visit at which it leaves.
    pub leaves: Vec<(UnitId, usize)>,
}

impl Round {
    fn at(crew: Option<CrewId>, truck: Option<TruckId>, place: Option<PlaceId>) -> Self {
        Self { crew, truck, visits: place.into_iter().collect(), leaves: Vec::new() }
    }

    /// One more place on the way, where it is not there already.
    fn pass(&mut self, place: PlaceId) {
        if self.visits.last() != Some(&place) {
            self.visits.push(place);
        }
    }

    /// Whether a unit that it hauls has not left yet at a visit to where it stood.
    pub fn is_there(&self, unit: UnitId, place: PlaceId, visit: usize) -> bool {
        self.leaves.iter().any(|(of, leaves)| *of == unit && visit <= *leaves && self.visits[*leaves] == place)
    }

    /// Both ends of a haul; of one that takes all of the half-day, where it sets out.
    fn haul(&mut self, trip: &Trip) {
        self.pass(trip.from);
        self.leaves.push((trip.unit, self.visits.len() - 1));
        if !trip.long || trip.evening {
            self.pass(trip.to);
        }
    }
}

/// A unit's haul as far as it says where the unit is.
#[derive(Clone, Copy, Debug)]
struct Trip {
    unit: UnitId,
    from: PlaceId,
    to: PlaceId,
    at: usize,
    evening: bool,
    truck: TruckId,
    long: bool,
}

/// The rounds of a plan, and where everything stands.
#[derive(Debug)]
pub struct Rounds {
    /// At the start of each half-day.
    start: Vec<Vec<Round>>,
    /// In its evening.
    evening: Vec<Vec<Round>>,
    /// Where each truck is known to stand before each half-day begins, and during it.
    trucks: Vec<[Vec<Option<PlaceId>>; 2]>,
    /// The same of each unit.
    units: Vec<[Vec<Option<PlaceId>>; 2]>,
    /// Where each crew works in each half-day, each place once, in the order of its steps.
    places: Vec<Vec<Vec<PlaceId>>>,
    trips: Vec<Trip>,
}

/// A step that is worked on in a half-day.
pub struct Working<'p> {
    /// Its row.
    pub row: &'p StepRow,
    /// The step.
    pub step: StepId,
    /// Who does it.
    pub team: Team,
    /// Where.
    pub place: PlaceId,
    /// By index: whether it is worked on.
    pub works: Vec<bool>,
}

/// The rows of a plan that are worked on at or after its now. Rows that name what the book does not know are passed over.
pub fn working<'p>(shop: &Shop, plan: &'p Plan) -> Vec<Working<'p>> {
    let one = |row: &'p StepRow| {
        let job = shop.find_job(&row.job)?;
        let step = shop.find_step(job, &row.step)?;
        let facts = &shop.steps[step];
        let crew = shop.find_crew(&row.crew)?;
        let team = Team::new(crew, row.with.iter().filter_map(|helper| shop.find_crew(helper)).collect());
        let way = facts.ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime)?;
        let (first, last) = (shop.horizon.offset(row.start), shop.horizon.offset(row.end));
        let runs = shop.find_team(&team).and_then(|team| shop.runs(step, way, team));
        let within = |h: usize| (first..=last).contains(&(h as i64)) && h >= shop.now;
        let works = (0..shop.len()).map(|h| within(h) && runs.is_none_or(|runs| runs.workable[h])).collect();
        Some(Working { row, step, team, place: shop.jobs[job].place, works })
    };
    let mut all: Vec<Working> = plan.steps.iter().filter_map(one).collect();
    all.sort_by_key(|of| (of.row.start, of.step));
    all
}

impl Rounds {
    /// Of a plan.
    pub fn new(shop: &Shop, plan: &Plan, working: &[Working]) -> Self {
        let trips: Vec<Trip> = plan.hauls.iter().filter_map(|row| trip(shop, row)).collect();
        let places = places(shop, working);
        let mut rounds = Self {
            start: vec![Vec::new(); shop.len()],
            evening: vec![Vec::new(); shop.len()],
            trucks: vec![[vec![None; shop.len() + 1], vec![None; shop.len()]]; shop.trucks.len()],
            units: units(shop, &trips),
            places,
            trips,
        };
        for crew in shop.crews.ids().filter(|crew| shop.crews[*crew].own) {
            for am in (0..shop.len()).step_by(2) {
                rounds.day(shop, crew, am);
            }
        }
        for truck in shop.trucks.ids().filter(|truck| shop.trucks[*truck].crew.is_none()) {
            rounds.alone(truck);
        }
        rounds
    }

    /// A date of a crew: from home, where it has one, by its hauls and work, and home again (L3).
    fn day(&mut self, shop: &Shop, crew: CrewId, am: usize) {
        let home = home(shop, crew);
        let own: Vec<TruckId> = shop.trucks.ids().filter(|truck| shop.trucks[*truck].crew == Some(crew)).collect();
        let mut at = home;
        let mut went = false;
        for h in [am, am + 1] {
            let truck = rides(shop, &own, h);
            self.stand(&own, truck, h, at, home);
            let mut round = Round::at(Some(crew), truck, at);
            let works = self.places[crew.index()][h].clone();
            if self.haul(&mut round, &own, h, false) || !works.is_empty() {
                went = true;
                for place in &works {
                    round.pass(*place);
                }
                at = round.visits.last().copied();
                self.start[h].push(round);
            }
            // Going about among several places it is at none of them.
            let during = at.filter(|_| works.len() < 2);
            for of in &own {
                self.trucks[of.index()][1][h] = if Some(*of) == truck { during } else { home };
            }
        }
        let mut round = Round::at(Some(crew), rides(shop, &own, am + 1), at);
        if self.haul(&mut round, &own, am + 1, true) || went {
            if let Some(home) = home {
                round.pass(home);
            }
            self.evening[am + 1].push(round);
        }
        for of in own {
            self.trucks[of.index()][0][am + 2] = home;
        }
    }

    fn stand(&mut self, own: &[TruckId], rides: Option<TruckId>, h: usize, at: Option<PlaceId>, home: Option<PlaceId>) {
        for of in own {
            self.trucks[of.index()][0][h] = if Some(*of) == rides { at } else { home };
        }
    }

    /// Adds the hauls that trucks make in a half-day to a round; whether there are any.
    fn haul(&self, round: &mut Round, trucks: &[TruckId], h: usize, evening: bool) -> bool {
        let here = |trip: &&Trip| trip.at == h && trip.evening == evening && trucks.contains(&trip.truck);
        self.trips.iter().filter(here).for_each(|trip| round.haul(trip));
        !round.leaves.is_empty()
    }

    /// A truck without a crew passes where it hauls.
    fn alone(&mut self, truck: TruckId) {
        for h in 0..self.start.len() {
            for evening in [false, true] {
                let mut round = Round::at(None, Some(truck), None);
                if self.haul(&mut round, &[truck], h, evening) {
                    let rounds = if evening { &mut self.evening[h] } else { &mut self.start[h] };
                    rounds.push(round);
                }
            }
        }
    }

    /// The rounds at the start of a half-day, or in its evening.
    pub fn at(&self, h: usize, moment: Moment) -> &[Round] {
        match moment {
            Moment::Start => &self.start[h],
            Moment::Work => &[],
            Moment::Evening => &self.evening[h],
        }
    }

    /// Where a truck is known to stand before a half-day begins; `None`: with its crew, nobody knows where.
    pub fn truck_before(&self, truck: TruckId, h: usize) -> Option<PlaceId> {
        self.trucks[truck.index()][0][h]
    }

    /// Where a truck is during a half-day; `None`: on its way among several places, or nobody knows.
    pub fn truck_during(&self, truck: TruckId, h: usize) -> Option<PlaceId> {
        self.trucks[truck.index()][1][h]
    }

    /// Where a unit stands before a half-day begins; `None`: on the road.
    pub fn unit_before(&self, unit: UnitId, h: usize) -> Option<PlaceId> {
        self.units[unit.index()][0][h]
    }

    /// Where a unit stands during a half-day; `None`: on the road.
    pub fn unit_during(&self, unit: UnitId, h: usize) -> Option<PlaceId> {
        self.units[unit.index()][1][h]
    }

    /// Where a crew works in a half-day, each place once, in the order of its steps.
    pub fn places(&self, crew: CrewId, h: usize) -> &[PlaceId] {
        &self.places[crew.index()][h]
    }

    /// Which truck hauls a unit away at the start of a half-day, or in its evening.
    pub fn hauler(&self, unit: UnitId, h: usize, moment: Moment) -> Option<TruckId> {
        let evening = moment == Moment::Evening;
        self.trips.iter().find(|trip| (trip.unit, trip.at, trip.evening) == (unit, h, evening)).map(|trip| trip.truck)
    }
}

/// Where a crew's day begins and ends, whatever driving costs.
fn home(shop: &Shop, crew: CrewId) -> Option<PlaceId> {
    shop.book.crews[crew.index()].home.as_ref().and_then(|id| shop.find_place(id))
}

/// The truck that a crew goes with in a half-day: its first one in the book that is not out.
fn rides(shop: &Shop, own: &[TruckId], h: usize) -> Option<TruckId> {
    let out = |truck: &TruckId| {
        let mut out = false;
        for when in &shop.book.trucks[truck.index()].out {
            when.each(shop.horizon, |at| out |= at == h);
        }
        out
    };
    own.iter().copied().find(|truck| !out(truck))
}

fn trip(shop: &Shop, row: &HaulRow) -> Option<Trip> {
    let (unit, truck) = (shop.find_unit(&row.unit)?, shop.find_truck(&row.truck)?);
    let (from, to) = (shop.find_place(&row.from)?, shop.find_place(&row.to)?);
    let at = shop.horizon.index(row.at).filter(|at| *at >= shop.now)?;
    let time = shop.haul_time(shop.units[unit].moves, from, to);
    Some(Trip { unit, from, to, at, evening: row.evening, truck, long: time.is_some_and(|time| time.long) })
}

/// Where each crew works, on its own steps and helping.
fn places(shop: &Shop, working: &[Working]) -> Vec<Vec<Vec<PlaceId>>> {
    let mut places = vec![vec![Vec::new(); shop.len()]; shop.crews.len()];
    for of in working {
        for h in (0..shop.len()).filter(|h| of.works[*h]) {
            for crew in shop.working(&of.team, h) {
                let here: &mut Vec<PlaceId> = &mut places[crew.index()][h];
                if !here.contains(&of.place) {
                    here.push(of.place);
                }
            }
        }
    }
    places
}

/// E1, H1, H5: a haul at the start moves the unit at once, or over a half-day on the road; one in the evening by the next.
fn units(shop: &Shop, trips: &[Trip]) -> Vec<[Vec<Option<PlaceId>>; 2]> {
    let one = |unit: UnitId| {
        let mut now = shop.units[unit].place;
        let (mut before, mut during) = (Vec::new(), Vec::new());
        for h in 0..shop.len() {
            before.push(Some(now));
            let mut here = Some(now);
            if let Some(trip) = trips.iter().find(|trip| trip.unit == unit && trip.at == h && !trip.evening) {
                now = trip.to;
                here = (!trip.long).then_some(now);
            }
            during.push(here);
            if let Some(trip) = trips.iter().find(|trip| trip.unit == unit && trip.at == h && trip.evening) {
                now = trip.to;
            }
        }
        before.push(Some(now));
        [before, during]
    };
    shop.units.ids().map(one).collect()
}
