//! How much of each thing a file may have, so that none costs more than its own size.

use super::FileFault;

/// What is counted.
#[derive(Clone, Copy)]
pub(super) enum Thing {
    /// Alerts; each `info` of a CAP message is one.
    Alerts,
    /// References to other messages.
    References,
    /// Points of outlines.
    Points,
    /// Codes of zones and counties.
    Codes,
}

impl Thing {
    /// Most of it in one file. The whole of the United States has some hundreds of alerts at once.
    pub(super) const fn most(self) -> usize {
        match self {
            Self::Alerts => 20_000,
            Self::References | Self::Codes => 200_000,
            Self::Points => 1_000_000,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Alerts => "alerts",
            Self::References => "references to other alerts",
            Self::Points => "points of outlines",
            Self::Codes => "codes of areas",
        }
    }
}

/// What a file has so far.
#[derive(Default)]
pub(super) struct Count {
    seen: [usize; 4],
    /// What there is too much of; from then on nothing more is taken in.
    pub(super) passed: Option<FileFault>,
}

impl Count {
    /// Counts so many more; whether they may be taken in.
    pub(super) fn allows(&mut self, thing: Thing, more: usize) -> bool {
        let seen = &mut self.seen[thing as usize];
        *seen = seen.saturating_add(more);
        if *seen > thing.most() && self.passed.is_none() {
            let says = format!("the file has more than {} {}", thing.most(), thing.name());
            self.passed = Some(FileFault::new("the file", says, "ask for fewer areas"));
        }
        self.passed.is_none()
    }
}
