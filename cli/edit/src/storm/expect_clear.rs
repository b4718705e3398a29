//! What a report of a storm does to roads that are expected to be clear.

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Weather};

/// H2: `expect_clear` counts after the last date that any entry covers, so that an entry far ahead ends it before then.
/// Gives that date, where the entry moves it on.
pub fn no_longer_expected_clear(book: &Book, entry: &Weather) -> Option<NaiveDate> {
    let here = |place: &str| entry.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place));
    let last = |place: &str| {
        let covers = |weather: &&Weather| weather.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place));
        book.weather.iter().filter(covers).filter_map(|weather| weather.when().last()).map(HalfDay::date).max()
    };
    let hopes = |place: &&yardless_book::Place| {
        let road = book.roads.iter().find(|road| Some(&road.id) == place.road.as_ref());
        road.is_some_and(|road| !road.expect_clear.is_empty())
    };
    let mut places = book.places.iter().filter(hopes).filter(|place| here(&place.id));
    let until = entry.when().last()?.date();
    places.any(|place| last(&place.id).is_none_or(|last| last < until)).then_some(until)
}
