//! Dates that somebody was told and that the plan does not keep: whom to call (C10).

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::visible;
use yardless_plan::Plan;
use yardless_plan::shop::{Id, Shop};

use super::words::half;

/// A step that starts outside the dates that somebody was told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct WordBroken {
    /// The job's id.
    pub(super) job: String,
    /// The job's printed name.
    pub(super) job_name: String,
    /// The step's printed name.
    pub(super) step: String,
    /// The first date and the last that were told.
    pub(super) told: (NaiveDate, NaiveDate),
    /// When it starts; `None`: not within the plan's weeks.
    pub(super) starts: Option<HalfDay>,
    /// What that costs; nothing where it does not start.
    pub(super) cost: Cents,
    /// How the customer is reached; empty: not entered.
    pub(super) contact: String,
}

/// The told steps, not begun yet, that start on another date or not at all.
pub(super) fn words_broken(shop: &Shop, plan: &Plan) -> Vec<WordBroken> {
    let mut broken = Vec::new();
    for (id, facts) in shop.jobs.pairs() {
        let job = &shop.book.jobs[id.index()];
        for step in facts.step_ids().chain(facts.later_ids()).filter(|step| shop.steps[*step].going.is_none()) {
            let name = shop.steps[step].name.clone();
            let step = &job.steps[shop.steps[step].listed];
            let Some(told) = &step.told else { continue };
            let rows = || plan.steps.iter().filter(|row| row.job == job.id && row.step == step.id);
            let starts = rows().map(|row| row.start).min();
            let kept = |at: HalfDay| (told.from..=told.to).contains(&at.date());
            if starts.is_some_and(kept) {
                continue;
            }
            broken.push(WordBroken {
                job: job.id.clone(),
                job_name: facts.name.clone(),
                step: name,
                told: (told.from, told.to),
                starts,
                cost: starts.map_or(Cents::ZERO, |at| yardless_plan::cost::told(shop, step, at)),
                contact: job.contact.as_deref().map_or_else(String::new, visible),
            });
        }
    }
    broken
}

impl WordBroken {
    /// `told Mon 7 Dec to Wed 9 Dec, starts Thu 10 Dec am ($80.00)`.
    pub(super) fn what(&self) -> String {
        let (from, to) = self.told;
        let date = |date: NaiveDate| date.format("%a %-d %b").to_string();
        let told = if from == to { date(from) } else { format!("{} to {}", date(from), date(to)) };
        match self.starts {
            Some(at) if self.cost > Cents::ZERO => format!("told {told}, starts {} (${})", half(at), self.cost),
            Some(at) => format!("told {told}, starts {}", half(at)),
            None => format!("told {told}, not within these weeks"),
        }
    }
}
