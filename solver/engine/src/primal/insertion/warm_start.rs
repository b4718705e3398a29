//! Warm start: a plan taken over from elsewhere, whole where it holds, else as a hint for each of its steps.

use std::sync::Arc;

use yardless_plan::shop::{JobId, StepId, Table, UnitId};
use yardless_plan::{Done, Draft, Haul, ParkedUnit};

use super::PartialPlan;
use crate::model::Hint;
use crate::primal::route::{RouteHaul, Stop};

impl PartialPlan<'_> {
    /// Takes a plan that holds in place of what is there: rows, units and hauls as they are, but for hauls after which
    /// nothing needs the unit, unless it costs where it stands. `false` where it cannot be taken so; then nothing is to be
    /// built on what is there.
    pub(crate) fn take_over(&mut self, draft: &Draft) -> bool {
        self.take(draft, false)
    }

    /// The same, with hauls after which nothing needs the unit.
    pub(crate) fn take_over_whole(&mut self, draft: &Draft) -> bool {
        self.take(draft, true)
    }

    fn take(&mut self, draft: &Draft, whole: bool) -> bool {
        let shop = self.shop();
        let mut further = Vec::new();
        for unit in shop.units.ids() {
            let mut trips: Vec<RouteHaul> = Vec::new();
            let mut hauls: Vec<&Haul> = draft.hauls.iter().filter(|haul| haul.unit == unit).collect();
            hauls.sort_by_key(|haul| (haul.at, haul.evening));
            for haul in hauls {
                let moves = shop.units[unit].moves;
                let Some(time) = shop.haul_time(moves, haul.from, haul.to) else { return false };
                let cents = shop.haul_cost(moves, time.minutes).0;
                let Haul { from, to, at, evening, .. } = *haul;
                trips.push(RouteHaul { from, to, at, evening, long: time.long, cents });
            }
            let stops = self.stops(draft, unit);
            match self.timetable.set_route(unit, stops, trips) {
                Some(rest) => further.push((unit, rest)),
                None => return false,
            }
        }
        for (unit, trips) in further {
            self.timetable.extend_route(unit, trips, whole);
        }
        let does = |job: &JobId| shop.jobs[*job].planned() && draft.does(shop, *job);
        for job in shop.jobs.ids().filter(does) {
            for step in shop.jobs[job].step_ids() {
                let Some(done) = &draft.steps[step] else { continue };
                self.mark(step, done, true);
                self.steps[step] = Some(Arc::new(done.clone()));
            }
            self.parked[job].clone_from(&draft.parked[job]);
            self.done[job] = true;
            self.cents += self.job_cents(job) - self.out_cents(job);
        }
        true
    }

    /// Where a plan needs a unit, in order of time.
    fn stops(&self, draft: &Draft, unit: UnitId) -> Vec<Stop> {
        let shop = self.shop();
        let mut stops = Vec::new();
        for job in shop.jobs.ids().filter(|job| shop.jobs[*job].planned() || shop.jobs[*job].rests()) {
            if shop.jobs[job].rests() || !draft.does(shop, job) {
                stops.extend(self.timetable.kept_stop(job, unit));
                continue;
            }
            let rows = || shop.jobs[job].step_ids().filter_map(|step| draft.steps[step].as_ref());
            let held = rows().flat_map(Done::spans).filter(|held| held.units.contains(&unit));
            stops.extend(held.map(|held| self.stop(job, held.span.start, held.span.end)));
            let parked = draft.parked[job].iter().filter(|parked| parked.unit == unit);
            let parking = |parked: &ParkedUnit| {
                let held = shop.jobs[job].parked.get(parked.need)?;
                Some(self.parking(job, held, draft.parked_span(shop, job, parked.need)?))
            };
            stops.extend(parked.filter_map(parking));
        }
        stops.sort_by_key(|stop| stop.first);
        stops
    }

    /// Remembers a hint for some steps: a trial may ask for just that.
    pub(crate) fn set_hints(&mut self, hints: impl IntoIterator<Item = (StepId, Hint)>) {
        let mut table = Table::filled(self.shop().steps.len(), None);
        for (step, hint) in hints {
            table[step] = Some(hint);
        }
        self.hints = Arc::new(table);
    }

    /// The hint for a step.
    pub(crate) fn hint(&self, step: StepId) -> Option<Hint> {
        self.hints[step]
    }

    /// The jobs with a hint for each step, the one that starts first first.
    pub(crate) fn hinted(&self) -> Vec<JobId> {
        let shop = self.shop();
        let starts = |job: &JobId| {
            let starts: Option<Vec<usize>> =
                shop.jobs[*job].step_ids().map(|step| Some(self.hints[step]?.start)).collect();
            starts?.into_iter().min()
        };
        let mut jobs: Vec<(usize, JobId)> = shop.jobs.ids().filter_map(|job| Some((starts(&job)?, job))).collect();
        jobs.sort_unstable();
        jobs.into_iter().map(|(_, job)| job).collect()
    }
}
