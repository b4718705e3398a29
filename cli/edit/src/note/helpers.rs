//! Who helps a crew with a step (W11), as somebody says it.

use yardless_book::Book;

use super::fill::crew_id;
use crate::trouble::words::near;
use crate::trouble::{NotHelper, OfNote, Trouble};

/// The helpers' ids, where they are given by id or name; nothing given: nobody helps. All that is wrong is told at once.
pub fn named(book: &Book, step: &str, crew: &str, given: &[String]) -> Result<Vec<String>, Trouble> {
    let mut ids: Vec<String> = Vec::new();
    let mut faults = Vec::new();
    for asked in given.iter().map(|of| of.trim()).filter(|of| !of.is_empty()) {
        let id = crew_id(book, asked);
        let found = book.crews.iter().find(|of| of.id == id);
        let fault = match found {
            None => Some(NotHelper::Unknown {
                asked: asked.to_owned(),
                near: near(asked, book.crews.iter().map(|of| of.id.as_str())),
            }),
            Some(of) if of.id == crew => Some(NotHelper::Itself(id.clone())),
            Some(of) if !of.own => Some(NotHelper::NotOwn(id.clone())),
            Some(_) if ids.contains(&id) => Some(NotHelper::Twice(id.clone())),
            Some(_) => None,
        };
        match fault {
            Some(fault) => faults.push(fault),
            None => ids.push(id),
        }
    }
    if faults.is_empty() {
        return Ok(ids);
    }
    let known = book.crews.iter().filter(|of| of.own && of.id != crew).map(|of| of.id.clone()).collect();
    Err(OfNote::Helpers { step: step.to_owned(), faults, known }.into())
}
