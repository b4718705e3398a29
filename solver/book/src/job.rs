//! Jobs, their steps, and the ways to do them.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{DoneStep, Extra, Material, PowerFrom, PowerNeed, Progress, Spread, ToldWindow, WaitsOn, When, default};
use crate::half_day::HalfDay;
use crate::money::Cents;

/// The name of a step's only way, where it gives no `ways`.
pub const USUAL: &str = "usual";

/// A job: work at one place for one customer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Job {
    /// Unique among jobs; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Where: a place.
    pub place: String,
    /// Whom to call; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// No work before this date; a job whose date is after the horizon is later (W1).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earliest: Option<NaiveDate>,
    /// The date by whose end the job should be done (C1). None: never late.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<NaiveDate>,
    /// One of the book's ranks: what lateness and leaving the job out cost. None: no rank.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rank: Option<String>,
    /// Cost of a worked date past `due`, above 0. None: the rank's, else the price list's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Option<Cents>,
    /// Cost of leaving the job out (C2). None: the rank's, else by the rule of C2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left_out: Option<Cents>,
    /// When nobody can work there (W2).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub no_access: Vec<When>,
    /// What it waits on from others (W14).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub waits_on: Vec<WaitsOn>,
    /// May be planned in part: what can end only after the plan's weeks comes later (W12). None: as the shop says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_part: Option<bool>,
    /// Units held from the first step's start to the last step's end, or between two steps of it (E3, E7); to the plan's end
    /// where what ends that is later.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parked: Vec<Parked>,
    /// The steps, one at least.
    #[schemars(length(min = 1))]
    pub steps: Vec<Step>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Units of a kind parked at a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Parked {
    /// The kind.
    pub kind: String,
    /// How many. Default 1.
    #[serde(default = "default::one")]
    #[schemars(range(min = 1, max = 1_000))]
    pub count: u32,
    /// The step with whose start they are first held (E7). None: the earliest start of all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The step with whose end they are held last: `from` itself, or one that comes after it (E7). None: the latest end of
    /// all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// The units themselves, once a step of the job (`from`, where that is given) is done or in progress, and only then (N1).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub units: Vec<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// One piece of a job's work, done by one crew.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// Unique within the job; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What its crew must be able to do (W5).
    pub skill: String,
    /// Fewest people present in a half-day that counts (W2). Default 1; of an own crew the shop's, at most `max_people`
    /// (W17).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_000))]
    pub min_people: Option<u32>,
    /// Most people whose hours count (W3), not below `min_people`. None: all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_000))]
    pub max_people: Option<u32>,
    /// Most other crews that may help its crew, all of them the shop's own and the same ones throughout (W11). Default 0.
    #[serde(default, skip_serializing_if = "default::is_zero")]
    #[schemars(range(max = 8))]
    pub help: u32,
    /// Worked half-days it takes. Either this, `labor_hours`, `hours` or `ways`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_000))]
    pub half_days: Option<u32>,
    /// Labor hours it takes, above 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 100_000))]
    pub labor_hours: Option<f64>,
    /// Clock hours of a stop, above 0, at most `half_day_hours`: a visit within one half-day, several of which may fit in
    /// one (W16). In place of `half_days` or `labor_hours`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 12))]
    pub hours: Option<f64>,
    /// Units held while it is done (E2).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needs: Vec<Need>,
    /// Kits that are there while it is worked on: each an entry, twice for two (L2). Things count as them. No plan asks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub takes: Vec<String>,
    /// Material that it uses up (L7).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub material: Vec<Material>,
    /// Several ways to do it, instead of its own duration and needs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    pub ways: Option<Vec<StepWay>>,
    /// The steps it comes after (W6). None: the one listed before it; empty: free.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<Vec<After>>,
    /// No work before this date.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earliest: Option<NaiveDate>,
    /// The date by whose end the step should be done (C1). None: never late by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<NaiveDate>,
    /// Cost of a worked date past its own `due`, above 0. None: the job's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Option<Cents>,
    /// The dates on which somebody was told that it starts (C10).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<ToldWindow>,
    /// What it waits on from others (W14).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub waits_on: Vec<WaitsOn>,
    /// When nobody can work on it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub no_access: Vec<When>,
    /// Done outside: a storm stops it (W7).
    #[serde(default)]
    pub outside: bool,
    /// Must stay dry: rain stops it (W7).
    #[serde(default)]
    pub dry: bool,
    /// Gusts above this stop it (W7).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = 0, "maximum" = 300))]
    pub max_gust_mph: Option<f64>,
    /// A low under this stops it (W7).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub min_low_f: Option<f64>,
    /// A high above this stops it (W15).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub max_high_f: Option<f64>,
    /// Starting before the place has power, it holds so many units that give power (E5, E9). Default none; `true`: one.
    #[serde(default)]
    pub needs_power: PowerNeed,
    /// What the owner has fixed (W8).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixed: Option<Fixed>,
    /// How much more or less than that it may take. None: as `chance` says for all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spread: Option<Spread>,
    /// Its crew may leave it once and come back to do the rest (W10).
    #[serde(default)]
    pub may_split: bool,
    /// How it was done (N1).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub done: Option<DoneStep>,
    /// How it is being done, and what is left (N1).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub progress: Option<Progress>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Units of a kind that a step holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Need {
    /// The kind.
    pub kind: String,
    /// How many. Default 1.
    #[serde(default = "default::one")]
    #[schemars(range(min = 1, max = 1_000))]
    pub count: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// One of several ways to do a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StepWay {
    /// Unique within the step; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// Worked half-days it takes. Either this, `labor_hours` or `hours`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_000))]
    pub half_days: Option<u32>,
    /// Labor hours it takes, above 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 100_000))]
    pub labor_hours: Option<f64>,
    /// Clock hours of a stop, above 0, at most `half_day_hours`: a visit within one half-day, several of which may fit in
    /// one (W16). In place of `half_days` or `labor_hours`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 12))]
    pub hours: Option<f64>,
    /// Units held while it is done so (E2).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needs: Vec<Need>,
    /// Fewest people present. None: the step's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_000))]
    pub min_people: Option<u32>,
    /// Most other crews that may help, done so (W11). None: as the step says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 8))]
    pub help: Option<u32>,
    /// Units that give power, done so (E9). None: the step's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub needs_power: Option<PowerNeed>,
    /// What this way costs besides (C6). Default 0.
    #[serde(default)]
    pub extra: Cents,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub fields: Extra,
}

