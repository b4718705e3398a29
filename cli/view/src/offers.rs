//! The dates to offer for a job, a row each.

use std::fmt::Write;

use serde_json::{Value, json};
use yardless_answer::{Given, JobChance, Offer, Offers, Seasons, chances, varies};
use yardless_book::Job;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::StepRow;

use super::chances::of_all;
use super::told::Told;
use super::words::{count, day, half, list};

/// Seasons that each date is run through for its chance.
const SEASONS: Seasons = Seasons { count: 2_000, seed: 1 };

/// A date that can be taken: from when to when, and in words what it costs and takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfferRow {
    /// The step of the job that begins it, of those that have not begun, and when.
    pub first: (String, HalfDay),
    /// The one that ends last, and when that begins.
    pub last: (String, HalfDay),
    /// By which crew, and in which way, that is.
    pub last_by: (String, String),
    /// What the date costs more than the cheapest.
    pub extra: Cents,
    /// When the job ends.
    pub end: HalfDay,
    /// What it costs more than the cheapest date; `-`: nothing.
    pub costs: String,
    /// How likely it is to be kept; empty: nothing is known of that.
    pub chance: String,
    /// Steps of other jobs that move for it.
    pub moved: usize,
    /// What it does to the others.
    pub takes: String,
}

impl OfferRow {
    /// The half-day in which the job starts, in words.
    pub fn starts(&self) -> String {
        half(self.first.1)
    }
    /// The half-day in which it ends.
    pub fn ends(&self) -> String {
        half(self.end)
    }
}

/// The dates, a row each.
pub fn offer_rows(given: &Given, job: &Job, found: &Offers) -> Vec<OfferRow> {
    let row = |row: &Offer| {
        let chance = chance(found, job, row).map_or(String::new(), |chance| of_all(chance.by(row.end.date())));
        let costs = if row.extra == Cents::ZERO { "-".to_owned() } else { format!("${}", row.extra) };
        let steps = || row.plan.steps.iter().filter(|step| step.job == job.id && step.start >= given.now());
        let of = |step: Option<&StepRow>| {
            step.map_or_else(|| (String::new(), row.start), |step| (step.step.clone(), step.start))
        };
        // Of a step in two spans the first is what it begins with.
        let ends = steps().max_by_key(|step| step.end).map(|last| &last.step);
        let last = ends.and_then(|last| steps().filter(|step| step.step == *last).min_by_key(|step| step.start));
        OfferRow {
            first: of(steps().min_by_key(|step| step.start)),
            last: of(last),
            last_by: last.map_or_else(Default::default, |step| (step.crew.clone(), step.way.clone())),
            extra: row.extra,
            end: row.end,
            costs,
            chance,
            moved: row.moved,
            takes: takes(given, row),
        }
    };
    found.rows.iter().map(row).collect()
}

/// For people: the first date without touching other work, then what a sooner one takes, then the table.
pub fn offers(given: &Given, job: &Job, found: &Offers, rows: &[OfferRow]) -> Told {
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
    let mut table = vec![["START", "FINISH", "COSTS", "CHANCE", "WHAT IT TAKES"].map(str::to_owned)];
    for (row, of) in found.rows.iter().zip(rows) {
        table.push([half(row.start), of.ends(), of.costs.clone(), of.chance.clone(), of.takes.clone()]);
    }
    let mut notes =
        vec!["Costs: more than the cheapest of these dates, others' lateness and changes counted.".to_owned()];
    if !found.rows.iter().all(|row| row.proven) {
        notes.push("For some of them a cheaper plan may exist.".to_owned());
    }
    if varies(&found.shop.book) {
        notes.push(format!("Chance: of finishing by that date, as played through {} times.", SEASONS.count));
    } else {
        table[0][3].clear();
        notes.push("No chance is given: the book has neither spread nor climate.".to_owned());
    }
    Told::says(&says).gap().headed(0, table, [16, 16, 12, 12, 0]).gap().say(&notes.join(" "))
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
