//! What work holds: units of a kind, power, or a unit itself.

use super::KindFacts;
use super::ids::{Id, KindId, Table, UnitId};

/// So many units that can serve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// What they serve as.
    pub want: Want,
    /// How many.
    pub count: usize,
}

impl Need {
    /// So many of a kind, by its id in the book.
    pub(super) fn of(kinds: &Table<KindId, KindFacts>, id: &str, count: u32) -> Self {
        let kind = kinds.find(|kind| kind.id == id).unwrap_or_else(|| KindId::from_index(0));
        Self { want: Want::Kind(kind), count: count as usize }
    }

    /// Those of one way: of a shared kind one need, the largest (E8), as one unit serves all of them.
    pub(super) fn of_way(kinds: &Table<KindId, KindFacts>, needs: &[yardless_book::Need]) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for need in needs.iter().map(|need| Self::of(kinds, &need.kind, need.count)) {
            let shared = |want: Want| matches!(want, Want::Kind(kind) if kinds[kind].shared);
            match all.iter_mut().find(|other| other.want == need.want && shared(need.want)) {
                Some(other) => other.count = other.count.max(need.count),
                None => all.push(need),
            }
        }
        all
    }
}

/// What a unit is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Want {
    /// As a unit of this kind.
    Kind(KindId),
    /// For its power: any unit of a kind marked so (E5).
    Power,
    /// Itself: a job that has begun holds it (N1).
    Unit(UnitId),
}

impl Want {
    /// Whether work waits while the unit is out, instead of never holding it then (N1).
    pub fn waits(self) -> bool {
        matches!(self, Self::Unit(_))
    }
}
