//! Plays load lists half-day by half-day: rules L1 to L5 read anew, from the book, the plan and what may be worked when.

use std::collections::{BTreeMap, BTreeSet};

use yardless_book::Thing;
use yardless_book::half_day::HalfDay;
use yardless_load::{By, Loads, Moment, Source, Spot, Unmet};
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, StepId, Team, TruckId, UnitId};

/// A way of a crew or a truck at the start of a half-day, or in its evening.
struct Way {
    crew: Option<CrewId>,
    truck: Option<TruckId>,
    visits: Vec<PlaceId>,
    /// At each visit the unit that leaves there.
    leaves: Vec<Option<UnitId>>,
}

/// What the rules make of a plan.
pub struct Reading<'a> {
    pub shop: &'a Shop,
    /// By half-day and evening.
    ways: BTreeMap<(usize, bool), Vec<Way>>,
    /// Where each truck is, by half-day: before it, and during it.
    trucks: BTreeMap<(TruckId, usize, bool), PlaceId>,
    units: BTreeMap<(UnitId, usize, bool), PlaceId>,
    /// Who hauls a unit away, by half-day and evening.
    hauled: BTreeMap<(UnitId, usize, bool), TruckId>,
    /// By half-day and crew: the places of its work and help.
    places: BTreeMap<(usize, CrewId), Vec<PlaceId>>,
    /// By half-day, crew and place: of each kit the most that a step names.
    pub wants: BTreeMap<(usize, CrewId, PlaceId), BTreeMap<String, u32>>,
}

impl<'a> Reading<'a> {
    pub fn new(shop: &'a Shop, plan: &Plan) -> Self {
        let mut reading = Self {
            shop,
            ways: BTreeMap::new(),
            trucks: BTreeMap::new(),
            units: BTreeMap::new(),
            hauled: BTreeMap::new(),
            places: BTreeMap::new(),
            wants: BTreeMap::new(),
        };
        reading.work(plan);
        reading.stand(plan);
        for crew in shop.crews.ids().filter(|crew| shop.crews[*crew].own) {
            for date in 0..shop.len() / 2 {
                reading.date(plan, crew, date);
            }
        }
        for truck in shop.trucks.ids().filter(|truck| shop.trucks[*truck].crew.is_none()) {
            for (h, evening) in (0..shop.len()).flat_map(|h| [(h, false), (h, true)]) {
                let (visits, leaves) = reading.ends(plan, &[truck], h, evening);
                if !visits.is_empty() {
                    let way = Way { crew: None, truck: Some(truck), visits, leaves };
                    reading.ways.entry((h, evening)).or_default().push(way);
                }
            }
        }
        reading
    }

    fn index(&self, at: HalfDay) -> i64 {
        self.shop.horizon.offset(at)
    }

