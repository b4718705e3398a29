//! The plans that choices are made between, of the book and the plan as they stand: looked for once, until one of them changes.

use std::sync::{Arc, Mutex, PoisonError};

use yardless_answer::matters::Weighing;
use yardless_book::half_day::HalfDay;

/// The revisions of book and plan, and the half-day, that they are of.
pub type WeighedOf = ((i64, i64), HalfDay);

/// The last that were looked for.
#[derive(Default)]
pub struct Weighed(Mutex<Option<(WeighedOf, Arc<Weighing>)>>);

impl Weighed {
    /// Those of a book and a plan.
    pub fn get(&self, of: WeighedOf) -> Option<Arc<Weighing>> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.as_ref().filter(|(known, _)| *known == of).map(|(_, weighing)| Arc::clone(weighing))
    }
    /// Keeps them, instead of the last ones.
    pub fn put(&self, of: WeighedOf, weighing: Arc<Weighing>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((of, weighing));
    }
}
