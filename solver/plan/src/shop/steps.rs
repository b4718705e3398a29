//! A step as a table: what the book says of it, and its runs.

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;

use super::amount::Amount;
use super::history::{Going, KeptStart};
use super::ids::{CrewId, JobId, StepId, TeamId};
use super::needs::Need;
use super::runs::Runs;
use super::spans::Rest;

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
    /// The teams that may do it: a crew that has it, alone or helped (W5, W11); of a step in progress, the one that does.
    pub teams: Vec<TeamId>,
    /// The steps it comes after (W6), those done apart.
    pub after: Vec<Link>,
    /// It starts at this index or later, and before that one: what has been done before it says so (W6).
    pub start_from: usize,
    /// See `start_from`.
    pub start_before: usize,
    /// What it waits on from others, by itself or with its job (W14).
    pub waited: Option<Waited>,
    /// What it costs to end at each index by its own `due` (C1); empty where it has none.
    pub late: Vec<Cents>,
    /// What it costs to start at each index, outside the dates that somebody was told (C10); empty where nobody was.
    pub told: Vec<Cents>,
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
    /// A high above this stops it (W15).
    pub max_high_f: Option<f64>,
    /// What the owner has fixed (W8).
    pub fixed: Fixed,
    /// Whether its crew may leave it and come back (W10).
    pub may_split: bool,
    /// What first spans of it may leave to be done by their crew; none where it may not split.
    pub rests: Vec<Rest>,
    /// Its runs by way and team, in the order of `ways` x `teams`.
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
    /// Units that give power, where there is none (E5, E9).
    pub power: usize,
    /// Whether it is a stop (W16).
    pub stop: bool,
    /// What it takes of a half-day of a crew that works on one step at a time (W16).
    pub load: u64,
    /// Most helpers (W11).
    pub help: usize,
    /// Fewest people present; `None`: as the crew says (W17).
    pub min_people: Option<u32>,
    /// What it costs besides (C6).
    pub extra: Cents,
    /// Whether it works every half-day of overtime in its span (W9).
    pub overtime: bool,
    /// The position of the same way without overtime: its own where it has none.
    pub base: usize,
}

/// Until when a step waits on others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Waited {
    /// The index of the first half-day in which it may start, as far as dates are known; past the horizon's last where
    /// that is not in it.
    pub until: usize,
    /// Whether something has no date: then it cannot start at all.
    pub undated: bool,
}

/// A step that comes before another (W6).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The step before.
    pub before: StepId,
    /// Half-days that must pass after its end.
    pub wait: usize,
    /// Half-days that may pass after its end.
    pub within: Option<usize>,
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