    fn work(&mut self, plan: &Plan) {
        let shop = self.shop;
        let mut rows: Vec<(i64, StepId, usize)> = Vec::new();
        for (n, row) in plan.steps.iter().enumerate() {
            let step = shop.find_job(&row.job).and_then(|job| shop.find_step(job, &row.step));
            rows.extend(step.map(|step| (self.index(row.start), step, n)));
        }
        rows.sort_unstable();
        for (start, step, n) in rows {
            let row = &plan.steps[n];
            let crew = shop.find_crew(&row.crew).expect("a crew");
            let team = Team::new(crew, row.with.iter().filter_map(|id| shop.find_crew(id)).collect());
            let way = shop.steps[step].ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime);
            let runs = shop.runs(step, way.expect("a way"), shop.find_team(&team).expect("a team"));
            let last = self.index(row.end);
            let job = shop.steps[step].job;
            for h in (start.max(shop.now as i64)..=last).map(|h| h as usize) {
                if !runs.is_none_or(|runs| runs.workable[h]) {
                    continue;
                }
                let place = shop.jobs[job].place;
                for of in shop.working(&team, h) {
                    let here = self.places.entry((h, of)).or_default();
                    if !here.contains(&place) {
                        here.push(place);
                    }
                }
                let takes = &shop.book.jobs[job.index()].steps[shop.steps[step].listed].takes;
                let wanted = self.wants.entry((h, crew, place)).or_default();
                for kit in takes {
                    let count = takes.iter().filter(|of| *of == kit).count() as u32;
                    let most = wanted.entry(kit.clone()).or_default();
                    *most = count.max(*most);
                }
            }
        }
    }

    fn stand(&mut self, plan: &Plan) {
        let shop = self.shop;
        for unit in shop.units.ids() {
            let mut at = shop.units[unit].place;
            for h in 0..shop.len() {
                self.units.insert((unit, h, false), at);
                let haul = |evening: bool| {
                    let of = |row: &&yardless_plan::HaulRow| {
                        row.unit == shop.units[unit].id
                            && shop.horizon.offset(row.at) == h as i64
                            && row.evening == evening
                    };
                    plan.hauls.iter().find(of)
                };
                let mut road = false;
                if let Some(row) = haul(false) {
                    let from = shop.find_place(&row.from).expect("a place");
                    at = shop.find_place(&row.to).expect("a place");
                    road = shop.haul_time(shop.units[unit].moves, from, at).is_some_and(|time| time.long);
                    self.hauled.insert((unit, h, false), shop.find_truck(&row.truck).expect("a truck"));
                }
                if !road {
                    self.units.insert((unit, h, true), at);
                }
                if let Some(row) = haul(true) {
                    at = shop.find_place(&row.to).expect("a place");
                    self.hauled.insert((unit, h, true), shop.find_truck(&row.truck).expect("a truck"));
                }
            }
            self.units.insert((unit, shop.len(), false), at);
        }
    }

    fn ends(&self, plan: &Plan, trucks: &[TruckId], h: usize, evening: bool) -> (Vec<PlaceId>, Vec<Option<UnitId>>) {
        let shop = self.shop;
        let (mut all, mut leaves) = (Vec::new(), Vec::new());
        for row in &plan.hauls {
            let ours = shop.find_truck(&row.truck).is_some_and(|truck| trucks.contains(&truck));
            if !ours || self.index(row.at) != h as i64 || row.evening != evening {
                continue;
            }
            let unit = shop.find_unit(&row.unit).expect("a unit");
            all.push(shop.find_place(&row.from).expect("a place"));
            leaves.push(Some(unit));
            if self.units.contains_key(&(unit, h, true)) {
                all.push(shop.find_place(&row.to).expect("a place"));
                leaves.push(None);
            }
        }
        (all, leaves)
    }

    /// L3, of a date.
    fn date(&mut self, plan: &Plan, crew: CrewId, date: usize) {
        let shop = self.shop;
        let home = shop.book.crews[crew.index()].home.as_ref().map(|id| shop.find_place(id).expect("a place"));
        let own: Vec<TruckId> = shop.trucks.ids().filter(|truck| shop.trucks[*truck].crew == Some(crew)).collect();
        let (mut stands, mut busy) = (home, false);
        for h in [2 * date, 2 * date + 1] {
            let with = self.with(&own, h);
            for truck in &own {
                let at = if Some(*truck) == with { stands } else { home };
                self.trucks.extend(at.map(|at| ((*truck, h, false), at)));
            }
            let (hauls, leaves) = self.ends(plan, &own, h, false);
            let works = self.places.get(&(h, crew)).cloned().unwrap_or_default();
            if !hauls.is_empty() || !works.is_empty() {
                busy = true;
                let leaves: Vec<Option<UnitId>> = stands.map(|_| None).into_iter().chain(leaves).collect();
                let visits: Vec<PlaceId> = stands.into_iter().chain(hauls).chain(works.clone()).collect();
                stands = visits.last().copied();
                self.ways.entry((h, false)).or_default().push(Way { crew: Some(crew), truck: with, visits, leaves });
            }
            for truck in &own {
                let at = if Some(*truck) == with { stands.filter(|_| works.len() < 2) } else { home };
                self.trucks.extend(at.map(|at| ((*truck, h, true), at)));
            }
        }
        let pm = 2 * date + 1;
        let (hauls, leaves) = self.ends(plan, &own, pm, true);
        if busy || !hauls.is_empty() {
            let visits: Vec<PlaceId> = stands.into_iter().chain(hauls).chain(home).collect();
            let leaves = stands.map(|_| None).into_iter().chain(leaves).collect();
            let way = Way { crew: Some(crew), truck: self.with(&own, pm), visits, leaves };
            self.ways.entry((pm, true)).or_default().push(way);
        }
        for truck in own {
            self.trucks.extend(home.map(|at| ((truck, pm + 1, false), at)));
        }
    }

    /// The truck that a crew goes with.
    fn with(&self, own: &[TruckId], h: usize) -> Option<TruckId> {
        let at = self.shop.horizon.half_day(h);
        let out = |truck: &TruckId| self.shop.book.trucks[truck.index()].out.iter().any(|when| when.holds(at));
        own.iter().copied().find(|truck| !out(truck))
    }

    fn before(&self, spot: Spot, h: usize, evening: bool) -> Option<PlaceId> {
        match spot {
            Spot::Place(place) => Some(place),
            Spot::Truck(truck) => self.trucks.get(&(truck, h, evening)).copied(),
            Spot::Unit(unit) => self.units.get(&(unit, h, evening)).copied(),
        }
    }

    pub fn after(&self, spot: Spot, h: usize, evening: bool) -> Option<PlaceId> {
        if evening { self.before(spot, h + 1, false) } else { self.before(spot, h, true) }
    }

    /// L4, L5: where a thing may be afterwards.
    pub fn nexts(&self, spot: Spot, h: usize, evening: bool, drives: &[(PlaceId, PlaceId)]) -> BTreeSet<Spot> {
        let mut all = BTreeSet::from([spot]);
        let unmoved = |spot: Spot| !matches!(spot, Spot::Unit(unit) if self.hauled.contains_key(&(unit, h, evening)));
        for way in self.ways.get(&(h, evening)).into_iter().flatten() {
            for a in 0..way.visits.len() {
                if !self.taken(spot, way, a, h, evening) {
                    continue;
                }
                all.extend(way.truck.map(Spot::Truck));
                for (b, place) in way.visits.iter().enumerate().skip(a) {
                    all.insert(Spot::Place(*place));
                    for unit in self.shop.units.ids() {
                        let of = Spot::Unit(unit);
                        let own = self.hauls(way, unit, h, evening);
                        let comes = self.after(of, h, evening) == Some(*place);
                        // As long as it has not left.
                        let leaves = way.leaves.iter().position(|leaves| *leaves == Some(unit));
                        let still = leaves.is_some_and(|leaves| b <= leaves && way.visits[leaves] == *place);
                        if (unmoved(of) && comes) || (own && (comes || still)) {
                            all.insert(of);
                        }
                    }
                }
            }
        }
        for (from, to) in drives.iter().filter(|_| !evening) {
            if unmoved(spot) && self.before(spot, h, false) == Some(*from) {
                let units = self.shop.units.ids().map(Spot::Unit).filter(|of| unmoved(*of));
                let trucks = self.shop.trucks.ids().map(Spot::Truck);
                all.insert(Spot::Place(*to));
                all.extend(units.chain(trucks).filter(|of| self.after(*of, h, false) == Some(*to)));
            }
        }
        all
    }

    fn hauls(&self, way: &Way, unit: UnitId, h: usize, evening: bool) -> bool {
        let by = self.hauled.get(&(unit, h, evening));
        by.is_some_and(|truck| match self.shop.trucks[*truck].crew {
            Some(crew) => way.crew == Some(crew),
            None => way.truck == Some(*truck),
        })
    }

    fn taken(&self, spot: Spot, way: &Way, a: usize, h: usize, evening: bool) -> bool {
        let here = self.before(spot, h, evening) == Some(way.visits[a]);
        match spot {
            Spot::Place(_) => here,
            Spot::Unit(unit) => {
                let leaves = way.leaves.iter().position(|leaves| *leaves == Some(unit));
                here && (!self.hauled.contains_key(&(unit, h, evening)) || leaves.is_some_and(|leaves| a <= leaves))
            }
            Spot::Truck(truck) if way.truck == Some(truck) => a == 0,
            Spot::Truck(_) => {
                let set_out = way.truck.and_then(|of| self.before(Spot::Truck(of), h, false));
                !evening && a == 0 && here && set_out == Some(way.visits[0])
            }
        }
    }

    /// Whether somebody may drive for things.
    pub fn may_drive(&self, h: usize, from: PlaceId, to: PlaceId) -> bool {
        let travel = |place: PlaceId| !self.shop.places[place].weather[h].no_travel;
        from != to && travel(from) && travel(to) && self.shop.trucks.iter().any(|truck| truck.available[h])
    }

    /// L2: the truck in which a crew's things must be, as it goes among several places.
    pub fn along(&self, h: usize, crew: CrewId) -> Option<TruckId> {
        let several = self.places.get(&(h, crew)).is_some_and(|places| places.len() > 1);
        let own: Vec<TruckId> =
            self.shop.trucks.ids().filter(|truck| self.shop.trucks[*truck].crew == Some(crew)).collect();
        self.with(&own, h).filter(|_| several && self.shop.crews[crew].own)
    }

    /// What is wanted in a half-day of one kit: where, how many.
    pub fn asked(&self, h: usize, kit: &str) -> BTreeMap<(PlaceId, Option<TruckId>), u32> {
        let mut all = BTreeMap::new();
        let mut of_truck: BTreeMap<TruckId, (PlaceId, u32)> = BTreeMap::new();
        let from = |h: usize| (h, CrewId::from_index(0), PlaceId::from_index(0));
        for ((_, crew, place), kits) in self.wants.range(from(h)..from(h + 1)) {
            let Some(count) = kits.get(kit) else { continue };
            match self.along(h, *crew) {
                Some(truck) => {
                    let most = of_truck.entry(truck).or_insert((*place, 0));
                    most.1 = most.1.max(*count);
                }
                None => *all.entry((*place, None)).or_insert(0) += count,
            }
        }
        all.extend(of_truck.into_iter().map(|(truck, (place, count))| ((place, Some(truck)), count)));
        all
    }
}

