//! How likely each date is to be kept, a row a job.

use serde_json::{Value, json};
use yardless_answer::{Chances, Seasons, Share, varies};
use yardless_book::half_day::HalfDay;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::told::Told;
use super::words::{day, half};

/// For people.
pub fn chances(shop: &Shop, found: &Chances) -> Told {
    let worst = found.jobs.iter().filter(|job| job.due.is_some()).min_by_key(|job| job.by_due().map(|share| share.of));
    let says = match worst.and_then(|job| Some((job, job.due?, job.by_due()?))) {
        Some((job, due, share)) => {
            format!(
                "Least sure is {}: {} by its due date {}.",
                shop.job_name(&job.job),
                of_all(share),
                day(HalfDay::am(due))
            )
        }
        None => "No job of the plan has a due date.".to_owned(),
    };
    let mut rows = vec![["JOB", "PLANNED", "DUE", "KEPT", "8 TIMES IN 10 BY"].map(str::to_owned)];
    for job in &found.jobs {
        let due = job.due.map_or("-".to_owned(), |due| day(HalfDay::am(due)));
        let eight = job.quantile(80).map_or(NOT_WITHIN.to_owned(), half);
        let kept = job.by_due().map_or("-".to_owned(), of_all);
        rows.push([shop.job_name(&job.job).to_owned(), half(job.planned), due, kept, eight]);
    }
    let note = format!(
        "Played through {} times as the crews would work it: the same order, nothing sooner than planned, delays passed on. \
         Nobody plans again meanwhile, which would keep more dates.",
        found.seasons
    );
    Told::says(&says).gap().headed(0, rows, [30, 14, 12, 12, 0]).gap().say(&note)
}

/// How likely each due date of a plan is to be kept, a line each, where the book says how durations spread or what
/// weather to reckon with.
pub fn due_dates(shop: &Shop, plan: &Plan) -> Vec<String> {
    let found = if varies(&shop.book) { yardless_answer::chances(shop, plan, SEASONS) } else { None };
    let jobs = found.map_or_else(Vec::new, |found| found.jobs);
    let due = jobs.iter().filter_map(|job| Some((job, job.due?, job.by_due()?)));
    due.map(|(job, due, share)| {
        let eight = job.quantile(80).map_or(NOT_WITHIN.to_owned(), |at| format!("by {}", half(at)));
        format!("{}: {} by {}; 8 times in 10 {eight}", shop.job_name(&job.job), of_all(share), day(HalfDay::am(due)))
    })
    .collect()
}

/// So many of so many seasons, no finer than so many runs support: to a step that is no less than two standard errors.
pub fn of_all(share: Share) -> String {
    let Share { of, all } = share;
    let n = f64::from(all.max(1));
    let share = f64::from(of) / n;
    // What is never seen in n runs has, 19 times in 20, a chance below 3 / n.
    let unseen = 300.0 / n;
    let error = 200.0 * (share * (1.0 - share) / n).sqrt();
    let step = [1.0, 5.0, 10.0, 20.0].into_iter().find(|step| *step >= error.max(unseen)).unwrap_or(50.0);
    let percent = (share * 100.0 / step).round() * step;
    if percent < step {
        format!("under {step} %")
    } else if percent > 100.0 - step {
        format!("over {} %", 100.0 - step)
    } else {
        format!("{percent} %")
    }
}

/// Seasons run for the sheet.
const SEASONS: Seasons = Seasons { count: 10_000, seed: 1 };
const NOT_WITHIN: &str = "not within these weeks";

/// For programs.
pub fn chances_json(found: &Chances) -> Value {
    let rows: Vec<Value> = found
        .jobs
        .iter()
        .map(|job| {
            json!({
                "job": job.job, "planned": job.planned.to_string(), "due": job.due,
                "kept": job.by_due().map(|share| share.of),
                "eight_in_ten": job.quantile(80).map(|half_day| half_day.to_string()),
            })
        })
        .collect();
    json!({ "seasons": found.seasons, "jobs": rows })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_told_no_finer_than_the_runs_support() {
        let says = |of, all| of_all(Share { of, all });
        // Two standard errors of 93 % in 10,000 are 0.5 points, in 100 runs 5.1, in 20 runs 11.
        assert_eq!(says(9_312, 10_000), "93 %");
        assert_eq!(says(93, 100), "90 %");
        assert_eq!(says(18, 20), "over 80 %");
        assert_eq!(says(10_000, 10_000), "over 99 %");
        assert_eq!(says(0, 10_000), "under 1 %");
        assert_eq!(says(10, 10), "over 50 %");
    }
}
