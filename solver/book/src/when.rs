//! When something is so: a range of half-days, all of them or those on some weekdays or of one half (T4).

use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Extra, WeekDay};
use crate::half_day::{HalfDay, Horizon, Range};

/// One half of every date.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Half {
    /// The mornings.
    Am,
    /// The afternoons.
    Pm,
}

/// A range, or of its half-days those on the listed weekdays that are the half (T4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct When {
    /// The first half-day and the last.
    pub range: Range,
    /// The weekdays, Monday first; all where none was listed.
    weekdays: [bool; 7],
    /// Only this half of each date.
    half: Option<Half>,
    /// Whether the book writes it as a group of fields.
    written: bool,
}

/// A range with weekdays or a half, as the book writes it.
#[derive(Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "When")]
struct Written {
    /// The range, in text.
    on: Range,
    /// Its weekdays, one at least. None: all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    weekdays: Option<Vec<WeekDay>>,
    /// Only this half of each date. None: both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    half: Option<Half>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    extra: Extra,
}

/// All weekdays.
const ALL: [bool; 7] = [true; 7];
/// Their names, Monday first.
const NAMES: [WeekDay; 7] =
    [WeekDay::Mon, WeekDay::Tue, WeekDay::Wed, WeekDay::Thu, WeekDay::Fri, WeekDay::Sat, WeekDay::Sun];

impl When {
    /// Those half-days of the range that lie on the weekdays (all, where not given) and are the half (either).
    pub fn new(range: Range, weekdays: Option<&[WeekDay]>, half: Option<Half>) -> Self {
        let listed = |days: &[WeekDay]| NAMES.map(|day| days.contains(&day));
        Self { range, weekdays: weekdays.map_or(ALL, listed), half, written: false }
    }

    /// The same with weekdays and a half that are given beside it; its own stay where none are.
    #[must_use]
    pub fn on(self, weekdays: Option<&[WeekDay]>, half: Option<Half>) -> Self {
        let beside = Self::new(self.range, weekdays, half);
        let weekdays = if weekdays.is_some() { beside.weekdays } else { self.weekdays };
        Self { weekdays, half: half.or(self.half), ..self }
    }

    /// The range, where all its half-days are meant.
    pub fn whole(self) -> Option<Range> {
        (self.weekdays == ALL && self.half.is_none()).then_some(self.range)
    }

    /// The listed weekdays; `None`: all.
    pub fn weekdays(self) -> Option<Vec<WeekDay>> {
        let listed = || NAMES.into_iter().zip(self.weekdays).filter(|(_, on)| *on).map(|(day, _)| day).collect();
        (self.weekdays != ALL).then(listed)
    }

    /// Whether the book writes it as a group of fields.
    pub fn is_group(self) -> bool {
        self.written
    }

    /// The half of each date; `None`: both.
    pub fn half(self) -> Option<Half> {
        self.half
    }

    /// The same of a shorter range; what is not in both is left out.
    #[must_use]
    pub fn within(self, range: Range) -> Option<Self> {
        let range = Range { first: self.range.first.max(range.first), last: self.range.last.min(range.last) };
        (range.first <= range.last).then_some(Self { range, ..self })
    }

    /// Whether the half-day is meant.
    pub fn holds(self, half_day: HalfDay) -> bool {
        self.range.holds(half_day) && self.selects(half_day)
    }

    fn selects(self, half_day: HalfDay) -> bool {
        let half = match self.half {
            None => true,
            Some(Half::Am) => !half_day.is_pm(),
            Some(Half::Pm) => half_day.is_pm(),
        };
        half && self.weekdays[half_day.weekday()]
    }

    /// Calls with the index of each half-day of the horizon that is meant.
    pub fn each(self, horizon: Horizon, mut of: impl FnMut(usize)) {
        for stretch in self.within(horizon.range()).into_iter().flat_map(Self::stretches) {
            horizon.indices(stretch).for_each(&mut of);
        }
    }

    /// The first half-day that is meant, if any is.
    pub fn first(self) -> Option<HalfDay> {
        self.stretches().next().map(|stretch| stretch.first)
    }

    /// The last half-day that is meant, if any is. It lies in the range's last week, or nowhere.
    pub fn last(self) -> Option<HalfDay> {
        let back = std::iter::successors(Some(self.range.last), |h| Some(h.preceding()));
        back.take(14).take_while(|h| self.range.first <= *h).find(|h| self.selects(*h))
    }

