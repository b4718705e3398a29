//! What is asked of a stretch of half-days: alike things, with what is wanted of them.

use std::collections::BTreeMap;

use yardless_plan::shop::{PlaceId, TruckId};

use crate::items::Item;
use crate::moves::Moment;
use crate::rounds::Rounds;
use crate::spot::Spot;
use crate::wants::Want;

/// What is not met: nothing of the kind can be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unmet {
    /// So many too few of what is wanted, by its number among the wants.
    Kit(usize, u32),
    /// Material that does not come to its step, by its number among the items.
    Material(usize),
}

impl Unmet {
    /// Whether it is of the same want.
    pub fn same(self, other: Self) -> bool {
        match (self, other) {
            (Self::Kit(a, _), Self::Kit(b, _)) | (Self::Material(a), Self::Material(b)) => a == b,
            _ => false,
        }
    }
}

/// Things wanted at one place, or in one truck, in a half-day.
#[derive(Clone, Debug)]
pub struct Demand {
    /// By index: the half-day.
    pub h: usize,
    /// The place.
    pub place: PlaceId,
    /// The truck in which they must be, where they must.
    pub along: Option<TruckId>,
    /// How many, all together.
    pub count: u32,
    /// The wants, each with how many of it.
    pub of: Vec<Unmet>,
}

/// Things that are alike, and what is wanted of them.
#[derive(Clone, Debug, Default)]
pub struct Alike {
    /// The things: number, where, and from which half-day on.
    pub items: Vec<(usize, Spot, usize)>,
    /// What is wanted, in the order of time.
    pub demands: Vec<Demand>,
}

/// All that is asked of the half-days `first..end`, with where things are when they begin.
pub fn asked(
    items: &[Item],
    wants: &[Want],
    rounds: &Rounds,
    now: &[Option<Spot>],
    (first, end): (usize, usize),
) -> Vec<Alike> {
    let mut kits: BTreeMap<&str, Alike> = BTreeMap::new();
    let mut alone = Vec::new();
    for (n, item) in items.iter().enumerate() {
        let Some(spot) = now[n] else { continue };
        let at = (n, spot, item.from.max(first));
        match (&item.kit, item.wanted) {
            (Some(kit), _) => kits.entry(kit).or_default().items.push(at),
            (None, Some((h, place))) if (first..end).contains(&h) => {
                let demand = Demand { h, place, along: None, count: 1, of: vec![Unmet::Material(n)] };
                alone.push(Alike { items: vec![at], demands: vec![demand] });
            }
            // Material of later is left where it is till then.
            (None, Some(_)) => {}
            (None, None) => alone.push(Alike { items: vec![at], demands: Vec::new() }),
        }
    }
    for (n, want) in wants.iter().enumerate().filter(|(_, want)| (first..end).contains(&want.h)) {
        let round = rounds.at(want.h, Moment::Start).iter().find(|round| round.crew == Some(want.crew));
        let along = round.and_then(|round| round.truck).filter(|_| want.along);
        let demands = &mut kits.entry(&want.kit).or_default().demands;
        let same = |of: &&mut Demand| (of.h, of.place, of.along) == (want.h, want.place, along) && along.is_none();
        let unmet = Unmet::Kit(n, want.count);
        match demands.iter_mut().find(same) {
            Some(demand) => {
                demand.count += want.count;
                demand.of.push(unmet);
            }
            None => demands.push(Demand { h: want.h, place: want.place, along, count: want.count, of: vec![unmet] }),
        }
    }
    kits.into_values().chain(alone).collect()
}

/// The places at which anything is wanted, by half-day.
pub fn places(all: &[Alike]) -> BTreeMap<usize, Vec<PlaceId>> {
    let mut places: BTreeMap<usize, Vec<PlaceId>> = BTreeMap::new();
    for demand in all.iter().flat_map(|alike| &alike.demands) {
        let here = places.entry(demand.h).or_default();
        if !here.contains(&demand.place) {
            here.push(demand.place);
        }
    }
    places
}

/// How many things of an item's kit are wanted at a place in the week after a stretch: so many may be left there.
pub fn wanted_next(item: &Item, wants: &[Want], place: PlaceId, end: usize) -> u32 {
    let soon = |want: &&Want| (end..end + 14).contains(&want.h) && want.place == place;
    let of_kit = wants.iter().filter(soon).filter(|want| Some(&want.kit) == item.kit.as_ref());
    of_kit.map(|want| want.count).max().unwrap_or(0)
}
