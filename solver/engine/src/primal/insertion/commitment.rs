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
        let tables = self.tables;
        self.insert_listed(job, trials, &tables.order[job])
    }

    /// The same, its steps in an order in which each comes after those that it waits for.
    pub(crate) fn insert_listed(&mut self, job: JobId, trials: &[Trial], order: &[StepId]) -> bool {
        let facts = &self.shop().jobs[job];
        if self.done[job] || !facts.planned() || facts.follows_later.is_some() || self.unended.contains(&job) {
            return false;
        }
        if !facts.started && !self.tables.leaders[job].iter().all(|leader| self.done[*leader]) {
            return false;
        }
        let settled = self.timetable.unsettle();
        if facts.started {
            self.timetable.remove_stops(job);
        }
        let out = self.out_cents(job);
        let mut best: Option<(i64, Trial, Insertion)> = None;
        let mut memo = HaulMemo::new(self.shop().len());
        for trial in trials {
            // More than the best so far, or than leaving it out, is not worth the rest of an attempt.
            let most = best.as_ref().map_or(out, |(least, ..)| *least);
            let not_before = vec![trial.not_before; facts.steps.len()];
            if let Some((cents, undo)) = self.attempt(job, *trial, not_before, most, (order, &mut memo)) {
                let attempt = self.abandon(job, undo);
                if best.as_ref().is_none_or(|(least, ..)| cents < *least) {
                    best = Some((cents, *trial, attempt));
                }
            }
        }
        // The earlier steps closer to the later ones, where a site that is open costs.
        if let Some((most, trial, attempt)) = &best
            && let Some(not_before) = self.closer(job, &attempt.steps)
            && let Some((cents, undo)) =
                self.attempt(job, Trial { delay: None, ..*trial }, not_before, *most, (order, &mut memo))
        {
            let (most, trial) = (*most, *trial);
            let attempt = self.abandon(job, undo);
            if cents < most {
                best = Some((cents, trial, attempt));
            }
        }
        match best {
            Some((cents, _, attempt)) if cents < out => {
                self.repeat(job, attempt);
                self.cents += self.job_cents(job) - out;
                self.done[job] = true;
                true
            }
            _ => {
                if facts.started {
                    self.timetable.keep(job);
                } else {
                    self.timetable.settle_again(settled);
                }
                false
            }
        }
    }

    /// Tries a job; the cost it adds. Where a step cannot follow another closely enough, or the parked units are not free,
    /// some step is held back and all is tried again.
    /// `not_before`: when each may start at the soonest.
    fn attempt(
        &mut self,
        job: JobId,
        trial: Trial,
        mut not_before: Vec<usize>,
        most: i64,
        (order, memo): (&[StepId], &mut HaulMemo),
    ) -> Option<(i64, Undo)> {
        for _ in 0..MOST_RETRIES {
            let mut undo = Undo::new();
            match self.attempt_once(job, trial, &not_before, most, (order, memo), &mut undo) {
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

    /// The latest starts of a job's steps, as they were tried, with which each one still ends before those after it start, by
    /// the same crew in the same way. `None` where no price is on an open site (C16), or none can start later.
    fn closer(&self, job: JobId, tried: &[(StepId, Arc<Done>)]) -> Option<Vec<usize>> {
        let (shop, facts) = (self.shop(), &self.shop().jobs[job]);
        if shop.open_half_day().0 == 0 || facts.started || facts.steps.len() < 2 {
            return None;
        }
        let at = |step: StepId| step.index() - facts.steps.start;
        let mut starts = vec![0; facts.steps.len()];
        for (step, done) in tried {
            starts[at(*step)] = done.start;
        }
        let soonest = starts.clone();
        for step in self.tables.order[job].iter().rev() {
            let of = |other: StepId| shop.steps[other].after.iter().filter(|link| link.before == *step).map(|l| l.wait);
            let by = facts.step_ids().flat_map(|after| of(after).map(move |wait| (after, wait)));
            let by = by.filter_map(|(after, wait)| starts[at(after)].checked_sub(1 + wait)).min();
            let (Some(by), Some((_, done))) = (by, tried.iter().find(|(tried, _)| tried == step)) else { continue };
            let Some(runs) = shop.runs(*step, done.way, done.team).filter(|_| done.returns.is_none()) else { continue };
            let may = |(start, end): &(usize, usize)| {
                *end <= by
                    && shop.start_allowed(*step, *start)
                    && !self.timetable.busy(*step, done.way, done.team, runs.worked(*start, *end))
            };
            let latest = runs.iter().rfind(may).map_or(done.start, |(start, _)| start);
            starts[at(*step)] = latest.max(done.start);
        }
        (starts != soonest).then_some(starts)
    }

    /// Places all steps of a job and its parked units; the cost it adds, or what to hold back, if that may help.
    fn attempt_once(
        &mut self,
        job: JobId,
        trial: Trial,
        not_before: &[usize],
        most: i64,
        (order, memo): (&[StepId], &mut HaulMemo),
        undo: &mut Undo,
    ) -> Result<i64, Option<HeldBack>> {
        let tables = self.tables;
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

    /// Places a step in one go; what it adds in hauls and in crews' time (C14, C15).
    fn commit_run(&mut self, step: StepId, mut done: Done, memo: &mut HaulMemo, undo: &mut Undo) -> Option<i64> {
        let shop = self.shop();
        let Done { way, team, start, end, .. } = done;
        let needs: Vec<Need> = shop.needs(step, Part::Whole, way, start).collect();
        let before = self.timetable.cents;
        self.mark(step, &done, true);
        let time = self.timetable.cents - before;
        let stop = self.stop(shop.steps[step].job, start, end);
        let Some((units, hauls)) = self.hold(&needs, stop, undo) else {
            self.mark(step, &done, false);
            return None;
        };
        if self.brings_trucks(step, way, team) {
            memo.go_astray();
        } else {
            memo.go_on(way, start, end);
        }
        done.units = units;
        self.steps[step] = Some(Arc::new(done));
        Some(time + hauls)
    }

    /// Places a step in two spans; likewise.
    fn commit_split(&mut self, step: StepId, split: &Split, memo: &mut HaulMemo, undo: &mut Undo) -> Option<i64> {
        let mut done = split.done();
        let before = self.timetable.cents;
        self.mark(step, &done, true);
        let time = self.timetable.cents - before;
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
        Some(time + hauls)
    }

    /// Where the job's units cannot be parked from the first to the last half-day of the steps so far, or from one step to
    /// another of them: which step had better not start before when. Whether they can be brought is looked at for the first
    /// step only.
    fn parked_from(&mut self, job: JobId, hauls: bool) -> Option<(StepId, usize)> {
        let parked = &self.shop().jobs[job].parked;
        let (first, last) = self.span(job)?;
        for need in parked.iter().filter(|parked| !parked.whole()) {
            let Some((first, last)) = self.parked_span(job, need) else { continue };
            if let Some(idle) = self.enough_idle_from(need.need, self.parking(job, need, (first, last))) {
                return Some((self.first_held(job, need)?, idle));
            }
        }
        // Those that are held all the time are so to the same end.
        let stop = self.parking(job, parked.iter().find(|parked| parked.whole())?, (first, last));
        let whole: Vec<Need> = parked.iter().filter(|parked| parked.whole()).map(|parked| parked.need).collect();
        let idle = whole.iter().filter_map(|need| self.enough_idle_from(*need, stop)).max();
        let start = idle.or_else(|| (hauls && self.cost_to_hold(&whole, stop).is_none()).then_some(first + 1))?;
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
            let held = self.parked_span(job, need).map(|span| self.parking(job, need, span));
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
