//! Units of equipment and the kinds they serve as.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Caution, Extra, HomeBy, When, default};
use crate::money::Cents;

/// A kind of equipment that needs a name or gives power.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Kind {
    /// Unique among kinds; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Whether its units give power at a site without (E5). Default false.
    #[serde(default)]
    pub power: bool,
    /// Whether one of its units serves any number of needs of the kind at its place at the same time, and of needs of power
    /// where the kind gives it (E8); such a unit has no other kind. A need of several still takes so many units. Default
    /// false.
    #[serde(default, skip_serializing_if = "default::is_no")]
    pub shared: bool,
    /// The cautions that its units call for where they are held. None given: staging, where the kind's name says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cautions: Option<Vec<Caution>>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// One piece of equipment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Equipment {
    /// Unique among equipment; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What it can serve as, one need at a time (E2); where it is of a shared kind (E8), that alone.
    #[schemars(length(min = 1))]
    pub kinds: Vec<String>,
    /// Towed behind a truck, or carried in one.
    pub moves: Moves,
    /// Its weight, loaded, against a truck's `tow_lb` (H4). Default 0: not known, or by `empty_lb` and `contents_lb`.
    #[serde(default)]
    #[schemars(range(max = 1_000_000))]
    pub weight_lb: u32,
    /// What it weighs empty, in place of `weight_lb` (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub empty_lb: Option<u32>,
    /// What is in it, in place of `weight_lb` (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub contents_lb: Option<u32>,
    /// What its maker rates it for, loaded (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub rating_lb: Option<u32>,
    /// Its hitch, in the shop's own words (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hitch: Option<String>,
    /// Its brakes (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brakes: Option<Brakes>,
    /// Where its figures are from; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ratings_from: Option<String>,
    /// Where it stands at the beginning.
    pub place: String,
    /// When it is in repair or lent: neither held nor hauled (E4).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub out: Vec<When>,
    /// What it is hired for, for each half-day that the shop works in which it does not stand at its `hire_place` (C13).
    /// Default 0: it is the shop's own.
    #[serde(default, skip_serializing_if = "Cents::is_nothing")]
    pub hire_half_day: Cents,
    /// The place that it is hired from: standing there it costs no hire. Wanted where `hire_half_day` is above 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hire_place: Option<String>,
    /// By when it is to stand at a place: back at the base, or off the hill before the season closes the road (C17).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub home_by: Option<HomeBy>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// How a unit moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Moves {
    /// Behind a truck: roads may be closed to it (H2).
    Towed,
    /// In a truck's bed (H3).
    Carried,
}

/// What brakes a trailer has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Brakes {
    /// None.
    None,
    /// They work by themselves as it runs up against the truck.
    Surge,
    /// The truck works them (H7).
    Electric,
}
