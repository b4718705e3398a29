//! Where somebody has seen a thing (L1): the lists go by it from the next half-day on.

use serde_json::json;
use yardless_book::{Book, Path, Seen};

use super::NoteContext;
use super::ranges::place_id;
use crate::changes::BookChange;
use crate::trouble::words::near;
use crate::trouble::{OfName, Trouble};
use crate::{Changes, Edit};

/// `THING at PLACE`.
pub fn lies(context: &NoteContext, thing: usize, place: &str) -> Result<Changes, Trouble> {
    let at = place_id(context.book, place)?.to_owned();
    Ok(seen(context, thing, Some(at), None))
}

/// `THING in TRUCK`, `THING in UNIT`.
pub fn rides(context: &NoteContext, thing: usize, carrier: &str) -> Result<Changes, Trouble> {
    let rides_in = carrier_id(context.book, carrier)?.to_owned();
    Ok(seen(context, thing, None, Some(rides_in)))
}

fn seen(context: &NoteContext, thing: usize, at: Option<String>, rides_in: Option<String>) -> Changes {
    let of = &context.book.things[thing];
    let by = context.request.by.clone();
    let is = Seen { when: context.now, at, rides_in, by, extra: yardless_book::Extra::new() };
    let mut changes = Changes::default();
    changes.edits.push(Edit::Set(Path::default().field("things").index(thing).field("seen"), json!(is)));
    changes.tell(BookChange::Seen { thing: of.id.clone(), was: of.seen.clone(), is });
    changes
}

/// The id of a truck or a unit that is named by its id or its name.
fn carrier_id<'b>(book: &'b Book, word: &str) -> Result<&'b str, Trouble> {
    let trucks = book.trucks.iter().map(|truck| (truck.id.as_str(), truck.name.as_deref()));
    let units = book.equipment.iter().map(|unit| (unit.id.as_str(), unit.name.as_deref()));
    let all: Vec<(&str, Option<&str>)> = trucks.chain(units).collect();
    let same = |name: &str| name.to_lowercase() == word.to_lowercase();
    let by_id = all.iter().find(|(id, _)| *id == word);
    let found = by_id.or_else(|| all.iter().find(|(id, name)| same(id) || name.is_some_and(same)));
    found.map(|(id, _)| *id).ok_or_else(|| {
        let names = all.iter().flat_map(|(id, name)| [Some(*id), *name]).flatten();
        let known = all.iter().map(|(id, _)| (*id).to_owned()).collect();
        OfName::Carrier { word: word.to_owned(), near: near(word, names), known }.into()
    })
}
