//! What was changed, by whom and when; any change can be taken back, and any plan given out again.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use chrono_tz::Tz;
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;
use yardless_book::{Path as At, PathPart};
use yardless_edit::{Edit, spoken};

use crate::book::keep::{Change, ChangeOutcome};
use crate::book::merge::edits;
use crate::desk::Desk;
use crate::given_out::address;
use crate::refusal::{Problem, Refusal};
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::{Frame, html, on_to, zone};
use crate::store::{Added, Kind, Revision, token};

/// Rows of a page.
const MOST: usize = 50;

#[derive(Template)]
#[template(path = "changes.html")]
struct ChangesPage {
    frame: Frame,
    zone: Tz,
    book: Vec<Revision>,
    plan: Vec<Revision>,
    /// Where older ones are.
    older: Option<i64>,
    form: String,
    /// Why the book, or the plan given out, does not read as it was kept last.
    unread: Option<Box<Problem>>,
}

/// Which to begin before.
#[derive(Deserialize, JsonSchema)]
#[schemars(rename = "Before")]
pub struct BeforeRevision {
    /// A revision's number; none: the latest.
    pub before: Option<i64>,
}

/// The list, the last one first.
pub async fn list(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Query(BeforeRevision { before }): Query<BeforeRevision>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let (standing, unread) = match desk.standing() {
            Ok(standing) => (standing, None),
            Err(refusal) if refusal.to_changes => (None, Some(refusal)),
            Err(other) => return Err(other),
        };
        let unread = unread.as_ref().or(standing.as_ref().and_then(|of| of.unread()));
        let unread = unread.map(|of| of.problem.clone());
        let book = desk.store.revisions(Kind::Book, before, MOST)?;
        let plan = if before.is_none() { desk.store.revisions(Kind::Plan, None, MOST)? } else { Vec::new() };
        let older = book.last().map(|last| last.number).filter(|number| *number > 1 && book.len() == MOST);
        let frame = Frame::new("Changes", "/changes", &who, standing.as_deref());
        Ok(ChangesPage { frame, zone: zone(standing.as_deref()), book, plan, older, form: token()?, unread })
    });
    html(&page.await?)
}

#[derive(Template)]
#[template(path = "change.html")]
struct ChangePage {
    frame: Frame,
    zone: Tz,
    revision: Revision,
    /// Where, before, after.
    rows: Vec<[String; 3]>,
    /// Whether there is anything to take back.
    first: bool,
    form: String,
}

fn value(desk: &Desk, number: i64) -> Result<(Revision, Value), Refusal> {
    let found = desk.store.revision(Kind::Book, number)?;
    let (revision, text) = found.ok_or_else(|| Refusal::missing(format!("The book has no revision {number}.")))?;
    Ok((revision, serde_json::from_str(&text).unwrap_or_default()))
}

/// What one change did.
pub async fn one(State(desk): State<Arc<Desk>>, Owns(who): Owns, Path(number): Path<i64>) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let (revision, after) = value(desk, number)?;
        let first = number == 1;
        let before = if first { Value::Null } else { value(desk, number - 1)?.1 };
        let rows = if first { Vec::new() } else { rows(&before, &after) };
        let standing = desk.standing_if_any();
        let frame = Frame::new(format!("Change {number}"), "/changes", &who, standing.as_deref());
        Ok(ChangePage { frame, zone: zone(standing.as_deref()), revision, rows, first, form: token()? })
    });
    html(&page.await?)
}

