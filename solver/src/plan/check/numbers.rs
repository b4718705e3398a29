//! What the plan costs, and whether the plan says so: rules C1 to C9, the cost and the bound.

use super::Found;
use super::hauls::Yard;
use super::work::{Fate, Work, Works};
use crate::money::Cents;
use crate::plan::{Costs, Plan, cost};
use crate::shop::Shop;

pub(super) fn costs(shop: &Shop, works: &Works, yard: &Yard) -> Costs {
    let mut costs = Costs { hauls: yard.cost, ..Costs::default() };
    for (step, work) in works.steps.pairs() {
        costs.ways += work.as_ref().map_or(Cents::ZERO, |work| shop.steps[step].ways[work.way].extra);
    }
    for (job, fate) in works.fates.pairs() {
        match fate {
            Fate::Later => {}
            Fate::LeftOut => costs.left_out += cost::left_out(shop, job),
            Fate::Done { end, .. } => {
                let work = || shop.jobs[job].step_ids().filter_map(|step| works.steps[step].as_ref());
                let ends = work().filter_map(|work: &Work| work.span).map(|(_, end)| end);
                costs.late += cost::late(shop, job, *end);
                costs.crews += cost::crews(shop, work().map(|work| work.crew));
                costs.waiting += cost::waiting(shop, ends);
            }
        }
    }
    costs
}

pub(super) fn judge(plan: &Plan, costs: Costs, found: &mut Found) {
    if plan.costs != Costs::default() {
        let said = plan.costs;
        for (rule, term, said, is) in [
            ("C1", "late", said.late, costs.late),
            ("C2", "left out", said.left_out, costs.left_out),
            ("C3", "hauls", said.hauls, costs.hauls),
            ("C4", "crews", said.crews, costs.crews),
            ("C5", "waiting", said.waiting, costs.waiting),
            ("C6", "ways", said.ways, costs.ways),
            ("C7", "changes", said.changes, costs.changes),
            ("C8", "overtime", said.overtime, costs.overtime),
            ("C9", "returns", said.returns, costs.returns),
        ] {
            if said != is {
                found.say(rule, format!("{term}: the plan says ${said}, it is ${is}"));
            }
        }
    }
    if plan.cost != costs.total() {
        found.say("cost", format!("the plan says that it costs ${}, it costs ${}", plan.cost, costs.total()));
    }
    match plan.bound {
        Some(bound) if bound > plan.cost => {
            found.say("bound", format!("the bound ${bound} is above the cost ${}", plan.cost));
        }
        bound if plan.proven && bound != Some(plan.cost) => {
            found.say("bound", "the plan says that it is proven best, and its bound is not its cost".to_owned());
        }
        _ => {}
    }
}
