//! A date is taken: the job is made in the book with it, and is planned.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_view::{day, half};

use crate::book::keep::{Change, ChangeOutcome};
use crate::desk::Desk;
use crate::plan::making::{PlanningTerms, begin};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::Owns;
use crate::shown::frame::on_to;
use crate::wish::made::{DateTaken, made};

fn half_day(sent: &Fields, field: &str) -> Result<HalfDay, Refusal> {
    sent.get(field).parse().map_err(|_| {
        let says = format!("`{field}` is `{}`, which is no half-day.", sent.get(field));
        Refusal::input("web::date", says, "Take one of the dates that are offered.")
    })
}

/// Makes the job of a wish with the date that was taken, once, and begins to plan.
pub async fn take(
    State(desk): State<Arc<Desk>>,
    Path(name): Path<String>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields: sent } = sent;
    let wish = desk.wishes.get(who.account.id, &name);
    let wish = wish.ok_or_else(|| Refusal::stale("That wish is not kept any more: ask for its dates again."))?;
    let taken = DateTaken {
        first: sent.get("step").to_owned(),
        start: half_day(&sent, "start")?,
        last: sent.get("last").to_owned(),
        last_start: half_day(&sent, "last_start")?,
        last_crew: sent.get("last_crew").to_owned(),
        last_way: sent.get("last_way").to_owned(),
        end: half_day(&sent, "end")?,
        extra: Cents(sent.number("extra")?.max(0)),
    };
    let made = desk.change(move |desk| {
        let form = sent.form().map(str::to_owned);
        if wish.taken.get().is_some_and(|taken| *taken != form) {
            return Err(Refusal::stale("A date was taken for this wish already: its job is in the book."));
        }
        let standing = desk.book()?;
        let wished = made(&Fields::of(wish.fields.clone()), &standing.value);
        let wished = wished.at(&taken, standing.book.written.book.prices.late_day);
        let no_step = || Refusal::input("web::date", "The job has no such step.", "Ask for its dates again.");
        let wished = wished.ok_or_else(no_step)?;
        let does = if wished.booked().is_some() { "Took a date for" } else { "Added the job" };
        let ends = day(taken.end);
        let what = format!("{does} {}, to begin {} and to end by {ends}", wished.name(), half(taken.start));
        let change = Change { who: &who.account.name, what: &what, form: sent.form() };
        let kept = desk.keep(&change, standing.revision.number, |book| wished.in_book(book))?;
        if matches!(kept, ChangeOutcome::Done) {
            let _ = wish.taken.set(form);
            return Ok(true);
        }
        kept.or_refuse().map(|()| false)
    });
    if made.await? {
        let of = Arc::clone(&desk);
        desk.work(move |_| begin(&of, PlanningTerms::usual())).await.map_err(|refusal| match refusal.status {
            StatusCode::CONFLICT => Refusal::stale(format!(
                "The job is in the book with its date, but it is not planned yet: {}",
                refusal.problem.detail
            )),
            _ => refusal,
        })?;
    }
    Ok(on_to("/plan"))
}
