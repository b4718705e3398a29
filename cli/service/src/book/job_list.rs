//! The jobs in a list: how each stands by the plan given out, what comes next of it, found by words and by how it stands.

use chrono::NaiveDate;
use serde::Deserialize;
use yardless_book::Job;
use yardless_plan::{Plan, StepRow};
use yardless_view::half;

use crate::desk::standing::Standing;
use crate::shown::frame::escaped;

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Wanted {
    /// Words that all stand in a job's row, whatever their capitals.
    pub find: String,
    /// How it stands, by its name in [`STATES`]; empty: whatever it is.
    pub state: String,
}

/// The jobs that are wanted.
pub struct JobList {
    /// The words looked for.
    pub find: String,
    /// How jobs stand: name, words, how many do, whether these are looked for.
    pub states: Vec<(&'static str, &'static str, usize, bool)>,
    /// A row each.
    pub rows: Vec<JobRow>,
    /// How many jobs the book has.
    pub all: usize,
}

/// A job's row.
pub struct JobRow {
    /// Where its form is.
    pub address: String,
    /// Its name.
    pub name: String,
    /// Where it is.
    pub place: String,
    /// How it stands, in words.
    pub stands: &'static str,
    /// From when to when it is planned.
    pub dates: String,
    /// What comes next.
    pub next: String,
    /// By when it is wanted.
    pub due: String,
    /// Whether it ends after that.
    pub late: bool,
    /// Whom to call.
    pub contact: String,
}

/// How a job stands: its name in addresses, and in words.
const STATES: [(&str, &str); 6] = [
    ("begun", "begun"),
    ("planned", "planned"),
    ("part", "planned in part"),
    ("out", "not planned"),
    ("later", "later"),
    ("done", "done"),
];

impl JobList {
    /// The jobs of the book by the plan given out, as far as it reads.
    pub fn new(standing: &Standing, wanted: &Wanted) -> Self {
        let book = &standing.book.written.book;
        let plan = standing.plan.as_ref().map(|given| &given.file.plan);
        let words: Vec<String> = wanted.find.to_lowercase().split_whitespace().map(str::to_owned).collect();
        let mut many = [0; STATES.len()];
        let mut rows = Vec::new();
        for job in &book.jobs {
            let state = state(job, plan);
            let row = row(standing, job, plan, STATES[state].1);
            let text = format!("{} {} {} {}", row.name, row.place, row.contact, row.next).to_lowercase();
            if !words.iter().all(|word| text.contains(word)) {
                continue;
            }
            many[state] += 1;
            if wanted.state.is_empty() || wanted.state == STATES[state].0 {
                rows.push(row);
            }
        }
        let states = STATES.iter().zip(many).filter(|(_, many)| *many > 0);
        Self {
            find: wanted.find.clone(),
            states: states.map(|((name, says), many)| (*name, *says, many, wanted.state == *name)).collect(),
            rows,
            all: book.jobs.len(),
        }
    }
}

/// How a job stands, as its place among [`STATES`].
fn state(job: &Job, plan: Option<&Plan>) -> usize {
    let at = |name: &str| STATES.iter().position(|(of, _)| *of == name).unwrap_or_default();
    if job.steps.iter().all(|step| step.done.is_some()) {
        return at("done");
    }
    let Some(plan) = plan else { return at("out") };
    let later = plan.later.iter().find(|row| row.job == job.id);
    if later.is_some_and(|row| row.steps.is_empty()) {
        return at("later");
    }
    if !plan.steps.iter().any(|row| row.job == job.id) {
        return at("out");
    }
    if job.steps.iter().any(|step| step.done.is_some() || step.progress.is_some()) {
        return at("begun");
    }
    at(if later.is_some() { "part" } else { "planned" })
}

fn row(standing: &Standing, job: &Job, plan: Option<&Plan>, stands: &'static str) -> JobRow {
    let book = &standing.book.written.book;
    let named = |id: &str, name: Option<&String>| name.map_or(id, String::as_str).to_owned();
    let steps: Vec<&StepRow> = plan.iter().flat_map(|plan| &plan.steps).filter(|row| row.job == job.id).collect();
    let (start, end) = (steps.iter().map(|row| row.start).min(), steps.iter().map(|row| row.end).max());
    let is_done = |row: &StepRow| job.steps.iter().any(|step| step.id == row.step && step.done.is_some());
    let next = steps.iter().filter(|row| row.end >= standing.now && !is_done(row)).min_by_key(|row| row.start);
    let next = next.map_or_else(String::new, |row| {
        let step = job.steps.iter().find(|step| step.id == row.step);
        let crew = book.crews.iter().find(|crew| crew.id == row.crew);
        let what = step.map_or(row.step.clone(), |step| named(&step.id, step.name.as_ref()));
        let who = crew.map_or(row.crew.clone(), |crew| named(&crew.id, crew.name.as_ref()));
        format!("{what}, {who}, {}", half(row.start))
    });
    let place = book.places.iter().find(|place| place.id == job.place);
    JobRow {
        address: format!("/book/jobs/of/{}", escaped(&job.id)),
        name: named(&job.id, job.name.as_ref()),
        place: place.map_or(job.place.as_str(), |place| place.printed()).to_owned(),
        stands,
        dates: match (start, end) {
            (Some(start), Some(end)) if start.date() == end.date() => written(start.date()),
            (Some(start), Some(end)) => format!("{} to {}", written(start.date()), written(end.date())),
            _ => String::new(),
        },
        next,
        due: job.due.map_or_else(String::new, written),
        late: job.due.zip(end).is_some_and(|(due, end)| end.date() > due),
        contact: job.contact.clone().unwrap_or_default(),
    }
}

fn written(date: NaiveDate) -> String {
    date.format("%a %-d %b").to_string()
}
