//! How the state of a place's road is marked: a word in the cell, its meaning in the legend.

use yardless_solver::shop::{Closure, RoadState};

/// What is the matter with the roads at a place.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// In words, where there is room.
    pub long: &'static str,
    /// In a word; its first letter serves where that is too wide.
    pub short: &'static str,
    /// What it means.
    pub legend: &'static str,
}

impl Mark {
    /// Nothing where the road is open.
    pub fn of(road: RoadState) -> Option<Self> {
        let (long, short, legend) = match road {
            RoadState::Open => return None,
            RoadState::ExpectedClear => ("expected clear", "clear?", "clear?: expected clear, no report yet"),
            RoadState::Closed(Closure::Storm) => ("storm", "storm", "storm: no trailer moves, no outside work"),
            RoadState::Closed(Closure::NoTravel) => {
                ("no travel", "stay", "no travel, stay: nobody works or hauls there")
            }
            RoadState::Closed(Closure::Covered) => ("roads covered", "covered", "covered: roads closed to trailers"),
            RoadState::Closed(Closure::Season) => {
                ("no trailers (season)", "season", "season: road closed to trailers by the shop's own policy")
            }
        };
        Some(Self { long, short, legend })
    }
}
