//! Hauls, and the trucks that make them, in words.

use yardless_book::{Moves, visible};
use yardless_check::fact::{OfDrive, OfHaul, OfRoute, OfTruck, Over};
use yardless_plan::shop::{Closure, Id, TruckId, UnitId};

use crate::names::Names;

pub(super) fn of_unit(names: &Names, fact: &OfHaul) -> String {
    let (unit, half, place) = (|id| names.unit(id), |at| names.half(at), |id| names.place(id));
    let hauled = |id, at| format!("{} is hauled on {}", unit(id), half(at));
    match *fact {
        OfHaul::Outside { unit, at } => format!("{}, which is not within the horizon", hauled(unit, at)),
        OfHaul::SamePlace { unit, at, place: id } => format!("{} from {1} to {1}", hauled(unit, at), place(id)),
        OfHaul::Past { unit, at } => format!("{}, which is before now", hauled(unit, at)),
        OfHaul::Closed { unit, at } => format!("{}, when the shop does not work", hauled(unit, at)),
        OfHaul::Overtime { unit, at } => {
            format!("{}, when only a crew that works in overtime hauls, with its own truck", hauled(unit, at))
        }
        OfHaul::Out { unit, at } => format!("{}, while it is out", hauled(unit, at)),
    }
}

pub(super) fn of_drive(names: &Names, fact: &OfDrive) -> String {
    let (unit, half, place) = (|id| names.unit(id), |at| names.half(at), |id| names.place(id));
    match *fact {
        OfDrive::NoTravel { unit: id, at, place: there } => {
            format!("{} is carried on {}, when there is no travel at {}", unit(id), half(at), place(there))
        }
        OfDrive::RoadClosed { unit: id, at, place: there, why } => {
            let (at, there, why) = (half(at), place(there), closes(why));
            format!("{} is towed on {at}; the road at {there} is closed to trailers: {why}", unit(id))
        }
        OfDrive::NotMarkedClear { unit: id, at } => format!(
            "{} on {} goes by a road that is only expected clear, and is not marked as needing a clear day",
            unit(id),
            half(at)
        ),
        OfDrive::MarkedClear { unit: id, at } => {
            format!(
                "{} on {} is marked as needing a clear day, and goes by no road that is only expected clear",
                unit(id),
                half(at)
            )
        }
        OfDrive::NoDrive { unit: id, at, from, to } => {
            format!("{} on {}: the drive from {} to {} is not known", unit(id), half(at), place(from), place(to))
        }
        OfDrive::Minutes { unit: id, at, is, said } => {
            format!("{} on {}: the haul takes {is} minutes, not {said}", unit(id), half(at))
        }
        OfDrive::NotMarkedEstimate { unit: id, at } => {
            format!("{} on {}: the drive is estimated and not marked so", unit(id), half(at))
        }
        OfDrive::MarkedEstimate { unit: id, at } => {
            format!("{} on {}: the drive is marked as estimated and is a known one", unit(id), half(at))
        }
        OfDrive::TooHeavy { unit: id, at, truck } => {
            let (weighs, tows) = (names.shop.units[id].weight_lb, names.shop.trucks[truck].tow_lb);
            let truck = names.truck(truck);
            format!("{truck} tows {} on {}: {weighs} lb, and it tows {tows} lb", unit(id), half(at))
        }
        OfDrive::OverRating { unit: id, at, truck, over } => {
            let why = over_rating(names, id, truck, over);
            format!("{} is to haul {} on {}: {why}", names.truck(truck), unit(id), half(at))
        }
        OfDrive::OverPosted { unit: id, at, truck, place: there, posted, weigh } => format!(
            "{} is to haul {} on {}: together they weigh {weigh} lb, and {posted} lb are posted at {}",
            names.truck(truck),
            unit(id),
            half(at),
            place(there)
        ),
    }
}

/// What a truck with a unit is over, or has not.
fn over_rating(names: &Names, unit: UnitId, truck: TruckId, over: Over) -> String {
    let (of, by) = (&names.shop.book.equipment[unit.index()], &names.shop.book.trucks[truck.index()]);
    let (lb, most) = (of.loaded_lb(), |rating: Option<u32>| rating.unwrap_or(0));
    match over {
        Over::OwnRating => format!("it weighs {lb} lb, and is rated for {} lb", most(of.rating_lb)),
        Over::Payload => format!("it weighs {lb} lb, and the truck carries {} lb", most(by.payload_lb)),
        Over::Combined => {
            let both = lb + most(by.weight_lb);
            format!("together they weigh {both} lb, and the truck's combined rating is {} lb", most(by.combined_lb))
        }
        Over::Hitch => format!("the truck has no hitch `{}`", of.hitch.as_deref().map(visible).unwrap_or_default()),
        Over::Brakes => "it has electric brakes, and the truck cannot work them".to_owned(),
    }
}

pub(super) fn of_route(names: &Names, fact: &OfRoute) -> String {
    let (unit, half, place) = (|id| names.unit(id), |at| names.half(at), |id| names.place(id));
    match *fact {
        OfRoute::Twice { unit: id, at } => format!("{} is hauled more than once on {}", unit(id), half(at)),
        OfRoute::NotThere { unit: id, at, from, stands } => {
            let there = stands.map_or("on the road", place);
            format!("{} is hauled from {} on {}, and is at {there}", unit(id), place(from), half(at))
        }
        OfRoute::OnlyArrives { unit: id, at, from } => {
            let (from, at) = (place(from), half(at));
            format!("{} is hauled from {from} at the start of {at}, in which it only arrives", unit(id))
        }
        OfRoute::EveningOfMorning { unit: id, at } => {
            format!("{} is hauled in the evening of {}, which is a morning", unit(id), half(at))
        }
        OfRoute::TooLongForEvening { unit: id, at } => {
            format!("{} is hauled in the evening of {}, and the haul takes too long for it", unit(id), half(at))
        }
    }
}

/// What closes a road to trailers.
fn closes(why: Closure) -> &'static str {
    match why {
        Closure::Storm => "there is a storm",
        Closure::NoTravel => "there is no travel",
        Closure::Covered => "it is covered",
        Closure::Season => "no trailers go there in that time of the year",
    }
}

pub(super) fn of_truck(names: &Names, fact: &OfTruck) -> String {
    match *fact {
        OfTruck::Away { truck, at, crew } => {
            let why = crew.map_or("it is out".to_owned(), |crew| format!("{} is away", names.crew(crew)));
            format!("{} hauls on {}, when {why}", names.truck(truck), names.half(at))
        }
        OfTruck::TooMany { truck, at, moves, count, most } => {
            let verb = match moves {
                Moves::Towed => "tows",
                Moves::Carried => "carries",
            };
            format!("{} {verb} {count} units on {}, and may {most}", names.truck(truck), names.half(at))
        }
    }
}
