//! The table of events: no event twice.

use std::collections::BTreeMap;

use super::super::Book;
use super::super::fault::{Code, Fault};
use super::super::near::shown;
use super::{Judge, top};

/// Rule family: published reports.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let rows = book.reports.iter().flat_map(|reports| &reports.events);
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    for (index, row) in rows.enumerate().filter(|(_, row)| !row.event.is_empty()) {
        let before = *first.entry(row.event.to_lowercase()).or_insert(index);
        if before != index {
            let list = top("reports").field("events");
            let says = format!("another row is for the event `{}` already", shown(&row.event));
            let fault = Fault::new(Code::DuplicateId, list.index(index).field("event"), says)
                .help(format!("the first is {}; keep one of the two", list.index(before)));
            judge.fault(&[], fault);
        }
    }
}
