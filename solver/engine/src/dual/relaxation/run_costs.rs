//! What runs cost at given prices, by themselves and for the crews, units and places that they take, and what that does to
//! the rows.

use super::Relaxation;
use super::job::{Demand, Group, NONE, Run, SubproblemStep, Takes};
use super::sums::{PrefixSums, Priced};

impl Priced<'_> {
    /// What the runs of a group cost: by themselves, for the crew's time, for what they hold, for their order.
    pub(super) fn run_costs(&self, step: &SubproblemStep, group: &Group, worked: &mut Vec<f64>, costs: &mut Vec<f64>) {
        let (of, sums) = (self.of, &self.sums);
        let k = of.ticks.len();
        worked.clear();
        worked.resize(k + 1, 0.0);
        for Takes { crew, visits, by_tick } in &group.takes {
            let families = [Some(&self.crews[crew * k..]), visits.map(|visits| &self.visits[visits * k..])];
            for prices in families.into_iter().flatten() {
                let mut sum = 0.0;
                for ((price, takes), worked) in prices.iter().zip(by_tick).zip(&mut worked[1..]) {
                    sum += price * takes;
                    *worked += sum;
                }
            }
        }
        costs.extend(group.runs.iter().map(|Run { start: s, end: e, cost, .. }| {
            let mut cost = cost + worked[e + 1] - worked[*s];
            for demand in &group.demands {
                let (_, held) = demand.cheapest(self, *s, *e);
                let rows = demand.come.iter().map(|row| sums.come[*row][*s] + sums.stay[*row][e + 1]);
                cost += demand.count * (held + rows.sum::<f64>());
            }
            for link in step.after.iter().filter(|_| group.part.starts()) {
                cost += sums.order[*link][*s];
            }
            for link in step.before.iter().filter(|_| group.part.ends()) {
                cost -= sums.order[*link][of.free_after(*link, *e)];
            }
            cost
        }));
    }
}

impl Demand {
    /// The pool that is cheapest to hold from tick s to tick e.
    pub(super) fn cheapest(&self, at: &Priced<'_>, s: usize, e: usize) -> (usize, f64) {
        let of = at.of;
        let mut best = (0, NONE);
        for (i, ((p, _), family)) in self.able.iter().zip(&self.holds).enumerate() {
            let sum = &at.sums.hold[*family];
            let cost = sum[e + 1] - sum[s];
            if cost < best.1 && (self.waits || of.pools[*p].may_hold(of.ticks[s], of.ticks[e])) {
                best = (i, cost);
            }
        }
        best
    }

    /// What it costs up to a tick, were it held from the first one on.
    pub(super) fn until(&self, sums: &PrefixSums, choice: usize, end: usize) -> f64 {
        let stay: f64 = self.come.iter().map(|row| sums.stay[*row][end + 1]).sum();
        self.count * (sums.hold[self.holds[choice]][end + 1] + stay)
    }

    pub(super) fn count_in(&self, of: &Relaxation, choice: usize, (s, e): (usize, usize), broken: &mut [f64]) {
        let k = of.ticks.len();
        let row = of.hold + self.holds[choice] * k;
        for tick in s..=e {
            broken[row + tick] += self.count;
        }
        // What is paid for from the start of one step to the end of another that ends before it.
        for tick in e + 1..s {
            broken[row + tick] -= self.count;
        }
        for row in &self.come {
            broken[of.come + row * k + s] += self.count;
            broken[of.stay + row * k + e] += self.count;
        }
    }
}
