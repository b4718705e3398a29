//! The cheapest schedule of one job at given prices: a dynamic program along its steps.
//!
//! Steps whose `after` form a tree towards the job's last steps are scheduled exactly, waits, `within` and all; of a
//! step with several followers only one link is kept so, the others by prices. With S(b, s) the cost of run b starting
//! at s and E(a, e) the cheapest way to have a and all before it done with a ending at e,
//!
//! ```text
//! E(b, e) = min over runs s -> e of S(b, s) + sum over kept links a of min { E(a, e') : e' + 1 + w <= s <= e' + 1 + v }
//! job     = min over T of late(T) + wait(T) + parked up to T + sum over last steps of min { E(b, e) : e <= T }
//! ```
//!
//! once for every own crew alone and once for any crews with one extra crew paid (C4).

use std::collections::BTreeMap;

use super::excess::Excess;
use super::mask::{Mask, May};
use super::{Priced, Relaxation, Sums, Wanted};
use crate::shop::{CrewId, Id, JobId, Need, Shop, StepId, Want};

/// A job's part of the relaxation.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub(super) id: JobId,
    left_out: f64,
    /// In an order in which each comes after those it waits for.
    steps: Vec<Step>,
    /// Positions of steps that no kept link leads on from.
    last: Vec<usize>,
    parked: Vec<Hold>,
    /// By tick: late (C1) and waiting (C5) for an end then.
    ends: Vec<f64>,
    /// Own crews that may be its only one; none where no price is on another.
    alone: Vec<usize>,
    extra_crew: f64,
}

#[derive(Clone, Debug)]
struct Step {
    id: StepId,
    groups: Vec<Group>,
    kept: Vec<Kept>,
    /// Priced links in which it is the one after, and the one before.
    after: Vec<usize>,
    before: Vec<usize>,
}

/// A link kept exactly: for each start tick the ticks in which the step before may end.
#[derive(Clone, Debug)]
struct Kept {
    /// Position of the step before.
    step: usize,
    /// By start tick: one past the last, and the first.
    until: Vec<usize>,
    from: Option<Vec<usize>>,
}

/// Runs by one crew in one way.
#[derive(Clone, Debug)]
struct Group {
    crew: usize,
    way: usize,
    /// The position of its first run among all of the shop.
    first: usize,
    own: bool,
    holds: Vec<Hold>,
    /// First and last tick, and cost without prices.
    runs: Vec<(usize, usize, f64)>,
    /// By tick.
    workable: Vec<bool>,
}

/// Units wanted, the pools and spots that serve, and the `come` rows.
#[derive(Clone, Debug)]
struct Hold {
    count: f64,
    able: Vec<(usize, usize)>,
    come: Vec<usize>,
}

const NONE: f64 = f64::INFINITY;

