//! The book, its revisions, and what is noted in it.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use yardless_edit::note::{Said, said};
use yardless_edit::storm::{self, Storm};

use super::keyed::{Body, Keyed};
use crate::book::keep::{Change, ChangeOutcome, LONGEST_WHAT};
use crate::book::weather::range_of;
use crate::changes::{BeforeRevision, take_back};
use crate::crews::{noted, together};
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::who::{Owns, Reads, Signed};
use crate::store::{Kind, Revision};

/// Who is signed in.
#[derive(Serialize, JsonSchema)]
pub struct Me {
    /// The name.
    name: String,
    /// `owner`, `crew` or `reader`.
    role: &'static str,
    /// The crew's id, of a crew.
    crew: Option<String>,
    /// What changes anything carries in the head `x-key`.
    key: String,
}

/// Who.
pub async fn me(Signed(who): Signed) -> Json<Me> {
    let crew = who.crew().map(str::to_owned);
    Json(Me { role: who.account.role.name(), name: who.account.name, crew, key: who.key })
}

/// A revision of the book.
#[derive(Serialize, JsonSchema)]
pub struct BookAt {
    /// Its number.
    revision: i64,
    /// When it was kept.
    at: String,
    /// Who kept it.
    who: String,
    /// What changed.
    what: String,
    /// The book, as `yardless schema` describes it.
    book: Value,
}

fn book_at(revision: Revision, book: Value) -> Json<BookAt> {
    let Revision { number, at, who, what } = revision;
    Json(BookAt { revision: number, at: at.to_rfc3339(), who, what, book })
}

/// The book.
pub async fn read(State(desk): State<Arc<Desk>>, Reads(_): Reads) -> Result<Json<BookAt>, Refusal> {
    let standing = desk.work(Desk::book).await?;
    Ok(book_at(standing.revision.clone(), standing.value.clone()))
}

/// A book to be kept.
#[derive(Deserialize, JsonSchema)]
pub struct NewBook {
    /// The revision that it was made from.
    base: i64,
    /// All of the book.
    book: Value,
    /// What changed, in a sentence of at most 300 characters.
    #[serde(default)]
    what: String,
}

/// The revision that came of a change.
#[derive(Serialize, JsonSchema)]
pub struct IsKept {
    /// The latest revision now.
    revision: i64,
}

fn is_kept(desk: &Desk, kept: ChangeOutcome) -> Result<Json<IsKept>, Refusal> {
    kept.or_refuse()?;
    Ok(Json(IsKept { revision: desk.store.number(Kind::Book)? }))
}

/// Keeps a book.
pub async fn keep(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Body(new): Body<NewBook>,
) -> Result<Json<IsKept>, Refusal> {
    if !new.book.is_object() {
        return Err(Refusal::input("web::json", "The book is no object.", "`yardless schema` says what a book is."));
    }
    if new.what.chars().count() > LONGEST_WHAT {
        let says = format!("What changed is said in at most {LONGEST_WHAT} characters.");
        return Err(Refusal::input("web::long", says, "Say it in fewer."));
    }
    desk.change(move |desk| {
        let what = if new.what.trim().is_empty() { "Changed by a program" } else { new.what.trim() };
        let change = Change { who: &who.account.name, what, form: None };
        is_kept(desk, desk.keep(&change, new.base, |_| new.book.clone())?)
    })
    .await
}

/// A revision, without the book.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Row")]
pub struct RevisionRow {
    /// Its number.
    revision: i64,
    /// When it was kept.
    at: String,
    /// Who kept it.
    who: String,
    /// What changed.
    what: String,
}

/// Up to a hundred revisions.
pub async fn revisions(
    State(desk): State<Arc<Desk>>,
    Owns(_): Owns,
    Query(BeforeRevision { before }): Query<BeforeRevision>,
) -> Result<Json<Vec<RevisionRow>>, Refusal> {
    let all = desk.work(move |desk| Ok(desk.store.revisions(Kind::Book, before, 100)?)).await?;
    let row = |of: Revision| RevisionRow { revision: of.number, at: of.at.to_rfc3339(), who: of.who, what: of.what };
    Ok(Json(all.into_iter().map(row).collect()))
}

