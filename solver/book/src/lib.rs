//! The book as written: one file with everything the shop knows, format 1.

mod caution;
mod chance;
mod crew;
mod equipment;
mod fault;
pub mod half_day;
mod history;
mod home;
mod job;
mod meaning;
pub mod money;
mod near;
mod ordered;
mod parked;
mod pattern;
mod place;
mod power;
mod ratings;
mod read;
pub mod recurring;
mod reports;
mod schema;
mod shape;
mod shop;
mod source;
mod thing;
mod truck;
mod visible;
mod waits;
mod weather;
mod week_day;
mod when;

pub use caution::{Caution, Skill};
pub use chance::{Chance, Climate, Spread};
pub use crew::{Away, Crew};
pub use equipment::{Brakes, Equipment, Kind, Moves};
pub use fault::{Code, Fault, Path, PathPart};
pub use history::{DoneStep, Progress};
pub use home::{ClearBy, HomeBy};
pub use job::{After, AfterStep, Fixed, Job, Need, Parked, Predecessor, Step, StepWay, USUAL};
pub use near::nearest;
pub use pattern::Pattern;
pub use place::{Drive, Place, Posted, PowerFrom, Road};
pub use power::PowerNeed;
pub use ratings::Lacking;
pub use read::{Faults, MOST_BYTES, Written, digest, read};
pub use reports::{AlertRoads, EventRow, Reports};
pub use schema::{noun, schema};
pub use shop::{Hauling, Prices, ShopFacts};
pub use thing::{Material, Seen, Thing};
pub use truck::Truck;
pub use visible::{steers, visible};
pub use waits::{Rank, ToldWindow, WaitsOn};
pub use weather::{Report, RoadReport, Weather};
pub use week_day::WeekDay;
pub use when::{Half, When};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Longest id, in letters.
const LONGEST_ID: usize = 200;

/// What any object of the book may carry besides its fields: `note`, and names that begin with `x_`. Kept, never read.
pub type Extra = serde_json::Map<String, serde_json::Value>;

/// The book: places, crews, trucks, equipment, jobs, weather and prices of one shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Book {
    /// The format of the book: 1.
    #[schemars(range(min = 1, max = 1))]
    pub book: u32,
    /// The shop: its name, hours and working days.
    pub shop: ShopFacts,
    /// What hauls, lateness and waiting cost.
    #[serde(default)]
    pub prices: Prices,
    /// How long hitching and loading take, and how far is too far for one half-day.
    #[serde(default)]
    pub hauling: Hauling,
    /// How much jobs matter: what lateness and leaving one out cost, by rank.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ranks: Vec<Rank>,
    /// Kinds of road, with the seasons in which no trailer is towed on them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub roads: Vec<Road>,
    /// Job sites, and bases where equipment rests between jobs.
    pub places: Vec<Place>,
    /// Known drive times; other pairs are estimated from the coordinates.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drives: Vec<Drive>,
    /// Kinds of equipment that need a name or give power; other kinds may just be used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<Kind>,
    /// Skills that call for care, said here instead of read off their names; other skills may just be used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub skills: Vec<Skill>,
    /// The crews, and others who do steps (an inspector, an electrician).
    pub crews: Vec<Crew>,
    /// The trucks that tow and carry.
    pub trucks: Vec<Truck>,
    /// The units: machines, trailers, sets.
    pub equipment: Vec<Equipment>,
    /// What rides in trucks and units: kits, hoses, saws. No plan places them; load lists do.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub things: Vec<Thing>,
    /// What is reported of weather and roads, in order: a later entry replaces what an earlier one gave.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub weather: Vec<Weather>,
    /// How published reports become weather entries: which event does what. None: the shop's defaults.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reports: Option<Reports>,
    /// How durations spread and what weather to reckon with: what the chance of a date is worked out from. None: steps
    /// take what the book says, and only reported weather comes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance: Option<Chance>,
    /// The steps of kinds of job as the shop does them, to make jobs from; no plan reads them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub patterns: Vec<Pattern>,
    /// The jobs to plan.
    pub jobs: Vec<Job>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Book {
    /// Whether a step comes after another, directly or by way of others, also of other jobs (W6); each by job and id.
    pub fn comes_after(&self, step: (&str, &str), other: (&str, &str)) -> bool {
        let (mut seen, mut queue) = (std::collections::BTreeSet::new(), vec![step]);
        while let Some((job, id)) = queue.pop() {
            let Some(of) = self.jobs.iter().find(|of| of.id == job) else { continue };
            let Some(k) = of.steps.iter().position(|step| step.id == id) else { continue };
            let before: Vec<(&str, &str)> = match &of.steps[k].after {
                None => k.checked_sub(1).map(|k| (job, of.steps[k].id.as_str())).into_iter().collect(),
                Some(after) => after.iter().map(After::link).map(|link| (link.job.unwrap_or(job), link.step)).collect(),
            };
            for before in before {
                if before == other {
                    return true;
                }
                if seen.insert(before) {
                    queue.push(before);
                }
            }
        }
        false
    }
}

/// Serde needs functions for defaults that are not a type's own.
pub(crate) mod default {
    pub(crate) fn yes() -> bool {
        true
    }
    pub(crate) fn one() -> u32 {
        1
    }
    pub(crate) fn three() -> u32 {
        3
    }
    /// Whether a number is its default: then a book that is written back keeps its words.
    #[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
    pub(crate) fn is_one(n: &u32) -> bool {
        *n == 1
    }
    #[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
    pub(crate) fn is_zero(n: &u32) -> bool {
        *n == 0
    }
    #[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
    pub(crate) fn is_no(yes: &bool) -> bool {
        !*yes
    }
}
