//! What runs cost at given prices, by themselves and for the crews, units and places that they take, and what that does to
//! the rows.

use super::Relaxation;
use super::job::{Demand, Group, NONE, Run, SubproblemStep, Takes};
use super::sums::{PrefixSums, Priced};

/// What is worked out for one group after another.
#[derive(Default)]
pub(super) struct RunCosts {
    /// S(b, s) by the position of the run among those of the job.
    pub(super) cents: Vec<f64>,
    /// Of the group at hand: what its crews' time costs before each tick.
    worked: Vec<f64>,
    /// The same of what a run pays by the date, and what one pays besides that starts in a tick while its crew works before
    /// it on the date.
    begun: Vec<f64>,
    /// By the groups of a step that hold alike, and by start: the end of the run asked for last, and what it holds costs.
    held: Vec<Vec<(usize, f64)>>,
}

impl RunCosts {
    /// Adds what the runs of a step cost: by themselves, for the crew's time, for what they hold, for their order.
    pub(super) fn add(&mut self, at: &Priced<'_>, step: &SubproblemStep) {
        self.held.iter_mut().for_each(Vec::clear);
        for group in &step.groups {
            self.add_group(at, step, group);
        }
    }

    fn add_group(&mut self, at: &Priced<'_>, step: &SubproblemStep, group: &Group) {
        let (of, sums) = (at.of, &at.sums);
        self.work(at, group);
        let Self { cents, worked, begun, held } = self;
        if !group.demands.is_empty() {
            held.resize_with(held.len().max(group.alike + 1), Vec::new);
            held[group.alike].resize(of.ticks.len(), (usize::MAX, 0.0));
        }
        for Run { start: s, end: e, cost, .. } in &group.runs {
            let mut cost = cost + worked[e + 1] - worked[*s] + begun[*s];
            if !group.demands.is_empty() {
                let (end, held) = &mut held[group.alike][*s];
                if end != e {
                    (*end, *held) = (*e, group.demands.iter().map(|demand| demand.cost(at, *s, *e)).sum());
                }
                cost += *held;
            }
            for link in step.after.iter().filter(|_| group.part.starts()) {
                cost += sums.order[*link][*s];
            }
            for link in step.before.iter().filter(|_| group.part.ends()) {
                cost -= sums.order[*link][of.free_after(*link, *e)];
            }
            cents.push(cost);
        }
    }

    /// What the time of a group's crews costs before each tick.
    fn work(&mut self, at: &Priced<'_>, group: &Group) {
        let (k, Self { worked, begun, .. }) = (at.of.ticks.len(), self);
        worked.clear();
        worked.resize(k + 1, 0.0);
        begun.clear();
        begun.resize(k, 0.0);
        for Takes { crew, visits, by_tick } in &group.takes {
            let families = [Some(&at.crews[crew * k..]), visits.map(|[visits, _]| &at.visits[visits * k..])];
            for prices in families.into_iter().flatten() {
                let mut sum = 0.0;
                for ((price, takes), worked) in prices.iter().zip(by_tick).zip(&mut worked[1..]) {
                    sum += price * takes;
                    *worked += sum;
                }
            }
            if let Some([_, touches]) = visits {
                let dates = at.of.dates();
                touch(&at.of.ticks, &at.touches[touches * dates..], by_tick, worked, begun);
            }
        }
    }
}

/// Adds what runs pay for the dates on which their crew works: each with the first tick of it that they work in.
fn touch(ticks: &[usize], prices: &[f64], takes: &[f64], worked: &mut [f64], begun: &mut [f64]) {
    let (mut sum, mut paid) = (0.0, None);
    for (tick, h) in ticks.iter().enumerate() {
        let date = h / 2;
        if takes[tick] > 0.0 {
            if paid == Some(date) {
                begun[tick] += prices[date];
            } else {
                sum += prices[date];
                paid = Some(date);
            }
        }
        worked[tick + 1] += sum;
    }
}

impl Demand {
    /// What it costs to hold it from tick s to tick e.
    fn cost(&self, at: &Priced<'_>, s: usize, e: usize) -> f64 {
        let (_, held) = self.cheapest(at, s, e);
        let rows = self.come.iter().map(|row| at.sums.come[*row][s] + at.sums.stay[*row][e + 1]);
        self.count * (held + rows.sum::<f64>())
    }

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
