//! How likely each date is to be kept, a row a job.

use serde_json::{Value, json};
use yardless_solver::answer::{Chances, JobChance, Share};
use yardless_solver::half_day::HalfDay;
use yardless_solver::shop::Shop;

use super::table::table;
use super::words::{day, half, wrapped};

/// For people.
pub fn chances(shop: &Shop, found: &Chances) -> String {
    let worst = found.jobs.iter().filter(|job| job.due.is_some()).min_by_key(|job| job.by_due().map(|share| share.of));
    let says = match worst.and_then(|job| Some((job, job.due?, job.by_due()?))) {
        Some((job, due, share)) => {
            format!("Least sure is {}: {} by its due date {}.", name(shop, job), share.says(), day(HalfDay::am(due)))
        }
        None => "No job of the plan has a due date.".to_owned(),
    };
    let mut rows = vec![["JOB", "PLANNED", "DUE", "KEPT", "8 TIMES IN 10 BY"].map(str::to_owned)];
    for job in &found.jobs {
        let due = job.due.map_or("-".to_owned(), |due| day(HalfDay::am(due)));
        let kept = job.by_due().map_or("-".to_owned(), Share::says);
        rows.push([name(shop, job), half(job.planned), due, kept, eight(job)]);
    }
    let note = format!(
        "{} seasons run as the crews would run the plan: the same order, nothing sooner than planned, delays passed on. \
         Nobody plans again meanwhile, which would keep more dates.",
        found.seasons
    );
    format!("{}\n{}\n{}", wrapped(&says), table(0, &rows, [30, 14, 12, 12, 0]), wrapped(&note))
}

fn eight(job: &JobChance) -> String {
    job.quantile(80).map_or("not within these weeks".to_owned(), half)
}

fn name(shop: &Shop, job: &JobChance) -> String {
    shop.jobs.find(|of| of.id == job.job).map_or(job.job.clone(), |of| shop.jobs[of].name.clone())
}

/// For programs.
pub fn chances_json(found: &Chances) -> String {
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
    format!("{:#}\n", json!({ "seasons": found.seasons, "jobs": rows }))
}
