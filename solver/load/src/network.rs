//! Places, trucks and units over a stretch of half-days, and every way a thing can go between them (L3 to L5).
//!
//! A node is a spot at a time: before a half-day, or during it. A thing stays where it is; a truck's round takes it from any
//! place that it passes to any that it passes later, or keeps it in the truck; an extra drive takes it from its one end to
//! its other. What lies at a place, in a truck or in a unit that stands there during a half-day meets wants there together
//! (a *hub*). What is taken up in a round or by a drive was there before the half-day, or before the evening, began.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, TruckId, UnitId};

use crate::flow::Node;
use crate::moves::Moment;
use crate::rounds::{Round, Rounds};
use crate::spot::Spot;

/// A drive only for things: from one place to another at the start of a half-day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Drive {
    /// By index: the half-day.
    pub h: usize,
    /// From where.
    pub from: PlaceId,
    /// To where.
    pub to: PlaceId,
}

/// What an arc is to a thing that goes along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leg {
    /// It stays where it is, or rides on.
    Rest,
    /// It is taken up by a round, by its number among those of the moment, from a spot.
    Up(usize, Moment, usize, Spot),
    /// It is set down by it.
    Down(usize, Moment, usize, Spot),
    /// It is taken up by a drive, by its number.
    OnDrive(usize, Spot),
    /// It is set down by it.
    OffDrive(usize, Spot),
    /// While it serves a crew in a half-day, from a spot to another at the place.
    AtWork(usize, CrewId, Spot, Spot),
}

/// An arc of the network.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// From where.
    pub from: Node,
    /// To where.
    pub to: Node,
    /// What handling it costs.
    pub cost: i64,
    /// What it is.
    pub leg: Leg,
}

/// What is together at a place during a half-day in which something may be wanted there.
#[derive(Clone, Debug)]
pub struct Hub {
    /// The half-day and the place.
    pub at: (usize, PlaceId),
    /// Its two nodes, kept for what is wanted.
    pub nodes: [Node; 2],
    /// The spots that are there, each before and after; things of units come out of them there.
    pub spots: Vec<(Spot, Node, Node)>,
}

/// Which extra drives there are.
#[derive(Clone, Copy, Debug)]
pub enum Drives<'a> {
    /// These.
    These(&'a [Drive]),
    /// Every one that may be made.
    All,
}

/// Where drives could lead from and to at the start of a half-day: places with the nodes there.
#[derive(Clone, Debug, Default)]
pub struct Ends {
    /// The half-day.
    pub h: usize,
    /// From where.
    pub from: Vec<(PlaceId, Node)>,
    /// To where.
    pub to: Vec<(PlaceId, Node)>,
}

/// The network of a stretch.
#[derive(Debug, Default)]
pub struct Paths {
    /// Its nodes; arcs lead to higher ones.
    pub nodes: usize,
    /// Its arcs, by the node that they lead from.
    pub ways: Vec<Way>,
    /// Where wants at places are met.
    pub hubs: Vec<Hub>,
    /// Where wants in trucks are met: half-day, truck, before and after.
    pub trucks: Vec<(usize, TruckId, Node, Node)>,
    /// The nodes of all spots before each half-day.
    pub before: BTreeMap<usize, Vec<Node>>,
    /// The same during each half-day, when all have come that come.
    pub during: BTreeMap<usize, Vec<Node>>,
    /// The same when the stretch is over.
    pub end: Vec<Node>,
    /// Where drives could be.
    pub ends: Vec<Ends>,
    /// The drives of it.
    pub drives: Vec<Drive>,
}

/// What taking up or setting down costs, about.
pub const HANDLING: i64 = 2000;

/// The number of a spot.
pub fn number(shop: &Shop, spot: Spot) -> usize {
    match spot {
        Spot::Place(place) => place.index(),
        Spot::Truck(truck) => shop.places.len() + truck.index(),
        Spot::Unit(unit) => shop.places.len() + shop.trucks.len() + unit.index(),
    }
}

