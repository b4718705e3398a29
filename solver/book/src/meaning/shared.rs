//! Kinds of which one unit serves any number of needs at a time (E8).

use super::super::fault::{Code, Fault};
use super::super::near::shown;
use super::super::{Book, Need};
use super::{Judge, top};

/// Rule family: a unit of a shared kind has no other kind.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    for (number, unit) in book.equipment.iter().enumerate() {
        let Some(kind) = unit.kinds.iter().find(|kind| is_shared(book, kind)) else { continue };
        let Some(other) = unit.kinds.iter().position(|other| other != kind) else { continue };
        let at = top("equipment").index(number).field("kinds");
        let says = format!(
            "the unit `{}` is of the shared kind `{}` and of `{}` as well",
            shown(&unit.id),
            shown(kind),
            shown(&unit.kinds[other])
        );
        let help = "a unit of a shared kind has that kind alone: take the other away, or `shared` off the kind";
        judge.fault(&[at.clone(), top("kinds")], Fault::new(Code::SharedKind, at.index(other), says).help(help));
    }
}

/// Whether the kind is shared.
pub(super) fn is_shared(book: &Book, kind: &str) -> bool {
    book.kinds.iter().any(|known| known.shared && known.id == kind)
}

/// Whether the unit is of a shared kind, by its index.
pub(super) fn is_shared_unit(book: &Book, unit: usize) -> bool {
    book.equipment[unit].kinds.iter().any(|kind| is_shared(book, kind))
}

/// The first need of a shared kind for which too few different units are named, by their indices.
pub(super) fn unserved<'n>(book: &Book, needs: &'n [Need], units: &[usize]) -> Option<&'n Need> {
    let of = |kind: &String| {
        let mut named: Vec<usize> =
            units.iter().copied().filter(|unit| book.equipment[*unit].kinds.contains(kind)).collect();
        named.sort_unstable();
        named.dedup();
        named.len()
    };
    needs.iter().find(|need| is_shared(book, &need.kind) && of(&need.kind) < need.count as usize)
}
