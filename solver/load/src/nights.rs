//! Nights that are too cold for things where they are: what to take inside (L8).

use yardless_plan::shop::{Id, PlaceId, Shop};

use crate::items::Source;
use crate::lists::Loads;
use crate::spot::Spot;

/// A thing that a night is too cold for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Night {
    /// By index: the pm before it.
    pub pm: usize,
    /// The item.
    pub item: usize,
    /// Where it is.
    pub spot: Spot,
    /// The place; `None`: in a truck of which nobody knows where it stands.
    pub place: Option<PlaceId>,
    /// The low, degrees Fahrenheit.
    pub low_f: f64,
    /// What it is kept above.
    pub above_f: f64,
}

/// The nights of some half-days, from the lists' first on.
pub fn nights(shop: &Shop, loads: &Loads, half_days: std::ops::Range<usize>) -> Vec<Night> {
    let mut all = Vec::new();
    for pm in half_days.filter(|h| h % 2 == 1 && *h >= loads.first()) {
        for (item, of) in loads.items.iter().enumerate() {
            let Source::Thing(number) = of.source else { continue };
            let Some(above_f) = shop.book.things[number].keep_above_f else { continue };
            let Some(spot) = loads.before(item, pm + 1) else { continue };
            let place = place(loads, spot, pm);
            let heated = |place: PlaceId| shop.book.places[place.index()].heated;
            if matches!(spot, Spot::Place(place) if heated(place)) {
                continue;
            }
            if let Some(low_f) = low(shop, place, pm).filter(|low| *low < above_f) {
                all.push(Night { pm, item, spot, place, low_f, above_f });
            }
        }
    }
    all
}

/// Where a spot is in the night after a pm.
fn place(loads: &Loads, spot: Spot, pm: usize) -> Option<PlaceId> {
    match spot {
        Spot::Place(place) => Some(place),
        Spot::Truck(truck) => loads.rounds.truck_before(truck, pm + 1),
        Spot::Unit(unit) => loads.rounds.unit_before(unit, pm + 1),
    }
}

/// The lowest that is reported of the pm before and the am after; where nobody knows the place, of all places.
fn low(shop: &Shop, place: Option<PlaceId>, pm: usize) -> Option<f64> {
    let of = |place: PlaceId| {
        let reported = &shop.places[place].weather;
        [pm, pm + 1].into_iter().filter_map(|h| reported.get(h)?.low_f).reduce(f64::min)
    };
    match place {
        Some(place) => of(place),
        None => shop.places.ids().filter_map(of).reduce(f64::min),
    }
}
