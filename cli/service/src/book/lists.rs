//! What the book holds, in lists: jobs, people and trucks, equipment, places and roads, prices.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Query, State};
use axum::response::Response;
use yardless_edit::spoken::{label, value as says_value};

use crate::book::form::{BookPart, PARTS, plain};
use crate::book::job_list::{JobList, Wanted};
use crate::book::key;
use crate::book::lacks::{Missing, of_page};
use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::who::{Reads, Who};
use crate::shown::frame::{Frame, escaped, html};
use crate::store::token;

#[derive(Template)]
#[template(path = "lists.html")]
struct ListsPage {
    frame: Frame,
    /// The jobs, on their page.
    jobs: Option<JobList>,
    parts: Vec<Listed>,
    /// What is still to be entered.
    lacks: Vec<Missing>,
    form: String,
    base: i64,
}

/// A part of the book, listed.
struct Listed {
    title: String,
    one: &'static str,
    /// Where a new one is added; none: a part that stands alone.
    add: Option<String>,
    /// Where a part that stands alone is changed.
    change: Option<String>,
    heads: Vec<String>,
    rows: Vec<Member>,
    /// What a part that stands alone says: label and value.
    says: Vec<(String, String)>,
    /// Not everybody has any: while there are none only a button says so.
    seldom: bool,
}

struct Member {
    address: String,
    cells: Vec<String>,
}

async fn listed(
    desk: Arc<Desk>,
    who: Who,
    title: &'static str,
    address: &'static str,
    jobs: Option<Wanted>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let parts = PARTS.into_iter().filter(|part| part.page == address && part.field != "jobs");
        let parts = parts.map(|part| of(&standing, part)).collect();
        let frame = Frame::new(title, address, &who, Some(&standing));
        let lacks = of_page(&standing.book.written.book, address);
        Ok(ListsPage {
            frame,
            jobs: jobs.map(|wanted| JobList::new(&standing, &wanted)),
            parts,
            lacks,
            form: token()?,
            base: standing.revision.number,
        })
    });
    html(&page.await?)
}

fn of(standing: &Standing, part: BookPart) -> Listed {
    let book = &standing.value;
    let value = &book[part.field];
    let many = match part.field {
        // Which skills there are stands with the crews.
        "skills" => "Cautions of skills".to_owned(),
        field => label("", field),
    };
    if !part.list {
        let says = value.as_object().into_iter().flatten();
        let says = says.map(|(name, value)| (label(part.of, name), says_value(book, part.of, name, value))).collect();
        let change = Some(format!("/book/{}", part.field));
        return Listed {
            title: many,
            one: part.one,
            add: None,
            change,
            heads: Vec::new(),
            rows: Vec::new(),
            says,
            seldom: false,
        };
    }
    let rows = value.as_array().into_iter().flatten().enumerate().map(|(n, member)| {
        let cells = part.columns.iter().map(|column| match (*column, member.get(*column)) {
            ("name", None) => plain(&member["id"]),
            (_, None) => String::new(),
            (name, Some(value)) => says_value(book, part.of, name, value),
        });
        Member { address: format!("/book/{}/of/{}", part.field, escaped(&key(member, n))), cells: cells.collect() }
    });
    Listed {
        title: many,
        one: part.one,
        add: Some(format!("/book/{}/new", part.field)),
        change: None,
        heads: part.columns.iter().map(|column| label(part.of, column)).collect(),
        rows: rows.collect(),
        says: Vec::new(),
        seldom: part.field == "things",
    }
}

/// Whether a cell is too short to be broken: a date, a number.
fn tight(cell: &str) -> bool {
    cell.chars().count() <= 10
}

/// The jobs.
pub async fn jobs(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Refusal> {
    listed(desk, who, "Jobs", "/jobs", Some(wanted)).await
}
/// Crews and trucks.
pub async fn people(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    listed(desk, who, "People and trucks", "/people", None).await
}
/// Units and their kinds.
pub async fn equipment(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    listed(desk, who, "Equipment", "/equipment", None).await
}
/// Places, roads and drives.
pub async fn places(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    listed(desk, who, "Places and roads", "/places", None).await
}
/// Prices, hours, hauling.
pub async fn prices(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    listed(desk, who, "Prices", "/prices", None).await
}