impl Job {
    /// `None` where no schedule can do the job.
    pub(super) fn new(
        shop: &Shop,
        of: &mut Relaxation,
        known: &mut BTreeMap<(JobId, Option<StepId>, Want), usize>,
        id: JobId,
    ) -> Option<Self> {
        let facts = &shop.jobs[id];
        if facts.follows_later.is_some() {
            return None;
        }
        let mut parked = Vec::new();
        for need in &facts.parked {
            parked.push(hold(shop, of, known, id, None, *need)?);
        }
        let order = in_order(shop, id);
        let mut led_on = vec![false; order.len()];
        let mut steps: Vec<Step> = Vec::new();
        for step in &order {
            let groups = groups(shop, of, known, id, *step);
            if groups.is_empty() {
                return None;
            }
            let mut made = Step { id: *step, groups, kept: Vec::new(), after: Vec::new(), before: Vec::new() };
            for link in &shop.steps[*step].after {
                match order.iter().position(|other| *other == link.before) {
                    Some(position) if !led_on[position] => {
                        led_on[position] = true;
                        let ticks = &of.ticks;
                        let until = ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + link.wait <= *h)).collect();
                        let from = link.within.map(|within| {
                            ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + within < *h)).collect()
                        });
                        made.kept.push(Kept { step: position, until, from });
                    }
                    _ => {
                        of.priced.push(Priced { before: link.before, after: *step, wait: link.wait });
                        made.after.push(of.priced.len() - 1);
                    }
                }
            }
            steps.push(made);
        }
        // What is parked counts for the steps that want the same besides.
        for (key, row) in known.iter().filter(|((job, step, _), _)| *job == id && step.is_some()) {
            for (need, hold) in facts.parked.iter().zip(&mut parked) {
                if need.want == key.2 {
                    hold.come.push(*row);
                }
            }
        }
        let own = |crew: usize| shop.crews[CrewId::from_index(crew)].own;
        let mut alone: Vec<usize> = steps.iter().flat_map(|s| &s.groups).map(|g| g.crew).filter(|c| own(*c)).collect();
        alone.sort_unstable();
        alone.dedup();
        if alone.len() < 2 || steps.len() < 2 || shop.extra_crew().0 == 0 {
            alone.clear();
        }
        let last = (0..steps.len()).filter(|i| !led_on[*i]).collect();
        let ends =
            of.ticks.iter().map(|h| (facts.late[*h].0 + shop.wait_half_day().0 * *h as i64) as f64).collect();
        let (left_out, extra_crew) = (facts.left_out.0 as f64, shop.extra_crew().0 as f64);
        Some(Self { id, left_out, steps, last, parked, ends, alone, extra_crew })
    }

    /// Tells the steps before in priced links which they are, and numbers the runs.
    pub(super) fn finish(&mut self, priced: &[Priced], runs: &mut usize) {
        for group in self.steps.iter_mut().flat_map(|step| &mut step.groups) {
            group.first = *runs;
            *runs += group.runs.len();
        }
        for step in &mut self.steps {
            step.before = (0..priced.len()).filter(|l| priced[*l].before == step.id).collect();
        }
    }
}

fn in_order(shop: &Shop, job: JobId) -> Vec<StepId> {
    let mut left: Vec<StepId> = shop.jobs[job].step_ids().collect();
    let mut order = Vec::new();
    while let Some(i) =
        left.iter().position(|step| shop.steps[*step].after.iter().all(|link| !left.contains(&link.before)))
    {
        order.push(left.remove(i));
    }
    order
}

fn groups(
    shop: &Shop,
    of: &mut Relaxation,
    known: &mut BTreeMap<(JobId, Option<StepId>, Want), usize>,
    job: JobId,
    step: StepId,
) -> Vec<Group> {
    let mut groups = Vec::new();
    let choices: Vec<_> = shop.choices(step).map(|(way, crew, runs)| (way, crew, runs.clone())).collect();
    for (way, crew, runs) in choices {
        let extra = shop.steps[step].ways[way].extra.0 as f64;
        for power in [false, true] {
            let starts: Vec<(usize, usize)> = runs
                .iter()
                .filter(|(start, _)| shop.start_allowed(step, *start) && shop.takes_power(step, *start) == power)
                .filter(|(start, end)| {
                    let able = |need: Need| {
                        shop.units.iter().filter(|u| u.serves(need.want) && !u.out_within(*start, *end)).count()
                            >= need.count
                    };
                    shop.needs(step, way, *start).chain(shop.jobs[job].parked.iter().copied()).all(able)
                })
                .collect();
            let Some((first, _)) = starts.first() else { continue };
            let needs: Vec<Need> = shop.needs(step, way, *first).collect();
            let holds: Option<Vec<Hold>> =
                needs.iter().map(|need| hold(shop, of, known, job, Some(step), *need)).collect();
            let Some(holds) = holds else { continue };
            let tick = |h: usize| of.ticks.partition_point(|t| *t < h);
            groups.push(Group {
                crew: crew.index(),
                way,
                first: 0,
                own: shop.crews[crew].own,
                holds,
                runs: starts.iter().map(|(s, e)| (tick(*s), tick(*e), extra + *e as f64)).collect(),
                workable: of.ticks.iter().map(|h| runs.workable[*h]).collect(),
            });
        }
    }
    groups
}

