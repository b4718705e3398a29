//! Cells of the plain table and the values that they stand for.

use chrono::NaiveDate;
use serde_json::{Map, Value, json};
use yardless_book::half_day::parse_date;

use super::columns::{NONE, Written};

/// What names things: the book, and the job whose row it is.
pub struct Names<'b> {
    /// The book.
    pub book: &'b Value,
    /// The steps of the job, those of new rows too.
    pub steps: Vec<(String, String)>,
}

/// Members of a list: id and name.
pub fn members(list: &Value) -> Vec<(String, String)> {
    let id = |of: &Value| of["id"].as_str().map(str::to_owned);
    let one = |of: &Value| Some((id(of)?, of["name"].as_str().map_or_else(|| id(of), |name| Some(name.to_owned()))?));
    list.as_array().into_iter().flatten().filter_map(one).collect()
}

/// What one is called in a cell: its name where that is its alone and breaks no cell, else its id.
pub fn called<'n>(all: &'n [(String, String)], id: &'n str) -> &'n str {
    let name = all.iter().find(|(of, _)| of == id).map_or(id, |(_, name)| name);
    let same = |(of, other): &&(String, String)| of != id && (other == name || of == name);
    let plain = !name.contains([';', '(', ')']) && !name.contains(": ") && name.trim() == name && name != NONE;
    if plain && !all.iter().any(|of| same(&of)) { name } else { id }
}

/// The one that a cell means, by its name or id.
pub fn meant<'n>(all: &'n [(String, String)], text: &str) -> Option<&'n str> {
    let by_id = all.iter().find(|(id, _)| id == text);
    let mut by_name = all.iter().filter(|(_, name)| name.eq_ignore_ascii_case(text));
    let named = by_name.next().filter(|_| by_name.next().is_none());
    by_id.or(named).map(|(id, _)| id.as_str())
}

