//! Whole cents: every cost inside the program is a count of cents.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

/// An amount in whole cents; written in books and plans as dollars with at most two decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cents(pub i64);

/// The largest amount a book may give, in dollars: keeps every sum of costs far inside 64 bits.
pub const MOST_DOLLARS: f64 = 10_000_000.0;

impl Cents {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// Whether it is nothing: then a book or plan that is written back keeps its words.
    #[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
    pub fn is_nothing(&self) -> bool {
        *self == Self::ZERO
    }

    /// Dollars to cents; `None` when there are more than two decimals or the amount is out of range.
    pub fn from_dollars(dollars: f64) -> Option<Self> {
        let cents = dollars * 100.0;
        let whole = cents.round();
        ((cents - whole).abs() < 1e-4 && dollars.abs() <= MOST_DOLLARS).then_some(Self(whole as i64))
    }

    /// For JSON only, where amounts are dollars.
    pub fn dollars(self) -> f64 {
        self.0 as f64 / 100.0
    }
}

impl fmt::Display for Cents {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let cents = self.0.unsigned_abs();
        let dollars = (cents / 100).to_string();
        let grouped = dollars
            .as_bytes()
            .rchunks(3)
            .rev()
            .map(|three| std::str::from_utf8(three).expect("digits"))
            .collect::<Vec<_>>()
            .join(",");
        f.pad(&format!("{sign}{grouped}.{:02}", cents % 100))
    }
}

impl Add for Cents {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Sub for Cents {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Neg for Cents {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl AddAssign for Cents {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}
impl SubAssign for Cents {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}
impl Mul<i64> for Cents {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}
impl Sum for Cents {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, Add::add)
    }
}

impl Serialize for Cents {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if self.0 % 100 == 0 { to.serialize_i64(self.0 / 100) } else { to.serialize_f64(self.dollars()) }
    }
}
impl<'de> Deserialize<'de> for Cents {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Self::from_dollars(f64::deserialize(from)?)
            .ok_or_else(|| D::Error::custom("an amount in dollars with at most two decimals, up to 10 million"))
    }
}
impl JsonSchema for Cents {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Dollars".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Dollars, with at most two decimals.",
            "type": "number", "minimum": 0, "maximum": MOST_DOLLARS, "multipleOf": 0.01, "format": "dollars"
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cents_keep_two_decimals_and_refuse_a_third() {
        assert_eq!(Cents::from_dollars(0.25), Some(Cents(25)));
        assert_eq!(Cents::from_dollars(1_234.1), Some(Cents(123_410)));
        assert_eq!(Cents::from_dollars(0.125), None);
        assert_eq!(Cents::from_dollars(f64::NAN), None);
    }

    #[test]
    fn cents_print_with_thousands_and_two_decimals() {
        assert_eq!(Cents(123_456_705).to_string(), "1,234,567.05");
        assert_eq!(Cents(-5).to_string(), "-0.05");
    }
}