/// L1: where a thing is when the plan begins, and from when on somebody's word has it elsewhere.
pub fn begins(shop: &Shop, thing: &Thing) -> (Spot, Option<(usize, Spot)>) {
    let place = |id: &String| Spot::Place(shop.find_place(id).expect("a place"));
    let in_it =
        |id: &String| shop.find_truck(id).map_or_else(|| Spot::Unit(shop.find_unit(id).expect("a unit")), Spot::Truck);
    let seen = thing.seen.as_ref().map(|seen| {
        let spot = seen.at.as_ref().map(place).or(seen.rides_in.as_ref().map(in_it)).expect("somewhere");
        (shop.horizon.offset(seen.when) + 1, spot)
    });
    let said = thing.at.as_ref().map(place).or(thing.rides_in.as_ref().map(in_it));
    let at_home = thing.home.as_ref().map(|id| shop.find_place(id).map_or_else(|| in_it(id), Spot::Place));
    let first = seen.filter(|(from, _)| *from <= shop.now as i64).map(|(_, spot)| spot);
    let is = first.or(said).or(at_home).or(seen.map(|(_, spot)| spot)).expect("somewhere");
    (is, seen.filter(|(from, _)| *from > shop.now as i64).map(|(from, spot)| (from as usize, spot)))
}

