//! What a step can do when: rules W2, W3, W5, W7, W8 and E5 as tables of runs.

use yardless_book::money::Cents;

use super::Shop;
use super::ids::{CrewId, StepId, TeamId};
use super::runs::Runs;
use super::teams::Team;

/// What keeps a step from being worked on in a half-day, in the order in which it is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// It lies before now.
    Past,
    /// The shop does not work.
    Closed,
    /// Too few of the crew and its helpers are present: so many are, and none counts where the crew itself is away.
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
    /// W2, W7 and W11: what keeps a crew and its helpers from working on the step in this way at an index, if anything
    /// does.
    pub fn obstacle(&self, step: StepId, way: usize, team: &Team, h: usize) -> Option<Obstacle> {
        let facts = &self.steps[step];
        let now = &self.places[self.jobs[facts.job].place].weather[h];
        let present = self.present(team, h);
        if h < self.now {
            Some(Obstacle::Past)
        } else if !(self.works[h] || facts.ways[way].overtime && self.overtime[h]) {
            Some(Obstacle::Closed)
        } else if present < self.min_people(step, way, team.crew) {
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

    /// The runs of a step by one of its teams, in one of its ways; what is fixed (W8) is not looked at.
    pub fn runs(&self, step: StepId, way: usize, team: TeamId) -> Option<&Runs> {
        self.runs_at(step, self.position_of_runs(step, way, team)?)
    }

    /// Where the runs of a step in one of its ways by one of its teams are among all of the step.
    pub fn position_of_runs(&self, step: StepId, way: usize, team: TeamId) -> Option<usize> {
        let teams = &self.steps[step].teams;
        Some(way * teams.len() + teams.iter().position(|of| *of == team)?)
    }

    /// The runs of a step at a position.
    pub fn runs_at(&self, step: StepId, position: usize) -> Option<&Runs> {
        self.steps[step].runs.get(position)
    }

    /// The ways and teams that may do a step, as far as the owner has fixed way and crew (W5, W8, W11) and its crews can
    /// drive there (C15), with their runs.
    pub fn choices(&self, step: StepId) -> impl Iterator<Item = (usize, TeamId, &Runs)> + '_ {
        self.choices_anywhere(step).filter(move |(way, team, _)| self.can_drive(step, *way, &self.teams[*team]))
    }

    /// The same wherever its crews can drive.
    pub fn choices_anywhere(&self, step: StepId) -> impl Iterator<Item = (usize, TeamId, &Runs)> + '_ {
        let facts = &self.steps[step];
        (0..facts.ways.len())
            .flat_map(move |way| facts.teams.iter().map(move |team| (way, *team)))
            .zip(&facts.runs)
            .map(|((way, team), runs)| (way, team, runs))
            .filter(move |(way, team, _)| {
                let team = &self.teams[*team];
                facts.fixed.way.is_none_or(|fixed| fixed == facts.ways[*way].base)
                    && facts.fixed.crew.is_none_or(|fixed| fixed == team.crew)
                    && (facts.going.is_some() || team.helpers.len() <= facts.ways[*way].help)
            })
    }

    /// Whether a step may start at an index, as far as the owner has fixed its start (W8) and done steps let it (W6).
    pub fn start_allowed(&self, step: StepId, start: usize) -> bool {
        let facts = &self.steps[step];
        (facts.start_from..facts.start_before).contains(&start)
            && facts.fixed.start.is_none_or(|fixed| self.horizon.index(fixed) == Some(start))
    }

    /// What a run of all that is to do costs: its start, its crews' time, and its end.
    pub fn run_cost(&self, step: StepId, way: usize, team: TeamId, start: usize, end: usize) -> Cents {
        self.start_cost(step, way, team, start) + self.time_cost(step, way, team, start, end) + self.end_cost(step, end)
    }

    /// What it costs to start so: the way (C6), another crew, other helpers or another start than the kept plan's (C7),
    /// outside the dates that somebody was told (C10), and coming back between spans (C9).
    pub fn start_cost(&self, step: StepId, way: usize, team: TeamId, start: usize) -> Cents {
        let facts = &self.steps[step];
        let started = facts.going.as_ref().map_or(start as i64, |going| self.horizon.offset(going.start));
        facts.ways[way].extra
            + facts.kept.map_or(Cents::ZERO, |kept| kept.change_to(team, started))
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

    /// What the time of a run's crews costs: overtime (C8) and help (C11); nothing of one crew in a plain way.
    pub fn time_cost(&self, step: StepId, way: usize, team: TeamId, start: usize, end: usize) -> Cents {
        if !self.steps[step].ways[way].overtime && self.teams[team].helpers.is_empty() {
            return Cents::ZERO;
        }
        self.runs(step, way, team).map_or(Cents::ZERO, |runs| self.time_cost_of(runs, step, way, start, end))
    }

    /// The same, by the runs of the step in this way by its team.
    pub fn time_cost_of(&self, runs: &Runs, step: StepId, way: usize, start: usize, end: usize) -> Cents {
        let prices = &self.book.prices;
        let overtime = if self.steps[step].ways[way].overtime { runs.overtime(start, end) } else { 0 };
        prices.overtime_half_day * overtime + prices.help_half_day * runs.help(start, end)
    }
}
