//! Puts a job in: its steps one after the other, each at its best candidate, then its parked units.

use std::sync::Arc;

use yardless_plan::shop::{Id, JobId, Need, ParkedNeed, Part, StepId};
use yardless_plan::{Done, ParkedUnit};

use super::candidates::{Best, Infeasible, SlotQuery};
use super::memo::HaulMemo;
use super::splits::Split;
use super::{PartialPlan, Trial};
use crate::primal::timetable::Undo;

/// The steps, parked units and routes of a job that was tried.
struct Insertion {
    steps: Vec<(StepId, Arc<Done>)>,
    parked: Vec<ParkedUnit>,
    redo: Undo,
}

/// From when on a step of a job may start, where all is tried again.
struct HeldBack {
    /// The position of the step among the job's.
    step: usize,
    start: usize,
}

/// Times that a job is tried again, some step later, before it is given up.
const MOST_RETRIES: usize = 30;

impl PartialPlan<'_> {
    /// Puts a job in as the trials do best, where that costs less than leaving it out.
    pub(crate) fn insert(&mut self, job: JobId, trials: &[Trial]) -> bool {
        let facts = &self.shop().jobs[job];
        if self.done[job] || !facts.planned() || facts.follows_later.is_some() || self.unended.contains(&job) {
            return false;
        }
        if !facts.started && !self.tables.leaders[job].iter().all(|leader| self.done[*leader]) {
            return false;
        }
        if facts.started {
            self.timetable.remove_stops(job);
        }
        let out = self.out_cents(job);
        let mut best: Option<(i64, Insertion)> = None;
        let mut memo = HaulMemo::new(self.shop().len());
        for trial in trials {
            // More than the best so far, or than leaving it out, is not worth the rest of an attempt.
            let most = best.as_ref().map_or(out, |(least, _)| *least);
            if let Some((cents, undo)) = self.attempt(job, *trial, most, &mut memo) {
                let attempt = self.abandon(job, undo);
                if best.as_ref().is_none_or(|(least, _)| cents < *least) {
                    best = Some((cents, attempt));
                }
            }
        }
        match best {
            Some((cents, attempt)) if cents < out => {
                self.repeat(job, attempt);
                self.cents += self.job_cents(job) - out;
                self.done[job] = true;
                true
            }
            _ => {
                if facts.started {
                    self.timetable.keep(job);
                }
                false
            }
        }
    }

    /// Tries a job; the cost it adds. Where a step cannot follow another closely enough, or the parked units are not free,
    /// some step is held back and all is tried again.
    fn attempt(&mut self, job: JobId, trial: Trial, most: i64, memo: &mut HaulMemo) -> Option<(i64, Undo)> {
        let mut not_before = vec![trial.not_before; self.shop().jobs[job].steps.len()];
        for _ in 0..MOST_RETRIES {
            let mut undo = Undo::new();
            match self.attempt_once(job, trial, &not_before, most, memo, &mut undo) {
                Ok(cents) => return Some((cents, undo)),
                Err(held_back) => {
                    self.abandon(job, undo);
                    let HeldBack { step, start } = held_back?;
                    not_before[step] = start;
                }
            }
        }
        None
    }

    /// Places all steps of a job and its parked units; the cost it adds, or what to hold back, if that may help.
    fn attempt_once(
        &mut self,
        job: JobId,
        trial: Trial,
        not_before: &[usize],
        most: i64,
        memo: &mut HaulMemo,
        undo: &mut Undo,
    ) -> Result<i64, Option<HeldBack>> {
        let tables = self.tables;
        let order = &tables.order[job];
        let steps = self.shop().jobs[job].steps.start;
        let at = |step: StepId| step.index() - steps;
        let mut hauls = 0;
        memo.begin();
        for (n, step) in order.iter().enumerate() {
            let delay = trial.delay.filter(|(which, _)| *which == n).map_or(0, |(_, delay)| delay);
            let to_come: i64 = order[n + 1..].iter().map(|step| tables.earliest_end[*step] as i64).sum();
            let spare = most - hauls - to_come;
            let asked = SlotQuery { step: *step, not_before: not_before[at(*step)], delay, spare, trial };
            match self.place(&asked, memo, undo) {
                Ok(cents) => hauls += cents,
                Err(Infeasible::After(before)) => {
                    let start = self.steps[before].as_ref().map_or(0, |done| done.start);
                    return Err(Some(HeldBack { step: at(before), start: start + 1 }));
                }
                Err(Infeasible::TooDear | Infeasible::NoStart) => return Err(None),
            }
            if let Some((step, start)) = self.parked_from(job, n == 0) {
                return Err(Some(HeldBack { step: at(step), start }));
            }
        }
        let first = match self.park(job, undo) {
            Ok(cents) => return Ok(hauls + cents + self.job_cents(job)),
            Err(first) => first.and_then(|first| Some((first, self.steps[first].as_ref()?))),
        };
        Err(first.map(|(first, done)| HeldBack { step: at(first), start: done.start + 1 }))
    }

    /// Places one step as its best candidate; the cost of hauls it adds.
    fn place(&mut self, asked: &SlotQuery, memo: &mut HaulMemo, undo: &mut Undo) -> Result<i64, Infeasible> {
        let mut slot = self.slot(asked)?;
        let best = self.best_run(&mut slot, memo);
        let below = best.as_ref().map_or(slot.spare, |best| best.cents);
        if let Some(split) = self.best_split(&slot, below) {
            return self.commit_split(asked.step, &split, memo, undo).ok_or(Infeasible::NoStart);
        }
        let Some(Best { run, .. }) = best else { return Err(slot.tight) };
        self.commit_run(asked.step, run, memo, undo).ok_or(Infeasible::NoStart)
    }

    /// Places a step in one go; the cost of hauls it adds.
    fn commit_run(&mut self, step: StepId, mut done: Done, memo: &mut HaulMemo, undo: &mut Undo) -> Option<i64> {
        let shop = self.shop();
        let Done { way, crew, start, end, .. } = done;
        let needs: Vec<Need> = shop.needs(step, Part::Whole, way, start).collect();
        self.mark(step, &done, true);
        let stop = self.stop(shop.steps[step].job, start, end);
        let Some((units, hauls)) = self.hold(&needs, stop, undo) else {
            self.mark(step, &done, false);
            return None;
        };
        if self.brings_trucks(step, way, crew) {
            memo.go_astray();
        } else {
            memo.go_on(way, start, end);
        }
        done.units = units;
        self.steps[step] = Some(Arc::new(done));
        Some(hauls)
    }

    /// Places a step in two spans; the cost of hauls it adds.
    fn commit_split(&mut self, step: StepId, split: &Split, memo: &mut HaulMemo, undo: &mut Undo) -> Option<i64> {
        let mut done = split.done();
        self.mark(step, &done, true);
        let Some(([units, again], hauls)) = self.hold_split(step, split, undo) else {
            self.mark(step, &done, false);
            return None;
        };
        memo.go_astray();
        done.units = units;
        if let Some(returns) = &mut done.returns {
            returns.units = again;
        }
        self.steps[step] = Some(Arc::new(done));
        Some(hauls)
    }

    /// Where the job's units cannot be parked from the first to the last half-day of the steps so far, or from one step to
    /// another of them: which step had better not start before when. Whether they can be brought is looked at for the first
    /// step only.
    fn parked_from(&mut self, job: JobId, hauls: bool) -> Option<(StepId, usize)> {
        let parked = &self.shop().jobs[job].parked;
        let (first, last) = self.span(job)?;
        for need in parked.iter().filter(|parked| !parked.whole()) {
            let Some((first, last)) = self.parked_span(job, need) else { continue };
            if let Some(idle) = self.enough_idle_from(need.need, self.stop(job, first, last)) {
                return Some((self.first_held(job, need)?, idle));
            }
        }
        let whole: Vec<Need> = parked.iter().filter(|parked| parked.whole()).map(|parked| parked.need).collect();
        let stop = self.stop(job, first, last);
        let idle = whole.iter().filter_map(|need| self.enough_idle_from(*need, stop)).max();
        let brought = |plan: &mut Self| plan.cost_to_hold(&whole, stop).is_some();
        let start = idle.or_else(|| (hauls && !whole.is_empty() && !brought(self)).then_some(first + 1))?;
        Some((*self.tables.order[job].first()?, start))
    }

    /// From when to when a parked need is held, as far as the steps so far say.
    fn parked_span(&self, job: JobId, need: &ParkedNeed) -> Option<(usize, usize)> {
        need.span(self.span(job)?, |step| self.steps[step].as_ref().map(|done| (done.start, done.end)))
    }

    /// The step with which a parked need is first held.
    fn first_held(&self, job: JobId, need: &ParkedNeed) -> Option<StepId> {
        let order = &self.tables.order[job];
        let soonest = || {
            order.iter().copied().min_by_key(|step| self.steps[*step].as_ref().map_or(usize::MAX, |done| done.start))
        };
        if need.whole() { order.first().copied() } else { need.from.or_else(soonest) }
    }

    /// The first and the last half-day of the steps so far.
    fn span(&self, job: JobId) -> Option<(usize, usize)> {
        let rows = || self.shop().jobs[job].step_ids().filter_map(|step| self.steps[step].as_ref());
        let in_progress = self.shop().jobs[job].started.then_some(self.shop().now);
        Some((in_progress.or_else(|| rows().map(|done| done.start).min())?, rows().map(|done| done.end).max()?))
    }

    /// Holds what is parked; what the hauls for it cost, or the step that may be held back where it cannot be.
    fn park(&mut self, job: JobId, undo: &mut Undo) -> Result<i64, Option<StepId>> {
        let facts = &self.shop().jobs[job];
        let (mut parked, mut cents) = (Vec::new(), 0);
        for (n, need) in facts.parked.iter().enumerate() {
            let held = self.parked_span(job, need).map(|(first, last)| self.stop(job, first, last));
            let held = held.and_then(|stop| self.hold(&[need.need], stop, undo));
            let Some((units, hauls)) = held else { return Err(self.first_held(job, need)) };
            parked.extend(units.into_iter().map(|unit| ParkedUnit { need: n, unit }));
            cents += hauls;
        }
        self.parked[job] = parked;
        Ok(cents)
    }

    /// Takes an insertion back, so that it can be done again.
    fn abandon(&mut self, job: JobId, undo: Undo) -> Insertion {
        let steps =
            self.shop().jobs[job].step_ids().filter_map(|step| Some((step, self.steps[step].clone()?))).collect();
        for step in self.shop().jobs[job].step_ids() {
            self.take_back(step);
        }
        Insertion { steps, parked: std::mem::take(&mut self.parked[job]), redo: self.timetable.undo(undo) }
    }

    /// Does again what was taken back, in the same plan.
    fn repeat(&mut self, job: JobId, insertion: Insertion) {
        for (step, done) in insertion.steps {
            self.mark(step, &done, true);
            self.steps[step] = Some(done);
        }
        self.parked[job] = insertion.parked;
        self.timetable.undo(insertion.redo);
    }
}
