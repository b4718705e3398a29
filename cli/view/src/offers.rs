//! The dates to offer for a job, a row each.

use std::fmt::Write;

use serde_json::{Value, json};
use yardless_answer::{Given, JobChance, Offer, Offers, Seasons, chances, varies};
use yardless_book::Job;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;

use super::chances::of_all;
use super::told::Told;
use super::words::{count, day, half, list};

/// Seasons that each date is run through for its chance.
const SEASONS: Seasons = Seasons { count: 2_000, seed: 1 };

/// For people: the first date without touching other work, then what a sooner one takes, then the table.
pub fn offers(given: &Given, job: &Job, found: &Offers) -> Told {
    let name = job.name.as_ref().unwrap_or(&job.id);
    if let Some(why) = &found.impossible {
        return Told::says(&format!("No date within these weeks for {name}: {}.", why.says(&found.shop)));
    }
    let untouched = found.rows.iter().find(|row| row.moved == 0);
    let Some(last) = untouched.or(found.rows.last()) else {
        return Told::says(&format!("No date within these weeks for {name}: no plan was found that does it."));
    };
    let mut says = format!("{name}: start {}, finish {}", day(last.start), day(last.end));
    match last.moved {
        0 => says.push_str(" without touching other work."),
        n => {
            let _ = write!(says, ", the cheapest date; {} for it.", count(n, "other step moves", "other steps move"));
        }
    }
    if let Some(sooner) = found.rows.first().filter(|row| row.end < last.end) {
        let _ = write!(says, " At the soonest {}: {}.", day(sooner.end), takes(given, sooner));
    }
    let mut rows = vec![["START", "FINISH", "COSTS", "CHANCE", "WHAT IT TAKES"].map(str::to_owned)];
    for row in &found.rows {
        let chance = chance(found, job, row).map_or(String::new(), |chance| of_all(chance.by(row.end.date())));
        let cost = if row.extra == Cents::ZERO { "-".to_owned() } else { format!("${}", row.extra) };
        rows.push([half(row.start), half(row.end), cost, chance, takes(given, row)]);
    }
    let mut notes =
        vec!["Costs: more than the cheapest of these dates, others' lateness and changes counted.".to_owned()];
    if !found.rows.iter().all(|row| row.proven) {
        notes.push("For some of them a cheaper plan may exist.".to_owned());
    }
    if varies(&found.shop.book) {
        notes.push(format!("Chance: of finishing by that date, as played through {} times.", SEASONS.count));
    } else {
        rows[0][3].clear();
        notes.push("No chance is given: the book has neither spread nor climate.".to_owned());
    }
    Told::says(&says).gap().headed(0, rows, [16, 16, 12, 12, 0]).gap().say(&notes.join(" "))
}

/// For programs.
pub fn offers_json(job: &Job, found: &Offers) -> Value {
    let rows: Vec<_> = found
        .rows
        .iter()
        .map(|row| {
            let chance = chance(found, job, row).map(|chance| {
                let share = chance.by(row.end.date());
                json!({ "of": share.of, "seasons": share.all })
            });
            let later: Vec<_> =
                row.later.iter().map(|later| json!({ "job": later.job, "was": later.was, "is": later.is })).collect();
            json!({
                "start": row.start.to_string(), "end": row.end.to_string(), "extra": row.extra, "moved": row.moved,
                "later": later, "proven": row.proven, "chance": chance, "plan": row.plan,
            })
        })
        .collect();
    let impossible = found.impossible.as_ref().map(|why| why.says(&found.shop));
    json!({ "job": job.id, "rows": rows, "impossible": impossible })
}

/// How likely a date is, where anything varies.
fn chance(found: &Offers, job: &Job, row: &Offer) -> Option<JobChance> {
    if !varies(&found.shop.book) {
        return None;
    }
    let all = chances(&found.shop, &row.plan, SEASONS)?;
    all.jobs.into_iter().find(|chance| chance.job == job.id)
}

/// What a date does to the others.
fn takes(given: &Given, row: &Offer) -> String {
    let later: Vec<String> = row
        .later
        .iter()
        .map(|later| match later.is {
            Some(is) => {
                format!("{} finishes {} instead of {}", given.shop.job_name(&later.job), date(is), date(later.was))
            }
            None => format!("{} is not done within these weeks", given.shop.job_name(&later.job)),
        })
        .collect();
    match (later.is_empty(), row.moved) {
        (true, 0) => "nothing else moves".to_owned(),
        (true, n) => format!("{}, nobody finishes on a later date", count(n, "other step moves", "other steps move")),
        (false, n) => format!("{}; {}", list(&later), count(n, "other step moves", "other steps move")),
    }
}

fn date(date: chrono::NaiveDate) -> String {
    day(HalfDay::am(date))
}
