//! Things: where they ride or lie, kits that some thing counts as, and where material is (L1, L2, L7).

use super::super::fault::{Code, Fault, Path};
use super::super::near::{meant, shown};
use super::super::{Book, Material, Step, Thing};
use super::names::Known;
use super::{Judge, top};

/// The names that things may be at or in.
struct Spots<'b> {
    places: Known<'b>,
    trucks: Known<'b>,
    units: Known<'b>,
}

/// Rule families: L1, kits, material.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let things = Known::ids(judge, "thing", &top("things"), book.things.iter().map(|thing| thing.id.as_str()));
    let spots = Spots {
        places: Known::of("place", judge, "places", book.places.iter().map(|place| place.id.as_str())),
        trucks: Known::of("truck", judge, "trucks", book.trucks.iter().map(|truck| truck.id.as_str())),
        units: Known::of("unit", judge, "equipment", book.equipment.iter().map(|unit| unit.id.as_str())),
    };
    for (number, thing) in book.things.iter().enumerate() {
        of_thing(thing, &top("things").index(number), &spots, &things, judge);
    }
    let kits = Known::kits(judge, book.things.iter().map(|thing| thing.counts_as.as_deref()));
    for (number, job) in book.jobs.iter().enumerate() {
        for (index, step) in job.steps.iter().enumerate() {
            let at = top("jobs").index(number).field("steps").index(index);
            of_step(step, &at, &spots.places, &kits, judge);
        }
    }
}

/// L1: it is in one place, which there is.
fn of_thing(thing: &Thing, at: &Path, spots: &Spots, things: &Known, judge: &mut Judge) {
    let id = shown(&thing.id);
    one_place(thing.at.as_ref(), thing.rides_in.as_ref(), at, &format!("the thing `{id}`"), judge);
    if let Some(place) = &thing.at {
        spots.places.expect(judge, at.field("at"), place);
    }
    if let Some(carrier) = &thing.rides_in {
        rides(&thing.id, carrier, at.field("rides_in"), spots, things, judge);
    }
    let elsewhere = thing.home.as_ref().filter(|home| spots.places.whole() && !spots.places.has(home));
    if let Some(home) = elsewhere {
        rides(&thing.id, home, at.field("home"), spots, things, judge);
    }
    if thing.at.is_none() && thing.rides_in.is_none() && thing.home.is_none() && thing.seen.is_none() {
        let says = format!("nobody says where the thing `{id}` is");
        let help = "give `at` (a place), `rides_in` (a truck or unit) or its `home`";
        let asked = ["at", "rides_in", "home", "seen"].map(|field| at.field(field));
        judge.fault(&asked, Fault::new(Code::MissingField, at.clone(), says).help(help));
    }
    let Some(seen) = &thing.seen else { return };
    let of_seen = at.field("seen");
    one_place(seen.at.as_ref(), seen.rides_in.as_ref(), &of_seen, &format!("the thing `{id}`, as seen,"), judge);
    if let Some(place) = &seen.at {
        spots.places.expect(judge, of_seen.field("at"), place);
    }
    if let Some(carrier) = &seen.rides_in {
        rides(&thing.id, carrier, of_seen.field("rides_in"), spots, things, judge);
    }
    if seen.at.is_none() && seen.rides_in.is_none() {
        let says = format!("the thing `{id}` was seen, and nobody says where");
        let help = "give `at` (a place) or `rides_in` (a truck or unit), or take `seen` away";
        let asked = [of_seen.field("at"), of_seen.field("rides_in")];
        judge.fault(&asked, Fault::new(Code::MissingField, of_seen, says).help(help));
    }
}

/// It lies somewhere, or rides in something, and not both.
fn one_place(at: Option<&String>, rides_in: Option<&String>, path: &Path, what: &str, judge: &mut Judge) {
    let (Some(place), Some(carrier)) = (at, rides_in) else { return };
    let says = format!("{what} is in two places at once: at `{}` and in `{}`", shown(place), shown(carrier));
    let help = "keep `at` or `rides_in`";
    let fault = Fault::new(Code::TwoPlaces, path.field("rides_in"), says).help(help);
    judge.fault(&[path.field("at"), path.field("rides_in")], fault);
}

/// What it rides in is one truck or one unit.
fn rides(thing: &str, carrier: &str, path: Path, spots: &Spots, things: &Known, judge: &mut Judge) {
    let name = shown(carrier);
    let is = [spots.trucks.has(carrier), spots.units.has(carrier)];
    let home = matches!(path.0.last(), Some(super::PathPart::Field(field)) if field == "home");
    let (code, says, help) = match is {
        [true, true] => (
            Code::TwoPlaces,
            format!("`{name}` is a truck and a unit: the thing would be in two places at once"),
            "give the truck or the unit an id of its own".to_owned(),
        ),
        [false, false] if thing == carrier => (
            Code::RidesIn,
            format!("the thing `{name}` rides in itself"),
            "name the truck or the unit that it rides in".to_owned(),
        ),
        [false, false] if things.has(carrier) => (
            Code::RidesIn,
            format!("`{name}` is a thing, and things ride in trucks and units alone"),
            "name the truck or the unit that both ride in".to_owned(),
        ),
        [false, false] if spots.trucks.whole() && spots.units.whole() => {
            let known = spots.trucks.all().chain(spots.units.all());
            let (near, what) = if home {
                (judge.suggest.nearest(carrier, known.chain(spots.places.all())), "place, truck or unit")
            } else {
                (judge.suggest.nearest(carrier, known), "truck or unit")
            };
            let says = format!("no {what} `{name}`{}", meant(near));
            (Code::UnknownId, says, format!("correct the name, or add the {what}"))
        }
        _ => return,
    };
    judge.fault(&[], Fault::new(code, path, says).help(help));
}

/// Its kits are known, and its material is at one place at a time.
fn of_step(step: &Step, at: &Path, places: &Known, kits: &Known, judge: &mut Judge) {
    for (nth, kit) in step.takes.iter().enumerate() {
        kits.expect(judge, at.field("takes").index(nth), kit);
    }
    for (nth, material) in step.material.iter().enumerate() {
        of_material(material, &at.field("material").index(nth), places, judge);
    }
}

fn of_material(material: &Material, at: &Path, places: &Known, judge: &mut Judge) {
    for (field, place) in [("at", &material.at), ("to", &material.to)] {
        if let Some(place) = place {
            places.expect(judge, at.field(field), place);
        }
    }
    let what = shown(&material.what);
    if material.at.is_some() && material.expected.is_some() {
        let says = format!("`{what}` is on hand and on order at once");
        let help = "keep `at` for what lies there, and enter what is still to come beside it";
        let fault = Fault::new(Code::TwoPlaces, at.field("expected"), says).help(help);
        judge.fault(&[at.field("at"), at.field("expected")], fault);
    }
    if material.confirmed && material.expected.is_none() {
        let says = format!("`{what}` is confirmed, and no date is given for it");
        let fault = Fault::new(Code::Waits, at.field("confirmed"), says)
            .help("give the date in `expected`, or take `confirmed` away");
        judge.fault(&[at.field("expected")], fault);
    }
}
