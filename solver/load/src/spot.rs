//! Where a thing can be: lying at a place, in a truck, in a unit (L1).

use yardless_plan::shop::{PlaceId, Shop, TruckId, UnitId};

/// Where a thing is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// It lies at a place.
    Place(PlaceId),
    /// It rides in a truck.
    Truck(TruckId),
    /// It rides in a unit, and goes where that is hauled.
    Unit(UnitId),
}

impl Spot {
    /// What a truck or a unit of that id is.
    pub fn carrier(shop: &Shop, id: &str) -> Option<Self> {
        shop.find_truck(id).map(Self::Truck).or_else(|| shop.find_unit(id).map(Self::Unit))
    }

    /// What a place, a truck or a unit of that id is.
    pub fn named(shop: &Shop, id: &str) -> Option<Self> {
        shop.find_place(id).map(Self::Place).or_else(|| Self::carrier(shop, id))
    }

    /// Where something is that is said to lie at a place or to ride in something.
    pub fn said(shop: &Shop, at: Option<&String>, rides_in: Option<&String>) -> Option<Self> {
        let lies = at.and_then(|id| shop.find_place(id)).map(Self::Place);
        lies.or_else(|| rides_in.and_then(|id| Self::carrier(shop, id)))
    }
}
