//! What a job costs at least in one case, told without its schedules: most crews are too dear for it, and need not be looked
//! at.
//!
//! ```text
//! cost of a case >= extra + begin + least open + sum over steps of the least S(b, s), a last step's with its late(e) and wait(e)
//! ```
//!
//! as a step's runs cost no less than the cheapest of them, waits and order only take some of them away, and what the end
//! costs is no less than from the end of that step on. Costs are exact, so that a case that costs as much as another already
//! does is as good as one that costs more. Of a job with something parked it says nothing.

use yardless_plan::shop::Part;

use super::job::{CrewCase, JobSubproblem, NONE};

/// The least S(b, s) of each group of each step, that of a last step with what the job's end then costs.
pub(super) struct LeastCosts(Vec<Vec<f64>>);

impl JobSubproblem {
    /// `costs`: S(b, s) by the position of the run among those of the job.
    pub(super) fn least_costs(&self, costs: &[f64]) -> LeastCosts {
        let mut from = self.ends.clone();
        for tick in (1..from.len()).rev() {
            from[tick - 1] = from[tick - 1].min(from[tick]);
        }
        let of_step = |i: usize| {
            let step = &self.steps[i];
            let closes = self.last.first() == Some(&i);
            let groups = step.groups.iter().map(|group| {
                let end = |end: usize| if closes && group.part.ends() { from[end] } else { 0.0 };
                let runs = group.runs.iter().zip(&costs[group.first..]);
                runs.map(|(run, cost)| cost + end(run.end)).fold(NONE, f64::min)
            });
            groups.collect()
        };
        LeastCosts((0..self.steps.len()).map(of_step).collect())
    }

    /// No schedule in the case costs less.
    pub(super) fn case_bound(&self, least: &LeastCosts, case: CrewCase<'_>) -> f64 {
        if !self.parked.is_empty() {
            return f64::NEG_INFINITY;
        }
        let open = self.opens.iter().copied().fold(0.0, f64::min);
        let steps = self.steps.iter().zip(&least.0).map(|(step, least)| {
            let (mut whole, mut first, mut second) = (NONE, NONE, NONE);
            for (g, group) in step.groups_in(case) {
                let part = match group.part {
                    Part::Whole => &mut whole,
                    Part::First | Part::LetGo => &mut first,
                    Part::Second => &mut second,
                };
                *part = part.min(least[g]);
            }
            whole.min(first + second)
        });
        case.extra + case.begin + open + steps.sum::<f64>()
    }
}
