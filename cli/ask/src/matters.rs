//! What matters to an owner: the plans that choices are made between, and the prices put into the book.

use serde_json::{Map, Value};
use yardless_answer::matters::{PriceAt, PriceSet, Weighing};
use yardless_book::{Book, Path};
use yardless_edit::trouble::Trouble;
use yardless_edit::{BookChange, Changes, Edit, value};
use yardless_engine::Limits;

use crate::asked::Asked;

/// Rounds of search for each plan that is looked for: below a hundred, from which on plans are proven, which takes long.
pub const ROUNDS: u64 = 30;

/// Looks for the plans that choices are made between.
pub fn weighing(asked: &Asked, limits: &Limits) -> Result<Weighing, Trouble> {
    Ok(Weighing::new(&asked.given()?, limits))
}

/// Puts the prices that the answers change into the book.
pub fn changes(book: &Book, prices: &[PriceSet]) -> Changes {
    let mut changes = Changes::default();
    for set in prices.iter().filter(|set| set.is != set.was) {
        let Some(path) = path(book, &set.at) else { continue };
        changes.tell(BookChange::Price { at: path.clone(), was: set.was, is: set.is });
        changes.edits.push(Edit::Set(path, value(&set.is)));
    }
    changes
}

/// The same where the book's text has no prices yet: all of them come together.
pub fn begun(text: &str, edits: Vec<Edit>) -> Vec<Edit> {
    let has = serde_json::from_str::<Value>(text).is_ok_and(|book| book["prices"].is_object());
    let prices = Path::default().field("prices");
    let first = (!has).then(|| Edit::Set(prices, Value::Object(Map::new())));
    first.into_iter().chain(edits).collect()
}

/// Where a price stands in the book; `None`: the rank is not there.
pub fn path(book: &Book, at: &PriceAt) -> Option<Path> {
    match at {
        PriceAt::Prices(field) => Some(Path::default().field("prices").field(field)),
        PriceAt::Rank(id) => {
            let rank = book.ranks.iter().position(|rank| rank.id == *id)?;
            Some(Path::default().field("ranks").index(rank).field("late_day"))
        }
    }
}

/// The name of a price in a form.
pub fn name(at: &PriceAt) -> String {
    match at {
        PriceAt::Prices(field) => format!("price.{field}"),
        PriceAt::Rank(id) => format!("rank.{id}"),
    }
}
