//! The cheapest schedule of one job at given prices: a dynamic program along its steps.
//!
//! Steps whose `after` form a tree towards the job's last steps are scheduled exactly, waits, `within` and all; of a
//! step with several followers only one link is kept so, the others by prices. With S(b, s) the cost of run b starting
//! at s and E(a, e) the cheapest way to have a and all before it done with a ending at e,
//!
//! ```text
//! E(b, e) = min over runs s -> e of S(b, s) + sum over exact links a of min { E(a, e') : e' + 1 + w <= s <= e' + 1 + v }
//! job     = min over T of late(T) + wait(T) + parked up to T + sum over last steps of min { E(b, e) : e <= T }
//! ```
//!
//! where open(T) is in wait(T), and what the site costs before it is open (C16) is taken off where the first step starts. That
//! is exact where that step comes before all others. Of a job with several first steps all is worked out once for each tick t
//! from which on its runs may start, with what the ticks before t cost taken off: the least of these is exact, as the earliest
//! start is one such t, and any t up to it takes off no more. Where there are too many ticks, t goes up by several at once, and
//! what is taken off is that of the last of them: no more than that can be.
//!
//! What is parked from the start of a step or to the end of one (E7) is paid for with that start and that end; without
//! `from` it is paid for from the start of some step that `to` comes after, at most what it is held for.
//!
//! All this once for every own crew alone and once for any crews with one extra crew paid (C4), each with every choice of parked
//! units and of a window between the half-days in which they are out (E4), in which all runs of the job then lie.

use yardless_plan::shop::Part;

use super::Solved;
use super::job::{
    Begin, CrewCase, Demand, ExactLink, JobSubproblem, NONE, ParkedBetween, Run, ScheduleTable, Stay, Takes,
};
use super::run_costs::RunCosts;
use super::sums::Priced;
use crate::dual::domain::JobDomain;

/// One way to do the whole job.
struct Chosen {
    cost: f64,
    runs: Vec<(usize, usize, usize)>,
    over: usize,
    parked: Vec<usize>,
}

/// A job's schedules in one case.
#[derive(Clone, Copy)]
pub(crate) struct InCase<'c> {
    pub(crate) at: &'c Priced<'c>,
    /// S(b, s) by the position of the run among those of the job.
    pub(crate) costs: &'c [f64],
    pub(crate) case: CrewCase<'c>,
}

impl JobSubproblem {
    /// The least cost, left out or done, and what that does to the rows.
    pub(super) fn solve(&self, at: &Priced<'_>, may: JobDomain, table: &mut ScheduleTable, solved: &mut Solved) -> f64 {
        let of = at.of;
        let costs = self.costs(at);
        let left_out = self.left_out(at);
        let mut best: Option<Chosen> = None;
        // Dearer than that it is not done.
        let most = if may == JobDomain::Do { NONE } else { left_out };
        let least = self.least_costs(&costs);
        self.each(|case| {
            if self.case_bound(&least, case) >= best.as_ref().map_or(most, |best| best.cost.min(most)) {
                return;
            }
            let case = InCase { at, costs: &costs, case };
            self.schedule(case, table);
            self.close(case, table, &mut best);
        });
        match best {
            Some(best) if may != JobDomain::LeaveOut && (best.cost < left_out || may == JobDomain::Do) => {
                self.count(at, &best, &mut solved.broken);
                solved.chosen.extend(best.runs.iter().map(|(i, g, r)| self.steps[*i].groups[*g].runs[*r].number));
                best.cost
            }
            None if may == JobDomain::Do => NONE,
            _ => {
                for ((jobs, _), row) in of.short.iter().zip(of.time..) {
                    for (_, freed) in jobs.iter().filter(|(job, _)| *job == self.id) {
                        solved.broken[row] -= *freed as f64;
                    }
                }
                left_out
            }
        }
    }

    /// What leaving the job out costs, less what that saves of the crews' time.
    pub(crate) fn left_out(&self, at: &Priced<'_>) -> f64 {
        self.left_out - at.sums.saves.get(&self.id).copied().unwrap_or(0.0)
    }

    /// S(b, s) by the position of the run among those of the job.
    pub(crate) fn costs(&self, at: &Priced<'_>) -> Vec<f64> {
        let mut costs = RunCosts::default();
        for step in &self.steps {
            costs.add(at, step);
        }
        costs.cents
    }

