//! Drive minutes between places: listed, or estimated from the coordinates (H6).

use std::collections::HashMap;

use yardless_book::Book;

use super::{Id, PlaceFacts, PlaceId, Table, calendar::positions};

/// A drive between two places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drive {
    /// Whole minutes.
    pub minutes: u32,
    /// Whether it is estimated from the coordinates.
    pub estimate: bool,
}

/// All drives, either direction.
#[derive(Clone, Debug)]
pub(super) struct Drives {
    places: usize,
    minutes: Vec<Option<Drive>>,
}

impl Drives {
    pub(super) fn new(book: &Book, places: &Table<PlaceId, PlaceFacts>) -> Self {
        let position = positions(book.places.iter().map(|place| place.id.as_str()));
        let listed: HashMap<(usize, usize), u32> = book
            .drives
            .iter()
            // A drive to a place that the book no longer has says nothing.
            .filter_map(|drive| {
                let (a, b) = (*position.get(drive.from.as_str())?, *position.get(drive.to.as_str())?);
                Some([((a, b), drive.minutes), ((b, a), drive.minutes)])
            })
            .flatten()
            .collect();
        let n = places.len();
        let between = |a: usize, b: usize| {
            if a == b {
                return Some(Drive { minutes: 0, estimate: false });
            }
            if let Some(minutes) = listed.get(&(a, b)) {
                return Some(Drive { minutes: *minutes, estimate: false });
            }
            let at = |i| places[PlaceId::from_index(i)].at;
            Some(Drive { minutes: great_circle_minutes(at(a)?, at(b)?), estimate: true })
        };
        // The estimate is taken in one direction only, so that floating-point noise cannot make the two differ.
        let minutes = (0..n * n).map(|i| between((i / n).min(i % n), (i / n).max(i % n))).collect();
        Self { places: n, minutes }
    }

    pub(super) fn between(&self, from: PlaceId, to: PlaceId) -> Option<Drive> {
        self.minutes[from.index() * self.places + to.index()]
    }
}

/// H6: great-circle kilometres (mean Earth radius 6371.0088) x 1.3 / 50 km/h in minutes, rounded to 0.01, then up to a
/// whole minute. The mean radius is that of the International Union of Geodesy and Geophysics (Moritz, Geodetic
/// Reference System 1980); 1.3 and 50 km/h are the planning rules' own.
pub fn great_circle_minutes(from: [f64; 2], to: [f64; 2]) -> u32 {
    let [lat_a, lon_a] = from.map(f64::to_radians);
    let [lat_b, lon_b] = to.map(f64::to_radians);
    let haversine =
        ((lat_b - lat_a) / 2.0).sin().powi(2) + lat_a.cos() * lat_b.cos() * ((lon_b - lon_a) / 2.0).sin().powi(2);
    let kilometres = 2.0 * 6371.0088 * haversine.sqrt().min(1.0).asin();
    let hundredths = (kilometres * 1.3 / 50.0 * 60.0 * 100.0).round();
    (hundredths / 100.0).ceil() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn estimate_rounds_to_a_hundredth_before_it_rounds_up() {
        // One degree along a meridian is 6371.0088 x pi / 180 = 111.195080 km; x 1.3 / 50 x 60 = 173.46 min, up to 174.
        assert_eq!(great_circle_minutes([44.0, -72.0], [45.0, -72.0]), 174);
        // 0.0115301 degrees are 1.2820964 km: 2.00007 min rounds to 2.00 and stays 2; without the rounding it would be 3.
        assert_eq!(great_circle_minutes([44.0, -72.0], [44.011_530_1, -72.0]), 2);
        assert_eq!(great_circle_minutes([44.0, -72.0], [44.0, -72.0]), 0);
    }
}
