//! The form of a job on one screen: whom, where and by when at the top, its steps as rows of a table, all else folded.

use askama::Template;
use serde_json::Value;

use super::show::members;
use super::step_rows::LENGTHS;
use super::{Field, Input, all};
use crate::book::besides::bases;
use crate::request::sent::Fields;

/// The fields at the top, in their order.
const HEAD: [&str; 5] = ["name", "contact", "place", "rank", "due"];

#[derive(Template)]
#[template(path = "job.html", escape = "htm")]
struct JobForm {
    id: String,
    /// The fields at the top, written out.
    head: Vec<String>,
    /// Patterns to choose from: id, name, whether chosen.
    patterns: Vec<(String, String, bool)>,
    /// What a place that the book does not have is asked for.
    place: PlaceAsked,
    /// What is wrong with the steps as a whole.
    wrong: Vec<String>,
    rows: Vec<StepRow>,
    /// The rest of the job.
    rest: String,
}

struct PlaceAsked {
    address: String,
    at: String,
    roads: Vec<(String, String, bool)>,
    /// From where a drive is asked for: id, name, the minutes as typed.
    bases: Vec<(String, String, String)>,
    open: bool,
}

struct StepRow {
    id: String,
    /// What its fields' names begin with.
    at: String,
    number: usize,
    what: String,
    long: String,
    /// Fields that may say how long: field, words, whether chosen.
    lengths: Vec<(&'static str, &'static str, bool)>,
    /// How many ways it has, which each say how long they take and what they need.
    ways: usize,
    skills: Vec<(String, String, bool)>,
    needs: Vec<NeedCell>,
    more: String,
    /// Whether any of that is wrong, so that it is shown.
    open: bool,
    /// What is wrong with what it is, how long it takes, the skill, the needs.
    wrong: [Vec<String>; 4],
    is_new: bool,
}

/// A need as a cell of a row: its kind and how many.
struct NeedCell {
    at: String,
    kinds: Vec<(String, String, bool)>,
    count: String,
}

/// The fields of a job, written out. `sent`: what was sent for its place and pattern, where the form comes back.
pub fn job_form(mut fields: Vec<Field>, book: &Value, sent: Option<&Fields>) -> String {
    let head = HEAD.iter().filter_map(|name| taken(&mut fields, name));
    let head = head.map(|field| told(field).html()).collect();
    let id = taken(&mut fields, "id").map_or_else(String::new, value);
    let steps = taken(&mut fields, "steps");
    let (wrong, rows) = match steps {
        Some(Field { faults, input: Input::List(_, rows), .. }) => (faults, rows),
        _ => Default::default(),
    };
    let last = rows.len().saturating_sub(1);
    let rows = rows.into_iter().enumerate().map(|(n, row)| step_row(n, row, n == last)).collect();
    let was = |name: &str| sent.map_or("", |sent| sent.get(name)).to_owned();
    let chosen = |list: &str, of: &str| -> Vec<(String, String, bool)> {
        members(book, list).into_iter().map(|(id, name)| (id.clone(), name, id == of)).collect()
    };
    let place = PlaceAsked {
        address: was("new_place.address"),
        at: was("new_place.at"),
        roads: chosen("roads", &was("new_place.road")),
        bases: bases(book)
            .into_iter()
            .map(|(id, name)| (id.clone(), name, was(&format!("new_place.minutes.{id}"))))
            .collect(),
        open: !was("new_place.address").is_empty(),
    };
    let patterns = chosen("patterns", &was("like"));
    JobForm { id, head, patterns, place, wrong, rows, rest: all(&fields) }.render().unwrap_or_default()
}

/// What stands under a field at the top.
fn told(field: Field) -> Field {
    let hint = match field.name.as_str() {
        "name" => "Left empty: made from the place and the pattern.",
        "contact" => "Whom to call.",
        "place" => "One that you have, or a new one below.",
        "rank" => "What lateness and leaving it out cost.",
        _ => "The end of this day.",
    };
    Field { hint: hint.to_owned(), ..field }
}

/// The field of a name, taken out of the list.
fn taken(fields: &mut Vec<Field>, name: &str) -> Option<Field> {
    let n = fields.iter().position(|field| is_called(field, name))?;
    Some(fields.remove(n))
}

fn is_called(field: &Field, name: &str) -> bool {
    field.name.rsplit('.').next() == Some(name)
}

fn step_row(n: usize, mut fields: Vec<Field>, is_new: bool) -> StepRow {
    let faults = |field: &Option<Field>| field.as_ref().map(|field| field.faults.clone()).unwrap_or_default();
    let (id, what) = (taken(&mut fields, "id"), taken(&mut fields, "name"));
    let lengths = LENGTHS.map(|(field, _)| taken(&mut fields, field));
    let (skill, needs) = (taken(&mut fields, "skill"), taken(&mut fields, "needs"));
    let mut wrong = [
        faults(&id).into_iter().chain(faults(&what)).collect(),
        lengths.iter().flat_map(faults).collect(),
        faults(&skill),
        faults(&needs),
    ];
    let given = lengths.map(|field| field.map_or_else(String::new, value));
    let chosen = given.iter().position(|text| !text.is_empty()).unwrap_or(0);
    let rows_of = |field: Option<Field>| match field.map(|field| field.input) {
        Some(Input::List(_, rows)) => rows,
        _ => Vec::new(),
    };
    let ways = fields.iter().find(|field| is_called(field, "ways")).cloned();
    let needs = rows_of(needs).into_iter().enumerate().map(|(m, mut need)| {
        wrong[3].extend(need.iter().flat_map(|field| field.faults.iter().cloned()));
        NeedCell {
            at: format!("steps.{n}.needs.{m}"),
            kinds: taken(&mut need, "kind").map(|field| choices(&field.input)).unwrap_or_default(),
            count: taken(&mut need, "count").map_or_else(String::new, value),
        }
    });
    let needs = needs.collect();
    StepRow {
        id: id.map_or_else(String::new, value),
        at: format!("steps.{n}"),
        number: n + 1,
        what: what.map_or_else(String::new, value),
        long: given[chosen].clone(),
        lengths: LENGTHS.iter().enumerate().map(|(k, (field, words))| (*field, *words, k == chosen)).collect(),
        // The last row of the list is the empty one.
        ways: rows_of(ways).len().saturating_sub(1),
        skills: skill.map(|field| choices(&field.input)).unwrap_or_default(),
        needs,
        open: fields.iter().any(Field::is_wrong),
        more: all(&fields),
        wrong,
        is_new,
    }
}

/// What is typed in a field of one line.
fn value(field: Field) -> String {
    match field.input {
        Input::Line { value, .. } | Input::Lines(value) => value,
        _ => String::new(),
    }
}

fn choices(input: &Input) -> Vec<(String, String, bool)> {
    match input {
        Input::Pick(all, chosen) => all.iter().map(|(id, name)| (id.clone(), name.clone(), id == chosen)).collect(),
        _ => Vec::new(),
    }
}
