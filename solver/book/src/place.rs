//! Places, the roads they lie on, and the drives between them.

use chrono::NaiveDate;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

use super::{Book, ClearBy, Extra, WeekDay, default};
use crate::half_day::parse_date;
use crate::money::Cents;
use crate::recurring::Season;

/// A job's site, or a base where equipment rests.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Place {
    /// Unique among places; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Street address; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Latitude and longitude in degrees, to estimate drives that are not listed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("format" = "coordinates"))]
    pub at: Option<[f64; 2]>,
    /// Codes of the zones and counties that it lies in, UGC (`ZZZ007`) or SAME (`099007`): published alerts name them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(extend("items" = { "type": "string", "format": "zone" }))]
    pub zones: Vec<String>,
    /// The road it lies on. None: never closed by season.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub road: Option<String>,
    /// Most towed units that stand here at once (E6). None: no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 10_000))]
    pub trailer_spots: Option<u32>,
    /// From this date's am there is power; "never": none (E5). None: has power.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_from: Option<PowerFrom>,
    /// What a towed unit that stands here costs for each half-day that the shop works, held or not (C12). Default 0.
    #[serde(default, skip_serializing_if = "Cents::is_nothing")]
    pub stand_half_day: Cents,
    /// By when towed units are to be gone once the last step here is done (C18).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clear_by: Option<ClearBy>,
    /// Whether things that lie here are kept warm at night (L8). Default false.
    #[serde(default, skip_serializing_if = "default::is_no")]
    pub heated: bool,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Place {
    /// How it is printed.
    pub fn printed(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.id)
    }
}

impl Book {
    /// The places to and from which no drive is known (H6): no minutes are listed to any other place, and there are no
    /// coordinates to estimate any from. Nothing is hauled there. None where the book has one place only.
    pub fn cut_off(&self) -> Vec<&Place> {
        let known = |id: &String| self.places.iter().any(|place| place.id == *id);
        let listed = |place: &Place| {
            let ends = |drive: &&Drive| drive.from != drive.to && (drive.from == place.id || drive.to == place.id);
            self.drives.iter().filter(ends).any(|drive| known(&drive.from) && known(&drive.to))
        };
        let estimated =
            |place: &Place| place.at.is_some() && self.places.iter().filter(|of| of.at.is_some()).count() > 1;
        let alone = |place: &&Place| !listed(place) && !estimated(place);
        self.places.iter().filter(|_| self.places.len() > 1).filter(alone).collect()
    }
}

/// When a place gets power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PowerFrom {
    /// From the am of this date.
    Date(NaiveDate),
    /// Not at all.
    Never,
}

impl Serialize for PowerFrom {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Date(date) => to.collect_str(date),
            Self::Never => to.serialize_str("never"),
        }
    }
}
impl<'de> Deserialize<'de> for PowerFrom {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        match String::deserialize(from)?.as_str() {
            "never" => Ok(Self::Never),
            text => parse_date(text).map(Self::Date).map_err(D::Error::custom),
        }
    }
}
impl JsonSchema for PowerFrom {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "PowerFrom".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "description": "A date, or never.", "type": "string", "format": "power-from", "pattern": r"^(\d{4}-\d\d-\d\d|never)$" })
    }
}

/// A kind of road, and when it is closed to trailers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Road {
    /// Unique among roads; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Seasons in which no trailer is towed here (H2): the shop's own policy.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub no_trailers: Vec<Season>,
    /// Weekdays on which, past the last report, the road is expected clear in its season (H2).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub expect_clear: Vec<WeekDay>,
    /// Weights posted on it in parts of the year (H8).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub posted: Vec<Posted>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// A weight posted on a road: what weighs more, truck and load together, does not haul over it (H8).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Posted {
    /// When, month and day: `03-01/05-15`; it may wrap the year.
    pub on: Season,
    /// The most that truck and unit may weigh together.
    #[schemars(range(min = 1, max = 1_000_000))]
    pub pounds: u32,
    /// Whether more may pass at the start of an am whose low is under freezing, 32 °F. Default: no.
    #[serde(default, skip_serializing_if = "default::is_no")]
    pub frozen_mornings: bool,
    /// Where the posting is to be read; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// A known drive between two places, either direction.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Drive {
    /// One end: a place.
    pub from: String,
    /// The other end: a place.
    pub to: String,
    /// Whole minutes.
    #[schemars(range(max = 10_000))]
    pub minutes: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
