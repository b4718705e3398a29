//! Planning again: from a half-day on, close to what was given out (N1 to N3).

use yardless_book::money::Cents;
use yardless_check::check;
use yardless_plan::shop::Shop;
use yardless_plan::{Draft, Plan, read};

use crate::coordinator::plan_from;
use crate::incumbent::{costed, judged, unended};
use crate::limits::{Limits, Progress, STANDS};

/// Plans again from the shop's now on, beginning with the kept plan. Where that still holds, it stands unless the new one,
/// changes included, is cheaper by `worth_changing` (N3); a search that is proven to find no such plan ends at once. It
/// does not stand where it leaves a job in progress without an end and the new one leaves fewer (N1).
///
/// The shop is made with the kept plan's steps ([`Shop::again`], [`Plan::kept`]), so that changes cost.
pub fn replan(shop: &Shop, digest: &str, kept: &Plan, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    let draft = read(shop, kept);
    let stands = judged(shop, &draft).ok();
    let worth = shop.book.prices.worth_changing.0;
    let left = unended(shop, &draft);
    let aim = stands.filter(|_| left == 0).map(|cents| cents - worth);
    let plan = plan_from(shop, digest, Some(&draft), &Limits { aim, ..limits.clone() }, progress);
    match stands {
        Some(cents) if plan.cost.0 > cents - worth && left <= unended(shop, &read(shop, &plan)) => {
            standing(shop, digest, &draft, &plan)
        }
        _ => plan,
    }
}

/// A draft as the shop prices it, with another plan's reasons.
fn with_reasons_of(shop: &Shop, digest: &str, draft: &Draft, other: &Plan) -> Plan {
    costed(shop, digest, draft, |job| {
        let row = other.left_out.iter().find(|row| row.job == shop.jobs[job].id);
        row.map_or_else(|| "the kept plan leaves it out".to_owned(), |row| row.why.clone())
    })
}

/// The kept plan that stands, with the bound that was found.
fn standing(shop: &Shop, digest: &str, draft: &Draft, other: &Plan) -> Plan {
    let mut plan = with_reasons_of(shop, digest, draft, other);
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
    let mut leanings = vec![Leaning::Balanced, Leaning::Unchanged, Leaning::Cheapest];
    leanings.extend(shop.overtime.contains(&true).then_some(Leaning::NoOvertime));
    let mut found: Vec<(Leaning, Plan)> = Vec::new();
    for (n, leaning) in leanings.iter().enumerate() {
        if found.len() == most {
            break;
        }
        // Of a budget of steps each gets the same; of time what those before have left.
        let parts = if limits.steps.is_some() { leanings.len() } else { leanings.len() - n };
        let limits = limits.part(parts as u32);
        let plan = match leaning {
            Leaning::Balanced => Some(replan(shop, digest, kept, &limits, progress)),
            other => leaning_to(shop, digest, kept, *other, &limits),
        };
        let new = |plan: &Plan| found.iter().all(|(_, other)| other.kept() != plan.kept());
        if let Some(plan) = plan.filter(|plan| check(shop, plan).holds() && new(plan)) {
            found.push((*leaning, plan));
        }
    }
    found
}

/// A plan with changes priced, and overtime allowed, as a leaning wants; then as the shop itself prices it, of which
/// nothing is proven. `None` where the book then has a fault.
fn leaning_to(shop: &Shop, digest: &str, kept: &Plan, leaning: Leaning, limits: &Limits) -> Option<Plan> {
    let mut book = shop.book.clone();
    match leaning {
        Leaning::Balanced => {}
        Leaning::Unchanged => book.prices.change = book.prices.change * CHANGES_COUNT,
        Leaning::Cheapest => book.prices.change = Cents::ZERO,
        Leaning::NoOvertime => book.shop.overtime_days.clear(),
    }
    let other = Shop::again(&book, shop.horizon, shop.now, shop.kept.as_deref()).ok()?;
    let found = plan_from(&other, digest, Some(&read(&other, kept)), limits, &mut |_| {});
    let mut plan = with_reasons_of(shop, digest, &read(shop, &found), &found);
    plan.stopped = found.stopped;
    Some(plan)
}
