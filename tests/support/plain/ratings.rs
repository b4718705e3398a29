//! What may take what by the ratings entered (H7), read off the book.

use yardless_book::{Brakes, Equipment, Moves, Truck};

/// Pounds, loaded, as far as that is entered.
pub fn weighs(unit: &Equipment) -> u32 {
    if unit.weight_lb > 0 {
        return unit.weight_lb;
    }
    [unit.empty_lb, unit.contents_lb].into_iter().flatten().sum()
}

/// H7: no rating that is entered is exceeded, and hitch and brakes go together.
pub fn within_ratings(truck: &Truck, unit: &Equipment) -> bool {
    let lb = weighs(unit);
    let (towed, carried) = (unit.moves == Moves::Towed, unit.moves == Moves::Carried);
    let over = |most: Option<u32>, lb: u32| matches!(most, Some(most) if most < lb);
    let too_heavy = over(unit.rating_lb, lb)
        || (carried && over(truck.payload_lb, lb))
        || (towed && truck.weight_lb.is_some_and(|own| over(truck.combined_lb, own + lb)));
    let hitched = match &unit.hitch {
        Some(hitch) if towed => truck.hitches.is_empty() || truck.hitches.iter().any(|of| of == hitch),
        _ => true,
    };
    let brakes = !(towed && unit.brakes == Some(Brakes::Electric) && truck.brake_control == Some(false));
    !too_heavy && hitched && brakes
}
