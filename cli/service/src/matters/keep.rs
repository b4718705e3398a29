//! The prices that came of the choices are kept: one change of the book.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde_json::{Map, Value};
use yardless_answer::matters::{Matter, PriceAt};
use yardless_ask::matters::name;
use yardless_book::money::Cents;

use crate::book::keep::Change;
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::on_to;

/// The most cents of a price.
const MOST: i64 = 1_000_000_000;

/// Keeps the prices that the form names.
pub async fn keep(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let kept = desk.change(move |desk| {
        let standing = desk.book()?;
        let revision = fields.get("of").split('-').next().and_then(|number| number.parse().ok());
        let revision: i64 = revision.ok_or_else(|| {
            Refusal::input("web::answers", "It is not known of which book the prices are.", "Begin again.")
        })?;
        let book = &standing.book.written.book;
        let known = Matter::all(book).into_iter().flat_map(|matter| matter.prices(book));
        let mut set: Vec<(PriceAt, Cents)> = Vec::new();
        for (at, _) in known {
            let field = name(&at);
            if !fields.ticked(&field) {
                continue;
            }
            let cents = fields.get(&field).parse().ok().filter(|cents| (1..=MOST).contains(cents));
            let wrong = || Refusal::input("web::answers", "A price is no amount.", "Begin again.");
            set.push((at, Cents(cents.ok_or_else(wrong)?)));
        }
        if set.is_empty() {
            return Err(Refusal::input("web::answers", "No price is named.", "Begin again."));
        }
        let what = format!("Set what matters: {}", fields.all("says").collect::<Vec<_>>().join(", "));
        let change = Change { who: &who.account.name, what: what.trim_end_matches([':', ' ']), form: fields.form() };
        desk.keep(&change, revision, |book| with(book, &set))?.or_refuse()
    });
    kept.await?;
    Ok(on_to("/prices#kept"))
}

/// The book with prices.
fn with(book: &Value, set: &[(PriceAt, Cents)]) -> Value {
    let mut book = book.clone();
    for (at, cents) in set {
        let price = yardless_edit::value(cents);
        match at {
            PriceAt::Prices(field) => {
                if !book["prices"].is_object() {
                    book["prices"] = Value::Object(Map::new());
                }
                book["prices"][*field] = price;
            }
            PriceAt::Rank(id) => {
                let ranks = book["ranks"].as_array_mut().into_iter().flatten();
                ranks.filter(|rank| rank["id"] == **id).for_each(|rank| rank["late_day"] = price.clone());
            }
        }
    }
    book
}
