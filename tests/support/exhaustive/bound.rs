//! What the rest of a plan costs at least, so that the search looks at the likely ones first.

use super::runs::RunPart;
use super::{Search, SearchState, StepState, UnitAt};

impl Search<'_> {
    /// What the rest costs at least; `None`: it cannot be done.
    pub(super) fn at_least(&self, state: &SearchState) -> Option<i64> {
        let t = &self.tables;
        let mut ends = vec![0; state.steps.len()];
        let mut cost = 0;
        for &s in &t.order {
            let step = &t.steps[s];
            // The soonest end of a second span that starts at an index or later, and what it costs at least.
            let second = |rest: usize, from: usize| {
                let runs =
                    || step.rests[rest].seconds.iter().map(|run| &step.runs[*run]).filter(|run| run.start >= from);
                Some((runs().map(|run| run.end).min()?, runs().map(|run| run.extra).min()?))
            };
            let (end, extra) = match state.steps[s] {
                StepState::LeftOut | StepState::Later => continue,
                StepState::Done { end } => {
                    ends[s] = end;
                    continue;
                }
                StepState::Runs { run, .. } => match step.runs[run].part {
                    RunPart::First { rest } => second(rest, step.runs[run].end + 2)?,
                    _ => (step.runs[run].end, 0),
                },
                StepState::Away { rest, ready } => second(rest, ready.max(state.h))?,
                StepState::Waits => {
                    let binds = |of: usize| !matches!(state.steps[of], StepState::LeftOut | StepState::Later);
                    let before = step.after.iter().filter(|link| binds(link.step));
                    let ready = before.map(|link| ends[link.step] + 1 + link.wait).max().unwrap_or(0);
                    let ready = usize::try_from(ready).unwrap_or(0).max(state.h);
                    ((*step.soonest.get(ready)?)?, step.least_extra)
                }
            };
            ends[s] = end as i64;
            cost += ends[s] + step.late[end] + extra;
        }
        let open = |work: StepState| matches!(work, StepState::Runs { .. } | StepState::Away { .. } | StepState::Waits);
        for (j, job) in t.jobs.iter().enumerate() {
            if t.steps_of(j).any(|s| open(state.steps[s])) {
                cost += job.end_cost[t.steps_of(j).map(|s| ends[s]).max()? as usize];
            }
        }
        let waits = |step: usize| state.steps[step] == StepState::Waits;
        let heads_for = |unit: usize| match state.units[unit] {
            UnitAt::Stands(place) | UnitAt::Arrived(place) | UnitAt::Coming(place) => place,
        };
        Some(cost + t.arrivals_at_least(waits, heads_for)?)
    }
}
