//! How much work a step is.

/// How much work a step is (W3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// Worked half-days.
    HalfDays(u32),
    /// Labor hours, in millionths of an hour: whole numbers add up without error.
    Hours(i64),
}

pub(super) const MILLIONTHS: f64 = 1e6;

impl Amount {
    /// From the book's two fields, of which the reader has made sure that just one is given.
    pub(super) fn of(half_days: Option<u32>, labor_hours: Option<f64>) -> Self {
        match (half_days, labor_hours) {
            (_, Some(hours)) => Self::Hours(((hours * MILLIONTHS).round() as i64).max(1)),
            (days, None) => Self::HalfDays(days.unwrap_or(1)),
        }
    }

    /// All of it, in half-days or millionths of an hour.
    pub fn total(self) -> i64 {
        match self {
            Self::HalfDays(n) => i64::from(n),
            Self::Hours(n) => n,
        }
    }

    /// So much of the same, at least something.
    pub(super) fn left(self, left: f64) -> Self {
        match self {
            Self::HalfDays(_) => Self::HalfDays((left.round() as u32).max(1)),
            Self::Hours(_) => Self::of(None, Some(left)),
        }
    }
}