    /// Calls for each choice of the only own crew (none: any crews, one extra paid), of stays for what is parked, and of when
    /// the job begins.
    pub(crate) fn each(&self, mut call: impl FnMut(CrewCase<'_>)) {
        if self.stays.iter().any(Vec::is_empty) {
            return;
        }
        let mut chosen = vec![0; self.stays.len()];
        let mut parked = vec![0; self.stays.len()];
        loop {
            let mut window = (0, usize::MAX);
            for ((parked, stays), chosen) in parked.iter_mut().zip(&self.stays).zip(&chosen) {
                let Stay { pool, window: (from, to) } = stays[*chosen];
                *parked = pool;
                window = (window.0.max(from), window.1.min(to));
            }
            for Begin { from, cost: begin } in &self.begins {
                let (window, begin) = ((window.0.max(*from), window.1), *begin);
                for crews in &self.alone {
                    call(CrewCase { only: Some(crews), extra: 0.0, parked: &parked, begin, window });
                }
                if !self.only_alone {
                    call(CrewCase { only: None, extra: self.extra_crew, parked: &parked, begin, window });
                }
            }
            let Some(i) = (0..chosen.len()).find(|i| chosen[*i] + 1 < self.stays[*i].len()) else { return };
            chosen[i] += 1;
            chosen[..i].fill(0);
        }
    }

    /// Fills the table, step by step.
    pub(crate) fn schedule(&self, on: InCase<'_>, table: &mut ScheduleTable) {
        let k = on.at.of.ticks.len();
        table.ends.resize_with(table.ends.len().max(self.steps.len()), Vec::new);
        table.least.resize_with(table.least.len().max(self.steps.len()), Vec::new);
        table.left.resize_with(table.left.len().max(self.steps.len()), Vec::new);
        let (mut before, mut release) = (std::mem::take(&mut table.before), std::mem::take(&mut table.release));
        for (i, step) in self.steps.iter().enumerate() {
            // The same for all runs that start, or end, together.
            before.clear();
            before.extend((0..k).map(|start| self.before(on, table, i, start)));
            release.clear();
            release.extend((0..k).map(|end| self.release(on, i, end)));
            self.leave(on, table, i, &before);
            let mut ends = std::mem::take(&mut table.ends[i]);
            ends.clear();
            ends.resize(k, (NONE, 0, 0));
            for (g, group) in step.groups_in(on.case).filter(|(_, group)| group.part.ends()) {
                let costs = &on.costs[group.first..];
                let left = (group.part == Part::Second).then(|| &table.left[i][group.rest]);
                for (r, (run, cost)) in
                    group.runs.iter().zip(costs).enumerate().filter(|(_, (run, _))| on.case.may(run))
                {
                    let cost =
                        cost + left.map_or_else(|| before[run.start], |left| left[run.start].0) + release[run.end];
                    let best = &mut ends[run.end];
                    if cost < best.0 {
                        *best = (cost, g as u32, r as u32);
                    }
                }
            }
            let least = &mut table.least[i];
            least.clear();
            let mut so_far = (NONE, 0);
            for (e, (cost, ..)) in ends.iter().enumerate() {
                if *cost < so_far.0 {
                    so_far = (*cost, e as u32);
                }
                least.push(so_far);
            }
            table.ends[i] = ends;
        }
        (table.before, table.release) = (before, release);
    }

    /// What comes before a step that starts in a tick, and what is parked from then on where the job begins.
    pub(crate) fn before(&self, on: InCase<'_>, table: &ScheduleTable, i: usize, start: usize) -> f64 {
        let before: f64 = self.steps[i].links.iter().map(|link| link.before(table, start).0).sum();
        self.begin(on, i, start) + before
    }

    /// Fills the table with what first spans of a step leave to be done.
    fn leave(&self, on: InCase<'_>, table: &mut ScheduleTable, i: usize, before: &[f64]) {
        let step = &self.steps[i];
        let mut left = std::mem::take(&mut table.left[i]);
        left.clear();
        left.resize(step.rests, vec![(NONE, 0, 0); on.at.of.ticks.len()]);
        for (g, group) in step.groups_in(on.case).filter(|(_, group)| !group.part.ends()) {
            let runs = group.runs.iter().zip(&on.costs[group.first..]).enumerate();
            for (r, (run, cost)) in runs.filter(|(_, (run, _))| on.case.may(run)) {
                let cost = cost + before[run.start];
                if let Some(ready) = left[group.rest].get_mut(run.ready).filter(|ready| cost < ready.0) {
                    *ready = (cost, g as u32, r as u32);
                }
            }
        }
        for by_tick in &mut left {
            for tick in 1..by_tick.len() {
                if by_tick[tick - 1].0 < by_tick[tick].0 {
                    by_tick[tick] = by_tick[tick - 1];
                }
            }
        }
        table.left[i] = left;
    }

    /// The cheapest end of the schedules in a table, where it beats the best so far.
    fn close(&self, on: InCase<'_>, table: &ScheduleTable, best: &mut Option<Chosen>) {
        let mut found: Option<(f64, usize)> = None;
        let beaten = best.as_ref().map_or(NONE, |best| best.cost);
        for over in 0..on.at.of.ticks.len() {
            let cost = self.over(on, over) + self.last.iter().map(|last| table.least[*last][over].0).sum::<f64>();
            if cost < found.map_or(beaten, |(least, _)| least) {
                found = Some((cost, over));
            }
        }
        if let Some((cost, over)) = found {
            let mut runs = vec![(0, 0, 0); self.steps.len()];
            for last in &self.last {
                self.trace(table, *last, table.least[*last][over].1 as usize, &mut runs);
            }
            *best = Some(Chosen { cost, runs, over, parked: on.case.parked.to_vec() });
        }
    }

    /// What it costs that the job is over in a tick, with what is parked held until then and the extra crews.
    pub(crate) fn over(&self, on: InCase<'_>, over: usize) -> f64 {
        let sums = &on.at.sums;
        let mut cost = self.ends[over] + on.case.extra + on.case.begin;
        for (demand, choice, between) in self.parked(on.case).filter(|(.., between)| between.to.is_none()) {
            cost += demand.until(sums, choice, between.until(over, on.at.of.ticks.len()));
        }
        cost
    }

    /// What it costs, for what is parked until its end, that a step ends in a tick.
    pub(crate) fn release(&self, on: InCase<'_>, step: usize, end: usize) -> f64 {
        let mine = self.parked(on.case).filter(|(.., between)| between.to == Some(step));
        mine.map(|(demand, choice, _)| demand.until(&on.at.sums, choice, end)).sum()
    }

    /// What is parked: the need, which of the pools that can serve does, and between which steps.
    fn parked<'c>(&'c self, case: CrewCase<'c>) -> impl Iterator<Item = (&'c Demand, usize, ParkedBetween)> {
        let choices = case.parked.iter().copied();
        self.parked.iter().zip(choices).zip(&self.parked_between).map(|((demand, choice), of)| (demand, choice, *of))
    }

