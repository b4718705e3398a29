//! A fact for programs: what kind it is, and what it says, by the book's ids.

use serde_json::{Map, Value, json};
use yardless_check::fact::{Fact, Field};
use yardless_plan::shop::Shop;

/// A fact as an object: `kind` is a name that stays, the rest is what that kind says. Half-days are written as in the book,
/// money in dollars.
pub fn fact(shop: &Shop, fact: &Fact) -> Map<String, Value> {
    let kind = ("kind".to_owned(), Value::from(fact.kind()));
    std::iter::once(kind).chain(fields(shop, fact)).collect()
}

/// What a fact says, without its kind.
pub fn fields(shop: &Shop, fact: &Fact) -> Map<String, Value> {
    fact.fields().into_iter().map(|(name, of)| (name.to_owned(), field(shop, of))).collect()
}

fn field(shop: &Shop, field: Field) -> Value {
    match field {
        Field::Nothing => Value::Null,
        Field::Job(job) => json!(shop.jobs[job].id),
        Field::Step(step) => {
            let facts = &shop.steps[step];
            json!({ "job": shop.jobs[facts.job].id, "step": facts.id })
        }
        Field::Crew(crew) => json!(shop.crews[crew].id),
        Field::Unit(unit) => json!(shop.units[unit].id),
        Field::Kind(kind) => json!(shop.kinds[kind].id),
        Field::Truck(truck) => json!(shop.trucks[truck].id),
        Field::Place(place) => json!(shop.places[place].id),
        Field::HalfDay(at) => json!(at),
        Field::Date(date) => json!(date),
        Field::Number(number) => json!(number),
        Field::Cents(cents) => json!(cents),
        Field::Word(word) => json!(word),
        Field::Text(text) => json!(text),
    }
}
