//! What it costs where units stand as a date begins: away from home, or where the work is over (C17, C18).

use super::{Search, SearchState, StepState, UnitAt};

impl Search<'_> {
    /// C17 and C18 of a half-day that begins, before its hauls.
    pub(super) fn late(&self, state: &SearchState) -> i64 {
        let plain = &self.tables.plain;
        if state.h >= self.tables.len || !plain.has_homes() {
            return 0;
        }
        let Some(date) = plain.begins(state.h) else { return 0 };
        let at = |(unit, at): (usize, &UnitAt)| match *at {
            UnitAt::Stands(place) | UnitAt::Arrived(place) => {
                let over = self.over_at(state, place).map(|end| plain.date_of(end));
                plain.home_late(unit, place, date) + over.map_or(0, |last| plain.uncleared(unit, place, last, date))
            }
            UnitAt::Coming(_) => unreachable!("what was hauled has come"),
        };
        state.units.iter().enumerate().map(at).sum()
    }

    /// The last end at a place where the work is over: no job there is later, nor a step of one, and none that has begun or
    /// is done is still to end.
    fn over_at(&self, state: &SearchState, place: usize) -> Option<i64> {
        let t = &self.tables;
        let mut last = None;
        for job in (0..t.jobs.len()).filter(|job| t.jobs[*job].place == place) {
            let steps: Vec<StepState> = t.steps_of(job).map(|step| state.steps[step]).collect();
            if t.jobs[job].later || t.in_part(job) {
                return None;
            }
            if !t.jobs[job].started && steps.iter().all(|step| *step == StepState::LeftOut) {
                continue;
            }
            for step in steps {
                let StepState::Done { end } = step else { return None };
                last = last.max(Some(end));
            }
        }
        last
    }

    /// Whether the end of a step is looked at as long as the weeks last.
    pub(super) fn clears(&self, step: usize) -> bool {
        let place = self.tables.jobs[self.tables.steps[step].job].place;
        self.tables.plain.book.places[place].clear_by.is_some()
    }
}
