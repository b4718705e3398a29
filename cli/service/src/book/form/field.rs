//! A field of a form, and its writing out.

use askama::Template;

/// A field.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its name in the form: `steps.0.needs.1.kind`.
    pub name: String,
    /// What it is called.
    pub label: String,
    /// What the schema says of it.
    pub hint: String,
    /// Whether it must be given.
    pub required: bool,
    /// What holds where it is left empty, of a number.
    pub default: String,
    /// What is wrong with it.
    pub faults: Vec<String>,
    /// How it is filled in.
    pub input: Input,
}

/// How a field is filled in.
#[derive(Clone, Debug)]
pub enum Input {
    /// One line.
    Line {
        /// What stands there.
        value: String,
        /// The browser's type of it: `text` or `date`.
        kind: &'static str,
        /// The keys that a phone offers: `text`, `numeric` or `decimal`.
        keys: &'static str,
    },
    /// Several lines, an entry each.
    Lines(String),
    /// Yes or no.
    Tick(bool),
    /// One of several: value and name; and which.
    Pick(Vec<(String, String)>, String),
    /// Any of several: value, name, whether chosen.
    Several(Vec<(String, String, bool)>),
    /// Fields that belong together.
    Group(Vec<Field>),
    /// Any number of the same, the last one empty: what one is called, and the fields of each.
    List(String, Vec<Vec<Field>>),
}

#[derive(Template)]
#[template(path = "field.html", escape = "htm")]
struct FieldPart<'a> {
    field: &'a Field,
    /// Fields within, written out.
    inner: String,
    /// The same for each of a list, and whether it is the empty one.
    rows: Vec<(String, bool)>,
}

impl Field {
    /// Written out, with all within.
    pub fn html(&self) -> String {
        let (mut inner, mut rows) = (String::new(), Vec::new());
        match &self.input {
            Input::Group(fields) => inner = all(fields),
            Input::List(_, list) => {
                let last = list.len() - 1;
                rows = list.iter().enumerate().map(|(n, fields)| (all(fields), n == last)).collect();
            }
            _ => {}
        }
        FieldPart { field: self, inner, rows }.render().unwrap_or_default()
    }

    /// Whether anything is filled in, here or within.
    pub fn is_filled(&self) -> bool {
        match &self.input {
            Input::Line { value, .. } | Input::Lines(value) | Input::Pick(_, value) => !value.is_empty(),
            Input::Tick(yes) => *yes,
            Input::Several(of) => of.iter().any(|(_, _, chosen)| *chosen),
            Input::Group(fields) => fields.iter().any(Self::is_filled),
            Input::List(_, rows) => rows.len() > 1,
        }
    }

    /// Whether anything here or within is wrong.
    pub fn is_wrong(&self) -> bool {
        !self.faults.is_empty()
            || match &self.input {
                Input::Group(fields) => fields.iter().any(Self::is_wrong),
                Input::List(_, rows) => rows.iter().flatten().any(Self::is_wrong),
                _ => false,
            }
    }
}

/// Fields one after the other: first what most need, then what few do, out of the way until it is opened.
pub fn all(fields: &[Field]) -> String {
    // An id that is chosen says what all the rest is about.
    let chosen = |field: &Field| last(&field.name) == "id" && matches!(field.input, Input::Pick(..));
    let seldom = |field: &&Field| {
        SELDOM.contains(&last(&field.name)) && !chosen(field) && !field.is_filled() && !field.is_wrong()
    };
    let first: String = fields.iter().filter(|field| !seldom(field)).map(Field::html).collect();
    let rest: String = fields.iter().filter(seldom).map(Field::html).collect();
    if rest.is_empty() { first } else { format!("{first}<details class=more><summary>More</summary>{rest}</details>") }
}

fn last(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// Fields that few need.
const SELDOM: [&str; 40] = [
    "id",
    "note",
    "left_out",
    "late_day",
    "no_access",
    "ways",
    "fixed",
    "spread",
    "may_split",
    "done",
    "progress",
    "earliest",
    "rank",
    "waits_on",
    "in_part",
    "told",
    "told_half_days",
    "change_same_date",
    "weekdays",
    "half",
    "confirmed",
    "ask_days",
    "max_people",
    "min_people",
    "dry",
    "outside",
    "max_gust_mph",
    "min_low_f",
    "max_high_f",
    "needs_power",
    "zones",
    "at",
    "only",
    "away",
    "out",
    "overtime_days",
    "climate",
    "units",
    "after",
    "parked",
];
