//! What a step can do when: rules W2, W3, W5, W7, W8 and E5 as tables of runs.

use yardless_book::money::Cents;

use super::Shop;
use super::ids::{CrewId, StepId};
use super::runs::Runs;

/// What keeps a step from being worked on in a half-day, in the order in which it is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// It lies before now.
    Past,
    /// The shop does not work.
    Closed,
    /// Too few of the crew are present: so many are.
    FewPeople(u32),
    /// Before `earliest`.
    Early,
    /// No access.
    NoAccess,
    /// A unit that it holds is out, and it waits (N1, E4).
    UnitOut,
    /// Nobody travels.
    NoTravel,
    /// A storm, and the step is outside.
    Storm,
    /// Too much wind.
    Gust,
    /// Too cold.
    Cold,
    /// Too hot.
    Hot,
    /// Rain, and the step must stay dry.
    Rain,
}

impl Shop {
    /// W2 and W7: what keeps the crew from working on the step in this way at an index, if anything does.
    pub fn obstacle(&self, step: StepId, way: usize, crew: CrewId, h: usize) -> Option<Obstacle> {
        let facts = &self.steps[step];
        let now = &self.places[self.jobs[facts.job].place].weather[h];
        let present = self.crews[crew].people[h];
        if h < self.now {
            Some(Obstacle::Past)
        } else if !(self.works[h] || facts.ways[way].overtime && self.overtime[h]) {
            Some(Obstacle::Closed)
        } else if present < self.min_people(step, way, crew) {
            Some(Obstacle::FewPeople(present))
        } else if h < facts.early {
            Some(Obstacle::Early)
        } else if !facts.access[h] {
            Some(Obstacle::NoAccess)
        } else if facts.paused.get(h) == Some(&true) {
            Some(Obstacle::UnitOut)
        } else if now.no_travel {
            Some(Obstacle::NoTravel)
        } else if facts.outside && now.storm {
            Some(Obstacle::Storm)
        } else if facts.max_gust_mph.is_some_and(|most| now.gust_mph.is_some_and(|gust| gust > most)) {
            Some(Obstacle::Gust)
        } else if facts.min_low_f.is_some_and(|least| now.low_f.is_some_and(|low| low < least)) {
            Some(Obstacle::Cold)
        } else if facts.max_high_f.is_some_and(|most| now.high_f.is_some_and(|high| high > most)) {
            Some(Obstacle::Hot)
        } else if facts.dry && now.rain {
            Some(Obstacle::Rain)
        } else {
            None
        }
    }

    /// W2, W17: the fewest people present with whom a crew may do a step in a way.
    pub fn min_people(&self, step: StepId, way: usize, crew: CrewId) -> u32 {
        let facts = &self.steps[step];
        let usual = if self.crews[crew].own { self.book.shop.min_people } else { 1 };
        let usual = usual.min(facts.max_people.unwrap_or(usual));
        facts.ways[way].min_people.unwrap_or(usual).max(1)
    }

    /// The runs of a step by a crew with the skill, in one of its ways; what is fixed (W8) is not looked at.
    pub fn runs(&self, step: StepId, way: usize, crew: CrewId) -> Option<&Runs> {
        let facts = &self.steps[step];
        let position = facts.crews.iter().position(|c| *c == crew)?;
        facts.runs.get(way * facts.crews.len() + position)
    }

    /// The ways and crews that may do a step, as far as the owner has fixed them (W5, W8), with their runs.
    pub fn choices(&self, step: StepId) -> impl Iterator<Item = (usize, CrewId, &Runs)> + '_ {
        let facts = &self.steps[step];
        (0..facts.ways.len())
            .flat_map(move |way| facts.crews.iter().map(move |crew| (way, *crew)))
            .zip(&facts.runs)
            .map(|((way, crew), runs)| (way, crew, runs))
            .filter(move |(way, crew, _)| {
                facts.fixed.way.is_none_or(|fixed| fixed == facts.ways[*way].base)
                    && facts.fixed.crew.is_none_or(|fixed| fixed == *crew)
            })
    }

    /// Whether a step may start at an index, as far as the owner has fixed its start (W8) and done steps let it (W6).
    pub fn start_allowed(&self, step: StepId, start: usize) -> bool {
        let facts = &self.steps[step];
        (facts.start_from..facts.start_before).contains(&start)
            && facts.fixed.start.is_none_or(|fixed| self.horizon.index(fixed) == Some(start))
    }

    /// What a run of all that is to do costs: its start, overtime (C8), and its end.
    pub fn run_cost(&self, step: StepId, way: usize, crew: CrewId, start: usize, end: usize) -> Cents {
        self.start_cost(step, way, crew, start)
            + self.overtime_cost(step, way, crew, start, end)
            + self.end_cost(step, end)
    }

    /// What it costs to start so: the way (C6), another crew or start than the kept plan's (C7), outside the dates that
    /// somebody was told (C10), and coming back between spans (C9).
    pub fn start_cost(&self, step: StepId, way: usize, crew: CrewId, start: usize) -> Cents {
        let facts = &self.steps[step];
        let started = facts.going.as_ref().map_or(start as i64, |going| self.horizon.offset(going.start));
        facts.ways[way].extra
            + facts.kept.map_or(Cents::ZERO, |kept| kept.change_to(crew, started))
            + facts.told.get(start).copied().unwrap_or(Cents::ZERO)
            + self.comes_back_cost(step)
    }

    /// What it costs that a step ends at an index, by its own `due` (C1).
    pub fn end_cost(&self, step: StepId, end: usize) -> Cents {
        self.steps[step].late.get(end).copied().unwrap_or(Cents::ZERO)
    }

    /// What every run costs of a step between its spans (C9); nothing of any other.
    pub fn comes_back_cost(&self, step: StepId) -> Cents {
        if self.steps[step].comes_back() { self.book.prices.come_back } else { Cents::ZERO }
    }

    /// What a run costs in overtime (C8): nothing in a plain way.
    pub fn overtime_cost(&self, step: StepId, way: usize, crew: CrewId, start: usize, end: usize) -> Cents {
        if !self.steps[step].ways[way].overtime {
            return Cents::ZERO;
        }
        self.book.prices.overtime_half_day * self.runs(step, way, crew).map_or(0, |runs| runs.overtime(start, end))
    }
}