fn hold(
    shop: &Shop,
    of: &mut Relaxation,
    known: &mut BTreeMap<(JobId, Option<StepId>, Want), usize>,
    job: JobId,
    step: Option<StepId>,
    need: Need,
) -> Option<Hold> {
    let place = shop.jobs[job].place;
    let able: Vec<(usize, usize)> = of
        .pools
        .iter()
        .enumerate()
        .filter(|(_, pool)| shop.units[pool.of.units[0]].serves(need.want))
        .filter_map(|(p, pool)| Some((p, pool.of.spot(place)?)))
        .collect();
    if able.iter().map(|(p, _)| of.pools[*p].of.units.len()).sum::<usize>() < need.count {
        return None;
    }
    let row = *known.entry((job, step, need.want)).or_insert_with(|| {
        of.wanted.push(Wanted { job, step, want: need.want, able: able.clone() });
        of.wanted.len() - 1
    });
    Some(Hold { count: need.count as f64, able, come: vec![row] })
}

/// A schedule under way: by step and end tick the cost, and how it came about.
#[derive(Default)]
struct Table {
    /// E(step, e) and the run (group, number) that ends then.
    ends: Vec<Vec<(f64, u32, u32)>>,
    /// The least E(step, e') for e' <= e, and that e'.
    least: Vec<Vec<(f64, u32)>>,
}

/// One way to do the whole job.
struct Chosen {
    cost: f64,
    runs: Vec<(usize, usize, usize)>,
    over: usize,
    parked: Vec<usize>,
}

impl Job {
    /// The least cost, left out or done, and what that does to the rows.
    pub(super) fn solve(
        &self,
        of: &Relaxation,
        prices: &[f64],
        sums: &Sums,
        mask: &Mask,
        broken: &mut [f64],
        chosen: &mut Vec<usize>,
    ) -> f64 {
        let costs = self.costs(of, prices, sums, mask);
        let may = mask.may(self.id);
        let left_out = self.left_out - sums.saves.get(&self.id).copied().unwrap_or(0.0);
        let mut best: Option<Chosen> = None;
        self.each(|only, extra, parked, table| {
            self.schedule(of, &costs, sums, only, parked, table);
            self.close(of, sums, extra, parked, table, &mut best);
        });
        match best {
            Some(best) if may != May::LeaveOut && (best.cost < left_out || may == May::Do) => {
                self.count(of, sums, &best, broken);
                chosen.extend(best.runs.iter().map(|(i, g, r)| self.steps[*i].groups[*g].first + r));
                best.cost
            }
            None if may == May::Do => NONE,
            _ => {
                for ((jobs, _), row) in of.short.iter().zip(of.time..) {
                    for (_, freed) in jobs.iter().filter(|(job, _)| *job == self.id) {
                        broken[row] -= *freed as f64;
                    }
                }
                left_out
            }
        }
    }

    fn costs(&self, of: &Relaxation, prices: &[f64], sums: &Sums, mask: &Mask) -> Vec<Vec<Vec<f64>>> {
        self.steps
            .iter()
            .map(|step| step.groups.iter().map(|group| self.run_costs(of, step, group, prices, sums, mask)).collect())
            .collect()
    }

    /// Calls for each choice of the only own crew (none: any crews, one extra paid) and of pools for what is parked.
    fn each(&self, mut call: impl FnMut(Option<usize>, f64, &[usize], &mut Table)) {
        let mut parked = vec![0; self.parked.len()];
        let mut table = Table::default();
        loop {
            for crew in &self.alone {
                call(Some(*crew), 0.0, &parked, &mut table);
            }
            call(None, if self.alone.is_empty() { 0.0 } else { self.extra_crew }, &parked, &mut table);
            let Some(i) = (0..parked.len()).find(|i| parked[*i] + 1 < self.parked[*i].able.len()) else { return };
            parked[i] += 1;
            parked[..i].fill(0);
        }
    }

