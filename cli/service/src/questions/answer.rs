//! A question's answer: what is asked, whose turn it is, and for how long it is searched.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use serde::Deserialize;
use yardless_answer::Seasons;
use yardless_ask::{Answered, Wanted, Which};
use yardless_book::half_day::{HalfDay, parse_date};
use yardless_engine::Limits;
use yardless_view::ReadOn;

use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::desk::turns::{Asker, Gone};
use crate::one_core::on_one_core;
use crate::refusal::Refusal;
use crate::request::who::Who;

/// How long dates to offer may be searched for, in seconds.
pub const OFFER: f64 = 5.0;
/// How long it may be searched what one more is worth, in seconds.
pub const WORTH: f64 = 20.0;
/// Seasons that the plan is run through.
const SEASONS: Seasons = Seasons { count: 10_000, seed: 1 };
/// Rounds of search for each plan that `why` asks for.
const WHY: u64 = 60;

/// What a question asks, as the address has it.
#[derive(Clone, Debug, Default, Deserialize, schemars::JsonSchema)]
#[serde(default)]
pub struct Asks {
    /// The kind of equipment, by its id or name.
    pub kind: String,
    /// How many together, 1 to 1000.
    #[schemars(with = "Option<u32>")]
    pub count: String,
    /// For how many half-days, 1 to 1000.
    #[schemars(with = "Option<u32>")]
    pub half_days: String,
    /// Where, a place by its id or name.
    pub at: String,
    /// The job, by its id or name.
    pub job: String,
    /// Why not by the end of this date.
    #[schemars(with = "Option<chrono::NaiveDate>")]
    pub sooner: String,
    /// How many rows at most, 1 to 20.
    #[schemars(with = "Option<u8>")]
    pub rows: String,
}

/// The answer; questions that search wait for one another, and leave a core to everybody else. One that nobody waits for
/// any more ends.
pub async fn answered(desk: &Arc<Desk>, who: &Who, question: &str, asks: &Asks) -> Result<Answered, Refusal> {
    let (asks, question) = (asks.clone(), question.to_owned());
    let long = match question.as_str() {
        "free" | "why" | "chance" => false,
        "offer" | "worth" => true,
        other => return Err(Refusal::missing(format!("There is no question `{other}`."))),
    };
    in_turn(desk, who, (&question.clone(), long), move |of, cancel| {
        let until = move |limits: Limits| Limits { cancel, ..limits };
        let standing = of.book()?;
        let now = of.now(&standing);
        match question.as_str() {
            "free" => free(&standing, now, &asks),
            "why" => {
                let asked = standing.asked(now)?;
                let sooner = match asks.sooner.trim() {
                    "" => None,
                    text => Some(parse_date(text).map_err(|_| {
                        Refusal::input("usage::sooner", format!("`{text}` is no date."), "Choose one.").at("sooner")
                    })?),
                };
                Ok(yardless_ask::why(
                    &asked,
                    named(&asks.job, "job")?,
                    sooner,
                    &until(Limits::steps(WHY)),
                    ReadOn::Page,
                )?)
            }
            "chance" => Ok(yardless_ask::chance(&standing.asked(now)?, SEASONS)?),
            "offer" => {
                let asked = standing.asked(now)?;
                let rows = number(&asks.rows, ROWS_ASKED, 5, 20)? as usize;
                Ok(yardless_ask::offer(
                    &asked,
                    Which::OfBook(named(&asks.job, "job")?),
                    rows,
                    &until(Limits::seconds(OFFER)),
                )?)
            }
            _ => {
                let asked = standing.asked(now)?;
                let rows = number(&asks.rows, ROWS_ASKED, 8, 20)? as usize;
                Ok(yardless_ask::worth(&asked, rows, &until(Limits::seconds(WORTH)))?)
            }
        }
    })
    .await
}

/// Works something out when it is somebody's turn, with what is set once nobody waits for it any more. `long`: whether it
/// takes the core for seconds.
pub async fn in_turn<T: Send + 'static>(
    desk: &Arc<Desk>,
    who: &Who,
    (question, long): (&str, bool),
    does: impl FnOnce(&Desk, Arc<AtomicBool>) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let of = Arc::clone(desk);
    let turn = desk.turns.turn(Asker { account: who.account.id, owner: who.owns() }, long).await?;
    tracing::info!(question, "a question has its turn");
    let gone = Gone::default();
    let cancel = Arc::clone(&gone.0);
    on_one_core(move || {
        let _turn = turn;
        does(&of, cancel)
    })
    .await?
}

fn free(standing: &Standing, now: HalfDay, asks: &Asks) -> Result<Answered, Refusal> {
    let wanted = Wanted {
        kind: named(&asks.kind, "kind")?.to_owned(),
        count: number(&asks.count, ("count", "How many together"), 1, 1_000)?,
        half_days: number(&asks.half_days, ("half_days", "For how many half-days"), 1, 1_000)?,
        at: Some(asks.at.trim()).filter(|at| !at.is_empty()).map(str::to_owned),
        now: None,
    };
    Ok(yardless_ask::free_now(&standing.asked(now)?, &wanted)?)
}

fn named<'t>(text: &'t str, what: &str) -> Result<&'t str, Refusal> {
    let says = || Refusal::input("usage::missing", format!("No {what} is named."), format!("Name one with `{what}`."));
    Some(text.trim()).filter(|text| !text.is_empty()).ok_or_else(says)
}

/// The field of how many rows are asked for, and what it is called.
const ROWS_ASKED: (&str, &str) = ("rows", "Rows at most");

fn number(text: &str, (field, name): (&'static str, &str), or: u32, most: u32) -> Result<u32, Refusal> {
    match text.trim() {
        "" => Ok(or),
        text => text.parse().ok().filter(|n| (1..=most).contains(n)).ok_or_else(|| {
            Refusal::input(
                "usage::number",
                format!("{name}: `{text}` is no such number."),
                format!("Give 1 to {most}."),
            )
            .at(field)
        }),
    }
}
