//! What a step can do when: rules W2, W3, W5, W7, W8 and E5 as tables of runs.

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;

use super::runs::Runs;
use super::spans::{Part, Rest};
use super::{CrewId, Going, JobId, KeptStart, KindId, Link, Shop, StepId, UnitFacts, UnitId};

/// One step of a job.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Debug, PartialEq)]
pub struct StepFacts {
    /// Its id within the job.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Its job.
    pub job: JobId,
    /// The skill it takes (W5).
    pub skill: String,
    /// The crews that have it.
    pub crews: Vec<CrewId>,
    /// The steps it comes after (W6), those done apart.
    pub after: Vec<Link>,
    /// It starts at this index or later, and before that one: what has been done before it says so (W6).
    pub start_from: usize,
    /// See `start_from`.
    pub start_before: usize,
    /// Its position among all steps of its job in the book.
    pub listed: usize,
    /// What the kept plan says of it (N3).
    pub kept: Option<KeptStart>,
    /// Where it is in progress, how (N1): it then has one run, from now on; between its spans those of the second.
    pub going: Option<Going>,
    /// When it waits for a unit that is out, held by itself or parked at its job, once either has begun; else empty.
    pub paused: Vec<bool>,
    /// The ways to do it, one at least; those in overtime come after all others.
    pub ways: Vec<WayFacts>,
    /// Most people whose hours count.
    pub max_people: Option<u32>,
    /// Whether job and step give access, by half-day index (W2).
    pub access: Vec<bool>,
    /// The index before which `earliest` forbids work.
    pub early: usize,
    /// Done outside.
    pub outside: bool,
    /// Must stay dry.
    pub dry: bool,
    /// Gusts above this stop it.
    pub max_gust_mph: Option<f64>,
    /// A low under this stops it.
    pub min_low_f: Option<f64>,
    /// Whether it takes power (E5).
    pub needs_power: bool,
    /// What the owner has fixed (W8).
    pub fixed: Fixed,
    /// Whether its crew may leave it and come back (W10).
    pub may_split: bool,
    /// What first spans of it may leave to be done by their crew; none where it may not split.
    pub rests: Vec<Rest>,
    /// Its runs by way and crew, in the order of `ways` x `crews`.
    pub(super) runs: Vec<Runs>,
}

/// One way to do a step.
#[derive(Clone, Debug, PartialEq)]
pub struct WayFacts {
    /// Its id within the step.
    pub id: String,
    /// How much work it is.
    pub amount: Amount,
    /// The units held (E2), power apart.
    pub needs: Vec<Need>,
    /// Fewest people present.
    pub min_people: u32,
    /// What it costs besides (C6).
    pub extra: Cents,
    /// Whether it works every half-day of overtime in its span (W9).
    pub overtime: bool,
    /// The position of the same way without overtime: its own where it has none.
    pub base: usize,
}

/// How much work a step is (W3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// Worked half-days.
    HalfDays(u32),
    /// Labor hours, in millionths of an hour: whole numbers add up without error.
    Hours(i64),
}

pub(super) const MILLIONTHS: f64 = 1e6;

impl Amount {
    /// From the book's two fields, of which the reader has made sure that just one is given.
    pub(super) fn of(half_days: Option<u32>, labor_hours: Option<f64>) -> Self {
        match (half_days, labor_hours) {
            (_, Some(hours)) => Self::Hours(((hours * MILLIONTHS).round() as i64).max(1)),
            (days, None) => Self::HalfDays(days.unwrap_or(1)),
        }
    }

    /// All of it, in half-days or millionths of an hour.
    pub fn total(self) -> i64 {
        match self {
            Self::HalfDays(n) => i64::from(n),
            Self::Hours(n) => n,
        }
    }

    /// So much of the same, at least something.
    pub(super) fn left(self, left: f64) -> Self {
        match self {
            Self::HalfDays(_) => Self::HalfDays((left.round() as u32).max(1)),
            Self::Hours(_) => Self::of(None, Some(left)),
        }
    }
}

/// So many units that can serve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// What they serve as.
    pub want: Want,
    /// How many.
    pub count: usize,
}

/// What a unit is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Want {
    /// As a unit of this kind.
    Kind(KindId),
    /// For its power: any unit of a kind marked so (E5).
    Power,
    /// Itself: a job that has begun holds it (N1).
    Unit(UnitId),
}

