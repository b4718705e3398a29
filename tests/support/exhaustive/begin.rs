//! The beginnings: which jobs are done, and how the steps in progress go on (W1, W6, N1).

use super::days::CrewDays;
use super::{Choice, Search, SearchState, StepState, UnitAt};
use crate::exhaustive::runs::RunPart;

/// More than any plan costs: a started job is left without an end only where every plan leaves it so.
pub(super) const NO_END: i64 = 1 << 50;

impl Search<'_> {
    /// One beginning for every choice of the jobs that are done and of how what is in progress goes on.
    pub(super) fn begin(&mut self) {
        let mut beginnings = Vec::new();
        for chosen in 0..1_u64 << self.tables.jobs.len() {
            if self.may_choose(chosen) {
                self.beginnings_of(chosen, &mut beginnings);
            }
        }
        for (state, cost) in beginnings {
            let late = self.late(&state);
            self.offer(state, cost + late, usize::MAX, Choice::Nothing);
        }
    }

    /// W1, W6: a job that is not started is done only with those that its steps come after, done steps apart. One whose
    /// steps are all done is done.
    fn may_choose(&self, chosen: u64) -> bool {
        let t = &self.tables;
        let does = |job: usize| chosen >> job & 1 == 1;
        let done = |step: usize| t.steps[step].history.as_ref().is_some_and(|history| history.end.is_some());
        let follows = |step: &super::tables::StepTable| {
            let with = |link: &super::tables::Precedence| {
                done(link.step) || does(t.steps[link.step].job) && !t.steps[link.step].later
            };
            step.later || t.jobs[step.job].started || step.after.iter().all(with)
        };
        t.jobs.iter().enumerate().all(|(j, job)| if does(j) { !job.later } else { !job.over && !t.rests(j) })
            && t.steps.iter().all(|step| !does(step.job) || follows(step))
    }

    fn beginnings_of(&self, chosen: u64, beginnings: &mut Vec<(SearchState, i64)>) {
        let t = &self.tables;
        let does = |job: usize| chosen >> job & 1 == 1;
        let mut state = SearchState {
            h: t.now,
            turn: 0,
            units: t.homes.iter().map(|home| UnitAt::Stands(*home)).collect(),
            hauled: 0,
            steps: vec![StepState::LeftOut; t.steps.len()],
            jobs: t.jobs.iter().map(|job| (0, vec![0; job.parked.len() + 1])).collect(),
            days: CrewDays::at_first(t),
        };
        let mut cost = t.changes;
        for (j, job) in t.jobs.iter().enumerate() {
            for (n, parked) in job.parked.iter().enumerate() {
                state.jobs[j].1[n] = parked.named.unwrap_or(0);
            }
            if !does(j) {
                cost += if job.later { 0 } else { job.left_out } + job.unkept;
                cost += if job.started { NO_END } else { 0 };
            }
            for s in t.steps_of(j) {
                let history = t.steps[s].history.as_ref();
                state.steps[s] = match history {
                    // Also where the job has no end: a step of another job comes after it all the same.
                    Some(history) if history.end.is_some() => StepState::Done { end: history.end.unwrap_or_default() },
                    _ if does(j) && t.steps[s].later => StepState::Later,
                    _ if does(j) => StepState::Waits,
                    _ => StepState::LeftOut,
                };
                if does(j) && t.steps[s].later {
                    cost += t.steps[s].unkept;
                }
                let Some(history) = history else { continue };
                if does(j) {
                    state.jobs[j].0 |= if t.own[history.crew] { 1 << history.crew } else { 0 };
                    cost += history.extra + history.end.unwrap_or(0).max(0);
                } else {
                    state.jobs[j].1[job.parked.len()] |= history.units;
                }
            }
            if does(j) {
                cost += t.extra_crew * (i64::from(state.jobs[j].0.count_ones()) - 1).max(0);
            }
            if job.over {
                let end = job.last_done.unwrap_or(0);
                cost += t.plain.end_cost(&t.plain.book.jobs[j], end);
                state.jobs[j] = (0, vec![0; job.parked.len() + 1]);
            }
            if t.rests(j) {
                cost += t.plain.waiting(job.last_done.unwrap_or(0));
            }
        }
        let going_on = (0..t.steps.len()).filter(|s| {
            let history = t.steps[*s].history.as_ref();
            does(t.steps[*s].job) && history.is_some_and(|history| history.end.is_none())
        });
        self.go_on(&going_on.collect::<Vec<_>>(), state, cost, beginnings);
    }

    /// Every way in which the steps in progress go on together: with their units from now on, or without, to be come back to.
    fn go_on(&self, steps: &[usize], state: SearchState, cost: i64, beginnings: &mut Vec<(SearchState, i64)>) {
        let Some((&step, others)) = steps.split_first() else { return beginnings.push((state, cost)) };
        let t = &self.tables.steps[step];
        if let Some(rest) = t.let_go {
            let mut away = state.clone();
            away.steps[step] = StepState::Away { rest, ready: t.ready };
            self.go_on(others, away, cost, beginnings);
        }
        let units = t.history.as_ref().map_or(0, |history| history.units);
        for &run in &t.goes_on {
            let goes = t.runs[run].part == RunPart::Whole || t.let_go.is_some();
            if goes && !self.crew_is_taken(&state, run, step) {
                let mut on = state.clone();
                on.steps[step] = StepState::Runs { run, units };
                self.go_on(others, on, cost + t.runs[run].extra, beginnings);
            }
        }
    }
}
