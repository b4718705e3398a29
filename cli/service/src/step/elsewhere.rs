//! Moving a step: where to, and what that takes.

use std::sync::Arc;

use askama::Template;
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_view::{ReadOn, assumed_on_page, changed, half};

use crate::desk::Desk;
use crate::desk::asking::Key;
use crate::desk::moved::{MoveOutcome, Moved};
use crate::desk::standing::Standing;
use crate::gate::room::Place;
use crate::questions::answer::in_turn;
use crate::questions::ask::{AskOutcome, come_to, how_it_stands};
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::{Owns, Who};
use crate::sheets::told;
use crate::shown::frame::{Frame, escaped, html, on_to};
use crate::shown::refused::{self, RefusedHere};
use crate::step::moving::{MOVE, Target, moved};
use crate::step::page::Opened;
use crate::step::planned::Planned;
use crate::store::token;

/// Where to, as the address has it.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Whither {
    /// The half-day: `2026-12-09 am`.
    to: String,
    /// The crew's id; empty: whichever costs least.
    crew: String,
    /// Whether the search was stopped.
    stopped: Option<String>,
}

/// A choice: what is sent, how it is said, whether it is chosen.
type Choice = (String, String, bool);
/// The half-days of a week, under what it is called.
type Week = (String, Vec<Choice>);

#[derive(Template)]
#[template(path = "move.html")]
struct MovePage {
    frame: Frame,
    of: Opened,
    /// The half-days of each week: what is sent, how it is said, whether it is chosen.
    weeks: Vec<Week>,
    /// The crews that can do it.
    crews: Vec<Choice>,
    to: Whither,
    /// Seconds since the plan is looked for, of how many.
    waiting: Option<(u64, u64)>,
    /// Why it cannot be there.
    cannot: Vec<String>,
    /// What could not be asked, and what to do.
    refused: Option<RefusedHere>,
    found: Option<MoveShown>,
    form: String,
}

/// A plan that was found.
struct MoveShown {
    /// The name under which it is laid aside.
    name: String,
    /// What it costs.
    costs: String,
    changes: String,
    assumed: Option<String>,
}

impl MovePage {
    fn new(desk: &Desk, who: &Who, (job, step): (&str, &str), to: Whither) -> Result<Self, Refusal> {
        let standing = desk.book()?;
        let planned = Planned::find(&standing, job, step)?;
        let of = Opened::of(&standing, &planned);
        let crews = standing.book.written.book.crews.iter().filter(|crew| crew.skills.contains(&planned.step.skill));
        let crews = crews
            .map(|crew| (crew.id.clone(), crew.name.clone().unwrap_or_else(|| crew.id.clone()), crew.id == to.crew));
        Ok(Self {
            frame: Frame::new(format!("Move {}", of.name), "/", who, Some(&standing)),
            weeks: weeks(desk, &standing, &to.to)?,
            crews: crews.collect(),
            of,
            to,
            waiting: None,
            cannot: Vec::new(),
            refused: None,
            found: None,
            form: token()?,
        })
    }

    /// Where it is asked to be, as part of an address.
    fn query(&self) -> String {
        query(&self.to)
    }

    /// Where it is asked to be, in words.
    fn says(&self) -> String {
        let by = self
            .crews
            .iter()
            .find(|(_, _, chosen)| *chosen)
            .map_or(String::new(), |(_, name, _)| format!(" by {name}"));
        self.to.to.parse::<HalfDay>().map_or_else(|_| self.to.to.clone(), half) + &by
    }
}

fn query(to: &Whither) -> String {
    format!("to={}&crew={}", escaped(&to.to), escaped(&to.crew))
}

/// The half-days from now on that the shop works, by the plan's weeks.
fn weeks(desk: &Desk, standing: &Standing, chosen: &str) -> Result<Vec<Week>, Refusal> {
    let Some(drawn) = standing.drawn()? else { return Ok(Vec::new()) };
    let (shop, now) = (&drawn.shop, desk.now(standing));
    let week = |week: usize| {
        let half_days = (week * 14..week * 14 + 14).filter(|h| shop.works[*h]).map(|h| shop.horizon.half_day(h));
        let half_days = half_days.filter(|of| *of >= now).map(|of| {
            let value = of.to_string();
            let is = value == chosen;
            (value, half(of), is)
        });
        (format!("Week of {}", shop.horizon.date(week * 14).format("%-d %b")), half_days.collect::<Vec<_>>())
    };
    Ok((0..shop.horizon.weeks() as usize).map(week).filter(|(_, all)| !all.is_empty()).collect())
}