    fn run_costs(
        &self,
        of: &Relaxation,
        step: &Step,
        group: &Group,
        prices: &[f64],
        sums: &Sums,
        mask: &Mask,
    ) -> Vec<f64> {
        let k = of.ticks.len();
        let crew = &prices[group.crew * k..(group.crew + 1) * k];
        let mut worked = Vec::with_capacity(k + 1);
        let mut sum = 0.0;
        worked.push(sum);
        for (price, workable) in crew.iter().zip(&group.workable) {
            if *workable {
                sum += price;
            }
            worked.push(sum);
        }
        group
            .runs
            .iter()
            .enumerate()
            .map(|(r, (s, e, cost))| {
                if !mask.runs[group.first + r] {
                    return NONE;
                }
                let mut cost = cost + worked[e + 1] - worked[*s];
                for hold in &group.holds {
                    let (_, held) = hold.cheapest(of, sums, *s, *e);
                    let rows = hold.come.iter().map(|row| sums.come[*row][*s] + sums.stay[*row][e + 1]);
                    cost += hold.count * (held + rows.sum::<f64>());
                }
                for link in &step.after {
                    cost += sums.order[*link][*s];
                }
                for link in &step.before {
                    cost -= sums.order[*link][of.free_after(*link, *e)];
                }
                cost
            })
            .collect()
    }

    /// Fills the table, step by step.
    fn schedule(
        &self,
        of: &Relaxation,
        costs: &[Vec<Vec<f64>>],
        sums: &Sums,
        only: Option<usize>,
        parked: &[usize],
        table: &mut Table,
    ) {
        let k = of.ticks.len();
        table.ends.clear();
        table.least.clear();
        for (i, step) in self.steps.iter().enumerate() {
            let mut ends = vec![(NONE, 0, 0); k];
            for (g, group) in step.groups.iter().enumerate() {
                if only.is_some_and(|crew| group.own && group.crew != crew) {
                    continue;
                }
                for (r, ((s, e, _), cost)) in group.runs.iter().zip(&costs[i][g]).enumerate() {
                    let mut cost = *cost;
                    if i == 0 {
                        cost += self.begin(of, sums, parked, *s);
                    }
                    for kept in &step.kept {
                        cost += kept.before(table, *s).0;
                    }
                    if cost < ends[*e].0 {
                        ends[*e] = (cost, g as u32, r as u32);
                    }
                }
            }
            let mut least = Vec::with_capacity(k);
            let mut so_far = (NONE, 0);
            for (e, (cost, ..)) in ends.iter().enumerate() {
                if *cost < so_far.0 {
                    so_far = (*cost, e as u32);
                }
                least.push(so_far);
            }
            table.ends.push(ends);
            table.least.push(least);
        }
    }

    /// The cheapest end of the schedules in a table, where it beats the best so far.
    fn close(
        &self,
        of: &Relaxation,
        sums: &Sums,
        extra: f64,
        parked: &[usize],
        table: &Table,
        best: &mut Option<Chosen>,
    ) {
        let mut found: Option<(f64, usize)> = None;
        let beaten = best.as_ref().map_or(NONE, |best| best.cost);
        for over in 0..of.ticks.len() {
            let cost = extra + self.over(of, sums, parked, over)
                + self.last.iter().map(|last| table.least[*last][over].0).sum::<f64>();
            if cost < found.map_or(beaten, |(least, _)| least) {
                found = Some((cost, over));
            }
        }
        if let Some((cost, over)) = found {
            let mut runs = vec![(0, 0, 0); self.steps.len()];
            for last in &self.last {
                self.trace(table, *last, table.least[*last][over].1 as usize, &mut runs);
            }
            *best = Some(Chosen { cost, runs, over, parked: parked.to_vec() });
        }
    }

    /// Step, own crew, way, start tick of each run, by flat number.
    pub(super) fn describe(&self, mut tell: impl FnMut(usize, StepId, usize, bool, usize)) {
        for step in &self.steps {
            for group in &step.groups {
                for (r, (s, ..)) in group.runs.iter().enumerate() {
                    tell(group.first + r, step.id, group.crew, group.own, *s);
                }
            }
        }
    }

