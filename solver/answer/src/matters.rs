//! What matters to an owner: prices that nobody can give, set from a few choices between two plans.
//!
//! A plan costs the sum over k of f(k) c(k), and what stands on bills: c(k) is what it costs of the matter k ([`Matter`]) at
//! the prices of the book, and f(k) by how much that matter weighs more or less to the owner than the book says. Hauls, whose
//! minutes are wages and fuel, stay at f = 1: the others are weighed against them. Of the logarithms of f is known at
//! first that each lies between -ln 8 and ln 8. Who chooses plan A before plan B says
//!
//! ```text
//! sum over k of f(k) (cA(k) - cB(k)) + bills(A) - bills(B) < 0
//! ```
//!
//! which cuts that range; where two matters differ and no bill does, it bounds their ratio. Asked next is the pair of
//! plans ([`pool`]) that cuts the range best, into halves if it can be, a little less well where it takes many
//! differences to tell. In the end f(k) is exp(the mean of ln f(k)) over the range that is left ([`range`]).

pub mod facts;
mod matter;
mod pairs;
mod pool;
mod range;

pub use facts::Fact;
pub use matter::{Matter, PriceAt};
pub use pairs::Question;

use yardless_book::Book;
use yardless_book::money::Cents;
use yardless_engine::Limits;
use yardless_plan::Plan;

use crate::given::Given;
use matter::times;
use pairs::{Pair, pairs};
use pool::Pool;
use range::Range;

/// Choices that are asked for.
pub const QUESTIONS: usize = 5;
/// Pairs that are shown at most, with those that somebody cannot choose between.
pub const MOST_SHOWN: usize = 12;
/// The least share of the range that each answer to a question must leave.
const LEAST_SHARE: f64 = 0.1;
/// An answer to a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Rather the first plan.
    First,
    /// Rather the second.
    Second,
    /// Neither, or it cannot be said.
    Neither,
}

/// A price as it is, as the answers have it, and between what it lies by them.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceSet {
    /// What it is a price of.
    pub matter: Matter,
    /// Where it stands.
    pub at: PriceAt,
    /// What it is in the book.
    pub was: Cents,
    /// What it is by the answers; as it was where none of them touches it.
    pub is: Cents,
    /// The least and the most that agree with every answer.
    pub between: (Cents, Cents),
}

/// How it stands after some answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answers {
    /// What is asked next; `None`: no more.
    pub next: Option<Question>,
    /// How many choices were made.
    pub chosen: usize,
    /// The prices.
    pub prices: Vec<PriceSet>,
}

/// Why nothing can be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoQuestion {
    /// The book has no price above 0 that could be asked about.
    NoPrices,
    /// At all other prices the plan given out was the best that was found.
    OnePlan,
    /// Plans differ, but in nothing in which the prices that are in doubt decide.
    NoTrade,
}

/// The plans of a book that choices are made between.
#[derive(Clone, Debug)]
pub struct Weighing {
    matters: Vec<Matter>,
    book: Book,
    pool: Pool,
    /// Every pair of plans that may be asked about, those first that take the fewest lines to tell.
    pairs: Vec<Pair>,
}

impl Weighing {
    /// Looks for the plans; `limits`: of the search for each of them.
    pub fn new(given: &Given, limits: &Limits) -> Self {
        let matters = Matter::all(&given.shop.book);
        let pool = Pool::gather(given, &matters, limits);
        let pairs = pairs(&pool, &Range::whole(matters.len()));
        Self { matters, book: given.shop.book.clone(), pool, pairs }
    }

    /// The two plans of a question.
    pub fn plans(&self, question: &Question) -> (&Plan, &Plan) {
        let (first, second) = question.pair;
        (&self.pool.plans[first].plan, &self.pool.plans[second].plan)
    }

    /// Why nothing can be asked; `None`: something can.
    pub fn nothing(&self) -> Option<NoQuestion> {
        if self.matters.is_empty() {
            return Some(NoQuestion::NoPrices);
        }
        if self.pool.plans.len() < 2 {
            return Some(NoQuestion::OnePlan);
        }
        self.after(&[]).next.is_none().then_some(NoQuestion::NoTrade)
    }

    /// The matters in which no two of the plans differ: nothing of these weeks tells what they are worth.
    pub fn same_in_all(&self) -> Vec<&Matter> {
        let differs = |k: usize| {
            (1..self.pool.plans.len()).any(|n| self.pool.trade((0, n)).by.iter().any(|(matter, _)| *matter == k))
        };
        self.matters.iter().enumerate().filter(|(k, _)| !differs(*k)).map(|(_, matter)| matter).collect()
    }

    /// How it stands after answers, in their order; what comes after the last question is passed over.
    pub fn after(&self, answers: &[Choice]) -> Answers {
        let mut range = Range::whole(self.matters.len());
        let mut asked: Vec<&Pair> = Vec::new();
        let mut chosen = 0;
        let mut touched = vec![false; self.matters.len()];
        for answer in answers {
            let Some(pair) = self.next(&range, &asked, chosen) else { break };
            asked.push(pair);
            if *answer != Choice::Neither {
                range.cut(&pair.trade, *answer == Choice::First);
                chosen += 1;
                pair.trade.by.iter().for_each(|(matter, _)| touched[*matter] = true);
            }
        }
        let next = self.next(&range, &asked, chosen).map(|pair| pair.question.clone());
        Answers { next, chosen, prices: self.prices(&range, &touched) }
    }

    /// The pair of plans that cuts the range best.
    fn next(&self, range: &Range, asked: &[&Pair], chosen: usize) -> Option<&Pair> {
        if chosen >= QUESTIONS || asked.len() >= MOST_SHOWN {
            return None;
        }
        let mut best: Option<(f64, &Pair)> = None;
        for pair in &self.pairs {
            let least = best.map_or(f64::NEG_INFINITY, |(score, _)| score);
            let known = || asked.iter().any(|of| of.question.differ == pair.question.differ);
            if 0.5 - pair.off <= least || known() {
                continue;
            }
            let share = range.share(&pair.trade);
            let share = share.min(1.0 - share);
            if share >= LEAST_SHARE && share - pair.off > least {
                best = Some((share - pair.off, pair));
            }
        }
        best.map(|(_, pair)| pair)
    }

    fn prices(&self, range: &Range, touched: &[bool]) -> Vec<PriceSet> {
        let of_matter = |(k, matter): (usize, &Matter)| {
            let (least, middle, most) = range.of(k);
            let set =
                matter.prices(&self.book).into_iter().filter(|(_, was)| *was > Cents::ZERO).map(move |(at, was)| {
                    let is = if touched[k] { round(times(was, middle)) } else { was };
                    PriceSet { matter: matter.clone(), at, was, is, between: (times(was, least), times(was, most)) }
                });
            set.collect::<Vec<_>>()
        };
        self.matters.iter().enumerate().flat_map(of_matter).collect()
    }
}

/// To two figures: it is not known closer.
fn round(price: Cents) -> Cents {
    let mut step = 1;
    while price.0 / step >= 100 {
        step *= 10;
    }
    Cents(((price.0 + step / 2) / step * step).max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_are_set_to_two_figures() {
        let rounded = [1, 99, 104, 149, 15_049, 15_500, 99_600].map(|cents| round(Cents(cents)).0);
        assert_eq!(rounded, [1, 99, 100, 150, 15_000, 16_000, 100_000]);
    }
}