    /// What it costs, for what is parked and by when the site is open, that a step starts in a tick: the first one begins the
    /// job.
    pub(crate) fn begin(&self, on: InCase<'_>, step: usize, start: usize) -> f64 {
        let sums = &on.at.sums;
        let mut cost = self.opens.get(start).copied().filter(|_| step == 0).unwrap_or(0.0);
        for (demand, choice, between) in self.parked(on.case).filter(|(.., between)| between.from == step) {
            let start = between.since(start);
            let come: f64 = demand.come.iter().map(|row| sums.come[*row][start]).sum();
            cost += demand.count * (come - sums.hold[demand.holds[choice]][start]);
        }
        cost
    }

    /// Follows a step that ends in a tick back to those before it.
    fn trace(&self, table: &ScheduleTable, i: usize, end: usize, runs: &mut Vec<(usize, usize, usize)>) {
        let (_, group, run) = table.ends[i][end];
        runs[i] = (i, group as usize, run as usize);
        let group = &self.steps[i].groups[group as usize];
        let mut start = group.runs[run as usize].start;
        if group.part == Part::Second {
            let (_, first, run) = table.left[i][group.rest][start];
            runs.push((i, first as usize, run as usize));
            start = self.steps[i].groups[first as usize].runs[run as usize].start;
        }
        for link in &self.steps[i].links {
            self.trace(table, link.step, link.before(table, start).1 as usize, runs);
        }
    }

    /// Counts what a schedule does to the rows.
    fn count(&self, at: &Priced<'_>, chosen: &Chosen, broken: &mut [f64]) {
        let of = at.of;
        let k = of.ticks.len();
        let mut ticks = vec![(0, 0); self.steps.len()];
        for (i, g, r) in &chosen.runs {
            let step = &self.steps[*i];
            let group = &step.groups[*g];
            let Run { start: s, end: e, .. } = group.runs[*r];
            if group.part.starts() {
                ticks[*i].0 = s;
            }
            if group.part.ends() {
                ticks[*i].1 = e;
            }
            for Takes { crew, visits, by_tick: takes } in &group.takes {
                for tick in s..=e {
                    broken[crew * k + tick] += takes[tick];
                }
                if let Some(visits) = visits {
                    of.round_rows().count(&of.ticks, *visits, (s, e), takes, broken);
                }
                for (row, (_, ticks, _)) in (of.reserve..).zip(&of.reserves).filter(|(_, (of, ..))| of == crew) {
                    let within = ticks.iter().filter(|tick| (s..=e).contains(*tick));
                    broken[row] += within.map(|tick| takes[*tick]).sum::<f64>();
                }
            }
            for demand in &group.demands {
                let (choice, _) = demand.cheapest(at, s, e);
                demand.count_in(of, choice, (s, e), broken);
            }
            for link in step.after.iter().filter(|_| group.part.starts()) {
                broken[of.order + link * k + s] += 1.0;
            }
            for link in step.before.iter().filter(|_| group.part.ends()) {
                let free = of.free_after(*link, e);
                if free < k {
                    broken[of.order + link * k + free] -= 1.0;
                }
            }
        }
        for ((demand, choice), between) in self.parked.iter().zip(&chosen.parked).zip(&self.parked_between) {
            let last = between.to.map_or(between.until(chosen.over, k), |to| ticks[to].1);
            demand.count_in(of, *choice, (between.since(ticks[between.from].0), last), broken);
        }
    }
}

impl ExactLink {
    /// The least cost of the step before, where this one starts at a tick, and when it then ends.
    pub(crate) fn before(&self, table: &ScheduleTable, start: usize) -> (f64, u32) {
        let until = self.until[start];
        match &self.from {
            None => until.checked_sub(1).map_or((NONE, 0), |e| table.least[self.step][e]),
            Some(from) => {
                let mut best = (NONE, 0);
                for e in from[start]..until {
                    if table.ends[self.step][e].0 < best.0 {
                        best = (table.ends[self.step][e].0, e as u32);
                    }
                }
                best
            }
        }
    }
}
