//! Planning again: from a half-day on, close to what was given out (N1 to N3).

use super::{Limits, Progress, judged, plan_from};
use crate::plan::{Plan, read};
use crate::shop::Shop;

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
        Some(cents) if plan.cost.0 > cents - worth => super::as_written(shop, digest, &draft, &plan),
        _ => plan,
    }
}
