//! What a new plan does otherwise than the kept one, by job, and why: by the rules that the kept rows would break.

use std::collections::BTreeSet;

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_check::{Breach, Verdict, check};
use yardless_plan::shop::{JobId, Shop, StepFacts};
use yardless_plan::{HaulRow, LeftOutRow, ParkedRow, Plan, Rule, StepRow, read, rows_of_parked};

/// A job that is done otherwise than the crews were told.
#[derive(Clone, Debug, PartialEq)]
pub struct JobChange {
    /// The job.
    pub job: JobId,
    /// Its steps that changed, in the book's order.
    pub steps: Vec<StepChange>,
    /// When it was to end, and now does; `None`: not within the plan.
    pub was_over: Option<HalfDay>,
    /// See `was_over`.
    pub is_over: Option<HalfDay>,
    /// Why.
    pub because: Because,
}

/// A step as it was given out and as it is planned now: moved, new or dropped.
#[derive(Clone, Debug, PartialEq)]
pub struct StepChange {
    /// The step's id.
    pub step: String,
    /// Which span of it: 2 is what its crew comes back to (W10).
    pub span: u32,
    /// As given out.
    pub was: Option<StepRow>,
    /// As planned now.
    pub is: Option<StepRow>,
}

/// Why a job is not done as it was given out.
#[derive(Clone, Debug, PartialEq)]
pub enum Because {
    /// It was not in the plan given out.
    New,
    /// The plan given out had it start before now, and the book does not say that it has.
    NotBegun,
    /// Its kept rows would by themselves break these rules: the weather, a road, who is there, what is out.
    Breaks(Vec<Breach>),
    /// Its kept rows would break these rules together with what the new plan does besides.
    InTheWay(Vec<Breach>),
    /// They would not: the new plan costs less by so much, changes counted.
    Cheaper(Cents),
    /// They would not, and the new plan with them would cost less by so much, or the same: the search did not find it.
    NotFound(Cents),
}

/// The jobs of the book that the new plan does otherwise from now on.
pub fn changes(shop: &Shop, kept: &Plan, new: &Plan) -> Vec<JobChange> {
    let now = shop.horizon.half_day(shop.now);
    let mut found = Vec::new();
    for (job, facts) in shop.jobs.pairs() {
        let mut steps = Vec::new();
        let spans = facts
            .step_ids()
            .chain(facts.later_ids())
            .map(|step| &shop.steps[step])
            .flat_map(|step| [(step, 1), (step, 2)]);
        // What is in progress goes on; whether its crew comes back is still open.
        for (step, span) in spans.filter(|(step, span)| step.going.is_none() || *span == 2) {
            let is = |row: &&StepRow| row.job == facts.id && row.step == step.id && row.span == span;
            let row = |plan: &Plan| plan.steps.iter().find(is).cloned();
            let (mut was, is) = (row(kept), row(new));
            if step.going.is_some() && is.is_none() {
                // Its crew has come back by now.
                was = was.filter(|row| row.start >= now);
            }
            let told = |row: &StepRow| (row.crew.clone(), row.with.clone(), row.way.clone(), row.start, row.end);
            if was.as_ref().map(told) != is.as_ref().map(told) {
                steps.push(StepChange { step: step.id.clone(), span, was, is });
            }
        }
        if steps.is_empty() {
            continue;
        }
        let over = |plan: &Plan| plan.steps.iter().filter(|row| row.job == facts.id).map(|row| row.end).max();
        let because = because(shop, kept, new, job);
        found.push(JobChange { job, steps, was_over: over(kept), is_over: over(new), because });
    }
    found
}

/// Hauls from now on that only one of two plans makes: first those of `a`.
pub fn other_hauls<'p>(shop: &Shop, a: &'p Plan, b: &Plan) -> Vec<&'p HaulRow> {
    let now = shop.horizon.half_day(shop.now);
    let told =
        |row: &HaulRow| (row.unit.clone(), row.from.clone(), row.to.clone(), row.at, row.evening, row.truck.clone());
    let there: BTreeSet<_> = b.hauls.iter().map(told).collect();
    a.hauls.iter().filter(|row| row.at >= now && !there.contains(&told(row))).collect()
}

/// Why a haul of the kept plan is not made any more, where a rule alone forbids it: the weather, a road, a truck.
pub fn haul_breaks(shop: &Shop, new: &Plan, haul: &HaulRow) -> Vec<Breach> {
    const OWN: [Rule; 5] = [Rule::E4, Rule::H1, Rule::H2, Rule::H3, Rule::H4];
    let mut alone = new.clone();
    alone.hauls = vec![HaulRow { needs_clear: None, estimate: None, ..haul.clone() }];
    let own = |breach: &Breach| OWN.contains(&breach.rule) && breach.fact.jobs(shop).is_empty();
    check(shop, &alone).breaches.into_iter().filter(own).collect()
}

