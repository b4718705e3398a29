//! What a book does not say yet, where a plan needs it: a sentence each.

use yardless_book::{Book, Equipment, Lacking, Moves, Place};
use yardless_plan::nothing_hauled;

/// That nothing can be hauled to places, and why: of those that no drive leads to, the ones asked for.
pub fn drives(book: &Book, of: impl Fn(&Place) -> bool) -> Vec<String> {
    let alone = book.cut_off().into_iter().filter(|place| of(place));
    // Coordinates of one place alone estimate nothing.
    let (with, without): (Vec<&Place>, Vec<&Place>) = alone.partition(|place| place.at.is_some());
    [without, with].iter().filter(|places| !places.is_empty()).map(|places| sentence(&nothing_hauled(places))).collect()
}

/// That trailers, of those asked for, have no weight: any truck that tows may be sent for them.
pub fn weights(book: &Book, of: impl Fn(&Equipment) -> bool) -> Option<String> {
    let towed = || book.equipment.iter().filter(|unit| unit.moves == Moves::Towed && of(unit));
    let names = |lacking: Lacking| {
        let of = towed().filter(|unit| unit.lacking() == Some(lacking));
        of.map(|unit| unit.name.as_deref().unwrap_or(&unit.id)).collect::<Vec<_>>().join(", ")
    };
    let (weight, contents) = (names(Lacking::Weight), names(Lacking::Contents));
    let weight = (!weight.is_empty())
        .then(|| format!("No weight is entered of {weight}: any truck that tows is taken to be strong enough."));
    let contents = (!contents.is_empty()).then(|| {
        format!("What is in {contents} is not entered: reckoned is what it weighs empty, and it weighs more.")
    });
    let says: Vec<String> = weight.into_iter().chain(contents).collect();
    (!says.is_empty()).then(|| says.join(" "))
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    first + letters.as_str() + "."
}
