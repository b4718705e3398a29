//! What stops a step in a half-day, in words: three ways to say each.

use yardless_plan::shop::Obstacle;

/// In a drawing or a cell, where the work waits.
pub(super) fn mark(by: Obstacle) -> &'static str {
    words(by).0
}

/// Where it is asked why the step is not sooner.
pub(super) fn why(by: Obstacle) -> &'static str {
    words(by).1
}

/// Where a plan has the step then all the same; `crew` would work.
pub(super) fn against(by: Obstacle, crew: &str) -> String {
    match by {
        Obstacle::FewPeople(0) => format!("{crew} is away"),
        Obstacle::FewPeople(n) => format!("of {crew} only {n} present, fewer than it takes"),
        _ => words(by).2.to_owned(),
    }
}

fn words(by: Obstacle) -> (&'static str, &'static str, &'static str) {
    match by {
        Obstacle::Past => ("begun", "it is past", "it is before now"),
        Obstacle::Closed => ("closed", "the shop does not work", "the shop does not work then"),
        Obstacle::FewPeople(_) => ("away", "too few of the crew are there", "too few of the crew are there"),
        Obstacle::Early => ("no access", "it is before the earliest date", "it is before `earliest`"),
        Obstacle::NoAccess => ("no access", "there is no access", "there is no access then"),
        Obstacle::UnitOut => ("unit out", "a unit that it holds is out", "a unit that it holds is out"),
        Obstacle::NoTravel => ("no travel", "there is no travel", "there is no travel"),
        Obstacle::Storm => ("storm", "there is a storm", "there is a storm and it is outside"),
        Obstacle::Gust => ("wind", "there is too much wind", "the gusts are over its limit"),
        Obstacle::Cold => ("cold", "it is too cold", "it is colder than its limit"),
        Obstacle::Hot => ("hot", "it is too hot", "it is hotter than its limit"),
        Obstacle::Rain => ("rain", "it rains", "it rains and it must stay dry"),
    }
}
