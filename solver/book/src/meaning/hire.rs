//! What is hired: from where.

use super::super::Book;
use super::super::fault::{Code, Fault};
use super::super::money::Cents;
use super::super::near::shown;
use super::{Judge, top};

/// Rule family: C13.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let hired = book.equipment.iter().enumerate().filter(|(_, unit)| unit.hire_half_day > Cents::ZERO);
    for (index, unit) in hired.filter(|(_, unit)| unit.hire_place.is_none()) {
        let at = top("equipment").index(index);
        let says = format!("`{}` is hired, and where from is not said", shown(&unit.id));
        let fault = Fault::new(Code::MissingField, at.field("hire_half_day"), says)
            .help("give the place in `hire_place`: standing there it costs no hire");
        judge.fault(&[at.field("hire_place")], fault);
    }
}
