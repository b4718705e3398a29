//! Planning again: from a half-day on, close to what was given out (N1 to N3).

use super::{Limits, Progress, judged, plan_from};
use crate::plan::{Draft, Plan, check, read, write};
use crate::shop::{JobId, Shop};

/// Why a search ended, where the kept plan is still the one to work by.
pub const STANDS: &str = "the kept plan stands";

/// Plans again from the shop's now on, beginning with the kept plan. Where that still holds, it stands unless the new one,
/// changes included, is cheaper by `worth_changing` (N3); a search that is proven to find no such plan ends at once.
///
/// The shop is made with the kept plan's steps ([`Shop::again`], [`Plan::kept`]), so that changes cost.
pub fn replan(shop: &Shop, digest: &str, kept: &Plan, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    let draft = read(shop, kept);
    let stands = judged(shop, &draft).ok();
    let worth = shop.book.prices.worth_changing.0;
    let aim = stands.map(|cents| cents - worth);
    let plan = plan_from(shop, digest, Some(&draft), &Limits { aim, ..limits.clone() }, progress);
    match stands {
        Some(cents) if plan.cost.0 > cents - worth => as_written(shop, digest, &draft, &plan),
        _ => plan,
    }
}

/// A draft as a plan with the bound of another: the kept plan that stands.
fn as_written(shop: &Shop, digest: &str, draft: &Draft, other: &Plan) -> Plan {
    let why = |job: JobId| {
        let row = other.left_out.iter().find(|row| row.job == shop.jobs[job].id);
        row.map_or_else(|| "the kept plan leaves it out".to_owned(), |row| row.why.clone())
    };
    let mut plan = write(shop, digest, draft, why);
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    plan.bound = other.bound;
    plan.proven = plan.bound == Some(plan.cost);
    STANDS.clone_into(&mut plan.stopped);
    plan
}

/// What a choice between plans leans to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leaning {
    /// What changes and all else cost, as the book prices them.
    Balanced,
    /// As few changes as can be: each counts eight times.
    Unchanged,
    /// Cheapest, whatever the crews were told.
    Cheapest,
    /// As balanced, without overtime.
    NoOvertime,
}

/// How much more a change counts where as few as can be are wanted.
const CHANGES_COUNT: i64 = 8;

/// Really different plans on the line between least cost and least upset, each with what it leans to: the balanced one
/// first, then others that start some step otherwise than all before. They share the time, and are judged by the shop's
/// own prices.
pub fn choices(
    shop: &Shop,
    digest: &str,
    kept: &Plan,
    most: usize,
    limits: &Limits,
    progress: &mut dyn FnMut(Progress),
) -> Vec<(Leaning, Plan)> {
    let overtime = shop.overtime.contains(&true);
    let mut leanings = vec![Leaning::Balanced, Leaning::Unchanged, Leaning::Cheapest];
    leanings.extend(overtime.then_some(Leaning::NoOvertime));
    let mut found: Vec<(Leaning, Plan)> = Vec::new();
    for (n, leaning) in leanings.iter().enumerate() {
        if found.len() == most {
            break;
        }
        let Some(other) = leaning_shop(shop, *leaning) else { continue };
        // Of a budget of steps each gets the same; of time what those before have left.
        let parts = if limits.steps.is_some() { leanings.len() } else { leanings.len() - n };
        let limits = limits.part(parts as u32);
        let draft = read(&other, kept);
        let plan = if *leaning == Leaning::Balanced {
            replan(shop, digest, kept, &limits, progress)
        } else {
            by_own_prices(shop, digest, &plan_from(&other, digest, Some(&draft), &limits, &mut |_| {}))
        };
        if check(shop, &plan).holds() && found.iter().all(|(_, other)| other.kept() != plan.kept()) {
            found.push((*leaning, plan));
        }
    }
    found
}

/// The shop with changes priced, and overtime allowed, as a leaning wants. `None` where the book then has a fault.
fn leaning_shop(shop: &Shop, leaning: Leaning) -> Option<Shop> {
    let mut book = shop.book.clone();
    match leaning {
        Leaning::Balanced => {}
        Leaning::Unchanged => book.prices.change = book.prices.change * CHANGES_COUNT,
        Leaning::Cheapest => book.prices.change = crate::money::Cents::ZERO,
        Leaning::NoOvertime => book.shop.overtime_days.clear(),
    }
    Shop::again(&book, shop.horizon, shop.now, shop.kept.as_deref()).ok()
}

/// A plan made at other prices, as the shop itself prices it: nothing is proven of it then.
fn by_own_prices(shop: &Shop, digest: &str, plan: &Plan) -> Plan {
    let why = |job| {
        let id = &shop.jobs[job].id;
        plan.left_out.iter().find(|row| row.job == *id).map_or_else(String::new, |row| row.why.clone())
    };
    let mut own = write(shop, digest, &read(shop, plan), why);
    own.costs = check(shop, &own).costs;
    own.cost = own.costs.total();
    own.stopped.clone_from(&plan.stopped);
    own
}
