//! The units that are held, in words.

use yardless_check::fact::OfUnit;

use crate::names::Names;

pub(super) fn says(names: &Names, fact: &OfUnit) -> String {
    match *fact {
        OfUnit::Twice { by, unit } => {
            format!("{} names {} twice; it serves one need at a time", names.holder(by), names.unit(unit))
        }
        OfUnit::NoPower { by } => format!("{} has no power yet and holds no unit that gives it", names.holder(by)),
        OfUnit::NotHeld { by, unit } => {
            format!("{} does not hold {}, which it has held so far", names.holder(by), names.unit(unit))
        }
        OfUnit::Lacks { by, count, of } => {
            format!("{} lacks {count} of `{}`", names.holder(by), names.shop.kinds[of].name)
        }
        OfUnit::Idle { by, unit } => {
            format!("{} holds {}, which it does not need", names.holder(by), names.unit(unit))
        }
        OfUnit::ParkedNotDone { job } => format!("units are parked at {}, which is not done", names.job(job)),
        OfUnit::HeldTwice { unit, by, other, at } => {
            let (by, other) = (names.holder(by), names.holder(other));
            format!("{} is held by {by} and by {other} on {}", names.unit(unit), names.half(at))
        }
        OfUnit::Out { unit, by, at } => {
            let (by, at) = (names.holder(by), names.half(at));
            format!("{} is held by {by} on {at}, while it is out", names.unit(unit))
        }
        OfUnit::Elsewhere { unit, by, at, stands, place } => format!(
            "{}, held by {}, stands at {} on {}, not at {}",
            names.unit(unit),
            names.holder(by),
            names.place(stands),
            names.half(at),
            names.place(place)
        ),
        OfUnit::OnRoad { unit, by, at } => {
            let (by, at) = (names.holder(by), names.half(at));
            format!("{}, held by {by}, is on the road in all of {at}", names.unit(unit))
        }
        OfUnit::TooFewSpots { place, count, spots, at } => {
            let (place, at) = (names.place(place), names.half(at));
            let noun = if spots == 1 { "spot" } else { "spots" };
            format!("{count} trailers stand at {place} on {at}, which has {spots} {noun}")
        }
    }
}