    /// What it costs that the job is over in a tick, and what is parked held until then.
    fn over(&self, of: &Relaxation, sums: &Sums, parked: &[usize], over: usize) -> f64 {
        let mut cost = self.ends[over];
        for (hold, choice) in self.parked.iter().zip(parked) {
            let (p, spot) = hold.able[*choice];
            let stay: f64 = hold.come.iter().map(|row| sums.stay[*row][over + 1]).sum();
            cost += hold.count * (sums.hold[of.flat(p, spot)][over + 1] + stay);
        }
        cost
    }

    /// What it costs, for what is parked, that the job begins in a tick.
    fn begin(&self, of: &Relaxation, sums: &Sums, parked: &[usize], start: usize) -> f64 {
        let mut cost = 0.0;
        for (hold, choice) in self.parked.iter().zip(parked) {
            let (p, spot) = hold.able[*choice];
            let come: f64 = hold.come.iter().map(|row| sums.come[*row][start]).sum();
            cost += hold.count * (come - sums.hold[of.flat(p, spot)][start]);
        }
        cost
    }

    /// Follows a step that ends in a tick back to those before it.
    fn trace(&self, table: &Table, i: usize, end: usize, runs: &mut [(usize, usize, usize)]) {
        let (_, group, run) = table.ends[i][end];
        runs[i] = (i, group as usize, run as usize);
        let start = self.steps[i].groups[group as usize].runs[run as usize].0;
        for kept in &self.steps[i].kept {
            self.trace(table, kept.step, kept.before(table, start).1 as usize, runs);
        }
    }

    fn count(&self, of: &Relaxation, sums: &Sums, chosen: &Chosen, broken: &mut [f64]) {
        let k = of.ticks.len();
        let mut first = 0;
        for (i, g, r) in &chosen.runs {
            let step = &self.steps[*i];
            let group = &step.groups[*g];
            let (s, e, _) = group.runs[*r];
            if *i == 0 {
                first = s;
            }
            for tick in (s..=e).filter(|tick| group.workable[*tick]) {
                broken[group.crew * k + tick] += 1.0;
            }
            for hold in &group.holds {
                let (choice, _) = hold.cheapest(of, sums, s, e);
                hold.count_in(of, choice, s, e, broken);
            }
            for link in &step.after {
                broken[of.order + link * k + s] += 1.0;
            }
            for link in &step.before {
                let free = of.free_after(*link, e);
                if free < k {
                    broken[of.order + link * k + free] -= 1.0;
                }
            }
        }
        for (hold, choice) in self.parked.iter().zip(&chosen.parked) {
            hold.count_in(of, *choice, first, chosen.over, broken);
        }
    }
}

impl Job {
    /// By how much the job's cheapest schedule gets dearer with each run, and by leaving it out.
    pub(super) fn excess(&self, of: &Relaxation, prices: &[f64], sums: &Sums, mask: &Mask, excess: &mut Excess) {
        let costs = self.costs(of, prices, sums, mask);
        let mut via: Vec<Vec<Vec<f64>>> =
            costs.iter().map(|step| step.iter().map(|runs| vec![NONE; runs.len()]).collect()).collect();
        let may = mask.may(self.id);
        let left_out = self.left_out - sums.saves.get(&self.id).copied().unwrap_or(0.0);
        let mut least = if may == May::Do { NONE } else { left_out };
        self.each(|only, extra, parked, table| {
            self.schedule(of, &costs, sums, only, parked, table);
            let begin = |i: usize, s: usize| if i == 0 { self.begin(of, sums, parked, s) } else { 0.0 };
            let rest = self.rest(of, sums, extra, parked, table, &begin, &costs, only);
            for (i, step) in self.steps.iter().enumerate() {
                for (g, group) in step.groups.iter().enumerate() {
                    if only.is_some_and(|crew| group.own && group.crew != crew) {
                        continue;
                    }
                    for (r, (s, e, _)) in group.runs.iter().enumerate() {
                        let before: f64 = step.kept.iter().map(|kept| kept.before(table, *s).0).sum();
                        let whole = costs[i][g][r] + begin(i, *s) + before + rest[i][*e];
                        via[i][g][r] = via[i][g][r].min(whole);
                        least = least.min(whole);
                    }
                }
            }
        });
        excess.left_out.insert(self.id, left_out - least);
        if least == NONE { return; }
        for (step, via) in self.steps.iter().zip(&via) {
            for (group, via) in step.groups.iter().zip(via) {
                for (r, ((s, ..), via)) in group.runs.iter().zip(via).enumerate() {
                    excess.flat[group.first + r] = via - least;
                    excess.runs.insert((step.id, group.way, CrewId::from_index(group.crew), of.ticks[*s]), via - least);
                }
            }
        }
    }

