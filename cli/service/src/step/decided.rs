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
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        let text = plan_file::json(&found.plan);
        let of_plan = format!("{what}: a plan of ${}", found.plan.cost);
        let number = desk.keep_with_plan(&change, &found.edits, (&of_plan, &text), found.from)?;
        let _ = found.given.set(number);
        Ok(number)
    });
    Ok(on_to(&given_out::address(given.await?)))
}