/// Plays the lists; what goes wrong.
pub fn play(shop: &Shop, plan: &Plan, loads: &Loads) -> Result<(), String> {
    let reading = Reading::new(shop, plan);
    let mut now: Vec<Spot> = Vec::new();
    let mut words = Vec::new();
    for item in &loads.items {
        let (is, later) = match item.source {
            Source::Thing(n) => begins(shop, &shop.book.things[n]),
            Source::Material(..) => (item.is, None),
        };
        now.push(is);
        words.push(later);
    }
    let mut moved = 0;
    for h in shop.now..loads.end {
        for (spot, word) in now.iter_mut().zip(&words) {
            if let Some((_, is)) = word.filter(|(from, _)| *from == h) {
                *spot = is;
            }
        }
        for moment in [Moment::Start, Moment::Evening] {
            moved += phase(&reading, loads, h, moment, &mut now)?;
            if moment == Moment::Start {
                present(&reading, loads, h, &now)?;
                moved += at_work(&reading, loads, h, &mut now)?;
            }
        }
    }
    if moved == loads.moves.len() { Ok(()) } else { Err("a move is listed out of order".to_owned()) }
}

/// The moves of a moment; how many.
fn phase(reading: &Reading, loads: &Loads, h: usize, moment: Moment, now: &mut [Spot]) -> Result<usize, String> {
    let evening = moment == Moment::Evening;
    let drives: Vec<(PlaceId, PlaceId)> =
        loads.drives.iter().filter(|drive| drive.h == h).map(|drive| (drive.from, drive.to)).collect();
    if let Some((from, to)) = drives.iter().find(|(from, to)| !reading.may_drive(h, *from, *to)) {
        return Err(format!("nobody may drive from {from:?} to {to:?} in {h}"));
    }
    let was = now.to_vec();
    let mut moved = 0;
    for of in loads.moves.iter().filter(|of| (of.h, of.moment) == (h, moment)) {
        if now[of.item] != of.from {
            return Err(format!("{of:?}: it is in {:?}", now[of.item]));
        }
        if let By::Drive(n) = of.by
            && loads.drives.get(n).is_none_or(|drive| drive.h != h)
        {
            return Err(format!("{of:?}: by no drive of then"));
        }
        now[of.item] = of.to;
        moved += 1;
    }
    for (n, (was, is)) in was.iter().zip(now.iter()).enumerate() {
        if was != is && !reading.nexts(*was, h, evening, &drives).contains(is) {
            return Err(format!("{}: nobody brings it from {was:?} to {is:?} in {h} {moment:?}", loads.items[n].name));
        }
        if was != is && h < loads.items[n].from {
            return Err(format!("{} has not come yet", loads.items[n].name));
        }
    }
    Ok(moved)
}

