//! What a job is to the relaxation: its steps, their runs and what they hold.

use yardless_plan::shop::{JobId, Part, StepId, TeamId};

use super::{PricedLink, Relaxation};
use crate::dual::domain::Domain;

/// A job's subproblem: its cheapest schedule.
#[derive(Clone, Debug)]
pub(crate) struct JobSubproblem {
    pub(crate) id: JobId,
    pub(crate) left_out: f64,
    /// In an order in which each comes after those it waits for.
    pub(crate) steps: Vec<SubproblemStep>,
    /// Positions of steps that no exact link leads on from.
    pub(crate) last: Vec<usize>,
    pub(crate) parked: Vec<Demand>,
    /// For each parked need, from and until when it is held.
    pub(crate) parked_between: Vec<ParkedBetween>,
    /// For each parked need, the ways to hold it.
    pub(crate) stays: Vec<Vec<Stay>>,
    /// By tick: late (C1), waiting (C5) and open from now on (C16) for an end then.
    pub(crate) ends: Vec<f64>,
    /// By tick: what is taken off where the first step starts then, as the site is not open before (C16); empty where
    /// `begins` say so, or nothing is to be taken off.
    pub(crate) opens: Vec<f64>,
    /// The times from which on all its runs start, and what each takes off: one, or those of C16.
    pub(crate) begins: Vec<Begin>,
    /// The sets of own crews that cost nothing by themselves (C4): one, or those that have been on the job; none where
    /// no price is on another.
    pub(crate) alone: Vec<Vec<usize>>,
    /// Whether one of these sets does all that may be done, so that an extra crew need not be looked at.
    pub(crate) only_alone: bool,
    pub(crate) extra_crew: f64,
}

/// A tick before which nothing of a job is done, and what that takes off of what its open site costs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Begin {
    pub(crate) from: usize,
    pub(crate) cost: f64,
}

/// A step of it.
#[derive(Clone, Debug)]
pub(crate) struct SubproblemStep {
    pub(crate) id: StepId,
    pub(crate) groups: Vec<Group>,
    /// How many rests a first span of it may leave (W10).
    pub(crate) rests: usize,
    pub(crate) links: Vec<ExactLink>,
    /// Priced links in which it is the one after, and the one before.
    pub(crate) after: Vec<usize>,
    pub(crate) before: Vec<usize>,
}

/// A link that the schedule keeps exactly: for each start tick the ticks in which the step before may end.
#[derive(Clone, Debug)]
pub(crate) struct ExactLink {
    /// Position of the step before.
    pub(crate) step: usize,
    /// By start tick: one past the last, and the first.
    pub(crate) until: Vec<usize>,
    pub(crate) from: Option<Vec<usize>>,
}

/// Runs by one team in one way, whole ones or spans that leave or do one rest.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    pub(crate) part: Part,
    /// The rest; 0 of whole runs.
    pub(crate) rest: usize,
    pub(crate) team: TeamId,
    /// Its crew.
    pub(crate) crew: usize,
    /// Of its crew and helpers.
    pub(crate) takes: Vec<Takes>,
    pub(crate) way: usize,
    /// The position of its first run among those of its job.
    pub(crate) first: usize,
    pub(crate) own: bool,
    pub(crate) demands: Vec<Demand>,
    /// The same number as of the other groups of its step that want just the same.
    pub(crate) alike: usize,
    pub(crate) runs: Vec<Run>,
}

/// What work takes of a crew.
#[derive(Clone, Debug)]
pub(crate) struct Takes {
    pub(crate) crew: usize,
    /// The families of rows `visit` of the crew and the job's place, and `touch` of the crew and the step, where its rounds
    /// are worked out (C15).
    pub(crate) visits: Option<[usize; 2]>,
    /// The share by tick: 0 where it does not work.
    pub(crate) by_tick: Vec<f64>,
}

/// One run of a step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    /// The half-day with which it begins, by index, as all others know the run: what goes on begins now, and that need be
    /// no tick.
    pub(crate) from: usize,
    /// First and last tick.
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Of a first span: the first tick in which the second may start; one past the last where none is.
    pub(crate) ready: usize,
    /// Cost without prices, cents.
    pub(crate) cost: f64,
    /// Its number among the runs of all jobs.
    pub(crate) number: usize,
}

/// Units wanted, the pools and spots that serve, and the `hold` and `come` rows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Demand {
    /// Whether the work waits while they are out (N1).
    pub(crate) waits: bool,
    pub(crate) count: f64,
    pub(crate) able: Vec<(usize, usize)>,
    /// For each of those the family of rows `hold`.
    pub(crate) holds: Vec<usize>,
    pub(crate) come: Vec<usize>,
}

/// What cannot be costs so much.
pub(crate) const NONE: f64 = f64::INFINITY;

/// One case in which the whole of a job is scheduled: by one own crew alone, or by any with one extra crew paid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CrewCase<'m> {
    /// The only own crews; none: any.
    pub(crate) only: Option<&'m [usize]>,
    /// What extra crews cost, cents.
    pub(crate) extra: f64,
    /// For each parked need, which of the pools that can serve does.
    pub(crate) parked: &'m [usize],
    /// What is taken off, or nothing, as nothing is done before the window.
    pub(crate) begin: f64,
    /// First and last tick that the job may work in.
    pub(crate) window: (usize, usize),
}

