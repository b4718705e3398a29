//! The hauls of a plan.

use yardless_plan::HaulRow;
use yardless_plan::shop::{HaulTime, PlaceId, Shop, TruckId, UnitId};

/// A haul.
#[derive(Clone, Debug)]
pub struct Trip {
    /// The unit.
    pub unit: UnitId,
    /// Whence.
    pub from: PlaceId,
    /// Where to.
    pub to: PlaceId,
    /// Index of the half-day.
    pub at: usize,
    /// At its end.
    pub evening: bool,
    /// The truck.
    pub truck: TruckId,
    /// What it takes; `None`: the drive is not known.
    pub time: Option<HaulTime>,
    /// Whether it needs a day on which the road is clear.
    pub needs_clear: bool,
    /// What is said of it besides; `None`: nothing.
    pub mark: Option<TripMark>,
}

/// What is said of a haul besides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TripMark {
    /// The kept plan that is laid beside it does not make it.
    New,
    /// Something that does not hold any more is about it.
    Broken,
}

impl Trip {
    /// Whether it does not hold any more.
    pub fn broken(&self) -> bool {
        self.mark == Some(TripMark::Broken)
    }

    /// When in its day it is made: `early`, `at noon`, `evening`.
    pub fn moment(&self, shop: &Shop) -> &'static str {
        match (self.evening, shop.horizon.half_day(self.at).is_pm()) {
            (true, _) => "evening",
            (false, true) => "at noon",
            (false, false) => "early",
        }
    }
}

/// The hauls that rows name, in the order of time.
pub fn trips<'p>(shop: &Shop, rows: impl IntoIterator<Item = &'p HaulRow>) -> Vec<Trip> {
    let place = |id: &str| shop.find_place(id);
    let mut trips: Vec<Trip> = rows
        .into_iter()
        .filter_map(|row| {
            let unit = shop.find_unit(&row.unit)?;
            let (from, to) = (place(&row.from)?, place(&row.to)?);
            let at = shop.horizon.index(row.at)?;
            Some(Trip {
                unit,
                from,
                to,
                at,
                evening: row.evening,
                truck: shop.find_truck(&row.truck)?,
                time: shop.haul_time(shop.units[unit].moves, from, to),
                needs_clear: shop.may_haul(unit, from, to, at) == Some(true),
                mark: None,
            })
        })
        .collect();
    trips.sort_by_key(|trip| (trip.at, trip.evening, trip.truck, trip.unit));
    trips
}
