//! The way of one thing with the least handling, once it is known what it meets.

use yardless_plan::shop::{CrewId, PlaceId, Shop, TruckId};

use crate::flow::Node;
use crate::moves::{By, Moment, Move};
use crate::network::{HANDLING, Leg, Paths, Way, number};
use crate::rounds::Rounds;
use crate::spot::Spot;

/// Where a thing must be in a half-day, and for which crew.
#[derive(Clone, Copy, Debug)]
pub struct Must {
    /// By index: the half-day.
    pub h: usize,
    /// Where.
    pub place: PlaceId,
    /// In which truck, where it must be in one.
    pub along: Option<TruckId>,
    /// The crew that it serves; none is named of material.
    pub crew: Option<CrewId>,
}

/// Farther than any way.
const FAR: i64 = i64::MAX / 2;

/// The moves of a thing from a spot on, from a half-day on, so that it is where it must be; least handling first.
/// `rests`: what it costs later that it ends at a spot. `None`: there is no such way.
pub fn walk(
    shop: &Shop,
    rounds: &Rounds,
    paths: &Paths,
    (item, spot, from): (usize, Spot, usize),
    musts: &[Must],
    rests: &dyn Fn(Spot) -> i64,
) -> Option<Vec<Move>> {
    let start = paths.before.get(&from)?[number(shop, spot)];
    let shut = shut(paths, musts);
    let mut reached = vec![FAR; paths.nodes];
    let mut by = vec![usize::MAX; paths.nodes];
    reached[start] = 0;
    let at_work = at_work(paths, musts);
    let ways = || paths.ways.iter().chain(&at_work).enumerate();
    // Ways lead on in time in their order; those at work come last, and what is reached by them is gone through again.
    let mut nearer = true;
    while nearer {
        nearer = false;
        for (n, way) in ways() {
            let next = reached[way.from] + way.cost;
            if reached[way.from] < FAR && !shut[way.to] && next < reached[way.to] {
                reached[way.to] = next;
                by[way.to] = n;
                nearer = true;
            }
        }
    }
    let ends = crate::network::spots(shop).zip(&paths.end).filter(|(_, node)| reached[**node] < FAR);
    let (_, end) = ends.min_by_key(|(spot, node)| reached[**node] + rests(*spot))?;
    let mut legs = Vec::new();
    let mut at: Node = *end;
    while at != start {
        let way = by[at].checked_sub(paths.ways.len()).map_or_else(|| &paths.ways[by[at]], |n| &at_work[n]);
        legs.push(way.leg);
        at = way.from;
    }
    legs.reverse();
    Some(moves(paths, rounds, item, &legs))
}

/// Where a thing may be put while it serves: down at the place, or into what is there.
fn at_work(paths: &Paths, musts: &[Must]) -> Vec<Way> {
    let mut ways = Vec::new();
    for must in musts.iter().filter(|must| must.along.is_none()) {
        let Some(crew) = must.crew else { continue };
        let hub = paths.hubs.iter().find(|hub| hub.at == (must.h, must.place));
        let spots = || hub.iter().flat_map(|hub| &hub.spots);
        for (from, before, _) in spots() {
            for (to, _, after) in spots().filter(|(to, ..)| to != from) {
                let leg = Leg::AtWork(must.h, crew, *from, *to);
                ways.push(Way { from: *before, to: *after, cost: HANDLING, leg });
            }
        }
    }
    ways
}

/// The nodes at which a thing may not be, as it must be elsewhere then.
fn shut(paths: &Paths, musts: &[Must]) -> Vec<bool> {
    let mut shut = vec![false; paths.nodes];
    for Must { h, place, along, .. } in musts {
        let hub = paths.hubs.iter().find(|hub| hub.at == (*h, *place));
        let open: Vec<Node> = match along {
            Some(truck) => {
                let of = paths.trucks.iter().filter(|(at, of, ..)| (at, of) == (h, truck));
                of.map(|(.., before, _)| *before).collect()
            }
            None => hub.iter().flat_map(|hub| hub.spots.iter().map(|(_, before, _)| *before)).collect(),
        };
        for node in paths.during.get(h).into_iter().flatten() {
            shut[*node] |= !open.contains(node);
        }
    }
    shut
}

/// What is moved on a way.
fn moves(paths: &Paths, rounds: &Rounds, item: usize, legs: &[Leg]) -> Vec<Move> {
    let mut all = Vec::new();
    let mut taken: Option<Spot> = None;
    for leg in legs {
        match *leg {
            Leg::Rest => {}
            Leg::Up(h, moment, n, spot) => {
                let round = &rounds.at(h, moment)[n];
                match round.truck {
                    Some(truck) => {
                        let by = who(rounds, h, moment, n);
                        all.push(Move { h, moment, item, from: spot, to: Spot::Truck(truck), by });
                    }
                    None => taken = Some(spot),
                }
            }
            Leg::Down(h, moment, n, to) => {
                let truck = rounds.at(h, moment)[n].truck.map(Spot::Truck);
                if let Some(from) = taken.take().or(truck) {
                    all.push(Move { h, moment, item, from, to, by: who(rounds, h, moment, n) });
                }
            }
            Leg::AtWork(h, crew, from, to) => {
                all.push(Move { h, moment: Moment::Work, item, from, to, by: By::Crew(crew, None) });
            }
            Leg::OnDrive(_, spot) => taken = Some(spot),
            Leg::OffDrive(n, to) => {
                let h = paths.drives[n].h;
                if let Some(from) = taken.take() {
                    all.push(Move { h, moment: Moment::Start, item, from, to, by: By::Drive(n) });
                }
            }
        }
    }
    all
}

fn who(rounds: &Rounds, h: usize, moment: Moment, n: usize) -> By {
    let round = &rounds.at(h, moment)[n];
    match (round.crew, round.truck) {
        (Some(crew), truck) => By::Crew(crew, truck),
        (None, Some(truck)) => By::Truck(truck),
        (None, None) => unreachable!("a round is a crew's or a truck's"),
    }
}
