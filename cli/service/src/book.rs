//! Forms for the parts of the book: one that stands alone, and a member of a list, new or there already.

pub mod besides;
pub mod form;
pub mod history;
mod job_list;
pub mod jobs;
pub mod keep;
mod lacks;
pub mod lists;
pub mod merge;
pub mod remove;
mod sentence;
pub mod start;
mod table;
pub mod weather;

use std::collections::BTreeMap;
use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde_json::Value;
use yardless_book::{Code, Fault, Path as At, PathPart};
use yardless_edit::spoken::{at_object, place, sentence_of, value as value_says};
use yardless_edit::trouble::{Topic, Trouble};

use crate::book::besides::{besides_job, with_pattern};
use crate::book::form::{BookPart, all, arranged, at_row, faults_at, job_form, name_by, part, show, take, wrong_in};
use crate::book::keep::{Change, ChangeOutcome};
use crate::book::lacks::{Missing, of_member};
use crate::book::merge::{Conflict, over};
use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::plan::making::{PlanningTerms, begin};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Reads, Who};
use crate::shown::frame::{Frame, escaped, html, on_to, written};
use crate::store::token;
use crate::words::help;

#[derive(Template)]
#[template(path = "form.html")]
struct FormPage {
    frame: Frame,
    /// Where it is sent to.
    to: String,
    /// Where a member is removed, if it can be.
    remove: Option<String>,
    back: &'static str,
    /// What is still to be entered for it.
    lacks: Vec<Missing>,
    /// The fields, written out.
    fields: String,
    base: i64,
    /// Whether it has rows of which there may be one more.
    lists: bool,
    /// Whether it is a job's: it can be planned with at once, and its steps kept as a pattern.
    job: bool,
    form: String,
    /// What is wrong: the field to go to, what it is called, the fault.
    wrongs: Vec<(String, String, String)>,
    /// What is wrong beyond a field.
    others: Vec<String>,
    wrong: usize,
    /// What others have changed meanwhile: where, before, now, as sent.
    conflicts: Vec<[String; 4]>,
}

/// Target value of the book a form is for.
enum Target {
    Alone,
    New,
    Member(String),
}

impl Target {
    fn address(&self, part: BookPart) -> String {
        match self {
            Self::Alone => format!("/book/{}", part.field),
            Self::New => format!("/book/{}/new", part.field),
            Self::Member(key) => format!("/book/{}/of/{}", part.field, escaped(key)),
        }
    }
}

/// A part of the book by its field.
pub fn find(field: &str, list: bool) -> Result<BookPart, Refusal> {
    part(field).filter(|part| part.list == list).ok_or_else(|| Refusal::missing(format!("The book has no `{field}`.")))
}

/// What names a member of a list: its id, or where it has none its place in the list.
pub fn key(member: &Value, n: usize) -> String {
    member["id"].as_str().map_or_else(|| format!("#{n}"), str::to_owned)
}

/// The place of a member in its list.
pub fn position(book: &Value, part: BookPart, key: &str) -> Option<usize> {
    let list = book[part.field].as_array()?;
    list.iter().enumerate().position(|(n, member)| self::key(member, n) == key)
}

fn value_of(book: &Value, part: BookPart, which: &Target) -> Result<Value, Refusal> {
    match which {
        Target::Alone => Ok(book[part.field].clone()),
        Target::New => Ok(Value::Null),
        Target::Member(key) => position(book, part, key)
            .map(|n| book[part.field][n].clone())
            .ok_or_else(|| Refusal::missing(format!("The book has no {} `{key}`.", part.one))),
    }
}

/// What goes with a form that was refused.
#[derive(Default)]
struct Refused {
    faults: BTreeMap<String, Vec<String>>,
    others: Vec<String>,
    conflicts: Vec<Conflict>,
}

