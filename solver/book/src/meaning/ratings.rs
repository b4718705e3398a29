//! What a unit weighs is given once (H7).

use super::super::Book;
use super::super::fault::{Code, Fault};
use super::super::near::shown;
use super::{Judge, top};

/// Rule family: a loaded weight, or an empty one and what is in it.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    for (index, unit) in book.equipment.iter().enumerate().filter(|(_, unit)| unit.weight_lb > 0) {
        let at = top("equipment").index(index);
        let empty = unit.empty_lb.map(|_| "empty_lb");
        for field in empty.into_iter().chain(unit.contents_lb.map(|_| "contents_lb")) {
            let says = format!("`{}` gives its loaded weight in `weight_lb` as well", shown(&unit.id));
            let fault = Fault::new(Code::WrongNumber, at.field(field), says)
                .help("give `weight_lb` alone, or in its place `empty_lb` and `contents_lb`");
            judge.fault(&[at.field("weight_lb")], fault);
        }
    }
}