/// All spots, in the order of their numbers.
pub fn spots(shop: &Shop) -> impl Iterator<Item = Spot> {
    let places = shop.places.ids().map(Spot::Place);
    places.chain(shop.trucks.ids().map(Spot::Truck)).chain(shop.units.ids().map(Spot::Unit))
}

/// Whether an extra drive may be made at the start of a half-day: a truck is available, and somebody travels at both ends.
pub fn may_drive(shop: &Shop, h: usize) -> bool {
    shop.open[h] && shop.trucks.iter().any(|truck| truck.available[h])
}

/// Whether a place may be an end of one.
pub fn may_reach(shop: &Shop, place: PlaceId, h: usize) -> bool {
    !shop.places[place].weather[h].no_travel
}

/// The network of the half-days `first..end`; `wanted`: the places at which something may be wanted, by half-day.
pub fn paths(
    shop: &Shop,
    rounds: &Rounds,
    (first, end): (usize, usize),
    wanted: &dyn Fn(usize) -> Vec<PlaceId>,
    drives: Drives,
) -> Paths {
    let mut build = Build { shop, rounds, end, drives, paths: Paths::default(), now: Vec::new() };
    build.now = build.fresh();
    for h in first..end {
        build.paths.before.insert(h, build.now.clone());
        if shop.open[h] {
            build.start(h);
            build.wants(h, &wanted(h));
        }
        if !rounds.at(h, Moment::Evening).is_empty() {
            let old = build.now.clone();
            build.rounds(h, Moment::Evening, &old, &[]);
        }
    }
    if let Drives::These(drives) = drives {
        build.paths.drives = drives.to_vec();
    }
    build.paths.end = build.now;
    build.paths.ways.sort_by_key(|way| way.from);
    build.paths
}

struct Build<'a> {
    shop: &'a Shop,
    rounds: &'a Rounds,
    end: usize,
    drives: Drives<'a>,
    paths: Paths,
    /// The nodes of all spots now.
    now: Vec<Node>,
}

/// What setting down costs: the sooner the less, while somebody is there.
fn down(h: usize, moment: Moment) -> i64 {
    HANDLING + 2 * (h % 14) as i64 + i64::from(moment == Moment::Evening)
}

