//! What a unit weighs and what may take it by the ratings entered: rule H7, read off the book.

use yardless_book::{Brakes, Moves};
use yardless_plan::shop::{Id, Shop, TruckId, UnitId};

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
