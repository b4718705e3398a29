//! What a plan is: format 1, as stored and given out, and what it costs; and below it [`shop`], the book made ready.

mod assumed;
pub mod cost;
mod draft;
mod hitch;
mod parked;
mod reason;
mod rule;
pub mod shop;
mod stored;
mod write;

pub use assumed::Assumed;
pub use draft::{Done, Draft, Haul, Return, Stint};
pub use hitch::{UnhitchedHaul, hitch};
pub use parked::parked_rows;
pub use reason::{By, Impossible, Lack, LeftOut, nothing_hauled};
pub use rule::Rule;
pub use shop::ParkedUnit;
pub use stored::read;
pub use write::{rows_of_parked, write};

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;

use crate::shop::KeptStep;

/// A plan, format 1. Ids are those of its book; half-days are the shop's local time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// The format: 1.
    pub plan: u32,
    /// SHA-256 of the book file's bytes, lower-case hex; empty where it is not known.
    #[serde(default)]
    pub book_digest: String,
    /// The Monday on which the horizon begins.
    pub from: NaiveDate,
    /// Weeks of the horizon.
    pub weeks: u32,
    /// The half-day from which on the plan decides (N1): the horizon's first, in a plan made from a clean sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<HalfDay>,
    /// What was taken to have gone as planned before `now`, as the book did not say how it went: the plan given out till
    /// then, as far as it had begun.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub so_far: Option<Box<Plan>>,
    /// What it costs, in dollars.
    pub cost: Cents,
    /// What no plan can cost less than, in dollars. `None`: no bound is known.
    #[serde(default)]
    pub bound: Option<Cents>,
    /// Whether cost and bound are the same to the cent.
    #[serde(default)]
    pub proven: bool,
    /// Why the search ended.
    #[serde(default)]
    pub stopped: String,
    /// The steps done.
    pub steps: Vec<StepRow>,
    /// The units parked at each job that parks any (E3); of a job some of whose parked needs give `from` or `to` a row for each
    /// need that is held, in the book's order (E7).
    #[serde(default)]
    pub parked: Vec<ParkedRow>,
    /// The hauls, in the order of time.
    #[serde(default)]
    pub hauls: Vec<HaulRow>,
    /// The jobs not done within the horizon, each with the reason.
    #[serde(default)]
    pub left_out: Vec<LeftOutRow>,
    /// The jobs that cannot begin within the horizon, and what comes later of those that are planned in part.
    #[serde(default)]
    pub later: Vec<LaterRow>,
    /// The cost by term. All 0: not given, where the plan costs anything.
    #[serde(default)]
    pub costs: Costs,
}

/// A step done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StepRow {
    /// The job.
    pub job: String,
    /// The step, within the job.
    pub step: String,
    /// The way; `usual` where the step gives no ways.
    pub way: String,
    /// The crew.
    pub crew: String,
    /// The crews that help it (W11), in the book's order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// The first worked half-day.
    pub start: HalfDay,
    /// The last worked half-day.
    pub end: HalfDay,
    /// The units held from start to end (E2, E5).
    #[serde(default)]
    pub units: Vec<String>,
    /// 1; of a step that is left and come back to, 2 for what is done then (W10).
    #[serde(default = "first_span")]
    pub span: u32,
    /// Whether it works every half-day of overtime between start and end (W9).
    #[serde(default)]
    pub overtime: bool,
}

/// Serde needs a function for a default that is not a type's own.
fn first_span() -> u32 {
    1
}

/// The units parked at a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ParkedRow {
    /// The job.
    pub job: String,
    /// The units.
    pub units: Vec<String>,
}

/// A unit's move from one place to another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HaulRow {
    /// The unit.
    pub unit: String,
    /// The place it leaves.
    pub from: String,
    /// The place it goes to.
    pub to: String,
    /// The half-day.
    pub at: HalfDay,
    /// At the half-day's end instead of its start; only in a pm.
    #[serde(default)]
    pub evening: bool,
    /// The truck.
    pub truck: String,
    /// Drive and hitching or loading (H5). 0: not given.
    #[serde(default)]
    pub minutes: u32,
    /// Whether the drive is estimated from the coordinates (H6). `None`: not said, as in a plan written by hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<bool>,
    /// Whether it leans on a road that is only expected clear: it needs a clear day (H2). `None`: not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub needs_clear: Option<bool>,
}

/// A job that the plan does not do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeftOutRow {
    /// The job.
    pub job: String,
    /// The reason, in a sentence.
    #[serde(default)]
    pub why: String,
}

/// A job that cannot begin within the horizon, or the later steps of one that is planned in part (W12).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaterRow {
    /// The job.
    pub job: String,
    /// The steps that are later, where the job is done in part; none: the whole job.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<String>,
}

/// The cost by term, C1 to C18.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Costs {
    /// C1.
    pub late: Cents,
    /// C2.
    pub left_out: Cents,
    /// C3.
    pub hauls: Cents,
    /// C4.
    pub crews: Cents,
    /// C5.
    pub waiting: Cents,
    /// C6.
    pub ways: Cents,
    /// C7: 0 in a plan made from a clean sheet.
    pub changes: Cents,
    /// C8.
    pub overtime: Cents,
    /// C9.
    pub returns: Cents,
    /// C10; not written where it is 0.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub told: Cents,
    /// C11; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub help: Cents,
    /// C12; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub standing: Cents,
    /// C13; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub hire: Cents,
    /// C14; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub reserve: Cents,
    /// C15; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub driving: Cents,
    /// C16; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub open: Cents,
    /// C17; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub home: Cents,
    /// C18; likewise.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub clear: Cents,
}

impl Costs {
    /// The sum: what the plan costs.
    pub fn total(self) -> Cents {
        [
            self.late,
            self.left_out,
            self.hauls,
            self.crews,
            self.waiting,
            self.ways,
            self.changes,
            self.overtime,
            self.returns,
            self.told,
            self.help,
            self.reserve,
            self.driving,
            self.standing,
            self.hire,
            self.open,
            self.home,
            self.clear,
        ]
        .into_iter()
        .sum()
    }
}

impl Plan {
    /// The jobs that it does in part, with what comes later of them (W12).
    pub fn parts(&self) -> impl Iterator<Item = &LaterRow> {
        self.later.iter().filter(|row| !row.steps.is_empty())
    }

    /// How it starts its steps, each once: what a later plan is compared with (C7).
    pub fn kept(&self) -> Vec<KeptStep> {
        let first = self.steps.iter().filter(|row| row.span == 1);
        first
            .map(|row| KeptStep {
                job: row.job.clone(),
                step: row.step.clone(),
                crew: row.crew.clone(),
                with: row.with.clone(),
                start: row.start,
            })
            .collect()
    }

    /// The gap between cost and bound as a share of the cost: 0 at cost 0, `None` without a bound.
    pub fn gap(&self) -> Option<f64> {
        let bound = self.bound?;
        Some(if self.cost == Cents::ZERO { 0.0 } else { (self.cost - bound).0 as f64 / self.cost.0 as f64 })
    }
}