/// What is put elsewhere at the place while it serves there (L4); how many.
fn at_work(reading: &Reading, loads: &Loads, h: usize, now: &mut [Spot]) -> Result<usize, String> {
    let mut moved = 0;
    for of in loads.moves.iter().filter(|of| (of.h, of.moment) == (h, Moment::Work)) {
        let serves = |(want, item): &&(usize, usize)| {
            let want = &loads.wants[*want];
            *item == of.item && want.h == h && of.by == By::Crew(want.crew, None)
        };
        let want = loads.met.iter().find(serves).map(|(want, _)| &loads.wants[*want]);
        let place = want.filter(|want| reading.along(h, want.crew).is_none()).map(|want| want.place);
        let here = |spot: Spot| place.is_some() && reading.after(spot, h, false) == place;
        if now[of.item] != of.from || !here(of.from) || !here(of.to) {
            return Err(format!("{of:?}: it serves at {place:?}"));
        }
        now[of.item] = of.to;
        moved += 1;
    }
    Ok(moved)
}

/// Every want is met by things that are there, or named unmet; nothing is named that is there.
fn present(reading: &Reading, loads: &Loads, h: usize, now: &[Spot]) -> Result<(), String> {
    let kits: BTreeSet<&String> = loads.wants.iter().map(|want| &want.kit).collect();
    let all: BTreeSet<&String> = reading.wants.values().flat_map(|kits| kits.keys()).collect();
    if kits != all {
        return Err("other kits are wanted".to_owned());
    }
    for kit in all {
        for ((place, along), count) in reading.asked(h, kit) {
            let here = |spot: Spot| match along {
                Some(truck) => spot == Spot::Truck(truck),
                None => reading.after(spot, h, false) == Some(place),
            };
            let things =
                loads.items.iter().zip(now).filter(|(item, spot)| item.kit.as_ref() == Some(kit) && here(**spot));
            let there = things.count() as u32;
            let named: u32 = (loads.unmet.iter())
                .filter_map(|unmet| match unmet {
                    Unmet::Kit(n, short) => {
                        let want = &loads.wants[*n];
                        let same = want.h == h && want.kit == *kit && reading.along(h, want.crew) == along;
                        (same && (along.is_some() || want.place == place)).then_some(*short)
                    }
                    Unmet::Material(_) => None,
                })
                .sum();
            if named != count.saturating_sub(there) {
                return Err(format!("{kit} in {h}: {count} wanted, {there} there, {named} named missing"));
            }
        }
    }
    let served: Vec<usize> =
        loads.met.iter().filter(|(want, _)| loads.wants[*want].h == h).map(|(_, item)| *item).collect();
    if served.iter().collect::<BTreeSet<_>>().len() < served.len() {
        return Err(format!("a thing serves two wants in {h}"));
    }
    material(loads, reading, h, now)
}

/// Material is at its step's place when that starts, or named.
fn material(loads: &Loads, reading: &Reading, h: usize, now: &[Spot]) -> Result<(), String> {
    for (n, item) in loads.items.iter().enumerate() {
        let Some((_, place)) = item.wanted.filter(|(at, _)| *at == h) else { continue };
        let there = reading.after(now[n], h, false) == Some(place);
        if there == loads.unmet.contains(&Unmet::Material(n)) {
            return Err(format!("{} in {h}: there is {there}, and so is it named", item.name));
        }
    }
    Ok(())
}
