//! The plan given out, planning again, and giving out.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::{Extension, Json};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};
use yardless_book::half_day::HalfDay;
use yardless_check::check;
use yardless_edit::plan_file;
use yardless_edit::trouble::words::Called;
use yardless_plan::shop::Shop;
use yardless_view::breach::{fields, first, says};

use super::keyed::{Body, Keyed};
use crate::desk::Desk;
use crate::desk::planning::Seen;
use crate::gate::room::Place;
use crate::plan::making::{self, PlanningTerms};
use crate::refusal::Refusal;
use crate::request::who::{Owns, Reads};
use crate::store::{Added, Kind, Token};

/// A plan.
#[derive(Serialize, JsonSchema)]
pub struct PlanAt {
    /// Its revision; 0: not given out yet.
    revision: i64,
    /// The plan, format 1.
    plan: Value,
    /// What of it does not hold by the book as it is now, by rule.
    breaches: Vec<Breach>,
    /// What a plan found takes to have gone as planned before it begins, though nobody has noted it.
    assumed: Option<Assumed>,
}

/// What is taken to have gone as planned.
#[derive(Serialize, JsonSchema)]
pub struct Assumed {
    /// All that lies before this half-day.
    until: HalfDay,
    /// The steps of which the book does not say how far they are, each as `job/step`.
    steps: Vec<String>,
}

impl From<&yardless_plan::Assumed> for Assumed {
    fn from(of: &yardless_plan::Assumed) -> Self {
        Self { until: of.until, steps: of.steps.clone() }
    }
}

/// A breach of a rule.
#[derive(Serialize, JsonSchema)]
pub struct Breach {
    /// The rule, as `H2`.
    rule: String,
    /// What is wrong.
    says: String,
    /// The same as a fact.
    fact: Fact,
}

/// What is wrong, by the book's ids: half-days as `2026-12-09 am`, money in dollars, a step as its job's id and its own.
#[derive(Serialize, JsonSchema)]
pub struct Fact {
    /// What kind of fact it is, as `road-closed`; the name stays.
    kind: String,
    /// What it says of whom, which depends on the kind.
    #[serde(flatten)]
    of: Map<String, Value>,
}

impl Breach {
    fn new(shop: &Shop, breach: &yardless_check::Breach) -> Self {
        let kind = breach.fact.kind().to_owned();
        let fact = Fact { kind, of: fields(shop, &breach.fact) };
        Self { rule: breach.rule.to_string(), says: says(shop, breach), fact }
    }
}

fn value(plan: &yardless_plan::Plan) -> Result<Value, Refusal> {
    serde_json::to_value(plan).map_err(|e| Refusal::ours("web::plan", e))
}

/// The plan given out.
pub async fn read(State(desk): State<Arc<Desk>>, Reads(_): Reads) -> Result<Json<PlanAt>, Refusal> {
    desk.work(|desk| {
        let standing = desk.book()?;
        let (Some(given), Some(drawn)) = (&standing.plan, standing.drawn()?) else { return Err(Refusal::no_plan()) };
        let breaches = drawn.breaches.iter().map(|breach| Breach::new(&drawn.by, breach));
        Ok(Json(PlanAt {
            revision: given.revision.number,
            plan: value(&given.file.plan)?,
            breaches: breaches.collect(),
            assumed: None,
        }))
    })
    .await
}

/// A plan to be given out.
#[derive(Deserialize, JsonSchema)]
pub struct NewPlan {
    /// The plan's revision that it takes the place of; 0: there is none yet.
    base: i64,
    /// The plan, format 1.
    plan: Value,
}

/// The revision that came of it.
#[derive(Serialize, JsonSchema)]
pub struct IsGivenOut {
    /// The latest revision now.
    revision: i64,
}

/// Gives a plan from elsewhere out.
pub async fn keep(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Body(new): Body<NewPlan>,
) -> Result<Json<IsGivenOut>, Refusal> {
    desk.change(move |desk| {
        let standing = desk.book()?;
        let file = plan_file::of_bytes(&Called::File("the plan".to_owned()), new.plan.to_string().as_bytes())?;
        let shop = file.shop(&standing.book, None)?;
        if let Some(first) = first(&shop, &check(&shop, &file.plan).breaches) {
            let says = format!("The plan does not hold for the book: {} ({}).", says(&shop, first), first.rule);
            let help = "That is the first breach. Plan for the book that GET /api/book gives, or have it planned: POST /api/planning.";
            return Err(Refusal::new(StatusCode::CONFLICT, "plan::breach", says, help));
        }
        let from = Some(new.base).filter(|number| *number != 0);
        let text = plan_file::json(&file.plan);
        let what = format!("Gave out a plan of ${}, from a program", file.plan.cost);
        match desk.store.add(Kind::Plan, from, &who.account.name, &what, &text, None)? {
            Added::Kept(revision) => Ok(Json(IsGivenOut { revision: revision.number })),
            Added::Stale | Added::Twice => {
                Err(Refusal::stale(format!("{} is another one by now.", Called::GivenOut.bare())))
            }
        }
    })
    .await
}

