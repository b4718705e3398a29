//! What the owner must act on in a week, a few words each: beside the heading of its sheet.

use std::ops::Range;

use yardless_book::money::Cents;
use yardless_plan::shop::{JobFacts, JobId};

use super::course::{Course, Work};
use super::in_time::in_time;
use super::words::{count, day};

/// Late jobs that are named; more are counted.
const MOST_NAMED: usize = 2;

/// How much there is to ask for.
pub fn to_ask(asks: usize) -> String {
    match asks {
        0 => "no call needed".to_owned(),
        n => format!("{} to make", count(n, "call", "calls")),
    }
}

/// Of some half-days, by the plan.
pub fn in_short(course: &Course, half_days: &Range<usize>) -> Vec<String> {
    let mut says = Vec::new();
    let late = late(course, half_days);
    if !late.is_empty() {
        let more = late.len().saturating_sub(MOST_NAMED);
        let named = late.into_iter().take(MOST_NAMED).collect::<Vec<_>>().join("; ");
        says.push(format!("late: {named}{}", if more > 0 { format!("; and {more} more") } else { String::new() }));
    }
    match course.plan.left_out.len() {
        0 => {}
        n => says.push(format!("{} not planned", count(n, "job", "jobs"))),
    }
    let trailers: Vec<String> = in_time(course, half_days).iter().map(|of| of.short(course)).collect();
    let more = trailers.len().saturating_sub(MOST_NAMED);
    says.extend(trailers.into_iter().take(MOST_NAMED));
    if more > 0 {
        says.push(format!("{more} more to haul in time"));
    }
    says
}

/// The jobs that end late, of those worked on in the half-days.
pub fn late(course: &Course, half_days: &Range<usize>) -> Vec<String> {
    let shop = course.shop;
    let now = |work: &&Work| work.start < half_days.end && work.end >= half_days.start;
    let says = |(id, job): (JobId, &JobFacts)| {
        let (due, (_, end)) = (job.due?, course.span(id)?);
        course.works.iter().filter(now).find(|work| work.job == id)?;
        let ends = day(shop.horizon.half_day(end));
        (job.late[end] > Cents::ZERO).then(|| format!("{} (due {}, ends {ends})", job.name, due.format("%a %-d %b")))
    };
    shop.jobs.pairs().filter_map(says).collect()
}