impl Build<'_> {
    fn node(&mut self) -> Node {
        self.paths.nodes += 1;
        self.paths.nodes - 1
    }

    fn fresh(&mut self) -> Vec<Node> {
        spots(self.shop).map(|_| self.node()).collect()
    }

    fn way(&mut self, from: Node, to: Node, cost: i64, leg: Leg) {
        self.paths.ways.push(Way { from, to, cost, leg });
    }

    /// What taking up costs: the later the less, so that nothing is carried about for long.
    fn up(&self, h: usize) -> i64 {
        HANDLING + 2 * (self.end - h) as i64
    }

    /// Where a spot is before the start of a half-day, or before its evening.
    fn place_before(&self, spot: Spot, h: usize, moment: Moment) -> Option<PlaceId> {
        match (spot, moment) {
            (Spot::Place(place), _) => Some(place),
            (Spot::Truck(truck), Moment::Start) => self.rounds.truck_before(truck, h),
            (Spot::Truck(truck), Moment::Work | Moment::Evening) => self.rounds.truck_during(truck, h),
            (Spot::Unit(unit), Moment::Start) => self.rounds.unit_before(unit, h),
            (Spot::Unit(unit), Moment::Work | Moment::Evening) => self.rounds.unit_during(unit, h),
        }
    }

    /// Where it is after that.
    fn place_after(&self, spot: Spot, h: usize, moment: Moment) -> Option<PlaceId> {
        match moment {
            Moment::Start => self.place_before(spot, h, Moment::Evening),
            Moment::Work | Moment::Evening => self.place_before(spot, h + 1, Moment::Start),
        }
    }

    /// Whether a unit stands still, or is hauled on this round's own way.
    fn unit_is(&self, unit: UnitId, h: usize, moment: Moment) -> Option<TruckId> {
        self.rounds.hauler(unit, h, moment)
    }

    /// The start of a half-day: drives, and rounds.
    fn start(&mut self, h: usize) {
        let old = self.now.clone();
        let drives: Vec<(usize, Option<Drive>)> = match self.drives {
            Drives::These(all) => {
                let here = all.iter().enumerate().filter(|(_, drive)| drive.h == h);
                here.map(|(n, drive)| (n, Some(*drive))).collect()
            }
            Drives::All if may_drive(self.shop, h) => vec![(0, None)],
            Drives::All => Vec::new(),
        };
        let drives: Vec<_> = drives.into_iter().map(|(n, drive)| (n, drive, self.node())).collect();
        let from: Vec<(PlaceId, Spot, Node)> = spots(self.shop)
            .filter(|spot| self.stands(*spot, h))
            .filter_map(|spot| {
                let place = self.place_before(spot, h, Moment::Start)?;
                Some((place, spot, old[number(self.shop, spot)]))
            })
            .filter(|(place, ..)| may_reach(self.shop, *place, h))
            .collect();
        for (n, drive, node) in &drives {
            for (_, spot, at) in from.iter().filter(|(place, ..)| drive.is_none_or(|drive| drive.from == *place)) {
                self.way(*at, *node, self.up(h), Leg::OnDrive(*n, *spot));
            }
        }
        self.rounds(h, Moment::Start, &old, &drives);
        if may_drive(self.shop, h) {
            let to = self.reached(h);
            let from = from.into_iter().map(|(place, _, node)| (place, node)).collect();
            let to = to.into_iter().map(|(place, _, node)| (place, node)).collect();
            self.paths.ends.push(Ends { h, from, to });
        }
    }

    /// Whether what is at a spot may be taken by somebody who comes by: it is no unit that is hauled away just then.
    fn stands(&self, spot: Spot, h: usize) -> bool {
        !matches!(spot, Spot::Unit(unit) if self.unit_is(unit, h, Moment::Start).is_some())
    }

    /// The spots to which a drive may bring something at the start of a half-day.
    fn reached(&self, h: usize) -> Vec<(PlaceId, Spot, Node)> {
        spots(self.shop)
            .filter(|spot| self.stands(*spot, h))
            .filter_map(|spot| {
                let place = self.place_after(spot, h, Moment::Start)?;
                Some((place, spot, self.now[number(self.shop, spot)]))
            })
            .filter(|(place, ..)| may_reach(self.shop, *place, h))
            .collect()
    }

    /// The rounds of a moment, and where the drives of it end.
    fn rounds(&mut self, h: usize, moment: Moment, old: &[Node], drives: &[(usize, Option<Drive>, Node)]) {
        let rounds = self.rounds.at(h, moment).to_vec();
        let chains: Vec<Vec<Node>> =
            rounds.iter().map(|round| round.visits.iter().map(|_| self.node()).collect()).collect();
        for (n, (round, chain)) in rounds.iter().zip(&chains).enumerate() {
            self.take_up(h, moment, (n, round, chain), old);
        }
        self.now = self.fresh();
        let ridden: Vec<(TruckId, Node)> =
            rounds.iter().zip(&chains).filter_map(|(round, chain)| Some((round.truck?, *chain.last()?))).collect();
        for spot in spots(self.shop) {
            let at = number(self.shop, spot);
            let by = match spot {
                Spot::Truck(truck) => ridden.iter().find(|(of, _)| *of == truck).map(|(_, node)| *node),
                _ => None,
            };
            self.way(by.unwrap_or(old[at]), self.now[at], 0, Leg::Rest);
        }
        for (n, (round, chain)) in rounds.iter().zip(&chains).enumerate() {
            self.set_down(h, moment, (n, round, chain));
        }
        for (n, drive, node) in drives {
            let to = self.reached(h);
            for (_, spot, at) in to.iter().filter(|(place, ..)| drive.is_none_or(|drive| drive.to == *place)) {
                self.way(*node, *at, down(h, Moment::Start), Leg::OffDrive(*n, *spot));
            }
        }
    }

    /// Whether a round hauls a unit itself; `None`: nobody does.
    fn hauls_it(&self, round: &Round, unit: UnitId, h: usize, moment: Moment) -> Option<bool> {
        let truck = self.unit_is(unit, h, moment)?;
        let own = self.shop.trucks[truck].crew;
        Some(if own.is_some() { own == round.crew } else { round.truck == Some(truck) })
    }

    fn take_up(&mut self, h: usize, moment: Moment, (n, round, chain): (usize, &Round, &[Node]), old: &[Node]) {
        for (k, (place, node)) in round.visits.iter().zip(chain).enumerate() {
            let before =
                if k > 0 { Some(chain[k - 1]) } else { round.truck.map(|of| old[number(self.shop, Spot::Truck(of))]) };
            if let Some(before) = before {
                self.way(before, *node, 0, Leg::Rest);
            }
            for spot in spots(self.shop) {
                let there = self.place_before(spot, h, moment) == Some(*place);
                let may = match spot {
                    Spot::Place(_) => true,
                    Spot::Unit(unit) => match self.hauls_it(round, unit, h, moment) {
                        None => true,
                        Some(own) => own && round.is_there(unit, *place, k),
                    },
                    // Of another truck that stands where this one sets out.
                    Spot::Truck(truck) => {
                        k == 0 && moment == Moment::Start && round.truck != Some(truck) && self.sets_out(round, h)
                    }
                };
                if there && may {
                    let from = old[number(self.shop, spot)];
                    self.way(from, *node, self.up(h), Leg::Up(h, moment, n, spot));
                }
            }
        }
    }

    /// Whether the first place of a round is where its truck stood.
    fn sets_out(&self, round: &Round, h: usize) -> bool {
        round.truck.is_some_and(|truck| self.rounds.truck_before(truck, h) == round.visits.first().copied())
    }

    fn set_down(&mut self, h: usize, moment: Moment, (n, round, chain): (usize, &Round, &[Node])) {
        for (k, (place, node)) in round.visits.iter().zip(chain).enumerate() {
            for spot in spots(self.shop) {
                let after = self.place_after(spot, h, moment) == Some(*place);
                let may = match spot {
                    Spot::Place(_) => after,
                    Spot::Unit(unit) => match self.hauls_it(round, unit, h, moment) {
                        None => after,
                        // Into a unit that it hauls, before it goes or when it has come.
                        Some(own) => own && (after || round.is_there(unit, *place, k)),
                    },
                    Spot::Truck(_) => false,
                };
                if may {
                    let to = self.now[number(self.shop, spot)];
                    self.way(*node, to, down(h, moment), Leg::Down(h, moment, n, spot));
                }
            }
        }
    }

    /// Where wants of a half-day are met.
    fn wants(&mut self, h: usize, wanted: &[PlaceId]) {
        let mut there: Vec<(PlaceId, [Node; 2], Vec<Spot>)> = Vec::new();
        for place in wanted {
            let here =
                spots(self.shop).filter(|spot| self.place_after(*spot, h, Moment::Start) == Some(*place)).collect();
            there.push((*place, [self.node(), self.node()], here));
        }
        let before = std::mem::take(&mut self.now);
        self.paths.during.insert(h, before.clone());
        self.now = self.fresh();
        for spot in spots(self.shop) {
            let at = number(self.shop, spot);
            self.way(before[at], self.now[at], 0, Leg::Rest);
            if let Spot::Truck(truck) = spot {
                self.paths.trucks.push((h, truck, before[at], self.now[at]));
            }
        }
        for (place, nodes, here) in there {
            let spots = here.into_iter().map(|spot| {
                let at = number(self.shop, spot);
                (spot, before[at], self.now[at])
            });
            let spots = spots.collect();
            self.paths.hubs.push(Hub { at: (h, place), nodes, spots });
        }
    }
}