impl Names<'_> {
    /// A value as a cell has it.
    pub fn says(&self, written: Written, value: &Value) -> String {
        match written {
            _ if value.is_null() => String::new(),
            Written::Yes => if value == true { "yes" } else { "no" }.to_owned(),
            Written::Named(list) => {
                value.as_str().map_or_else(String::new, |id| called(&members(&self.book[list]), id).to_owned())
            }
            Written::Needs => {
                let kinds = kinds(self.book);
                let one = |need: &Value| {
                    let kind = need["kind"].as_str().unwrap_or_default();
                    let name = called(&kinds, kind);
                    match need["count"].as_u64() {
                        Some(count) if count > 1 => format!("{count} x {name}"),
                        _ => name.to_owned(),
                    }
                };
                let all: Vec<String> = value.as_array().into_iter().flatten().map(one).collect();
                if all.is_empty() { NONE.to_owned() } else { all.join("; ") }
            }
            Written::After => {
                let all: Vec<String> = value.as_array().into_iter().flatten().map(|link| self.link(link)).collect();
                if all.is_empty() { NONE.to_owned() } else { all.join("; ") }
            }
            _ => match value {
                Value::String(text) => text.clone(),
                other => other.to_string(),
            },
        }
    }

    /// `Air seal attic`, `Birch attic: Blow (2 to 6 half-days later)`.
    fn link(&self, link: &Value) -> String {
        let step = link["step"].as_str().or(link.as_str()).unwrap_or_default();
        let name = match step.split_once('/') {
            Some((job, of)) => {
                let steps = members(&job_of(self.book, job)["steps"]);
                format!("{}: {}", called(&members(&self.book["jobs"]), job), called(&steps, of))
            }
            None => called(&self.steps, step).to_owned(),
        };
        let number = |field: &str| link[field].as_u64();
        let later = match (number("wait_half_days").unwrap_or(0), number("within_half_days")) {
            (0, None) => return name,
            (wait, None) => wait.to_string(),
            (0, Some(within)) => format!("at most {within}"),
            (wait, Some(within)) => format!("{wait} to {within}"),
        };
        format!("{name} ({later} half-days later)")
    }

    /// The value that a cell stands for; else what is wrong with it, and what to write.
    pub fn value(&self, written: Written, text: &str) -> Result<Value, String> {
        let wrong = |what: &str, write: &str| format!("“{text}” is {what}; write {write}");
        match written {
            Written::Text => Ok(text.into()),
            Written::Date => {
                let date = parse_date(text).ok().or_else(|| NaiveDate::parse_from_str(text, "%m/%d/%Y").ok());
                let date = date.ok_or_else(|| wrong("no date", "one as 2026-12-18"))?;
                Ok(date.to_string().into())
            }
            Written::Whole => text.parse::<u32>().map(Value::from).map_err(|_| wrong("no whole number", "one as 2")),
            Written::Number => {
                if let Ok(whole) = text.parse::<i64>() {
                    return Ok(whole.into());
                }
                let number = text.replace(',', ".").parse::<f64>().ok().filter(|number| number.is_finite());
                number.map(|number| json!(number)).ok_or_else(|| wrong("no number", "one as 2 or 1.5"))
            }
            Written::Yes => match text.to_lowercase().as_str() {
                "yes" | "y" | "true" | "x" => Ok(true.into()),
                "no" | "n" | "false" => Ok(false.into()),
                _ => Err(wrong("neither yes nor no", "one of them")),
            },
            Written::Named(list) => {
                let all = members(&self.book[list]);
                let one = meant(&all, text).map(Value::from);
                let known = || all.iter().map(|(id, _)| called(&all, id)).collect::<Vec<_>>().join(", ");
                one.ok_or_else(|| wrong("not in the book", &format!("one of these: {}", known())))
            }
            Written::Needs => text.split(';').map(|part| self.need(part.trim())).collect(),
            Written::After => text.split(';').map(|part| self.linked(part.trim())).collect(),
        }
    }

    /// `2 x blowing machine`, or a kind alone.
    fn need(&self, text: &str) -> Result<Value, String> {
        let counted = text.split_once(" x ").and_then(|(count, kind)| Some((count.trim().parse::<u32>().ok()?, kind)));
        let (count, kind) = counted.unwrap_or((1, text));
        let kinds = kinds(self.book);
        let kind = meant(&kinds, kind.trim()).ok_or_else(|| {
            let known = kinds.iter().map(|(id, _)| called(&kinds, id)).collect::<Vec<_>>().join(", ");
            format!(
                "no equipment is called “{}”; write one of these, as “2 x {}”: {known}",
                kind.trim(),
                kinds.first().map_or("", |of| &of.1)
            )
        })?;
        let mut need = Map::from_iter([("kind".to_owned(), Value::from(kind))]);
        if count != 1 {
            need.insert("count".to_owned(), count.into());
        }
        Ok(need.into())
    }

    fn linked(&self, text: &str) -> Result<Value, String> {
        let (name, later) = match text.strip_suffix("later)").and_then(|rest| rest.rsplit_once(" (")) {
            Some((name, later)) => (name.trim(), Some(waits(later).ok_or_else(|| how_later(text))?)),
            None => (text, None),
        };
        let own = meant(&self.steps, name).map(str::to_owned);
        let other = || {
            let (job, step) = name.split_once(": ")?;
            let jobs = members(&self.book["jobs"]);
            let job = meant(&jobs, job.trim())?;
            let steps = members(&job_of(self.book, job)["steps"]);
            Some(format!("{job}/{}", meant(&steps, step.trim())?))
        };
        let step = own.or_else(other).ok_or_else(|| {
            format!("no step is called “{name}”; write a step of the job, or “the job: its step” of another one")
        })?;
        let Some((wait, within)) = later else { return Ok(step.into()) };
        let mut link = Map::from_iter([("step".to_owned(), Value::from(step))]);
        if wait > 0 {
            link.insert("wait_half_days".to_owned(), wait.into());
        }
        if let Some(within) = within {
            link.insert("within_half_days".to_owned(), within.into());
        }
        Ok(link.into())
    }
}

fn how_later(text: &str) -> String {
    format!(
        "“{text}” does not say how much later; write “(2 half-days later)”, “(2 to 6 half-days later)” or “(at most 6 half-days later)”"
    )
}

/// Half-days to wait, and at most so many.
fn waits(later: &str) -> Option<(u32, Option<u32>)> {
    let later = later.trim().strip_suffix("half-days").or(later.trim().strip_suffix("half-day"))?.trim();
    if let Some(most) = later.strip_prefix("at most") {
        return Some((0, Some(most.trim().parse().ok()?)));
    }
    match later.split_once(" to ") {
        Some((wait, within)) => Some((wait.trim().parse().ok()?, Some(within.trim().parse().ok()?))),
        None => Some((later.parse().ok()?, None)),
    }
}

fn job_of<'b>(book: &'b Value, id: &str) -> &'b Value {
    let mut jobs = book["jobs"].as_array().into_iter().flatten();
    jobs.find(|job| job["id"] == id).unwrap_or(&Value::Null)
}

/// The kinds that are listed, then those that units have besides.
fn kinds(book: &Value) -> Vec<(String, String)> {
    let mut all = members(&book["kinds"]);
    let of_units = book["equipment"].as_array().into_iter().flatten().filter_map(|unit| unit["kinds"].as_array());
    for kind in of_units.flatten().filter_map(Value::as_str) {
        if !all.iter().any(|(id, _)| id == kind) {
            all.push((kind.to_owned(), kind.to_owned()));
        }
    }
    all
}