fn page(
    standing: &Standing,
    who: &Who,
    part: BookPart,
    which: &Target,
    value: &Value,
    told: Refused,
    sent: Option<&Fields>,
) -> Result<FormPage, Refusal> {
    let name = value["name"].as_str().or(value["id"].as_str()).unwrap_or_default();
    let title = match which {
        Target::Alone => format!("The {}", part.one),
        Target::New => format!("A new {}", part.one),
        Target::Member(_) if name.is_empty() => format!("A {}", part.one),
        Target::Member(_) => format!("{name}, {}", part.one),
    };
    let fields = show(part.of, value, "", &standing.value, &told.faults);
    let wrongs: Vec<(String, String, String)> =
        wrong_in(&fields, &[]).into_iter().map(|(at, place, says)| (at_field(part, &at), place, says)).collect();
    let wrong = wrongs.len() + told.others.len();
    let conflicts = told.conflicts.iter().map(|of| {
        let (object, field) = at_object(&of.at);
        let text = |is: &Option<Value>| {
            let says = |is: &Value| value_says(&standing.value, &object, field.as_deref().unwrap_or_default(), is);
            is.as_ref().map_or_else(|| "(nothing)".to_owned(), says)
        };
        [place(&standing.value, &of.at), text(&of.was), text(&of.now), text(&of.wanted)]
    });
    let address = which.address(part);
    Ok(FormPage {
        frame: Frame::new(title, part.page, who, Some(standing)),
        remove: matches!(which, Target::Member(_)).then(|| format!("{address}/remove")),
        to: address,
        back: part.page,
        lacks: match which {
            Target::Member(id) => of_member(&standing.book.written.book, part.field, id),
            Target::Alone | Target::New => Vec::new(),
        },
        fields: if part.of == "Job" { job_form(fields, &standing.value, sent) } else { all(&fields) },
        base: standing.revision.number,
        lists: matches!(which, Target::New | Target::Member(_)) && part.field != "drives",
        job: part.of == "Job",
        form: token()?,
        conflicts: conflicts.collect(),
        wrongs,
        others: told.others,
        wrong,
    })
}

/// Where a field is on the page: a job's steps are rows, in which several fields are one.
fn at_field(part: BookPart, field: &str) -> String {
    if part.of == "Job" { at_row(field) } else { field.to_owned() }
}

async fn get(desk: Arc<Desk>, who: Who, part: BookPart, which: Target) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let value = value_of(&standing.value, part, &which)?;
        page(&standing, &who, part, &which, &value, Refused::default(), None)
    });
    html(&page.await?)
}

/// What comes of a form.
enum FormOutcome {
    /// It was kept: on to an address.
    OnTo(String),
    /// It comes back with what is wrong.
    Back(Box<FormPage>),
}

/// Kept, it leads on; else the form comes back with what is wrong.
async fn keep(desk: Arc<Desk>, who: Who, fields: Fields, part: BookPart, which: Target) -> Result<Response, Refusal> {
    let fields = if part.of == "Job" { arranged(&fields) } else { fields };
    let (more, planned) = (fields.ticked("more"), fields.ticked("plan"));
    let of = Arc::clone(&desk);
    let done = desk.change(move |desk| {
        let base = fields.base()?;
        let (was, value, place) = {
            let standing = desk.book()?;
            // The form shows the part as it was at its base: what is not in it is taken from there.
            let at_base = desk.store.revision(crate::store::Kind::Book, base)?.map(|(_, text)| text);
            let book = at_base.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or(standing.value.clone());
            let was = value_of(&book, part, &which)?;
            let mut value = Value::Object(take(part.of, &was, "", &fields));
            let place = (part.of == "Job").then(|| besides_job(&mut value, &fields, &standing.value)).flatten();
            let members = standing.value[part.field].as_array().into_iter().flatten();
            let taken: Vec<String> = members.filter_map(|of| of["id"].as_str().map(str::to_owned)).collect();
            name_by(part.of, &mut value, &taken);
            (was, value, place)
        };
        if fields.ticked("fill") {
            let standing = desk.book()?;
            let shown = page(&standing, &who, part, &which, &value, Refused::default(), Some(&fields))?;
            return Ok(FormOutcome::Back(Box::new(FormPage { base, ..shown })));
        }
        let what = match which {
            Target::New => sentence::added(part, &value),
            Target::Alone | Target::Member(_) => sentence::changed(part, &was, &value),
        };
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        let kept = desk.keep(&change, base, |book| {
            let book = with(book, part, &which, &value);
            let book = if fields.ticked("as_pattern") { with_pattern(book, &value) } else { book };
            match &place {
                Some(place) => place.added(book),
                None => book,
            }
        })?;
        let standing = desk.book()?;
        // What was refused is still of its base; what others changed meanwhile is shown, with what was typed over it.
        let (base, shown) = match &kept {
            ChangeOutcome::Conflicts(_) => match value_of(&standing.value, part, &which) {
                Ok(now) if !matches!(&which, Target::Member(key) if key.starts_with('#')) => {
                    (standing.revision.number, over(&was, &now, &value))
                }
                _ => (base, value.clone()),
            },
            _ => (base, value.clone()),
        };
        let told = match kept {
            ChangeOutcome::Done | ChangeOutcome::Nothing if more && !matches!(which, Target::Alone) => {
                // The same form again, with another empty row of each list.
                let id = value["id"].as_str().unwrap_or_default();
                let which = if matches!(which, Target::New) { Target::Member(id.to_owned()) } else { which };
                return Ok(FormOutcome::OnTo(format!("{}#kept", which.address(part))));
            }
            ChangeOutcome::Done | ChangeOutcome::Nothing if planned => {
                return Ok(FormOutcome::OnTo("/plan".to_owned()));
            }
            ChangeOutcome::Done | ChangeOutcome::Nothing => {
                return Ok(FormOutcome::OnTo(format!("{}#kept", part.page)));
            }
            ChangeOutcome::Conflicts(conflicts) => Refused { conflicts, ..Refused::default() },
            ChangeOutcome::Faults(trouble) => told(&trouble, &standing, part, &which),
        };
        Ok(FormOutcome::Back(Box::new(FormPage {
            base,
            ..page(&standing, &who, part, &which, &shown, told, Some(&fields))?
        })))
    });
    match done.await? {
        FormOutcome::OnTo(next) => {
            if planned {
                let desk = Arc::clone(&of);
                of.work(move |_| begin(&desk, PlanningTerms::usual())).await?;
            }
            Ok(on_to(&next))
        }
        FormOutcome::Back(page) if page.wrong == 0 && page.conflicts.is_empty() => html(&*page),
        FormOutcome::Back(page) => {
            let status =
                if page.conflicts.is_empty() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::CONFLICT };
            Ok(written(status, html(&*page)?))
        }
    }
}