/// A revision's number.
#[derive(Deserialize, JsonSchema)]
pub struct Numbered {
    /// The number.
    number: i64,
}

/// The book as it was.
pub async fn revision(
    State(desk): State<Arc<Desk>>,
    Owns(_): Owns,
    Path(Numbered { number }): Path<Numbered>,
) -> Result<Json<BookAt>, Refusal> {
    let found = desk.work(move |desk| Ok(desk.store.revision(Kind::Book, number)?)).await?;
    let (revision, text) = found.ok_or_else(|| Refusal::missing(format!("The book has no revision {number}.")))?;
    Ok(book_at(revision, serde_json::from_str(&text).unwrap_or_default()))
}

/// Takes a change back.
pub async fn undo(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Path(Numbered { number }): Path<Numbered>,
) -> Result<Json<IsKept>, Refusal> {
    desk.change(move |desk| is_kept(desk, take_back(desk, &who.account.name, number, None)?)).await
}

/// Most characters of a note in words.
const LONGEST_NOTE: usize = 400;

/// What happened.
#[derive(Deserialize, JsonSchema)]
pub struct NewNote {
    /// The words, as `["birch-attic/seal", "done"]`.
    words: Vec<String>,
    /// The crews that help with a step that is done or in progress; none of them: nobody does. Not given: as in the book,
    /// else as planned.
    #[serde(default)]
    with: Option<Vec<String>>,
}

/// Notes it.
pub async fn note(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Body(note): Body<NewNote>,
) -> Result<Json<IsKept>, Refusal> {
    desk.change(move |desk| {
        let all = note.words.iter().chain(note.with.iter().flatten());
        let length = all.map(|word| word.chars().count()).sum::<usize>();
        if length > LONGEST_NOTE {
            let says = format!("A note has at most {LONGEST_NOTE} characters.");
            return Err(Refusal::input("web::long", says, "Say it in fewer words."));
        }
        let [_, _, ..] = &*note.words else {
            return Err(Refusal::input("web::note", "Nothing is said.", "Say of what, and what."));
        };
        let (of, said) = said(&note.words)?;
        if note.with.is_some() && !matches!(said, Said::Done | Said::Left(_)) {
            let says = "Nobody helps with that: `with` goes with a step that is done or has something left.";
            return Err(Refusal::input("web::note", says, "Leave `with` out."));
        }
        let what = format!("Noted {}{}", note.words.join(" "), together(note.with.as_deref()));
        noted(desk, &who, (of.to_owned(), said, note.with), &what, None)?;
        is_kept(desk, ChangeOutcome::Nothing)
    })
    .await
}

/// A storm.
#[derive(Deserialize, JsonSchema)]
pub struct NewStorm {
    /// When, as `2026-12-09 pm/2026-12-11`.
    on: String,
    /// Where, by the ids of places; none: everywhere.
    #[serde(default)]
    at: Vec<String>,
    /// Nobody travels.
    #[serde(default)]
    no_travel: bool,
    /// The roads are covered.
    #[serde(default)]
    covered: bool,
    /// Gusts in miles per hour, 0 to 300.
    #[serde(default)]
    gust_mph: Option<f64>,
    /// It is taken back.
    #[serde(default)]
    clear: bool,
}

/// Marks it, or takes it back.
pub async fn storm(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Body(new): Body<NewStorm>,
) -> Result<Json<IsKept>, Refusal> {
    desk.change(move |desk| {
        let what = format!("{} {}", if new.clear { "Took the storm back of" } else { "Marked a storm," }, new.on);
        let storm = Storm {
            on: range_of(&new.on)?,
            at: new.at,
            no_travel: new.no_travel,
            covered: new.covered,
            gust: new.gust_mph,
            clear: new.clear,
            now: desk.settings.now,
        };
        let change = Change { who: &who.account.name, what: &what, form: None };
        is_kept(desk, desk.keep_edits(&change, |of| Ok(storm::changes(&of.book, &storm)?.edits))?)
    })
    .await
}