fn because(shop: &Shop, kept: &Plan, new: &Plan, job: JobId) -> Because {
    let id = &shop.jobs[job].id;
    if forgotten(shop, kept).any(|row| row.job == *id) {
        return Because::NotBegun;
    }
    if kept.steps.iter().all(|row| row.job != *id) {
        return Because::New;
    }
    let stays = Stays::new(shop, kept, new, job);
    // The hauls of its units after it as told, or as now: where either holds, it could stay.
    let inside = [stays.inside(new, &stays.told_after), stays.inside(new, &stays.now_after)];
    let whole = |breach: &Breach| !breach.of_cost();
    let verdicts = inside.map(|plan| check(shop, &plan));
    let holds = verdicts.iter().filter(|verdict| !verdict.breaches.iter().any(whole));
    if let Some(cents) = holds.map(|verdict| verdict.costs.total()).min() {
        return if cents > new.cost { Because::Cheaper(cents - new.cost) } else { Because::NotFound(new.cost - cents) };
    }
    let [_, Verdict { breaches, .. }] = verdicts;
    let alone = check(shop, &stays.alone(shop, new)).breaches;
    let own = |breach: &Breach| {
        use Rule::{E2, E3, E4, E5, H1, H2, H3, H4, W2, W3, W5, W7, W8, W12};
        let by_itself = matches!(breach.rule, W2 | W3 | W5 | W7 | W8 | W12 | E2 | E3 | E4 | E5 | H1 | H2 | H3 | H4);
        by_itself && breach.fact.jobs(shop).iter().all(|of| *of == job) && alone.contains(breach)
    };
    let (by_itself, besides): (Vec<Breach>, Vec<Breach>) = breaches.into_iter().filter(whole).partition(own);
    if by_itself.is_empty() { Because::InTheWay(besides) } else { Because::Breaks(by_itself) }
}

/// What a job would take of a plan if it stayed as it was given out.
struct Stays<'p> {
    job: &'p str,
    steps: Vec<StepRow>,
    parked: Vec<ParkedRow>,
    units: BTreeSet<String>,
    /// The hauls of its units up to its end.
    hauls: Vec<HaulRow>,
    /// Those after it, as given out and as planned now.
    told_after: Vec<HaulRow>,
    now_after: Vec<HaulRow>,
}

impl<'p> Stays<'p> {
    fn new(shop: &'p Shop, kept: &'p Plan, new: &'p Plan, job: JobId) -> Self {
        let facts = &shop.jobs[job];
        let now = shop.horizon.half_day(shop.now);
        let steps = facts.step_ids().chain(facts.later_ids());
        let steps: Vec<StepRow> =
            steps.flat_map(|step| rows_that_stay(&facts.id, &shop.steps[step], kept, new)).collect();
        let parked: Vec<ParkedRow> = if facts.parks_apart {
            // Of what is held between two steps only what is still held.
            let held = if facts.rests() { facts.parked_units() } else { read(shop, kept).parked[job].clone() };
            rows_of_parked(shop, job, &held)
        } else {
            kept.parked.iter().filter(|row| row.job == facts.id).cloned().collect()
        };
        let named = steps.iter().flat_map(|row| &row.units).chain(parked.iter().flat_map(|row| &row.units));
        let units: BTreeSet<String> = named.cloned().collect();
        let last = steps.iter().map(|row| row.end).max().unwrap_or(now);
        let of = |plan: &'p Plan, when: &dyn Fn(HalfDay) -> bool| -> Vec<HaulRow> {
            let hauls = plan.hauls.iter().filter(|haul| units.contains(&haul.unit) && when(haul.at));
            hauls.map(|haul| HaulRow { needs_clear: None, estimate: None, ..haul.clone() }).collect()
        };
        Self {
            job: &facts.id,
            hauls: of(kept, &|at| (now..=last).contains(&at)),
            told_after: of(kept, &|at| at >= now && at > last),
            now_after: of(new, &|at| at > last),
            parked,
            steps,
            units,
        }
    }

    /// In the new plan, in place of what that does with the job.
    fn inside(&self, new: &Plan, after: &[HaulRow]) -> Plan {
        let mut plan = new.clone();
        plan.steps.retain(|row| row.job != self.job);
        plan.steps.extend(self.steps.iter().cloned());
        plan.parked.retain(|row| row.job != self.job);
        plan.parked.extend(self.parked.iter().cloned());
        plan.left_out.retain(|row| row.job != self.job);
        plan.hauls.retain(|haul| !self.units.contains(&haul.unit));
        plan.hauls.extend(self.hauls.iter().chain(after).cloned());
        plan
    }

    /// By itself: no other job, only its own hauls.
    fn alone(&self, shop: &Shop, new: &Plan) -> Plan {
        let others = shop.jobs.iter().filter(|other| other.planned() && other.id != self.job);
        let mut plan = new.clone();
        plan.steps.clone_from(&self.steps);
        plan.parked.clone_from(&self.parked);
        plan.hauls.clone_from(&self.hauls);
        plan.left_out = others.map(|other| LeftOutRow { job: other.id.clone(), why: String::new() }).collect();
        plan
    }
}

/// The rows of a step as given out. What is in progress goes on as the new plan has it, so long as neither plan leaves it
/// and comes back, or both do.
fn rows_that_stay(job: &str, step: &StepFacts, kept: &Plan, new: &Plan) -> Vec<StepRow> {
    let of = |plan: &Plan| -> Vec<StepRow> {
        plan.steps.iter().filter(|row| row.job == job && row.step == step.id).cloned().collect()
    };
    let (mut was, is) = (of(kept), of(new));
    let Some(going) = &step.going else { return was };
    let goes_on = |rows: &[StepRow]| rows.iter().map(|row| row.span).eq([1]);
    if was.is_empty() || goes_on(&was) && goes_on(&is) {
        return is;
    }
    for row in was.iter_mut().filter(|row| row.span == 1) {
        row.start = going.start;
    }
    was
}

/// Rows of the kept plan that were to start before now, of steps that by the book have not begun.
pub fn forgotten<'p>(shop: &Shop, kept: &'p Plan) -> impl Iterator<Item = &'p StepRow> {
    let now = shop.horizon.half_day(shop.now);
    let open = |row: &&StepRow| {
        let is = |step: &StepFacts| step.id == row.step && shop.jobs[step.job].id == row.job;
        shop.steps.iter().any(|step| step.going.is_none() && is(step))
    };
    kept.steps.iter().filter(move |row| row.start < now).filter(open)
}