fn told(trouble: &Trouble, standing: &Standing, part: BookPart, which: &Target) -> Refused {
    let Trouble::Faults(faulty) = trouble else {
        let says = trouble.told().map_or_else(|_| String::new(), Topic::says);
        let others = vec![sentence_of(&standing.value, &format!("{says}. {}", help(trouble)))];
        return Refused { others, ..Refused::default() };
    };
    let list = At::default().field(part.field);
    let at = match which {
        Target::Alone => list,
        Target::New => list.index(standing.value[part.field].as_array().map_or(0, Vec::len)),
        Target::Member(key) => list.index(position(&standing.value, part, key).unwrap_or_default()),
    };
    let book = faulty.book();
    // Of two with one id the one that is sent is the one to be named otherwise, wherever it stands in its list.
    let sent = At(at.0.clone()).field("id");
    let faults: Vec<Fault> = faulty.faults.iter().map(|(fault, _)| fault.clone()).collect();
    let faults = faults.into_iter().map(|fault| match fault.path.0.as_slice() {
        [list, PathPart::Index(n), _] if fault.code == Code::DuplicateId && Some(list) == at.0.first() => {
            let same = matches!(at.0.last(), Some(PathPart::Index(m)) if book[part.field][*n]["id"] == book[part.field][*m]["id"]);
            if same { Fault { path: sent.clone(), ..fault } } else { fault }
        }
        _ => fault,
    });
    let faults: Vec<Fault> = faults.collect();
    let (faults, others) = faults_at(&[&book, &standing.value], &at, faults.iter());
    Refused { faults, others, conflicts: Vec::new() }
}

/// The book with one value otherwise.
fn with(book: &Value, part: BookPart, which: &Target, value: &Value) -> Value {
    let mut book = book.clone();
    match which {
        Target::Alone if value.as_object().is_some_and(serde_json::Map::is_empty) => {
            if let Some(fields) = book.as_object_mut() {
                fields.shift_remove(part.field);
            }
        }
        Target::Alone => book[part.field] = value.clone(),
        Target::New => match &mut book[part.field] {
            Value::Array(list) => list.push(value.clone()),
            nothing => *nothing = vec![value.clone()].into(),
        },
        Target::Member(key) => {
            if let Some(n) = position(&book, part, key) {
                book[part.field][n] = value.clone();
            }
        }
    }
    book
}

/// A part that stands alone.
pub async fn one(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path(field): Path<String>,
) -> Result<Response, Refusal> {
    get(desk, who, find(&field, false)?, Target::Alone).await
}

/// The same, sent.
pub async fn keep_one(
    State(desk): State<Arc<Desk>>,
    Path(field): Path<String>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    keep(desk, sent.who.0, sent.fields, find(&field, false)?, Target::Alone).await
}

/// A new member of a list.
pub async fn new(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(field): Path<String>,
) -> Result<Response, Refusal> {
    get(desk, who, find(&field, true)?, Target::New).await
}

/// The same, sent.
pub async fn keep_new(
    State(desk): State<Arc<Desk>>,
    Path(field): Path<String>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    keep(desk, sent.who.0, sent.fields, find(&field, true)?, Target::New).await
}

/// A member of a list.
pub async fn member(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path((field, key)): Path<(String, String)>,
) -> Result<Response, Refusal> {
    get(desk, who, find(&field, true)?, Target::Member(key)).await
}

/// The same, sent.
pub async fn keep_member(
    State(desk): State<Arc<Desk>>,
    Path((field, key)): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    keep(desk, sent.who.0, sent.fields, find(&field, true)?, Target::Member(key)).await
}
