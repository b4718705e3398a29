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
    /// What holds where it is left empty: of a number, a name, or of a choice in words.
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
    /// Small fields that make one value together.
    Row(Vec<Field>),
    /// Any number of such rows, the last one empty, and fields that go for all of them.
    Rows(Vec<Field>, Vec<Vec<Field>>),
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
            Input::Row(fields) => inner = fields.iter().map(Self::html).collect(),
            Input::Rows(first, list) => {
                inner = first.iter().map(Self::html).collect();
                rows = list.iter().map(|row| (row.iter().map(Self::html).collect(), false)).collect();
            }
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
            Input::Group(fields) | Input::Row(fields) => fields.iter().any(Self::is_filled),
            Input::Rows(first, rows) => first.iter().chain(rows.iter().flatten()).any(Self::is_filled),
            Input::List(_, rows) => rows.len() > 1,
        }
    }

    /// Whether anything here or within is wrong.
    pub fn is_wrong(&self) -> bool {
        !self.faults.is_empty()
            || match &self.input {
                Input::Group(fields) | Input::Row(fields) => fields.iter().any(Self::is_wrong),
                Input::Rows(_, rows) | Input::List(_, rows) => rows.iter().flatten().any(Self::is_wrong),
                _ => false,
            }
    }
}

/// Fields one after the other: first what most need, then what few do, out of the way until it is opened.
pub fn all(fields: &[Field]) -> String {
    // A short name for the file is out of the way, whatever it is; one that is chosen, or that has no name beside it, says
    // what all the rest is about.
    let named = fields.iter().any(|field| last(&field.name) == "name");
    let seldom = |field: &&Field| match last(&field.name) {
        "id" => named && !field.is_wrong(),
        name => SELDOM.contains(&name) && !field.is_filled() && !field.is_wrong(),
    };
    let first: String = fields.iter().filter(|field| !seldom(field)).map(Field::html).collect();
    let rest: String = fields.iter().filter(seldom).map(Field::html).collect();
    if rest.is_empty() { first } else { format!("{first}<details class=more><summary>More</summary>{rest}</details>") }
}

/// What is wrong in fields and all within: the field to go to, the names on the way there, what is wrong.
pub fn wrong_in(fields: &[Field], on_the_way: &[String]) -> Vec<(String, String, String)> {
    let mut all = Vec::new();
    for field in fields {
        let mut way = on_the_way.to_vec();
        if !field.label.is_empty() {
            way.push(if way.is_empty() { field.label.clone() } else { field.label.to_lowercase() });
        }
        let place = capital(&way.join(", "));
        all.extend(field.faults.iter().map(|says| (field.name.clone(), place.clone(), says.clone())));
        match &field.input {
            Input::Row(inner) | Input::Group(inner) => all.extend(wrong_in(inner, &way)),
            Input::Rows(_, rows) => all.extend(rows.iter().flat_map(|row| wrong_in(row, &way))),
            Input::List(one, rows) => {
                for (n, row) in rows.iter().enumerate() {
                    let mut way = on_the_way.to_vec();
                    way.push(format!("{one} {}", n + 1));
                    all.extend(wrong_in(row, &way));
                }
            }
            _ => {}
        }
    }
    all
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn last(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// Fields that few need.
const SELDOM: [&str; 44] = [
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
    "takes",
    "material",
    "heated",
    "keep_above_f",
    "pounds",
];
