//! What a unit weighs and what may take it by the ratings entered and the weights posted: rules H7 and H8, read off the book.

use yardless_book::{Brakes, Moves};
use yardless_plan::shop::{Id, PlaceId, Shop, TruckId, UnitId};

use super::fact::Over;

/// Pounds, loaded, as far as that is entered.
pub(super) fn weighs(shop: &Shop, unit: UnitId) -> u32 {
    let unit = &shop.book.equipment[unit.index()];
    if unit.weight_lb > 0 { unit.weight_lb } else { unit.empty_lb.unwrap_or(0) + unit.contents_lb.unwrap_or(0) }
}

/// What a truck with the unit is over, or lacks.
pub(super) fn over(shop: &Shop, unit: UnitId, truck: TruckId) -> Option<Over> {
    let lb = weighs(shop, unit);
    let (unit, truck) = (&shop.book.equipment[unit.index()], &shop.book.trucks[truck.index()]);
    if unit.rating_lb.is_some_and(|most| lb > most) {
        return Some(Over::OwnRating);
    }
    match unit.moves {
        Moves::Carried => truck.payload_lb.filter(|most| lb > *most).map(|_| Over::Payload),
        Moves::Towed => {
            if truck.weight_lb.zip(truck.combined_lb).is_some_and(|(own, most)| own + lb > most) {
                return Some(Over::Combined);
            }
            let other = unit.hitch.as_ref().filter(|hitch| truck.hitches.iter().all(|of| of != *hitch));
            if other.is_some() && !truck.hitches.is_empty() {
                return Some(Over::Hitch);
            }
            let electric = unit.brakes == Some(Brakes::Electric);
            (electric && truck.brake_control == Some(false)).then_some(Over::Brakes)
        }
    }
}

/// Pounds of a truck with a unit, as far as that is entered.
pub(super) fn together(shop: &Shop, unit: UnitId, truck: TruckId) -> u32 {
    weighs(shop, unit) + shop.book.trucks[truck.index()].weight_lb.unwrap_or(0)
}

/// H8: the least weight posted at a place in a half-day that no frozen morning lifts.
pub(super) fn posted(shop: &Shop, place: PlaceId, h: usize) -> Option<u32> {
    let road = shop.book.places[place.index()].road.as_ref()?;
    let half_day = shop.horizon.half_day(h);
    let freezes = !half_day.is_pm() && shop.places[place].weather[h].low_f.is_some_and(|low| low < 32.0);
    let roads = shop.book.roads.iter().filter(|of| of.id == *road);
    let in_time = roads.flat_map(|of| &of.posted).filter(|of| of.on.holds(half_day.date()));
    in_time.filter(|of| !of.frozen_mornings || !freezes).map(|of| of.pounds).min()
}
