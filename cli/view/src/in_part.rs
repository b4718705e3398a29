//! Jobs planned in part (W12): how much of each lies in these weeks and when it goes on; jobs that just do not.

use chrono::NaiveDate;
use yardless_book::visible;
use yardless_engine::impossible;
use yardless_plan::Plan;
use yardless_plan::shop::{Id, JobId, Shop, StepId};

/// Jobs done in part, a line each.
pub(super) fn in_part(shop: &Shop, plan: &Plan) -> Vec<String> {
    let rows = plan.later.iter().filter(|row| !row.steps.is_empty());
    rows.filter_map(|row| {
        let job = shop.find_job(&row.job)?;
        let facts = &shop.jobs[job];
        let all = shop.book.jobs[job.index()].steps.len();
        let these = all.saturating_sub(row.steps.len());
        let next = facts.later_ids().map(|step| (from(shop, step), step)).min_by_key(|(from, _)| from.sorted());
        let next = next.map_or_else(String::new, |(from, step)| format!(", {}", from.says(shop, step)));
        Some(format!("{}: {these} of {all} steps in these weeks{next}; its end lies beyond them", facts.name))
    })
    .collect()
}

/// How many jobs a plan does in part.
pub(super) fn how_many(plan: &Plan) -> usize {
    plan.later.iter().filter(|row| !row.steps.is_empty()).count()
}

/// Of a job that is left out only because others want its crews and units: that its step only just fits; empty of any
/// other.
pub(super) fn crowded_out(shop: &Shop, job: JobId) -> String {
    let barely = shop.jobs[job].barely.filter(|_| impossible(shop, job).is_none());
    let step = barely.map(|k| &shop.book.jobs[job.index()].steps[k]);
    step.map_or_else(String::new, |step| {
        let name = step.name.as_ref().unwrap_or(&step.id);
        format!("; crowded out: one half-day more of {name} would come after these weeks, and the rest could be planned")
    })
}

/// From when on a later step may be done, as far as the book knows.
enum From {
    /// From this date on, the first after these weeks at the earliest.
    Date(NaiveDate),
    /// When what it waits on has a date.
    Undated(String),
}

impl From {
    /// Those with a date come first.
    fn sorted(&self) -> (bool, Option<NaiveDate>) {
        match self {
            Self::Date(date) => (false, Some(*date)),
            Self::Undated(_) => (true, None),
        }
    }

    fn says(&self, shop: &Shop, step: StepId) -> String {
        let name = &shop.steps[step].name;
        match self {
            Self::Date(date) => format!("next {name} from {}", date.format("%a %-d %b")),
            Self::Undated(what) => format!("next {name}, which waits on {what} without a date"),
        }
    }
}

fn from(shop: &Shop, step: StepId) -> From {
    let facts = &shop.steps[step];
    let job = &shop.book.jobs[facts.job.index()];
    let text = &job.steps[facts.listed];
    let waits = || job.waits_on.iter().chain(&text.waits_on);
    if let Some(wait) = waits().find(|wait| wait.expected.is_none()) {
        return From::Undated(visible(&wait.what));
    }
    // What could start within these weeks and not end is not begun in them.
    let after = shop.horizon.last_date().succ_opt();
    let fixed = text.fixed.as_ref().and_then(|fixed| fixed.start).map(yardless_book::half_day::HalfDay::date);
    let told = waits().filter_map(|wait| wait.expected).chain(job.earliest).chain(text.earliest).chain(fixed);
    let date = told.chain(after).max().unwrap_or(shop.horizon.last_date());
    // The first that the shop works; a shop that is closed for long says no better.
    From::Date(date.iter_days().take(MOST_DAYS).find(|date| shop.works_date(*date)).unwrap_or(date))
}

/// Days that are looked through for one that the shop works.
const MOST_DAYS: usize = 366;
