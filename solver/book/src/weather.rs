//! What is reported of weather and roads.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Extra, Half, WeekDay, When};
use crate::half_day::Range;

/// One report. Entries are read in order: a field given here replaces what an earlier entry gave (W7, H2, H3).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Weather {
    /// When; a range with an end.
    pub on: When,
    /// Only on these weekdays of it, one at least; not beside a range that gives its own (T4). None: all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    pub weekdays: Option<Vec<WeekDay>>,
    /// Only in this half of its dates; not beside a range that gives its own. None: both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half: Option<Half>,
    /// Where: places. None: everywhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Vec<String>>,
    /// A storm: no outside work, no trailer on the road.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    pub storm: Report<bool>,
    /// Nobody travels: no work, no hauls.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    pub no_travel: Report<bool>,
    /// The roads: clear lifts the season, covered closes them to trailers.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    pub roads: Report<RoadReport>,
    /// Gusts in miles per hour, 0 to 300.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    #[schemars(extend("minimum" = 0, "maximum" = 300))]
    pub gust_mph: Report<f64>,
    /// The low in degrees Fahrenheit, -150 to 150.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub low_f: Report<f64>,
    /// The high in degrees Fahrenheit, -150 to 150.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub high_f: Report<f64>,
    /// Rain: dry steps wait.
    #[serde(default, skip_serializing_if = "Report::is_unsaid")]
    pub rain: Report<bool>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Weather {
    /// An entry of a range that reports nothing yet, everywhere.
    pub fn quiet(on: Range) -> Self {
        Self {
            on: on.into(),
            weekdays: None,
            half: None,
            at: None,
            storm: Report::Unsaid,
            no_travel: Report::Unsaid,
            roads: Report::Unsaid,
            gust_mph: Report::Unsaid,
            low_f: Report::Unsaid,
            high_f: Report::Unsaid,
            rain: Report::Unsaid,
            extra: Extra::new(),
        }
    }

    /// The half-days of which it speaks (T4).
    pub fn when(&self) -> When {
        self.on.on(self.weekdays.as_deref(), self.half)
    }
}

/// The state of the roads at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum RoadReport {
    /// Lifts the season, never a storm.
    Clear,
    /// Closed to trailers.
    Covered,
}

/// A field of a report: not mentioned, taken back (`null`), or said.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Report<T> {
    /// The entry does not mention it: what earlier entries gave stays.
    #[default]
    Unsaid,
    /// `null`: as if never reported.
    TakenBack,
    /// The value.
    Said(T),
}

impl<T: Copy> Report<T> {
    /// Whether the entry does not mention it.
    pub fn is_unsaid(&self) -> bool {
        matches!(self, Self::Unsaid)
    }
    /// Replaces `old` where this says something.
    pub fn over(self, old: &mut Option<T>) {
        match self {
            Self::Unsaid => {}
            Self::TakenBack => *old = None,
            Self::Said(value) => *old = Some(value),
        }
    }
}

impl<T: Serialize> Serialize for Report<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Said(value) => value.serialize(to),
            _ => to.serialize_none(),
        }
    }
}
impl<'de, T: Deserialize<'de>> Deserialize<'de> for Report<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Ok(Option::deserialize(from)?.map_or(Self::TakenBack, Self::Said))
    }
}
impl<T: JsonSchema> JsonSchema for Report<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        Option::<T>::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            generator.subschema_for::<T>(),
            { "const": null, "description": "Takes back what an earlier entry gave." }
        ] })
    }
}
