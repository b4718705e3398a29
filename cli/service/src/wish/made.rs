//! From the form of a wish to the job that it would be, and what is wrong with that, by the form's fields.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Path, USUAL};
use yardless_edit::book_file::BookFile;
use yardless_edit::edited;
use yardless_edit::spoken::{capital, fault_words, place, sentence_of};
use yardless_edit::trouble::{Faulty, Trouble};

use crate::book::besides::{NewPlace, besides_job, steps_like};
use crate::book::form::name_by;
use crate::book::merge::edits;
use crate::desk::standing::{BOOK, Standing};
use crate::refusal::Refusal;
use crate::request::sent::Fields;

/// What begins the choice of a pattern, of a job to do likewise, and of a job of the book itself. No id has a slash.
pub const PATTERN: &str = "pattern/";
pub const JOB: &str = "job/";
pub const BOOKED: &str = "booked/";

/// A job that a date is wanted for, and the place that it makes.
pub struct Wished {
    job: Value,
    place: Option<NewPlace>,
    /// Whether it is in the book already.
    booked: bool,
}

/// A date that was offered, and is taken.
pub struct DateTaken {
    /// The step that begins the job.
    pub first: String,
    /// When that is.
    pub start: HalfDay,
    /// The step that ends it.
    pub last: String,
    /// When that begins.
    pub last_start: HalfDay,
    /// The crew that does it.
    pub last_crew: String,
    /// The way in which it is done.
    pub last_way: String,
    /// When the job ends.
    pub end: HalfDay,
    /// What the date costs more than the cheapest.
    pub extra: Cents,
}

/// What is wrong with a wish: by field, and beyond the fields.
#[derive(Default)]
pub struct Wrong {
    /// By the field's name.
    pub fields: BTreeMap<String, Vec<String>>,
    /// What none of the fields can mend.
    pub others: Vec<String>,
}

fn members<'b>(book: &'b Value, list: &str) -> impl Iterator<Item = &'b Value> {
    book[list].as_array().into_iter().flatten()
}

/// The job that a form asks for.
pub fn made(sent: &Fields, book: &Value) -> Wished {
    let like = sent.get("like").to_owned();
    if let Some(of) = like.strip_prefix(BOOKED).and_then(|id| members(book, "jobs").find(|job| job["id"] == id)) {
        let mut job = of.clone();
        if !sent.get("due").is_empty() {
            job["due"] = sent.get("due").into();
        }
        return Wished { job, place: None, booked: true };
    }
    let mut job = Map::new();
    for field in ["place", "contact", "due"] {
        let text = sent.get(field);
        if !text.is_empty() {
            job.insert(field.to_owned(), text.into());
        }
    }
    if let Some(of) = like.strip_prefix(JOB).and_then(|id| members(book, "jobs").find(|job| job["id"] == id)) {
        job.extend(steps_like(of));
    }
    let pattern = like.strip_prefix(PATTERN).unwrap_or_default().to_owned();
    let fields = sent.rewritten(|all| {
        let others = all.into_iter().filter(|(name, _)| name != "like");
        others.chain([("like".to_owned(), pattern)]).collect()
    });
    let mut job = Value::Object(job);
    let place = besides_job(&mut job, &fields, book);
    let taken: Vec<String> = members(book, "jobs").filter_map(|of| of["id"].as_str().map(str::to_owned)).collect();
    name_by("Job", &mut job, &taken);
    Wished { job, place, booked: false }
}

impl Wished {
    /// The job.
    pub fn job(&self) -> &Value {
        &self.job
    }

    /// What the job is called.
    pub fn name(&self) -> &str {
        self.job["name"].as_str().or(self.job["id"].as_str()).unwrap_or_default()
    }

    /// Its id, where it is in the book already.
    pub fn booked(&self) -> Option<&str> {
        self.job["id"].as_str().filter(|_| self.booked)
    }

    /// The date by which it is wanted; empty: none is given.
    pub fn due(&self) -> &str {
        self.job["due"].as_str().unwrap_or_default()
    }

    /// Its position among the jobs of the book with it.
    fn at_position(&self, book: &Value) -> usize {
        let known = members(book, "jobs").position(|job| self.booked && job["id"] == self.job["id"]);
        known.unwrap_or_else(|| members(book, "jobs").count())
    }

