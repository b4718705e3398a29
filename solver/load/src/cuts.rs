//! Which extra drives could help where some things are not met: of these, every set of drives that will do has one.

use yardless_plan::shop::{Id, PlaceId, Shop};

use crate::network::{Drive, Ends, Paths};
use crate::serve::Served;

/// The number of a drive among all that may be.
pub fn number(shop: &Shop, drive: Drive) -> usize {
    let places = shop.places.len();
    (drive.h * places + drive.from.index()) * places + drive.to.index()
}

/// The drive of a number.
pub fn drive(shop: &Shop, number: usize) -> Drive {
    let places = shop.places.len();
    let place = |n: usize| PlaceId::from_index(n % places);
    Drive { h: number / places / places, from: place(number / places), to: place(number) }
}

/// The cuts that a flow proves: a drive that leads to nothing dearer than where it sets out leaves the flow's prices as
/// they are, so that it alone, or with others like it, meets no more.
pub fn cuts(shop: &Shop, paths: &Paths, served: &Served) -> [Vec<usize>; 2] {
    served.prices().map(|prices| {
        let mut cut = Vec::new();
        for ends in &paths.ends {
            helpful(shop, ends, &prices, &mut cut);
        }
        cut
    })
}

fn helpful(shop: &Shop, ends: &Ends, prices: &[i64], cut: &mut Vec<usize>) {
    let mut low = vec![i64::MAX; shop.places.len()];
    let mut high = vec![i64::MIN; shop.places.len()];
    for (place, node) in &ends.from {
        low[place.index()] = low[place.index()].min(prices[*node]);
    }
    for (place, node) in &ends.to {
        high[place.index()] = high[place.index()].max(prices[*node]);
    }
    for from in shop.places.ids() {
        for to in shop.places.ids().filter(|to| *to != from) {
            if low[from.index()] < high[to.index()] {
                cut.push(number(shop, Drive { h: ends.h, from, to }));
            }
        }
    }
}
