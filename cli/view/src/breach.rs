//! What of a plan does not hold: the judge's facts in words, for the terminal and for pages, and for programs.

mod cost;
mod equipment;
mod hauls;
mod history;
mod of_plan;
mod programs;
mod spans;
mod work;

pub use programs::{fact, fields};

use yardless_check::Breach;
use yardless_check::fact::Fact;
use yardless_plan::Rule;
use yardless_plan::shop::Shop;

use crate::names::{Names, Style};

/// For the terminal and for programs: half-days as they are written in the book.
pub fn says(shop: &Shop, breach: &Breach) -> String {
    in_words(&Names { shop, style: Style::Written }, breach)
}

/// As the sheets and the pages say it: `Wed 9 Dec am`.
pub fn on_sheet(shop: &Shop, breach: &Breach) -> String {
    in_words(&Names { shop, style: Style::Spoken }, breach)
}

/// By rule and then by words, as breaches are listed.
pub fn in_order(shop: &Shop, mut breaches: Vec<Breach>) -> Vec<Breach> {
    breaches.sort_by_cached_key(|breach| key(shop, breach));
    breaches
}

/// The one that is told where only one is.
pub fn first<'b>(shop: &Shop, breaches: &'b [Breach]) -> Option<&'b Breach> {
    breaches.iter().min_by_key(|breach| key(shop, breach))
}

/// The first of some, few enough to be read.
pub(super) fn few(shop: &Shop, breaches: &[Breach]) -> Vec<Breach> {
    const MOST: usize = 2;
    // What comes from outside first, and last of all what only follows: an end that is another one, a haul on from where the
    // unit then is not.
    let rank = |rule: Rule| match rule {
        Rule::W2 | Rule::W7 => 0,
        Rule::E4 | Rule::H2 | Rule::H3 => 1,
        Rule::W3 | Rule::E1 => 3,
        _ => 2,
    };
    let mut few = in_order(shop, breaches.to_vec());
    few.sort_by_key(|breach| rank(breach.rule));
    few.truncate(MOST);
    few
}

fn key(shop: &Shop, breach: &Breach) -> (&'static str, String) {
    (breach.rule.text(), says(shop, breach))
}

fn in_words(names: &Names, breach: &Breach) -> String {
    match &breach.fact {
        Fact::Plan(fact) => of_plan::says(names, fact),
        Fact::Job(fact) => work::of_job(names, fact),
        Fact::Later(fact) => work::of_later(names, fact),
        Fact::Work(fact) => work::of_step(names, fact),
        Fact::Span(fact) => spans::says(names, fact),
        Fact::Unit(fact) => equipment::says(names, fact),
        Fact::Haul(fact) => hauls::of_unit(names, fact),
        Fact::Drive(fact) => hauls::of_drive(names, fact),
        Fact::Route(fact) => hauls::of_route(names, fact),
        Fact::Truck(fact) => hauls::of_truck(names, fact),
        Fact::History(fact) => history::says(names, fact),
        Fact::Cost(fact) => cost::says(breach.rule, fact),
    }
}

#[cfg(test)]
mod tests;
