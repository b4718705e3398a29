//! Large neighbourhood search over the insertion heuristic: take a few jobs out, put them back in another order, keep what is no
//! worse than the plan was some rounds ago (late acceptance: Burke and Bykov, European Journal of Operational Research
//! 258(1), 2017).

use yardless_plan::Draft;
use yardless_plan::shop::{JobId, Shop};

use super::activity_list::changed_list;
use super::insertion::{PartialPlan, Trial};
use super::insertion_order::{Trials, insert_all};
use super::tables::Tables;
use crate::incumbent::{judged, unended};
use crate::model::{Hint, Hints};

/// A search that can be stopped and gone on with at any step.
pub(crate) struct NeighbourhoodSearch<'s> {
    shop: &'s Shop,
    now: PartialPlan<'s>,
    best: PartialPlan<'s>,
    /// Costs of the rounds before, the oldest overwritten first.
    history: Vec<i64>,
    round: u64,
    /// The round in which the search last started anew, the least cost since, and the round that brought it.
    restarted: u64,
    least: i64,
    gained: u64,
    rng: fastrand::Rng,
    jobs: Vec<JobId>,
    tables: &'s Tables,
    /// The cheapest plan of the Lagrangian heuristic since one was taken: a new beginning.
    hinted: Option<PartialPlan<'s>>,
}

/// Rounds that late acceptance looks back.
const LOOK_BACK: usize = 30;
/// At most so many of the jobs that are out anyway are tried in a round: where there are more, most of the time would go into
/// what does not fit.
const MOST_OUT: i32 = 10;
/// Rounds without a better plan after which the search begins again elsewhere.
const PATIENCE: u64 = 8_000;

impl<'s> NeighbourhoodSearch<'s> {
    /// A first plan: what can be taken over of the one to start from, then jobs in the order of their due dates, each as
    /// early and cheaply as it fits. `most_unended`: jobs in progress that the one to start from may leave without an
    /// end, where it is to be taken over whole.
    pub(crate) fn new(
        shop: &'s Shop,
        tables: &'s Tables,
        seed: u64,
        start: Option<&Draft>,
        most_unended: usize,
        over: &dyn Fn() -> bool,
    ) -> Self {
        let taken = |start: &Draft| warm_start(shop, tables, start, most_unended, over);
        let mut plan = start.map_or_else(|| PartialPlan::new(shop, tables), taken);
        let mut taken_over = start.filter(|_| !tables.standing_costs.is_empty()).map(|_| plan.clone());
        taken_over.iter_mut().for_each(PartialPlan::charge);
        plan.insert_in_progress(&[Trial::default()]);
        let mut jobs: Vec<JobId> = shop.jobs.ids().filter(|job| shop.jobs[*job].planned()).collect();
        jobs.retain(|job| !plan.unended().contains(job));
        jobs.sort_by_key(|job| (shop.jobs[*job].due.is_none(), shop.jobs[*job].due, *job));
        insert_all(&mut plan, &jobs, over, |_, crews| {
            let bound = crews.iter().map(|crew| Trial { crew: Some(*crew), ..Trial::default() });
            bound.chain([Trial::default()]).collect::<Vec<_>>().into()
        });
        plan.settle();
        // Hauls that only make standing cheaper may have been better in the plan that was taken over.
        if let Some(taken) = taken_over.filter(|taken| taken.holds() && taken.cost() < plan.cost()) {
            plan = taken;
        }
        let cost = plan.cost();
        Self {
            shop,
            best: plan.clone(),
            now: plan,
            history: vec![cost; LOOK_BACK],
            round: 1,
            restarted: 0,
            least: cost,
            gained: 0,
            rng: fastrand::Rng::with_seed(seed),
            jobs,
            tables,
            hinted: None,
        }
    }

