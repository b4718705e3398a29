//! Units for what a step or a job wants at its place.

use yardless_plan::shop::{JobId, Need, ParkedNeed, UnitId};

use super::PartialPlan;
use crate::primal::route::Stop;
use crate::primal::timetable::{Fit, Undo};

impl PartialPlan<'_> {
    /// A stop at a job's place, for the job.
    pub(super) fn stop(&self, job: JobId, first: usize, last: usize) -> Stop {
        Stop::new(self.shop().jobs[job].place, first, last, Some(job))
    }

    /// The same for what is parked at a job from one half-day to another, or on from there to the horizon's end (E3, E7).
    pub(super) fn parking(&self, job: JobId, held: &ParkedNeed, (first, last): (usize, usize)) -> Stop {
        let stop = self.stop(job, first, last);
        if held.on { Stop { last: self.shop().len() - 1, ..stop } } else { stop }
    }

    /// Holds units for needs at a stop: for each one wanted, the unit that is cheapest to bring. One that is shared serves
    /// each need once, and is named once (E8).
    pub(super) fn hold(&mut self, needs: &[Need], stop: Stop, undo: &mut Undo) -> Option<(Vec<UnitId>, i64)> {
        let idle =
            |need: &Need| self.tables.able(need.want).iter().filter(|unit| self.timetable.idle(**unit, stop)).count();
        if needs.iter().any(|need| idle(need) < need.count) {
            return None;
        }
        let (mut units, mut cents) = (Vec::new(), 0);
        for need in needs {
            let mut serving = Vec::with_capacity(need.count);
            for _ in 0..need.count {
                let (added, unit) = match self.cheapest(need, stop, &serving) {
                    Some((unit, fit)) => {
                        self.timetable.take(unit, stop, &fit, undo);
                        (fit.cents, unit)
                    }
                    None => self.hold_with_room(need, stop, &serving, undo)?,
                };
                cents += added;
                serving.push(unit);
            }
            serving.retain(|unit| !units.contains(unit));
            units.extend(serving);
        }
        Some((units, cents))
    }

    /// Where fewer units than needed are idle throughout a stop: from when on enough of them are.
    pub(super) fn enough_idle_from(&self, need: Need, stop: Stop) -> Option<usize> {
        let mut idle: Vec<usize> =
            self.tables.able(need.want).iter().map(|unit| self.timetable.idle_from(*unit, stop)).collect();
        idle.sort_unstable();
        match idle.get(need.count.checked_sub(1)?) {
            Some(from) => (*from > stop.first).then_some(*from),
            None => Some(self.shop().len()),
        }
    }

    /// What the same would cost; nothing is changed.
    pub(super) fn cost_to_hold(&mut self, needs: &[Need], stop: Stop) -> Option<i64> {
        if let [need] = needs
            && need.count == 1
            && let Some((_, fit)) = self.cheapest(need, stop, &[])
        {
            return Some(fit.cents);
        }
        let mut undo = Undo::new();
        let held = self.hold(needs, stop, &mut undo);
        self.timetable.undo(undo);
        held.map(|(_, cents)| cents)
    }

    /// The unit that is cheapest to bring, but for those that serve the need already.
    fn cheapest(&mut self, need: &Need, stop: Stop, serving: &[UnitId]) -> Option<(UnitId, Fit)> {
        let mut best: Option<(UnitId, Fit)> = None;
        for unit in self.tables.able(need.want) {
            if self.timetable.doubles(*unit) || serving.contains(unit) {
                continue;
            }
            if let Some(fit) = self.timetable.fit(*unit, stop)
                && best.as_ref().is_none_or(|(_, least)| fit.cents < least.cents)
            {
                best = Some((*unit, fit));
            }
        }
        best
    }

    /// The unit held after another trailer has been hauled out of the way (E6).
    fn hold_with_room(
        &mut self,
        need: &Need,
        stop: Stop,
        serving: &[UnitId],
        undo: &mut Undo,
    ) -> Option<(i64, UnitId)> {
        for unit in self.tables.able(need.want) {
            if serving.contains(unit) || !self.timetable.room_may_help(*unit, stop) {
                continue;
            }
            let before = undo.len();
            let cost_before = self.timetable.cents;
            for h in [stop.first, stop.first.saturating_sub(1)] {
                if self.timetable.make_room(stop.place, h, stop.job, Some(*unit), undo)
                    && self.timetable.add_stop(*unit, stop, undo).is_some()
                {
                    return Some((self.timetable.cents - cost_before, *unit));
                }
                let back = undo.split_off(before);
                self.timetable.undo(back);
            }
        }
        None
    }
}
