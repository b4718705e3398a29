//! How much of what is wanted alike things can meet, by a set of extra drives: a flow through the network of a stretch.

use yardless_plan::shop::Shop;

use crate::asked::{Alike, Demand, Unmet};
use crate::flow::{ANY, ArcId, Network, Node};
use crate::network::{Paths, number};
use crate::spot::Spot;

/// What meeting one want counts; a want half-days earlier counts so many more, which no number of them makes up for one.
const MET: i64 = 100_000;
/// How much more that is than handling.
const BEFORE_HANDLING: i64 = 1_000_000_000;

/// A flow, and what of it meets what.
pub struct Served {
    net: Network,
    /// Arcs that meet demands.
    meets: Vec<ArcId>,
    /// The arcs that bring the things in.
    starts: Vec<(usize, ArcId)>,
    demands: Vec<Demand>,
    /// What is met, counted as [`MET`] says.
    pub value: i64,
}

/// What of a flow is wanted.
pub enum Aim<'a> {
    /// The most met, whatever handling it takes.
    Most,
    /// The most met, and of those the least handling: whether a thing belongs at a spot, and how many more may be left at one
    /// when all is over.
    Handling(&'a dyn Fn(usize, Spot) -> bool, &'a dyn Fn(Spot) -> u32),
}

/// What handling one thing that ends elsewhere than where it may rest costs later: in a truck or unit, lying at a place.
pub const AWAY: [i64; 2] = [2_500, 5_000];

/// The same of one that lies where one is wanted next: less than carrying it away, and not so little that it would be put down
/// there out of the truck that brings it again.
pub const NEXT: i64 = 1_000;

/// The best flow of alike things.
pub fn serve(shop: &Shop, paths: &Paths, alike: &Alike, end: usize, aim: &Aim) -> Served {
    let mut net = Network::default();
    let handling = matches!(aim, Aim::Handling(..));
    let source = net.node();
    let first = source + 1;
    for _ in 0..paths.nodes {
        net.node();
    }
    let sink = net.node();
    let starts: Vec<(usize, ArcId)> = alike
        .items
        .iter()
        .filter_map(|(item, spot, from)| {
            let node = paths.before.get(from)?[number(shop, *spot)];
            Some((*item, net.arc(source, first + node, 1, 0)))
        })
        .collect();
    for way in &paths.ways {
        net.arc(first + way.from, first + way.to, ANY, if handling { way.cost } else { 0 });
    }
    let worth = |demand: &Demand| {
        let counts = MET + (end - demand.h) as i64;
        if handling { -counts * BEFORE_HANDLING } else { -counts }
    };
    let meets = alike.demands.iter().map(|demand| meet(&mut net, paths, first, demand, worth(demand))).collect();
    rest(shop, &mut net, paths, (first, sink), alike, aim);
    let value = net.send();
    let demands = alike.demands.clone();
    let mut served = Served { net, meets, starts, demands, value: -value };
    if handling {
        served.value = served.met().map(|(demand, met)| i64::from(met) * (MET + (end - demand.h) as i64)).sum();
    }
    served
}

/// The arc that meets a demand: at a place by way of its hub, in a truck beside the way that stays in it.
fn meet(net: &mut Network, paths: &Paths, first: Node, demand: &Demand, worth: i64) -> ArcId {
    if let Some(truck) = demand.along {
        let found = paths.trucks.iter().find(|(h, of, ..)| (*h, *of) == (demand.h, truck));
        let (.., before, after) = found.expect("a network with every truck in every half-day of a want");
        return net.arc(first + before, first + after, demand.count, worth);
    }
    let hub = paths.hubs.iter().find(|hub| hub.at == (demand.h, demand.place));
    let hub = hub.expect("a network with a hub for every place of a want");
    let [into, out] = hub.nodes.map(|node| first + node);
    for (_, before, after) in &hub.spots {
        net.arc(first + before, into, ANY, 0);
        net.arc(out, first + after, ANY, 0);
    }
    net.arc(into, out, demand.count, worth)
}

/// Where things may end.
fn rest(shop: &Shop, net: &mut Network, paths: &Paths, (first, sink): (Node, Node), alike: &Alike, aim: &Aim) {
    for (spot, node) in crate::network::spots(shop).zip(&paths.end) {
        let Aim::Handling(belongs, more) = aim else {
            net.arc(first + node, sink, ANY, 0);
            continue;
        };
        let home = alike.items.iter().filter(|(item, ..)| belongs(*item, spot)).count() as u32;
        for (may, cost) in [(home, 0), (more(spot), NEXT)] {
            if may > 0 {
                net.arc(first + node, sink, may, cost);
            }
        }
        net.arc(first + node, sink, ANY, away(spot));
    }
}

/// What a thing that ends elsewhere than where it may rest costs.
pub fn away(spot: Spot) -> i64 {
    AWAY[usize::from(matches!(spot, Spot::Place(_)))]
}

impl Served {
    /// Each demand with how much of it is met.
    pub fn met(&self) -> impl Iterator<Item = (&Demand, u32)> {
        self.demands.iter().zip(&self.meets).map(|(demand, arc)| (demand, self.net.along(*arc)))
    }

    /// What is not met. Of several crews at a place the first have theirs.
    pub fn unmet(&self) -> Vec<Unmet> {
        let mut all = Vec::new();
        for (demand, mut met) in self.met() {
            for of in &demand.of {
                match *of {
                    Unmet::Kit(want, count) => {
                        let has = count.min(met);
                        met -= has;
                        all.extend((has < count).then_some(Unmet::Kit(want, count - has)));
                    }
                    Unmet::Material(_) => all.extend((met == 0).then_some(*of)),
                }
            }
        }
        all
    }

    /// Which thing meets which demands: each thing with their positions, in the order of time.
    pub fn shares(mut self) -> Vec<(usize, Vec<usize>)> {
        let sink = self.net.sink();
        let starts = std::mem::take(&mut self.starts);
        let mut shares = Vec::new();
        for (item, arc) in starts {
            let mut met = Vec::new();
            let mut at = self.net.head(arc);
            while at != sink {
                let (arc, to) = self.net.used(at).next().expect("a thing that came goes on to the end");
                self.net.take(arc);
                met.extend(self.meets.iter().position(|of| *of == arc));
                at = to;
            }
            met.sort_unstable();
            shares.push((item, met));
        }
        shares
    }

    /// Prices by which nothing better is possible, of the nodes of the paths: from one end, and from the other.
    pub fn prices(&self) -> [Vec<i64>; 2] {
        [self.net.prices(), self.net.prices_back()].map(|prices| prices[1..prices.len() - 1].to_vec())
    }
}