    /// Another search that begins with the same plan.
    pub(crate) fn again(&self, seed: u64) -> Self {
        Self {
            shop: self.shop,
            now: self.now.clone(),
            best: self.best.clone(),
            history: self.history.clone(),
            rng: fastrand::Rng::with_seed(seed),
            jobs: self.jobs.clone(),
            hinted: None,
            ..*self
        }
    }

    /// Goes on from a better plan.
    pub(crate) fn go_on_from(&mut self, better: &PartialPlan<'s>) {
        self.now = better.clone();
        self.best = better.clone();
        let cost = better.cost();
        self.history.fill(cost);
        (self.least, self.gained) = (cost, self.round);
    }

    /// The Lagrangian heuristic: the plan that comes closest to hints; whether it is the best so far. No hints say nothing.
    pub(crate) fn follow_hints(&mut self, hints: &Hints) -> bool {
        if hints.is_empty() {
            return false;
        }
        let mut plan = self.now.clone();
        for job in &self.jobs {
            plan.remove(*job);
        }
        plan.set_hints(hints.iter().copied());
        for job in plan.hinted() {
            let first = self.shop.jobs[job].step_ids().filter_map(|step| plan.hint(step)).min_by_key(|hint| hint.start);
            let Some(first) = first else { continue };
            let as_hinted = Trial { as_hinted: true, ..Trial::default() };
            let at =
                Trial { not_before: first.start, crew: Some(self.shop.teams[first.team].crew), ..Trial::default() };
            let sooner = Trial { not_before: first.start.saturating_sub(2), ..at };
            plan.insert(job, &[as_hinted, at, Trial { crew: None, ..at }, sooner]);
        }
        let left: Vec<JobId> = self.jobs.iter().copied().filter(|job| !plan.does(*job)).collect();
        insert_all(&mut plan, &left, &|| false, |_, _| vec![Trial::default()].into());
        plan.settle();
        if !plan.holds() {
            return false;
        }
        let better = plan.cost() < self.best.cost();
        if better {
            self.go_on_from(&plan);
        } else if self.hinted.as_ref().is_none_or(|other| plan.cost() < other.cost()) {
            self.hinted = Some(plan);
        }
        better
    }