    /// The same with a date. The step that begins it is told for its date (C10) and fixed to its half-day (W8), and the one
    /// that ends it is fixed as it was offered; the job is due when it is said to end. A day late costs more than the date
    /// does, where the `usual` price would not: else a plan would save by breaking it. `None`: it has no such steps.
    pub fn at(mut self, date: &DateTaken, usual: Cents) -> Option<Self> {
        let way = (date.last_way != USUAL).then_some(&date.last_way);
        let steps = self.job["steps"].as_array_mut()?;
        let last = steps.iter_mut().find(|of| of["id"] == date.last)?;
        last["fixed"] = json!({ "crew": date.last_crew, "start": date.last_start.to_string() });
        if let Some(way) = way {
            last["fixed"]["way"] = way.as_str().into();
        }
        let first = steps.iter_mut().find(|of| of["id"] == date.first)?;
        first["fixed"]["start"] = date.start.to_string().into();
        first["told"] = json!({ "from": date.start.date(), "to": date.start.date() });
        self.job["due"] = date.end.date().to_string().into();
        if date.extra >= usual {
            self.job["late_day"] = (date.extra.0 / 100 + 1).into();
        }
        Some(self)
    }

    /// The book with it.
    pub fn in_book(&self, book: &Value) -> Value {
        let mut book = self.place.as_ref().map_or_else(|| book.clone(), |place| place.added(book.clone()));
        let at = self.at_position(&book);
        match &mut book["jobs"] {
            Value::Array(jobs) if at < jobs.len() => jobs[at] = self.job.clone(),
            Value::Array(jobs) => jobs.push(self.job.clone()),
            nothing => *nothing = vec![self.job.clone()].into(),
        }
        book
    }

    /// The book with its place alone, read.
    pub fn with_place(&self, standing: &Standing) -> Result<BookFile, Refusal> {
        let Some(place) = &self.place else { return Ok(standing.book.clone()) };
        let with = place.added(standing.value.clone());
        let edits = edits(&Path::default(), &standing.value, &with);
        Ok(edited(BOOK, standing.book.text(), &edits)?.unwrap_or_else(|| standing.book.clone()))
    }

    /// What is wrong with it, all at once.
    pub fn wrong(&self, sent: &Fields, standing: &Standing) -> Wrong {
        let mut wrong = Wrong::default();
        let mut says = |field: &str, says: String| wrong.fields.entry(field.to_owned()).or_default().push(says);
        if self.job["steps"].as_array().is_none_or(Vec::is_empty) {
            let unknown = if sent.get("like").is_empty() { "" } else { "The book has not got that any more. " };
            says("like", format!("{unknown}Choose what is to be done."));
        }
        if self.job["place"].is_null() {
            says("place", "Choose a place, or give the address of a new one.".to_owned());
        }
        let own: Vec<String> = wrong.fields.keys().cloned().collect();
        let with = self.in_book(&standing.value);
        let edits = edits(&Path::default(), &standing.value, &with);
        let faults = match edited(BOOK, standing.book.text(), &edits) {
            Ok(_) => return wrong,
            Err(Trouble::Faults(Faulty { faults, .. })) => faults,
            Err(other) => {
                wrong.others.push(sentence_of(&standing.value, &other.in_one_line()));
                return wrong;
            }
        };
        let job = format!("jobs[{}]", self.at_position(&standing.value));
        for (fault, _) in faults {
            let (says, help) = fault_words(&[&with], &fault);
            let help = help.map_or(String::new(), |help| format!(" ({help})"));
            match field_of(&fault.path.to_string(), &job) {
                Some(field) if own.iter().any(|of| of == field) => {}
                Some(field) => {
                    wrong.fields.entry(field.to_owned()).or_default().push(format!("{}{help}", capital(&says)));
                }
                None => wrong.others.push(format!("{}: {says}{help}", place(&with, &fault.path))),
            }
        }
        wrong
    }
}

/// The field of the form that a place in the book comes from.
fn field_of(path: &str, job: &str) -> Option<&'static str> {
    if let Some(rest) = path.strip_prefix(job) {
        return Some(match rest.trim_start_matches('.').split(['.', '[']).next().unwrap_or_default() {
            "due" => "due",
            "contact" => "contact",
            "place" | "id" | "name" => "place",
            _ => "like",
        });
    }
    if path.starts_with("drives[") {
        return Some("minutes");
    }
    let rest = path.strip_prefix("places[").and_then(|rest| rest.split_once(']'))?.1;
    Some(match rest.trim_start_matches('.').split(['.', '[']).next().unwrap_or_default() {
        "at" => "new_place.at",
        "road" => "new_place.road",
        _ => "place",
    })
}
