//! A step is moved: it is kept fixed where it was looked at, and the plan that has it there is given out.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use yardless_edit::plan_file;
use yardless_view::half;

use crate::book::keep::Change;
use crate::desk::Desk;
use crate::given_out;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::on_to;
use crate::step::planned::{Planned, crew_name};
use crate::store::{Added, Kind};

/// Fixes the step where it was looked at, and gives the plan out that was found.
pub async fn do_it(
    State(desk): State<Arc<Desk>>,
    Path(of): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let found = desk.moved.get(who.account.id, fields.get("found")).filter(|found| found.of == of);
    let found = found.ok_or_else(|| Refusal::stale("That plan is not kept any more: look for it again."))?;
    let given = desk.change(move |desk| {
        if let Some(number) = found.given.get() {
            return Ok(*number);
        }
        let standing = desk.book()?;
        if standing.numbers() != found.from {
            return Err(Refusal::stale("The book or the plan given out has changed since: look for it again."));
        }
        let name = Planned::find(&standing, &of.0, &of.1)?.name();
        let book = &standing.book.written.book;
        let by = found.crew.as_deref().map_or(String::new(), |crew| format!(" by {}", crew_name(book, crew)));
        let what = format!("Moved {name} to {}{by}", half(found.to));
        let change = Change { who: &who.account.name, what: &what, form: None };
        desk.keep_edits(&change, |_| Ok(found.edits.clone()))?.or_refuse()?;
        let text = plan_file::json(&found.plan);
        let what = format!("{what}: a plan of ${}", found.plan.cost);
        match desk.store.add(Kind::Plan, Some(found.from.1), &who.account.name, &what, &text, fields.form())? {
            Added::Kept(revision) => {
                let _ = found.given.set(revision.number);
                Ok(revision.number)
            }
            Added::Twice => Ok(desk.store.number(Kind::Plan)?),
            Added::Stale => Err(Refusal::stale("Another plan was given out meanwhile.")),
        }
    });
    Ok(on_to(&given_out::address(given.await?)))
}