    /// The half-days that are meant, joined where they follow one another, in the order of time.
    pub fn stretches(self) -> impl Iterator<Item = Range> {
        let mut next = Some(self.range.first);
        std::iter::from_fn(move || {
            if let Some(whole) = self.whole() {
                return next.take().map(|_| whole);
            }
            let from = next?;
            let ahead = |from: HalfDay, of: bool| {
                let ahead = std::iter::successors(Some(from), |h| Some(h.following()));
                // A week shows them all.
                ahead.take(15).take_while(|h| *h <= self.range.last).find(|h| self.selects(*h) == of)
            };
            let first = ahead(from, true)?;
            let end = ahead(first, false);
            next = end;
            Some(Range { first, last: end.map_or(self.range.last, HalfDay::preceding) })
        })
    }
}

impl fmt::Display for When {
    /// `2026-12-09/2026-12-20, wed and thu, am`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.range)?;
        for (nth, day) in self.weekdays().into_iter().flatten().enumerate() {
            write!(f, "{}{}", if nth == 0 { ", " } else { " and " }, day.text())?;
        }
        match self.half {
            None => Ok(()),
            Some(Half::Am) => f.write_str(", am"),
            Some(Half::Pm) => f.write_str(", pm"),
        }
    }
}

impl From<Range> for When {
    fn from(range: Range) -> Self {
        Self { range, weekdays: ALL, half: None, written: false }
    }
}

impl Serialize for When {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self.whole() {
            Some(range) => range.serialize(to),
            None => Written { on: self.range, weekdays: self.weekdays(), half: self.half, extra: Extra::new() }
                .serialize(to),
        }
    }
}
impl<'de> Deserialize<'de> for When {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Either {
            Text(Range),
            Written(Written),
        }
        Ok(match Either::deserialize(from)? {
            Either::Text(range) => range.into(),
            Either::Written(Written { on, weekdays, half, .. }) => {
                Self { written: true, ..Self::new(on, weekdays.as_deref(), half) }
            }
        })
    }
}
impl JsonSchema for When {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "RangeOrWeekdays".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [generator.subschema_for::<Range>(), generator.subschema_for::<Written>()] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn when(text: &str) -> When {
        serde_json::from_str(text).expect("a range or an object")
    }

    #[test]
    fn weekdays_and_a_half_choose_among_the_half_days_of_a_range() {
        // 2026-12-07 is a Monday.
        let wednesdays = when(r#"{"on": "2026-12-07/2026-12-20", "weekdays": ["wed"], "half": "am"}"#);
        let found: Vec<String> = wednesdays.stretches().map(|stretch| stretch.to_string()).collect();
        assert_eq!(found, ["2026-12-09 am", "2026-12-16 am"]);
        assert_eq!(wednesdays.last().expect("a Wednesday").to_string(), "2026-12-16 am");
        let weekend = when(r#"{"on": "2026-12-12 pm/2026-12-20", "weekdays": ["sat", "sun"]}"#);
        let found: Vec<String> = weekend.stretches().map(|stretch| stretch.to_string()).collect();
        assert_eq!(found, ["2026-12-12 pm/2026-12-13", "2026-12-19/2026-12-20"]);
        let none = when(r#"{"on": "2026-12-07", "weekdays": ["tue"]}"#);
        assert_eq!((none.first(), none.last(), none.stretches().count()), (None, None, 0));
    }

    #[test]
    fn stretches_hold_what_is_held_one_by_one() {
        let mut random = fastrand::Rng::with_seed(4);
        let from: HalfDay = "2026-12-07 am".parse().expect("a half-day");
        let nth = |n: usize| (0..n).fold(from, |h, _| h.following());
        for _ in 0..300 {
            let (a, b) = (random.usize(..40), random.usize(..40));
            let days: Vec<WeekDay> = NAMES.into_iter().filter(|_| random.u8(..3) > 0).collect();
            let half = [None, Some(Half::Am), Some(Half::Pm)][random.usize(..3)];
            let range = Range { first: nth(a.min(b)), last: nth(a.max(b)) };
            let when = When::new(range, (!days.is_empty()).then_some(&days), half);
            let held: Vec<HalfDay> = (0..60).map(nth).filter(|h| when.holds(*h)).collect();
            let listed: Vec<HalfDay> = (0..60).map(nth).filter(|h| when.stretches().any(|s| s.holds(*h))).collect();
            assert_eq!(held, listed, "{when:?}");
            assert_eq!((when.first(), when.last()), (held.first().copied(), held.last().copied()), "{when:?}");
            assert!(when.stretches().zip(when.stretches().skip(1)).all(|(a, b)| a.last.following() < b.first));
        }
    }

    #[test]
    fn an_open_end_is_read_and_written_in_text_and_object() {
        for text in [r#""2026-12-07/""#, r#"{"on":"2026-12-07 pm/","weekdays":["fri"]}"#, r#""2026-12-09""#] {
            assert_eq!(serde_json::to_string(&when(text)).expect("JSON"), text);
        }
        assert!(when(r#""2026-12-07/""#).holds("2099-01-01 am".parse().expect("a half-day")));
    }
}