impl CrewCase<'_> {
    /// Whether a run lies in the window.
    pub(crate) fn may(self, run: &Run) -> bool {
        self.window.0 <= run.start && run.end <= self.window.1
    }
}

/// Between which steps a parked need is held, as far as the schedule pays for it: no longer than it really is (E3, E7).
#[derive(Clone, Copy, Debug)]
pub(crate) struct ParkedBetween {
    /// The position of the step with whose start it begins.
    pub(crate) from: usize,
    /// Whether it is held from the first tick on instead: the job is in progress.
    pub(crate) from_now: bool,
    /// The position of the step with whose end it ends; none: the job's end.
    pub(crate) to: Option<usize>,
    /// Whether it is held to the last tick instead: what ends it is later (E7).
    pub(crate) on: bool,
}

impl ParkedBetween {
    /// The tick from which on it is held where its step starts in one.
    pub(crate) fn since(self, start: usize) -> usize {
        if self.from_now { 0 } else { start }
    }

    /// The last of so many ticks in which it is held, where its step, or the job, ends in one.
    pub(crate) fn until(self, end: usize, ticks: usize) -> usize {
        if self.on { ticks - 1 } else { end }
    }
}

/// A way to hold what is parked: units of a pool, by its position among those that can serve, between half-days in which
/// they are out (E4): first and last tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stay {
    pub(crate) pool: usize,
    pub(crate) window: (usize, usize),
}

impl Group {
    /// Whether its crew is one of these, or not ours.
    pub(crate) fn may_be(&self, crews: &[usize]) -> bool {
        !self.own || crews.contains(&self.crew)
    }
}

impl SubproblemStep {
    /// The groups that a case may use, with their positions.
    pub(crate) fn groups_in(&self, case: CrewCase<'_>) -> impl Iterator<Item = (usize, &Group)> {
        let may = move |group: &Group| case.only.is_none_or(|crews| group.may_be(crews));
        self.groups.iter().enumerate().filter(move |(_, group)| may(group))
    }
}

impl JobSubproblem {
    /// The job with no other runs than a domain leaves.
    pub(crate) fn within(&self, domain: &Domain) -> Self {
        let mut job = self.clone();
        for step in &mut job.steps {
            for group in &mut step.groups {
                group.runs.retain(|run| domain.runs[run.number]);
            }
            step.groups.retain(|group| !group.runs.is_empty());
        }
        job.place_groups();
        job.alone.retain(|crews| job.steps.iter().all(|step| step.groups.iter().any(|group| group.may_be(crews))));
        let all = |crews: &Vec<usize>| job.steps.iter().flat_map(|step| &step.groups).all(|group| group.may_be(crews));
        job.only_alone = job.alone.iter().any(all);
        job
    }

    fn place_groups(&mut self) {
        let mut first = 0;
        for group in self.steps.iter_mut().flat_map(|step| &mut step.groups) {
            group.first = first;
            first += group.runs.len();
        }
    }

    /// Tells the steps before in priced links which they are, and numbers the runs.
    pub(super) fn finish(&mut self, priced: &[PricedLink], runs: &mut usize) {
        for run in self.steps.iter_mut().flat_map(|step| &mut step.groups).flat_map(|group| &mut group.runs) {
            run.number = *runs;
            *runs += 1;
        }
        self.place_groups();
        for step in &mut self.steps {
            step.before = (0..priced.len()).filter(|l| priced[*l].before == step.id).collect();
        }
    }
}

impl Demand {
    /// The ways to hold it from the job's beginning to its end. Where it is not held all the time (`whole`), half-days in
    /// which units are out are left in: that only makes schedules cheaper.
    pub(crate) fn stays(&self, of: &Relaxation, whole: bool) -> Vec<Stay> {
        let last = of.ticks.len().saturating_sub(1);
        let mut stays = Vec::new();
        for (pool, (p, _)) in self.able.iter().enumerate() {
            if self.waits || !whole {
                stays.push(Stay { pool, window: (0, last) });
                continue;
            }
            let may = |first: usize, last: usize| of.pools[*p].may_hold(of.ticks[first], of.ticks[last]);
            let mut first = 0;
            while let Some(from) = (first..of.ticks.len()).find(|tick| may(*tick, *tick)) {
                let to = (from..of.ticks.len()).take_while(|tick| may(from, *tick)).last().unwrap_or(from);
                stays.push(Stay { pool, window: (from, to) });
                first = to + 1;
            }
        }
        stays
    }
}

/// A schedule under way: by step and end tick the cost, and how it came about.
#[derive(Default)]
pub(crate) struct ScheduleTable {
    /// E(step, e) and the run (group, number) that ends then.
    pub(crate) ends: Vec<Vec<(f64, u32, u32)>>,
    /// The least E(step, e') for e' <= e, and that e'.
    pub(crate) least: Vec<Vec<(f64, u32)>>,
    /// By step and rest (W10): the least cost of what comes before a second span that starts in each tick, and the first
    /// span (group, number) of it.
    pub(crate) left: Vec<Vec<Vec<(f64, u32, u32)>>>,
    /// Of the step at hand: what comes before it by the tick in which it starts, and what is let go by that in which it ends.
    pub(super) before: Vec<f64>,
    pub(super) release: Vec<f64>,
}