/// A change value by value: where, before, after.
fn rows(before: &Value, after: &Value) -> Vec<[String; 3]> {
    let text = |path: &At, value: Option<&Value>| {
        let (of, field) = spoken::at_object(path);
        let says = |value: &Value| spoken::value(after, &of, field.as_deref().unwrap_or_default(), value);
        value.map_or_else(|| "(nothing)".to_owned(), says)
    };
    let mut now = before.clone();
    edits(&At::default(), before, after)
        .into_iter()
        .map(|edit| match edit {
            Edit::Set(path, value) => {
                let place = spoken::place(&now, &path);
                let was = at(&mut now, &path).map(std::mem::take);
                let row = [place, text(&path, was.as_ref().filter(|was| !was.is_null())), text(&path, Some(&value))];
                if let Some(place) = at(&mut now, &path) {
                    *place = value;
                }
                row
            }
            Edit::Append(path, value) => {
                [spoken::place(&now, &path), "(nothing)".to_owned(), text(&path, Some(&value))]
            }
            Edit::Remove(path) => {
                let place = spoken::place(&now, &path);
                let row = [place, text(&path, at(&mut now, &path).map(|was| &*was)), "(nothing)".to_owned()];
                if let Some((PathPart::Index(n), above)) = path.0.split_last()
                    && let Some(Value::Array(list)) = at(&mut now, &At(above.to_vec()))
                {
                    list.remove(*n);
                }
                row
            }
        })
        .collect()
}

fn at<'v>(value: &'v mut Value, path: &At) -> Option<&'v mut Value> {
    path.0.iter().try_fold(value, |value, part| match part {
        PathPart::Field(name) => value.get_mut(name),
        PathPart::Index(n) => value.get_mut(*n),
    })
}

/// Takes a change back: what it changed is again as it was before, and what came after stays.
pub async fn undo(
    State(desk): State<Arc<Desk>>,
    Path(number): Path<i64>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| take_back(desk, &who.account.name, number, fields.form())?.or_refuse());
    done.await?;
    Ok(on_to("/changes#kept"))
}

/// The same for whoever asks.
pub fn take_back(desk: &Desk, who: &str, number: i64, form: Option<&str>) -> Result<ChangeOutcome, Refusal> {
    let (revision, _) = value(desk, number)?;
    if number == 1 {
        return Err(Refusal::input("web::first", "The book began with this.", "Change what is wrong in it."));
    }
    let what = format!("Took back change {number}: {}", revision.what);
    let change = Change { who, what: &what, form };
    if desk.standing().is_err_and(|why| why.to_changes) {
        return desk.mend(&change, number);
    }
    let (_, before) = value(desk, number - 1)?;
    match desk.keep(&change, number, |_| before.clone())? {
        ChangeOutcome::Nothing => Err(Refusal::stale("Nothing of that change is left to take back.")),
        ChangeOutcome::Done => plan_back(desk, who, number).map(|()| ChangeOutcome::Done),
        kept => Ok(kept),
    }
}

/// Where a plan came with a change of the book, and is still in force, the one before it is given out again.
fn plan_back(desk: &Desk, who: &str, number: i64) -> Result<(), Refusal> {
    let Some(plan) = desk.store.with_plan(number)?.filter(|plan| *plan > 1) else { return Ok(()) };
    if desk.store.number(Kind::Plan)? != plan {
        return Ok(());
    }
    let Some((before, text)) = desk.store.revision(Kind::Plan, plan - 1)? else { return Ok(()) };
    let what = format!("Gave plan {} out again: took back change {number}", before.number);
    desk.store.add(Kind::Plan, Some(plan), who, &what, &text, None)?;
    Ok(())
}

/// Gives an earlier plan out again.
pub async fn give_out(
    State(desk): State<Arc<Desk>>,
    Path(number): Path<i64>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| {
        let found = desk.store.revision(Kind::Plan, number)?;
        let (_, text) = found.ok_or_else(|| Refusal::missing(format!("There is no plan {number}.")))?;
        let what = format!("Gave plan {number} out again");
        let latest = desk.store.number(Kind::Plan)?;
        match desk.store.add(Kind::Plan, Some(latest), &who.account.name, &what, &text, fields.form())? {
            Added::Kept(_) | Added::Twice => Ok(desk.store.number(Kind::Plan)?),
            Added::Stale => Err(Refusal::stale("Another plan was given out meanwhile.")),
        }
    });
    Ok(on_to(&address(done.await?)))
}
