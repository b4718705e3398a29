//! What a new plan does otherwise than the kept one, by job, and why: by the rules that the kept rows would break.

use std::collections::BTreeSet;

use super::{Breach, HaulRow, LeftOutRow, Plan, StepRow, check};
use crate::half_day::HalfDay;
use crate::money::Cents;
use crate::shop::{JobId, Shop, StepFacts};

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
}

/// The jobs of the book that the new plan does otherwise from now on.
pub fn changes(shop: &Shop, kept: &Plan, new: &Plan) -> Vec<JobChange> {
    let now = shop.horizon.half_day(shop.now);
    let mut found = Vec::new();
    for (job, facts) in shop.jobs.pairs() {
        let mut steps = Vec::new();
        let spans = facts.step_ids().map(|step| &shop.steps[step]).flat_map(|step| [(step, 1), (step, 2)]);
        // What is in progress goes on; whether its crew comes back is still open.
        for (step, span) in spans.filter(|(step, span)| step.going.is_none() || *span == 2) {
            let is = |row: &&StepRow| row.job == facts.id && row.step == step.id && row.span == span;
            let row = |plan: &Plan| plan.steps.iter().find(is).cloned();
            let (mut was, is) = (row(kept), row(new));
            if step.going.is_some() && is.is_none() {
                // Its crew has come back by now.
                was = was.filter(|row| row.start >= now);
            }
            let told = |row: &StepRow| (row.crew.clone(), row.way.clone(), row.start, row.end);
            if was.as_ref().map(told) != is.as_ref().map(told) {
                steps.push(StepChange { step: step.id.clone(), span, was, is });
            }
        }
        if steps.is_empty() {
            continue;
        }
        let over = |plan: &Plan| plan.steps.iter().filter(|row| row.job == facts.id).map(|row| row.end).max();
        let because = because(shop, kept, new, job, now);
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
pub fn haul_breaks(shop: &Shop, new: &Plan, haul: &HaulRow) -> Option<Breach> {
    let mut alone = new.clone();
    alone.hauls = vec![HaulRow { needs_clear: None, estimate: None, ..haul.clone() }];
    let own = ["E4", "H1", "H2", "H3", "H4"];
    breaches(shop, &alone, |breach| own.contains(&breach.rule)).into_iter().next()
}

fn because(shop: &Shop, kept: &Plan, new: &Plan, job: JobId, now: HalfDay) -> Because {
    let id = &shop.jobs[job].id;
    let rows: Vec<StepRow> = kept.steps.iter().filter(|row| row.job == *id && row.start >= now).cloned().collect();
    if forgotten(shop, kept).any(|row| row.job == *id) {
        return Because::NotBegun;
    }
    if rows.is_empty() {
        return Because::New;
    }
    let parked = kept.parked.iter().filter(|row| row.job == *id);
    let units: BTreeSet<&String> =
        rows.iter().flat_map(|row| &row.units).chain(parked.clone().flat_map(|row| &row.units)).collect();
    let last = rows.iter().map(|row| row.end).max().unwrap_or(now);
    let hauls = kept.hauls.iter().filter(|haul| units.contains(&haul.unit) && (now..=last).contains(&haul.at));
    let hauls: Vec<HaulRow> =
        hauls.cloned().map(|haul| HaulRow { needs_clear: None, estimate: None, ..haul }).collect();
    let begun: Vec<StepRow> = new
        .steps
        .iter()
        .filter(|row| row.job == *id && !rows.iter().any(|kept| kept.step == row.step))
        .cloned()
        .collect();
    // Alone: no other job, only its own hauls.
    let mut alone = new.clone();
    alone.steps = begun.iter().filter(|row| row.start < now).chain(&rows).cloned().collect();
    alone.parked = parked.clone().cloned().collect();
    alone.hauls.clone_from(&hauls);
    alone.left_out = shop
        .jobs
        .iter()
        .filter(|other| other.planned() && other.id != *id)
        .map(|other| LeftOutRow { job: other.id.clone(), why: String::new() })
        .collect();
    let own = ["W2", "W3", "W5", "W7", "W8", "E2", "E3", "E4", "E5", "H1", "H2", "H3", "H4"];
    let breaks = breaches(shop, &alone, |breach| own.contains(&breach.rule));
    if !breaks.is_empty() {
        return Because::Breaks(breaks);
    }
    // In the new plan, in place of what it does with the job.
    let mut inside = new.clone();
    inside.steps.retain(|row| row.job != *id);
    inside.steps.extend(begun.into_iter().filter(|row| row.start < now));
    inside.steps.extend(rows.iter().cloned());
    inside.parked.retain(|row| row.job != *id);
    inside.parked.extend(parked.cloned());
    inside.left_out.retain(|row| row.job != *id);
    inside.hauls.retain(|haul| !units.contains(&haul.unit));
    inside.hauls.extend(kept.hauls.iter().filter(|haul| units.contains(&haul.unit) && haul.at >= now).cloned());
    let says = |breach: &Breach| breach.rule != "cost" && breach.rule != "bound" && !breach.rule.starts_with('C');
    let breaks = breaches(shop, &inside, says);
    if breaks.is_empty() {
        Because::Cheaper(check(shop, &inside).costs.total() - new.cost)
    } else {
        Because::InTheWay(breaks)
    }
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

/// The first breaches of some rules, few enough to be read.
fn breaches(shop: &Shop, plan: &Plan, of: impl Fn(&Breach) -> bool) -> Vec<Breach> {
    const MOST: usize = 2;
    // What comes from outside first, and last of all what only follows from it: an end that is another one.
    let rank = |rule: &str| match rule {
        "W2" | "W7" => 0,
        "E4" | "H2" | "H3" => 1,
        "W3" => 3,
        _ => 2,
    };
    let mut found: Vec<Breach> = check(shop, plan).breaches.into_iter().filter(of).collect();
    found.sort_by_key(|breach| rank(breach.rule));
    found.truncate(MOST);
    found
}