    /// The best plan so far.
    pub(crate) fn best(&self) -> &PartialPlan<'s> {
        &self.best
    }

    /// Rounds so far.
    pub(crate) fn rounds(&self) -> u64 {
        self.round
    }

    /// One round: whether the best plan got better.
    pub(crate) fn step(&mut self) -> bool {
        if self.jobs.is_empty() {
            return false;
        }
        if self.round - self.restarted >= PATIENCE && self.round - self.gained >= PATIENCE {
            self.restart();
        }
        let mut next = self.now.clone();
        let first = self.wanted(&next);
        let out = self.choose(&next);
        for job in &out {
            next.remove(*job);
        }
        self.repair(&mut next, first);
        next.settle();
        let cost = next.cost();
        let slot = (self.round % LOOK_BACK as u64) as usize;
        if next.holds() && (cost <= self.now.cost() || cost <= self.history[slot]) {
            self.now = next;
        }
        self.history[slot] = self.now.cost();
        if self.now.cost() < self.least {
            (self.least, self.gained) = (self.now.cost(), self.round);
        }
        self.round += 1;
        let better = self.now.cost() < self.best.cost();
        if better {
            self.best = self.now.clone();
        }
        better
    }

    /// Begins elsewhere: half of the plan, or all of it, is made anew, whatever that costs at first.
    fn restart(&mut self) {
        self.now = self.best.clone();
        (self.restarted, self.least) = (self.round, i64::MAX);
        self.history.fill(i64::MAX);
        // Every other time from a plan of the Lagrangian heuristic, where there is one.
        if self.rng.bool()
            && let Some(hinted) = self.hinted.take()
        {
            self.now = hinted;
            self.history.fill(self.now.cost());
            // This round changes a few jobs, as any other.
            self.restarted += 1;
        }
    }

    /// At times one of the jobs that are left out, to be put in before those that are taken out: what stands in its way is
    /// seldom one job alone, where crews help each other.
    fn wanted(&mut self, plan: &PartialPlan<'s>) -> Option<JobId> {
        if !plan.crews_time_costs() {
            return None;
        }
        let out: Vec<JobId> = self.jobs.iter().copied().filter(|job| !plan.does(*job)).collect();
        if out.is_empty() || self.rng.u8(..4) != 0 {
            return None;
        }
        Some(out[self.rng.usize(..out.len())])
    }

    /// Puts jobs that are out back in, in another order. Of those that were out anyway some get another chance, `first` the
    /// first.
    fn repair(&mut self, plan: &mut PartialPlan<'s>, first: Option<JobId>) {
        let mut back: Vec<JobId> = self.jobs.iter().copied().filter(|job| !plan.does(*job)).collect();
        self.rng.shuffle(&mut back);
        let mut chances = MOST_OUT;
        back.retain(|job| {
            self.now.does(*job) || first == Some(*job) || self.shop.jobs[*job].started || {
                chances -= 1;
                chances >= 0
            }
        });
        if self.rng.u8(..10) == 0 {
            back.sort_by_key(|job| std::cmp::Reverse(self.shop.jobs[*job].left_out));
        }
        back.sort_by_key(|job| first != Some(*job));
        // What is in progress must be ended (N1).
        back.sort_by_key(|job| !self.shop.jobs[*job].started);
        // The same crew throughout, a step held back, a later beginning: each finds what taking the best now does not.
        let rng = &mut self.rng;
        let len = self.shop.len();
        // Where drives and open half-days cost, the crew that is best for a step is seldom the best for its job.
        let by_crew = plan.crews_time_costs();
        let (shop, tables, was) = (self.shop, self.tables, &self.now);
        insert_all(plan, &back, &|| false, |job, crews| {
            if tables.projects[job] && was.does(job) {
                let list = changed_list(shop, &tables.order[job], |step| was.start_of(step), rng);
                return Trials { trials: vec![Trial::default()], list: Some(list) };
            }
            if by_crew && rng.u8(..4) == 0 {
                let each = crews.iter().map(|crew| Trial { crew: Some(*crew), ..Trial::default() });
                return each.chain([Trial::default()]).collect::<Vec<_>>().into();
            }
            let noise = if rng.u8(..3) == 0 { rng.u64(1..) } else { 0 };
            let crew = (!crews.is_empty() && rng.bool()).then(|| crews[rng.usize(..crews.len())]);
            let plain = Trial { noise, crew, ..Trial::default() };
            let held_back = Trial { delay: Some((rng.usize(..4), 1 + rng.usize(..12))), ..plain };
            let later = Trial { not_before: rng.usize(..len), ..plain };
            // Not always the best of them: what is dearer now may leave room for what comes next.
            let trials = match rng.u8(..8) {
                0..3 => vec![plain, held_back, later],
                3..5 => vec![plain],
                5..7 => vec![held_back],
                _ => vec![later],
            };
            trials.into()
        });
    }

    /// A few jobs to take out: any, or some that start near one another.
    fn choose(&mut self, plan: &PartialPlan<'s>) -> Vec<JobId> {
        let fresh = self.round == self.restarted;
        if fresh && self.rng.bool() {
            return self.jobs.clone();
        }
        let most = if fresh { self.jobs.len() / 2 } else { 1 + self.rng.usize(..4) }.clamp(1, self.jobs.len());
        let first = self.jobs[self.rng.usize(..self.jobs.len())];
        let mut out = vec![first];
        if self.rng.bool() {
            let at = plan.starts(first).unwrap_or(0);
            let mut near = self.jobs.clone();
            near.sort_by_cached_key(|job| plan.starts(*job).map_or(usize::MAX, |start| start.abs_diff(at)));
            out.extend(near.into_iter().filter(|job| *job != first).take(most - 1));
        } else {
            while out.len() < most {
                let job = self.jobs[self.rng.usize(..self.jobs.len())];
                if !out.contains(&job) {
                    out.push(job);
                }
            }
        }
        out
    }
}

