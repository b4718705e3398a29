//! Which two plans may be laid beside each other, and what they differ in.

use super::facts::{Fact, Facts};
use super::pool::Pool;
use super::range::{Range, Trade};

/// What each difference beyond two takes off the share by which questions are compared.
const MANY: f64 = 0.04;

/// Two plans to choose between.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Which plans, by their position.
    pub(super) pair: (usize, usize),
    /// Whether the first, or the second, is the plan given out.
    pub given_out: (bool, bool),
    /// What they differ in: how many the first has, and the second.
    pub differ: Vec<(Fact, i64, i64)>,
}

/// Two plans, and what choosing between them says.
#[derive(Clone, Debug)]
pub struct Pair {
    /// What is asked.
    pub question: Question,
    /// What an answer to it says.
    pub trade: Trade,
    /// What the lines that it takes take off its share.
    pub off: f64,
}

/// The pairs of plans that may be asked about: they differ, in nothing that is left out, and each is better somewhere.
pub fn pairs(pool: &Pool, whole: &Range) -> Vec<Pair> {
    let all = pool.plans.len();
    let pairs = (0..all).flat_map(|first| (first + 1..all).map(move |second| (first, second)));
    let one = |pair: (usize, usize)| {
        let differ = differ(pool, pair);
        // What a job brings in that is left out is not asked about.
        let left_out = differ.iter().any(|(fact, ..)| matches!(fact, Fact::LeftOut(_)));
        let trade = pool.trade(pair);
        if differ.is_empty() || left_out || trade.by.is_empty() {
            return None;
        }
        let share = whole.share(&trade);
        let off = MANY * lines(&differ).saturating_sub(2) as f64;
        let question = Question { pair, given_out: (pair.0 == 0, pair.1 == 0), differ };
        (share > 0.0 && share < 1.0).then_some(Pair { question, trade, off })
    };
    let mut found: Vec<Pair> = pairs.filter_map(one).collect();
    found.sort_by(|a, b| a.off.total_cmp(&b.off));
    found
}

/// What two plans differ in: how many the first has, and the second.
fn differ(pool: &Pool, (first, second): (usize, usize)) -> Vec<(Fact, i64, i64)> {
    let (first, second) = (&pool.plans[first].facts, &pool.plans[second].facts);
    let only = second.keys().filter(|fact| !first.contains_key(*fact));
    let mut all: Vec<&Fact> = first.keys().chain(only).collect();
    all.sort();
    let of = |facts: &Facts, fact: &Fact| facts.get(fact).copied().unwrap_or(0);
    let other = all.into_iter().filter(|fact| of(first, fact) != of(second, fact));
    other.map(|fact| (fact.clone(), of(first, fact), of(second, fact))).collect()
}

/// Lines that it takes to tell differences: how many hauls and how long they take is one.
fn lines(differ: &[(Fact, i64, i64)]) -> usize {
    let has = |fact: &Fact| differ.iter().any(|(of, ..)| of == fact);
    let with_minutes = [(Fact::Towed, Fact::TowMinutes), (Fact::Carried, Fact::CarryMinutes)];
    differ.len() - with_minutes.iter().filter(|(hauls, minutes)| has(hauls) && has(minutes)).count()
}
