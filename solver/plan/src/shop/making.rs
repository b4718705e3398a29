//! What a job's tables are made from.

use std::collections::BTreeSet;

use yardless_book::Book;
use yardless_book::half_day::Horizon;

use super::calendar::Calendar;
use super::history::BookHistory;
use super::load::HalfDayLoad;
use super::{CrewFacts, CrewId, KindFacts, KindId, Table, Teams};

/// The book and horizon, and the tables that are made before the jobs'.
pub(super) struct Making<'b> {
    pub(super) book: &'b Book,
    pub(super) horizon: Horizon,
    pub(super) calendar: &'b Calendar,
    pub(super) kinds: &'b Table<KindId, KindFacts>,
    pub(super) crews: &'b Table<CrewId, CrewFacts>,
    pub(super) teams: &'b Teams,
    pub(super) half_day_load: HalfDayLoad,
    pub(super) told: &'b BookHistory<'b>,
    /// What comes later, where that is known.
    pub(super) later: &'b Later,
}

/// What comes later of a book whose jobs may be planned in part.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Later {
    /// The jobs of which every step is later.
    pub(super) jobs: BTreeSet<usize>,
    /// The later steps of the others: their jobs' and their own positions in the book.
    pub(super) steps: BTreeSet<(usize, usize)>,
    /// Steps that are not, and would be if they took one half-day more, one a job; likewise.
    pub(super) barely: Vec<(usize, usize)>,
}
