//! How the state of a place's road is marked: a word in the cell, its meaning in the legend.

use yardless_plan::shop::{Closure, PlaceFacts, RoadState};

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
    /// The sort of mark, as a drawing tells sorts apart.
    pub fn kind(self) -> &'static str {
        match self.short {
            "storm" => "storm",
            "nobody" => "no-travel",
            "covered" => "covered",
            "winter" => "season",
            _ => "clear",
        }
    }

    /// What a half-day brings at a place; nothing where the road is open. No travel says more than the storm it comes with.
    pub fn of(place: &PlaceFacts, h: usize) -> Option<Self> {
        let road = if place.weather[h].no_travel { RoadState::Closed(Closure::NoTravel) } else { place.road[h] };
        let (long, short, legend) = match road {
            RoadState::Open => return None,
            RoadState::ExpectedClear => ("expected clear", "clear?", "clear?: expected clear, no report yet"),
            RoadState::Closed(Closure::Storm) => ("storm", "storm", "storm: no trailer moves, no outside work"),
            RoadState::Closed(Closure::NoTravel) => {
                ("no travel", "nobody", "no travel, nobody: nobody works or hauls there")
            }
            RoadState::Closed(Closure::Covered) => ("roads covered", "covered", "covered: roads closed to trailers"),
            RoadState::Closed(Closure::Season) => {
                ("no trailers (winter)", "winter", "winter: no trailers on this road, by the shop's own policy")
            }
        };
        Some(Self { long, short, legend })
    }
}