impl Want {
    /// Whether work waits while the unit is out, instead of never holding it then (N1).
    pub fn waits(self) -> bool {
        matches!(self, Self::Unit(_))
    }
}

/// What the owner has fixed of a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Fixed {
    /// The crew.
    pub crew: Option<CrewId>,
    /// The start; it may lie outside the horizon, which leaves the job out.
    pub start: Option<HalfDay>,
    /// The way, by its position in `ways`.
    pub way: Option<usize>,
}

impl StepFacts {
    /// Whether it is in progress and goes on from now with the units that it holds (N1).
    pub fn goes_on(&self) -> bool {
        self.going.as_ref().is_some_and(|going| !going.away)
    }

    /// Whether it is between its spans (W10): all that is planned of it is the second.
    pub fn comes_back(&self) -> bool {
        self.going.as_ref().is_some_and(|going| going.away)
    }
}

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
        } else if present < facts.ways[way].min_people.max(1) {
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
        } else if facts.dry && now.rain {
            Some(Obstacle::Rain)
        } else {
            None
        }
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

    /// What part of a step done in a way, from a start, holds: the way's needs, and power where there is none yet (E2,
    /// E5). One in progress goes on with just its units (N1), until it is left.
    pub fn needs(&self, step: StepId, part: Part, way: usize, start: usize) -> impl Iterator<Item = Need> + '_ {
        let facts = &self.steps[step];
        let goes_on = facts.goes_on() && part != Part::Second;
        let power = self.takes_power(step, start).then_some(Need { want: Want::Power, count: 1 });
        let held = facts.going.iter().flat_map(|going| &going.units).filter(move |_| goes_on && part != Part::LetGo);
        let wants = facts.ways[way].needs.iter().copied().chain(power).filter(move |_| !goes_on);
        wants.chain(held.map(|unit| Need { want: Want::Unit(*unit), count: 1 }))
    }

    /// What a run costs: its way (C6), overtime (C8), another crew or start than the kept plan's (C7), and coming back
    /// between spans (C9).
    pub fn run_cost(&self, step: StepId, way: usize, crew: CrewId, start: usize, end: usize) -> Cents {
        let facts = &self.steps[step];
        let started = facts.going.as_ref().map_or(start as i64, |going| self.horizon.offset(going.start));
        let changed = facts.kept.filter(|kept| (kept.crew, kept.start) != (Some(crew), started));
        facts.ways[way].extra
            + self.overtime_cost(step, way, crew, start, end)
            + changed.map_or(Cents::ZERO, |kept| kept.change)
            + self.comes_back_cost(step)
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

    /// Towed units that must stand at the step's place at once while part of it is worked on in a way, from a start: its
    /// own and those parked for its job (E2, E3, E5).
    pub fn trailers_at_once(&self, step: StepId, part: Part, way: usize, start: usize) -> usize {
        let parked = self.jobs[self.steps[step].job].parked.iter().copied();
        let towed = |want| self.units.iter().filter(|unit| unit.serves(want)).all(UnitFacts::towed);
        self.needs(step, part, way, start).chain(parked).filter(|need| towed(need.want)).map(|need| need.count).sum()
    }

    /// Whether those trailers fit on the place's spots (E6).
    pub fn trailers_fit(&self, step: StepId, part: Part, way: usize, start: usize) -> bool {
        let spots = self.places[self.jobs[self.steps[step].job].place].spots;
        spots.is_none_or(|spots| self.trailers_at_once(step, part, way, start) <= spots)
    }

    /// Whether the shop has what a run holds: of all that the step holds and its job has parked enough units that are
    /// not out in it (E4), and spots for the trailers among them (E6). Without, no plan has the run.
    pub fn equipped(&self, step: StepId, part: Part, way: usize, start: usize, end: usize) -> bool {
        let enough = |need: Need| {
            // Work that has begun waits for its own units.
            let may = |unit: &&UnitFacts| need.want.waits() || !unit.out_within(start, end);
            self.units.iter().filter(|unit| unit.serves(need.want)).filter(may).count() >= need.count
        };
        let parked = self.jobs[self.steps[step].job].parked.iter().copied();
        self.needs(step, part, way, start).chain(parked).all(enough) && self.trailers_fit(step, part, way, start)
    }

    /// E5: whether the step, starting at the index, holds a unit that gives power.
    pub fn takes_power(&self, step: StepId, start: usize) -> bool {
        let facts = &self.steps[step];
        facts.needs_power && start < self.places[self.jobs[facts.job].place].power_from
    }
}