    /// B(step, e): the cheapest rest of the job when a step ends in each tick.
    #[allow(clippy::too_many_arguments)]
    fn rest(
        &self,
        of: &Relaxation,
        sums: &Sums,
        extra: f64,
        parked: &[usize],
        table: &Table,
        begin: &impl Fn(usize, usize) -> f64,
        costs: &[Vec<Vec<f64>>],
        only: Option<usize>,
    ) -> Vec<Vec<f64>> {
        let k = of.ticks.len();
        let mut rest = vec![vec![NONE; k]; self.steps.len()];
        for last in &self.last {
            let mut least = NONE;
            for e in (0..k).rev() {
                let others: f64 = self.last.iter().filter(|o| *o != last).map(|o| table.least[*o][e].0).sum();
                least = least.min(extra + self.over(of, sums, parked, e) + others);
                rest[*last][e] = least;
            }
        }
        for i in (0..self.steps.len()).rev() {
            let step = &self.steps[i];
            for (n, kept) in step.kept.iter().enumerate() {
                // By start of this step: the rest of the job and this step with all before it but the one link.
                let mut from = vec![NONE; k];
                for (g, group) in step.groups.iter().enumerate() {
                    if only.is_some_and(|crew| group.own && group.crew != crew) {
                        continue;
                    }
                    for (r, (s, e, _)) in group.runs.iter().enumerate() {
                        let others: f64 =
                            step.kept.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, o)| o.before(table, *s).0).sum();
                        from[*s] = from[*s].min(costs[i][g][r] + begin(i, *s) + others + rest[i][*e]);
                    }
                }
                for (s, cost) in from.iter().enumerate().filter(|(_, cost)| **cost < NONE) {
                    let first = kept.from.as_ref().map_or(0, |from| from[s]);
                    for e in first..kept.until[s] {
                        rest[kept.step][e] = rest[kept.step][e].min(*cost);
                    }
                }
            }
        }
        rest
    }
}

impl Hold {
    /// The pool that is cheapest to hold from tick s to tick e.
    fn cheapest(&self, of: &Relaxation, sums: &Sums, s: usize, e: usize) -> (usize, f64) {
        let mut best = (0, NONE);
        for (i, (p, spot)) in self.able.iter().enumerate() {
            let sum = &sums.hold[of.flat(*p, *spot)];
            let cost = sum[e + 1] - sum[s];
            if cost < best.1 && of.pools[*p].may_hold(of.ticks[s], of.ticks[e]) {
                best = (i, cost);
            }
        }
        best
    }

    fn count_in(&self, of: &Relaxation, choice: usize, s: usize, e: usize, broken: &mut [f64]) {
        let k = of.ticks.len();
        let (p, spot) = self.able[choice];
        for tick in s..=e {
            broken[of.hold[p] + spot * k + tick] += self.count;
        }
        for row in &self.come {
            broken[of.come + row * k + s] += self.count;
            broken[of.stay + row * k + e] += self.count;
        }
    }
}

impl Kept {
    /// The least cost of the step before, where this one starts at a tick, and when it then ends.
    fn before(&self, table: &Table, start: usize) -> (f64, u32) {
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

impl Relaxation {
    /// The first tick in which the step after a priced link may start, when the one before ends in a tick.
    fn free_after(&self, link: usize, end: usize) -> usize {
        self.ticks.partition_point(|h| *h < self.ticks[end] + 1 + self.priced[link].wait)
    }
}
