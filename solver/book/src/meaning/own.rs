//! What only a crew of the shop's own may give: half-days kept open, and a home.

use super::super::fault::{Code, Fault};
use super::super::near::shown;
use super::super::{Book, Crew};
use super::names::Known;
use super::{Judge, top};

/// Rule families: C14, C15.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let places = Known::of("place", judge, "places", book.places.iter().map(|place| place.id.as_str()));
    for (number, crew) in book.crews.iter().enumerate() {
        if let Some(home) = &crew.home {
            places.expect(judge, top("crews").index(number).field("home"), home);
        }
        if !crew.own {
            of_another(crew, number, judge);
        }
    }
}

/// Another firm has no days that the shop could keep open, and sees to its own driving.
fn of_another(crew: &Crew, number: usize, judge: &mut Judge) {
    let at = top("crews").index(number);
    for (given, field) in [(crew.keep_open > 0, "keep_open"), (crew.home.is_some(), "home")] {
        if given {
            let says = format!("the crew `{}` is not the shop's own, and gives `{field}`", shown(&crew.id));
            let help = format!("take `{field}` away, or `own: false` where it is a crew of yours");
            let fault = Fault::new(Code::People, at.field(field), says).help(help);
            judge.fault(&[at.field(field), at.field("own")], fault);
        }
    }
}