/// How planning stands.
pub async fn seen(State(desk): State<Arc<Desk>>, Owns(_): Owns) -> Json<Seen> {
    Json(desk.planning.seen())
}

/// The same as it changes, at most a few times a second.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    if let Some(Extension(place)) = place {
        place.listens();
    }
    let stream =
        desk.planning.watch().map(|seen| Ok::<_, Infallible>(Event::default().json_data(&seen).unwrap_or_default()));
    // Until whoever listens is signed out.
    let over = signed_out(desk, who.token).map(|()| None);
    let stream = stream.map(Some).merge(over).take_while(Option::is_some).filter_map(|seen| seen);
    Sse::new(stream).keep_alive(KeepAlive::default())
}

/// Whenever a session has ended.
fn signed_out(desk: Arc<Desk>, token: Token) -> impl Stream<Item = ()> {
    let told = WatchStream::new(desk.store.signed_out.subscribe());
    let is_over = move |()| {
        let (desk, token) = (Arc::clone(&desk), token.clone());
        async move { desk.work(move |desk| Ok(desk.store.session(&token)?.is_none())).await.unwrap_or(false) }
    };
    told.then(is_over).filter(|over| *over).map(|_| ())
}

/// What to plan.
#[derive(Deserialize, JsonSchema)]
pub struct NewPlanning {
    /// How long to search, 1 to 600 seconds.
    #[serde(default = "twenty")]
    #[schemars(range(min = 1, max = 600))]
    seconds: u64,
    /// From which half-day on, as `2026-12-09 am`; none: now.
    #[serde(default)]
    now: Option<HalfDay>,
    /// How many weeks; none: as many as the plan given out has.
    #[serde(default)]
    #[schemars(range(min = 1, max = 104))]
    weeks: Option<u32>,
    /// Whether the plan given out is left aside.
    #[serde(default)]
    afresh: bool,
}

fn twenty() -> u64 {
    20
}

/// Begins.
pub async fn begin(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(_)): Keyed<Owns>,
    Body(new): Body<NewPlanning>,
) -> Result<Json<Seen>, Refusal> {
    if !(1..=600).contains(&new.seconds) || !new.weeks.is_none_or(|weeks| (1..=104).contains(&weeks)) {
        let says = "The seconds or the weeks are out of range.";
        return Err(Refusal::input("usage::range", says, "Give 1 to 600 seconds and 1 to 104 weeks."));
    }
    let wanted = PlanningTerms { seconds: new.seconds, now: new.now, weeks: new.weeks, afresh: new.afresh };
    let of = Arc::clone(&desk);
    desk.work(move |_| making::begin(&of, wanted)).await?;
    Ok(Json(desk.planning.seen()))
}

/// Stops.
pub async fn stop(State(desk): State<Arc<Desk>>, Keyed(Owns(_)): Keyed<Owns>) -> Json<Seen> {
    desk.planning.stop();
    Json(desk.planning.seen())
}

/// The plan found.
pub async fn found(State(desk): State<Arc<Desk>>, Owns(_): Owns) -> Result<Json<PlanAt>, Refusal> {
    let found = desk.planning.found().ok_or_else(|| Refusal::missing("No plan was found, or it was given out."))?;
    let assumed = found.assumed.as_ref().map(Assumed::from);
    Ok(Json(PlanAt { revision: 0, plan: value(&found.plan)?, breaches: Vec::new(), assumed }))
}

/// Which planning's plan.
#[derive(Deserialize, JsonSchema)]
pub struct Which {
    /// Its number, as /api/planning tells.
    number: u64,
}

/// Gives it out.
pub async fn give_out(
    State(desk): State<Arc<Desk>>,
    Keyed(Owns(who)): Keyed<Owns>,
    Body(which): Body<Which>,
) -> Result<Json<IsGivenOut>, Refusal> {
    desk.change(move |desk| {
        let revision = making::give_out(desk, &who.account.name, which.number, None)?;
        Ok(Json(IsGivenOut { revision }))
    })
    .await
}
