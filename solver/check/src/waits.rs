//! What work waits on from others: rule W14, read from the book anew.

use std::borrow::Cow;

use yardless_book::WaitsOn;
use yardless_book::half_day::HalfDay;
use yardless_plan::Rule;
use yardless_plan::shop::{Id, Shop, StepId};

use super::fact::OfWork;
use super::rows::KnownRow;
use super::{Found, history};

/// What a step waits on, by itself and with its job; nothing where it is in progress.
fn of(shop: &Shop, step: StepId) -> impl Iterator<Item = Cow<'_, WaitsOn>> {
    let text = history::written(shop, step);
    let job = &shop.book.jobs[shop.steps[step].job.index()];
    let of_job = job.waits_on.iter().map(Cow::Borrowed);
    // Material on order is a wait by itself (L7).
    of_job.chain(text.waits()).filter(move |_| text.progress.is_none())
}

/// Whether a step may start in a half-day, as far as it waits on others.
pub(super) fn allow(shop: &Shop, step: StepId, start: HalfDay) -> bool {
    of(shop, step).all(|wait| wait.expected.is_some_and(|date| HalfDay::am(date) <= start))
}

/// W14 of a step's first row.
pub(super) fn judge(shop: &Shop, step: StepId, work: &KnownRow, found: &mut Found) {
    let start = work.row.start;
    for wait in of(shop, step) {
        let what = wait.what.clone();
        match wait.expected.map(HalfDay::am) {
            None => found.say(Rule::W14, OfWork::Undated { step, what }),
            Some(expected) if start < expected => {
                found.say(Rule::W14, OfWork::BeforeExpected { step, start, what, expected });
            }
            Some(_) => {}
        }
    }
}