fn target((job, step): &(String, String), to: &Whither) -> Result<Target, Refusal> {
    let half_day = to.to.trim().parse().map_err(|_| {
        let says = format!("`{}` is no half-day.", to.to);
        Refusal::input("usage::to", says, "Choose one of the list.")
    })?;
    let crew = Some(to.crew.trim()).filter(|crew| !crew.is_empty()).map(str::to_owned);
    Ok(Target { job: job.clone(), step: step.clone(), to: half_day, crew })
}

/// The same of the same book and plan is asked once.
fn key(desk: &Desk, who: &Who, of: &(String, String), to: &Whither) -> Result<Key, Refusal> {
    Ok((who.account.id, format!("move {of:?} {} {:?}", query(to), desk.book()?.numbers())))
}

/// Where a step may be moved to, and what one half-day of these takes.
pub async fn show(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(of): Path<(String, String)>,
    Query(to): Query<Whither>,
) -> Result<Response, Refusal> {
    let (ids, asker, wanted) = (of.clone(), who.clone(), to.clone());
    let page = desk.work(move |desk| {
        let page = MovePage::new(desk, &asker, (&ids.0, &ids.1), wanted.clone())?;
        Ok((page, key(desk, &asker, &ids, &wanted)?))
    });
    let (mut page, key) = page.await?;
    if to.stopped.is_some() || to.to.is_empty() {
        return html(&page);
    }
    let came = match target(&of, &to) {
        Ok(target) => {
            let (at, asker) = (Arc::clone(&desk), who.clone());
            let looked_for = async move {
                in_turn(&at, &asker, ("move", true), move |desk, cancel| moved(desk, &target, &cancel)).await
            };
            come_to(&desk.moves, &key, looked_for).await
        }
        Err(refusal) => AskOutcome::Answer(Err(refusal)),
    };
    match came {
        AskOutcome::NotYet(elapsed) => page.waiting = Some((elapsed, MOVE as u64)),
        AskOutcome::Answer(Ok(outcome)) => match &*outcome {
            MoveOutcome::Cannot(why) => page.cannot.clone_from(why),
            MoveOutcome::Found(found) => {
                let name = token()?;
                desk.moved.put(who.account.id, name.clone(), Arc::clone(found));
                page.found = Some(MoveShown::new(name, found));
            }
        },
        AskOutcome::Answer(Err(refusal)) => {
            let refusal = refused::told_within(refusal)?;
            page.refused = Some(RefusedHere::of(&refusal, &desk.work(Desk::book).await?.value));
            return Ok(refused::within(&refusal, html(&page)?));
        }
    }
    html(&page)
}

impl MoveShown {
    fn new(name: String, found: &Moved) -> Self {
        let costs = match found.extra {
            Some(Cents::ZERO) => "It costs no more than the plan given out.".to_owned(),
            Some(extra) if extra > Cents::ZERO => format!("It costs ${extra} more than the plan given out."),
            Some(extra) => format!("It costs ${} less than the plan given out.", Cents::ZERO - extra),
            None => format!("The plan given out does not hold any more; this one costs ${}.", found.plan.cost),
        };
        Self {
            name,
            costs,
            changes: told(&changed(&found.shop, &found.kept, &found.plan, ReadOn::Page)),
            assumed: found.assumed.as_ref().map(|of| assumed_on_page(of, &found.shop.book)),
        }
    }
}

/// How the search stands, as it changes.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(of): Path<(String, String)>,
    Query(to): Query<Whither>,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    let found = key(&desk, &who, &of, &to).ok().and_then(|key| desk.moves.find(&key));
    how_it_stands(found, place)
}

/// Stops it.
pub async fn stop(
    State(desk): State<Arc<Desk>>,
    Path(of): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let field = |name: &str| sent.fields.get(name).to_owned();
    let to = Whither { to: field("to"), crew: field("crew"), stopped: None };
    if let Some(search) = desk.moves.remove(&key(&desk, &sent.who.0, &of, &to)?) {
        search.stop();
    }
    Ok(on_to(&format!("/step/{}/{}/move?stopped=1&{}", escaped(&of.0), escaped(&of.1), query(&to))))
}
