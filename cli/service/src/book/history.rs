//! What became of a job: the changes of the book that touched it, and the plans that moved its dates, the newest first.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use chrono_tz::Tz;
use serde_json::Value;
use yardless_book::half_day::HalfDay;
use yardless_view::span;

use crate::book::merge::same;
use crate::changes::BeforeRevision;
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::who::Owns;
use crate::shown::frame::{Frame, escaped, html, zone};
use crate::store::{Kind, Revision};

/// Revisions that are looked through for a page, and bytes of them.
const MOST: usize = 200;
const MOST_BYTES: usize = 48_000_000;

#[derive(Template)]
#[template(path = "history.html")]
struct HistoryPage {
    frame: Frame,
    zone: Tz,
    rows: Vec<Row>,
    /// The job's page, while it is in the book.
    job: Option<String>,
    /// Where this page is, and the revision before which older ones begin.
    address: String,
    older: Option<i64>,
}

/// Something that became of it.
struct Row {
    revision: Revision,
    /// Where it is told whole, and what that is called.
    address: String,
    called: String,
    says: String,
}

/// What was looked through of a kind: revisions, the newest first, each with what it says of a job.
struct Looked<T> {
    all: Vec<(Revision, T)>,
    /// Whether older ones are left.
    more: bool,
}

/// Looks revisions through, from the one before a number on.
fn looked<T>(desk: &Desk, kind: Kind, before: Option<i64>, of: impl Fn(&str) -> T) -> Result<Looked<T>, Refusal> {
    let latest = desk.store.number(kind)?;
    let first = before.map_or(latest, |before| before.saturating_sub(1).min(latest));
    let (mut all, mut bytes, mut number) = (Vec::new(), 0, first);
    while number > 0 && all.len() <= MOST && bytes < MOST_BYTES {
        if let Some((revision, text)) = desk.store.revision(kind, number)? {
            bytes += text.len();
            all.push((revision, of(&text)));
        }
        number -= 1;
    }
    Ok(Looked { all, more: number > 0 })
}

/// The job in a text of the book; none: it is not in it.
fn job_of(text: &str, id: &str) -> Option<Value> {
    let mut book: Value = serde_json::from_str(text).ok()?;
    book["jobs"].as_array_mut()?.iter_mut().find(|job| job["id"] == id).map(Value::take)
}

/// When a plan has a job; none: it does not do it.
fn dates_of(text: &str, id: &str) -> Option<(HalfDay, HalfDay)> {
    let plan: Value = serde_json::from_str(text).ok()?;
    let rows = || plan["steps"].as_array().into_iter().flatten().filter(|row| row["job"] == id);
    let half_day = |row: &Value, field: &str| row[field].as_str().and_then(|text| text.parse::<HalfDay>().ok());
    let start = rows().filter_map(|row| half_day(row, "start")).min()?;
    let end = rows().filter_map(|row| half_day(row, "end")).max()?;
    Some((start, end))
}

/// The rows of what differs from the revision before; the last one that was looked through is only what the one after it is
/// laid beside, unless it is the first of all.
fn differing<T>(
    looked: &Looked<Option<T>>,
    says: impl Fn(&Revision, Option<&T>, Option<&T>) -> Option<Row>,
) -> Vec<Row> {
    let row = |n: usize, (revision, is): &(Revision, Option<T>)| match looked.all.get(n + 1) {
        Some((_, was)) => says(revision, was.as_ref(), is.as_ref()),
        None if looked.more => None,
        None => says(revision, None, is.as_ref()),
    };
    looked.all.iter().enumerate().filter_map(|(n, of)| row(n, of)).collect()
}

fn changed(revision: &Revision, was: Option<&Value>, is: Option<&Value>) -> Option<Row> {
    let says = match (was, is) {
        (None, None) => return None,
        (Some(was), Some(is)) if same(was, is) => return None,
        (Some(_), None) => format!("{}; with it the job went", revision.what),
        _ => revision.what.clone(),
    };
    let address = format!("/changes/{}", revision.number);
    Some(Row { revision: revision.clone(), address, called: format!("Change {}", revision.number), says })
}

fn replanned(revision: &Revision, was: Option<&(HalfDay, HalfDay)>, is: Option<&(HalfDay, HalfDay)>) -> Option<Row> {
    let says = match (was, is) {
        (was, is) if was == is => return None,
        (None, Some((start, end))) => format!("Planned {}", span(*start, *end)),
        (Some((start, end)), None) => format!("Not planned any more; it was {}", span(*start, *end)),
        (Some((from, to)), Some((start, end))) => {
            format!("Planned {} instead of {}", span(*start, *end), span(*from, *to))
        }
        (None, None) => return None,
    };
    let address = crate::given_out::address(revision.number);
    Some(Row { revision: revision.clone(), address, called: format!("Plan {}", revision.number), says })
}

/// The page.
pub async fn page(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path((part, id)): Path<(String, String)>,
    Query(BeforeRevision { before }): Query<BeforeRevision>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        if part != "jobs" {
            return Err(Refusal::missing(format!("`{part}` has no history of its own.")));
        }
        let standing = desk.book()?;
        let book = looked(desk, Kind::Book, before, |text| job_of(text, &id))?;
        if before.is_none() && book.all.iter().all(|(_, job)| job.is_none()) {
            return Err(Refusal::missing(format!("The book has no job `{id}`.")));
        }
        let name = book.all.iter().find_map(|(_, job)| job.as_ref()).and_then(|job| job["name"].as_str());
        let title = format!("History of {}", name.unwrap_or(&id));
        let older = book.all.last().map(|(of, _)| of.number).filter(|_| book.more);
        // Plans are told beside the changes of the same time.
        let from = book.all.last().filter(|_| book.more).map(|(of, _)| of.at);
        let until = before.and_then(|_| book.all.first()).map(|(of, _)| of.at);
        let plans = looked(desk, Kind::Plan, None, |text| dates_of(text, &id))?;
        let mut rows = differing(&plans, replanned);
        rows.retain(|row| {
            from.is_none_or(|from| row.revision.at >= from) && until.is_none_or(|until| row.revision.at <= until)
        });
        rows.extend(differing(&book, changed));
        rows.sort_by_key(|row| std::cmp::Reverse(row.revision.at));
        let address = format!("/book/jobs/of/{}", escaped(&id));
        let known = standing.book.written.book.jobs.iter().any(|job| job.id == id);
        Ok(HistoryPage {
            frame: Frame::new(title, "/jobs", &who, Some(&standing)),
            zone: zone(Some(&standing)),
            rows,
            job: known.then(|| address.clone()),
            address: format!("{address}/history"),
            older,
        })
    });
    html(&page.await?)
}