/// What can be taken over of a plan: all of it where it holds, else what can be done as it says, in order of time.
fn warm_start<'s>(
    shop: &'s Shop,
    tables: &'s Tables,
    start: &Draft,
    most_unended: usize,
    over: &dyn Fn() -> bool,
) -> PartialPlan<'s> {
    let holds = |draft: &Draft| judged(shop, draft).is_ok();
    // One that leaves out what is in progress is no beginning: that comes first.
    let mut whole = PartialPlan::new(shop, tables);
    if unended(shop, start) <= most_unended
        && holds(start)
        && whole.take_over(start)
        && whole.draft().is_some_and(|draft| holds(&draft))
    {
        return whole;
    }
    let mut plan = PartialPlan::new(shop, tables);
    let done = start.steps.pairs().filter_map(|(step, done)| Some((step, done.as_ref()?)));
    plan.set_hints(done.map(|(step, done)| (step, Hint { way: done.way, team: done.team, start: done.start })));
    let as_hinted = Trial { as_hinted: true, ..Trial::default() };
    plan.insert_in_progress(&[as_hinted, Trial::default()]);
    let jobs = plan.hinted();
    insert_all(&mut plan, &jobs, over, |_, _| vec![as_hinted].into());
    plan
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardless_book::half_day::{HalfDay, Horizon};

    /// The best that 200 rounds find, without any proof or program, from a date on.
    fn found(book: &str, date: &str) -> i64 {
        let book = yardless_book::read(book.as_bytes()).expect("a book").book;
        let horizon = Horizon::new("2026-12-07".parse().expect("a Monday"), 2).expect("a horizon");
        let now = horizon.index(HalfDay::am(date.parse().expect("a date"))).expect("within");
        let shop = Shop::again(&book, horizon, now, None).expect("no fault");
        let tables = Tables::new(&shop);
        let mut search = NeighbourhoodSearch::new(&shop, &tables, 1, None, 0, &|| false);
        for _ in 0..200 {
            search.step();
            assert!(search.now.holds());
        }
        let draft = search.best().draft().expect("a truck for each haul");
        assert!(judged(&shop, &draft).is_ok());
        search.best().cost()
    }

    #[test]
    fn truck_comes_with_the_crew_that_works_in_overtime_and_no_other() {
        // By hand, as the cases say: on Saturday 60 of hauling, 240 of overtime, 20.10 for ending at index 10; on Monday
        // 60, 300 late and 28.14.
        let found = |book: &str| found(book, "2026-12-12");
        assert_eq!(found(include_str!("../../../../tests/cases/overtime-haul.json")), 32_010);
        assert_eq!(found(include_str!("../../../../tests/cases/overtime-haul-no-truck.json")), 38_814);
    }

    #[test]
    fn idle_units_are_hauled_to_where_they_stand_cheaper_and_sites_are_opened_late() {
        // As the cases say: 115 of hauls and 40 of standing; 125 and 90 of hire; 45 of an open site.
        let found = |book: &str| found(book, "2026-12-07");
        assert_eq!(found(include_str!("../../../../tests/cases/costs/trailer-in-the-street.json")), 16_103);
        assert_eq!(found(include_str!("../../../../tests/cases/costs/hire-on-the-road.json")), 26_123);
        assert_eq!(found(include_str!("../../../../tests/cases/costs/open-sites.json")), 7_323);
        // By hand: hired from the yard, the lift stands at the job and goes back at once: 60 of hauling.
        let mut idle: serde_json::Value =
            serde_json::from_str(include_str!("../../../../tests/cases/costs/hired-lift.json")).expect("JSON");
        idle["jobs"] = serde_json::json!([]);
        idle["equipment"][0]["place"] = serde_json::json!("elm");
        assert_eq!(found(&idle.to_string()), 6_000);
    }
}
