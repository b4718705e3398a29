//! Jobs planned in part (W12): how much of each lies in these weeks and when it goes on; jobs that just do not.

use std::borrow::Cow;

use chrono::NaiveDate;
use yardless_book::visible;
use yardless_engine::impossible;
use yardless_plan::shop::{Id, JobId, Shop, StepId};
use yardless_plan::{LaterRow, Plan};

/// Jobs done in part, a line each.
pub(super) fn in_part(shop: &Shop, plan: &Plan) -> Vec<String> {
    let line = |row: &LaterRow| {
        let job = shop.find_job(&row.job)?;
        let facts = &shop.jobs[job];
        let all = shop.book.jobs[job.index()].steps.len();
        let these = all.saturating_sub(row.steps.len());
        let next = facts.later_ids().map(|step| (from(shop, step), step)).min_by_key(|(from, _)| from.sorted());
        let next = next.map_or_else(String::new, |(from, step)| format!(", {}", from.says(shop, step)));
        Some(format!("{}: {these} of {all} steps in these weeks{next}; its end lies beyond them", facts.name))
    };
    plan.parts().filter_map(line).collect()
}

/// Of a job that is left out only because others want its crews and units: that its step only just fits; empty of any
/// other.
pub(super) fn crowded_out(shop: &Shop, job: JobId) -> String {
    let barely = shop.jobs[job].barely.filter(|_| impossible(shop, job).is_none());
    let step = barely.and_then(|k| shop.jobs[job].step_ids().find(|step| shop.steps[*step].listed == k));
    step.map_or_else(String::new, |step| {
        let name = &shop.steps[step].name;
        format!(
            "; crowded out: one half-day more of {name} would come after these weeks, and the rest could be planned"
        )
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
    let waits: Vec<_> = job.waits_on.iter().map(Cow::Borrowed).chain(text.waits()).collect();
    if let Some(wait) = waits.iter().find(|wait| wait.expected.is_none()) {
        return From::Undated(visible(&wait.what));
    }
    // What could start within these weeks and not end is not begun in them.
    let after = shop.horizon.last_date().succ_opt();
    let fixed = text.fixed.as_ref().and_then(|fixed| fixed.start).map(yardless_book::half_day::HalfDay::date);
    let told = waits.iter().filter_map(|wait| wait.expected).chain(job.earliest).chain(text.earliest).chain(fixed);
    let date = told.chain(after).max().unwrap_or(shop.horizon.last_date());
    // The first that the shop works; a shop that is closed for long says no better.
    From::Date(date.iter_days().take(MOST_DAYS).find(|date| shop.works_date(*date)).unwrap_or(date))
}

/// Days that are looked through for one that the shop works.
const MOST_DAYS: usize = 366;

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};
    use yardless_book::half_day::{Horizon, parse_date};
    use yardless_engine::{Limits, plan};

    use super::*;

    /// A shop of two weeks from Monday 7 December 2026 that plans in part, and its plan; `last` is more of the last of three
    /// steps of job x.
    fn planned(last: &Value, others: &Value) -> (Shop, Plan) {
        let step = |id: &str, more: &Value| {
            let mut step = json!({ "id": id, "name": id, "skill": "work", "half_days": 1 });
            for (field, value) in more.as_object().into_iter().flatten() {
                step[field] = value.clone();
            }
            step
        };
        let x = json!({ "id": "x", "name": "Birch attic", "place": "a", "left_out": 100,
            "steps": [step("Seal", &json!({})), step("Blow", &json!({})), step("Test", last)] });
        let mut jobs = vec![x];
        jobs.extend(others.as_array().into_iter().flatten().cloned());
        let book = json!({
            "book": 1, "shop": { "name": "Made up", "time_zone": "America/New_York", "in_part": true },
            "places": [{ "id": "a" }], "trucks": [], "equipment": [], "jobs": jobs,
            "crews": [{ "id": "north", "people": 2, "skills": ["work"] }]
        });
        let book = serde_json::from_value(book).expect("a book");
        let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 2).expect("a Monday");
        let shop = Shop::new(&book, horizon).expect("no fault");
        let plan = plan(&shop, "", &Limits::seconds(20.0), &mut |_| {});
        (shop, plan)
    }

    fn lines(last: &Value) -> Vec<String> {
        let (shop, plan) = planned(last, &json!([]));
        in_part(&shop, &plan)
    }

    #[test]
    fn job_in_part_says_how_much_is_planned_and_when_it_goes_on() {
        let these =
            |next: &str| vec![format!("Birch attic: 2 of 3 steps in these weeks, {next}; its end lies beyond them")];
        // A date of its own; else the first date that the shop works after Sunday 20 December.
        assert_eq!(lines(&json!({ "earliest": "2027-03-02" })), these("next Test from Tue 2 Mar"));
        assert_eq!(lines(&json!({ "half_days": 30 })), these("next Test from Mon 21 Dec"));
        let wait = |expected: &Value| json!({ "waits_on": [{ "what": "the meter\n", "expected": expected }] });
        assert_eq!(lines(&wait(&json!("2026-12-26"))), these("next Test from Mon 28 Dec"));
        let undated = json!({ "waits_on": [{ "what": "the meter\n" }] });
        assert_eq!(lines(&undated), these("next Test, which waits on the meter\\u000a without a date"));
        assert_eq!(lines(&json!({})), Vec::<String>::new());
    }

    #[test]
    fn job_that_is_crowded_out_says_so_where_it_only_just_fits() {
        // Another job of ten days, dearer to leave out: no room for both.
        let other = json!([{ "id": "y", "place": "a", "left_out": 900, "steps": [
            { "id": "w", "skill": "work", "half_days": 20 }
        ] }]);
        let says = |last: Value| {
            let (shop, plan) = planned(&last, &other);
            let x = shop.find_job("x").expect("a job");
            assert!(plan.left_out.iter().any(|row| row.job == "x"), "{plan:?}");
            crowded_out(&shop, x)
        };
        // Ten working days are twenty half-days, and two go before it.
        let half_day_more =
            "; crowded out: one half-day more of Test would come after these weeks, and the rest could be planned";
        assert_eq!(says(json!({ "half_days": 18 })), half_day_more);
        let steering = says(json!({ "half_days": 18, "name": "Te\u{1b}st" }));
        assert!(steering.contains("one half-day more of Te\\u001bst would come"), "{steering}");
        assert_eq!(says(json!({ "half_days": 17 })), "");
    }
}
