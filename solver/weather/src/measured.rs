//! What a forecast knows of one half-day.

/// What a forecast knows of one half-day; what it does not know is not there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Measured {
    pub(super) gust_mph: Option<f64>,
    pub(super) low_f: Option<f64>,
    pub(super) high_f: Option<f64>,
    pub(super) rain: Option<bool>,
    pub(super) covered: bool,
    /// Only a part of the half-day's hours is known: gust, low and high may be worse.
    pub(super) partly: bool,
}

impl Measured {
    /// Takes in what another forecast for the same place knows: the worse counts.
    pub(super) fn worst(&mut self, other: &Self) {
        self.gust_mph = more(self.gust_mph, other.gust_mph);
        self.low_f = less(self.low_f, other.low_f);
        self.high_f = more(self.high_f, other.high_f);
        self.rain = [self.rain, other.rain].into_iter().flatten().reduce(|a, b| a || b);
        self.covered |= other.covered;
    }
}

/// The greater of what is known.
pub(super) fn more(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::max)
}

/// The less of what is known.
pub(super) fn less(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::min)
}