/// A step that comes before: its name, or its name with waits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum After {
    /// `step`, or `job/step`.
    Name(String),
    /// With waits.
    Waits(AfterStep),
}

/// A step that comes before, with waits in half-days, nights over and weekends included (W6).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AfterStep {
    /// `step`, or `job/step`.
    pub step: String,
    /// Half-days that must pass after its end. Default 0.
    #[serde(default)]
    #[schemars(range(max = 10_000))]
    pub wait_half_days: u32,
    /// Half-days that may pass after its end, not below `wait_half_days`. None: any number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 10_000))]
    pub within_half_days: Option<u32>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// A step's predecessor as the rules read it, its name split.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Predecessor<'a> {
    /// The other job, where one is named.
    pub job: Option<&'a str>,
    /// The step.
    pub step: &'a str,
    /// Half-days that must pass.
    pub wait: u32,
    /// Half-days that may pass.
    pub within: Option<u32>,
}

impl After {
    /// The link, with `job/step` split at the slash.
    pub fn link(&self) -> Predecessor<'_> {
        let (name, wait, within) = match self {
            Self::Name(name) => (name, 0, None),
            Self::Waits(after) => (&after.step, after.wait_half_days, after.within_half_days),
        };
        match name.split_once('/') {
            Some((job, step)) => Predecessor { job: Some(job), step, wait, within },
            None => Predecessor { job: None, step: name, wait, within },
        }
    }
}

/// What the owner has fixed of a step (W8).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Fixed {
    /// The crew.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crew: Option<String>,
    /// The half-day in which it starts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start: Option<HalfDay>,
    /// The way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way: Option<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Step {
    /// Whether it is done or in progress.
    pub fn started(&self) -> bool {
        self.done.is_some() || self.progress.is_some()
    }

    /// The units that give power which a way takes where there is none (E9), by its position.
    pub fn power(&self, way: usize) -> u32 {
        let own = self.ways.as_ref().and_then(|ways| ways[way].needs_power);
        own.unwrap_or(self.needs_power).units()
    }

    /// The most crews that may help its own (W11), by the way's position; a stop takes none (W16).
    pub fn help(&self, way: usize) -> u32 {
        let given = self.ways.as_ref().and_then(|ways| ways[way].help).unwrap_or(self.help);
        if self.stop(way).is_some() { 0 } else { given }
    }

    /// The hours of a stop (W16), by the way's position; `None`: it is none.
    pub fn stop(&self, way: usize) -> Option<f64> {
        self.ways.as_ref().map_or(self.hours, |ways| ways[way].hours)
    }

    /// What a way needs, by its position.
    pub fn needs(&self, way: usize) -> &[Need] {
        self.ways.as_ref().map_or(&self.needs, |ways| &ways[way].needs)
    }

    /// Whether it is in progress and between its spans (W10): it may split, it holds nothing, and its way needs units, or
    /// it started before its place had power (E5). `power_from` is its place's.
    pub fn between_spans(&self, power_from: Option<PowerFrom>) -> bool {
        let Some(progress) = self.progress.as_ref().filter(|progress| self.may_split && progress.units.is_empty())
        else {
            return false;
        };
        let dark = match power_from {
            None => false,
            Some(PowerFrom::Never) => true,
            Some(PowerFrom::Date(date)) => progress.start < HalfDay::am(date),
        };
        // A stop is no span (W16).
        if self.way(progress.way.as_deref()).is_some_and(|way| self.stop(way).is_some()) {
            return false;
        }
        let needs = self.way(progress.way.as_deref()).is_some_and(|way| !self.needs(way).is_empty());
        let power = self.way(progress.way.as_deref()).map_or(0, |way| self.power(way));
        needs || (power > 0 && dark)
    }

    /// The position of a way by its id; without one, of the only way.
    pub fn way(&self, id: Option<&str>) -> Option<usize> {
        match (&self.ways, id) {
            (None, None | Some(USUAL)) => Some(0),
            (Some(ways), Some(id)) => ways.iter().position(|way| way.id == id),
            (Some(ways), None) => (ways.len() == 1).then_some(0),
            (None, Some(_)) => None,
        }
    }
}
