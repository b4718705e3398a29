//! The page on which is planned again: what runs, what came of it, what it would change, and giving it out.

use std::sync::Arc;
use std::time::{Duration, Instant};

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::Touched;
use yardless_view::ReadOn;
use yardless_view::diagram::WEEK;
use yardless_view::{Sheet, Told, assumed_on_page, changed, half, not_planned};

use crate::desk::Desk;
use crate::desk::planning::{Found, Seen};
use crate::desk::standing::Drawn;
use crate::given_out::address;
use crate::plan::making::{PlanningTerms, begin};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Who};
use crate::sheets::{Drawing, On, told};
use crate::shown::frame::{Frame, html, on_to};
use crate::shown::refused::{self, RefusedHere};
use crate::store::token;

#[derive(Template)]
#[template(path = "plan.html")]
struct PlanPage {
    frame: Frame,
    seen: Seen,
    found: Option<Shown>,
    /// The jobs that it, or where none was found the plan given out, does not do, and why.
    not_planned: Vec<(String, String)>,
    /// Whether a plan was given out.
    kept: bool,
    now: String,
    form: String,
    /// What stands in the form of the search.
    typed: Typed,
    refused: Option<RefusedHere>,
}

/// What stands in the form of the search: what was typed and refused, else what it begins with.
struct Typed {
    seconds: String,
    date: String,
    half: String,
    weeks: String,
    afresh: bool,
}

impl Typed {
    fn of(fields: Option<&Fields>, now: HalfDay) -> Self {
        let text = |name: &str, first: String| fields.map_or(first, |fields| fields.get(name).to_owned());
        Self {
            seconds: text("seconds", "20".to_owned()),
            date: text("date", now.date().to_string()),
            half: text("half", if now.is_pm() { "pm" } else { "am" }.to_owned()),
            weeks: text("weeks", String::new()),
            afresh: fields.is_some_and(|fields| fields.ticked("afresh")),
        }
    }
}

/// A plan that was found.
struct Shown {
    number: u64,
    /// What it takes to have gone as planned, in a sentence.
    assumed: Option<String>,
    /// What it changes against the plan given out.
    changes: String,
    /// The weeks in which it is another one, the first few of them; else the first.
    weeks: Vec<(String, Drawing)>,
    /// It as a whole.
    whole: String,
    /// Whether book or plan have changed since it was begun.
    stale: bool,
}

/// How long a planning under way is waited for that is stopped for another.
const STOPS: Duration = Duration::from_secs(5);
/// Weeks that are drawn.
const WEEKS_SHOWN: usize = 3;

fn shown(found: &Found, numbers: (i64, i64)) -> Result<Shown, Refusal> {
    let changes = found
        .kept
        .as_ref()
        .map_or_else(String::new, |kept| told(&changed(&found.shop, kept, &found.plan, ReadOn::Page)));
    let (first, all) = (found.shop.now / 14, found.shop.horizon.weeks() as usize);
    let sheet = |week: usize| {
        let weeks = week..week + 1;
        match &found.kept {
            Some(kept) => Sheet::beside(&found.shop, &found.plan, kept, weeks, WEEK),
            None => Sheet::new(&found.shop, &found.plan, &Touched::default(), weeks, WEEK),
        }
    };
    let is_other = |sheet: &Sheet| sheet.diagram.strips.iter().any(|strip| strip.mark.is_some());
    let mut sheets: Vec<(usize, Sheet)> = Vec::new();
    if found.kept.is_some() {
        let others = (first..all).map(|week| (week, sheet(week))).filter(|(_, sheet)| is_other(sheet));
        sheets = others.take(WEEKS_SHOWN).collect();
    }
    if sheets.is_empty() {
        sheets.push((first, sheet(first)));
    }
    let weeks = sheets.into_iter().map(|(week, sheet)| {
        let heading = format!("The week of {} by the new plan", found.shop.horizon.date(week * 14).format("%a %-d %b"));
        Ok((heading.clone(), Drawing::new(sheet, &Told::default(), &heading, On::Draft)?))
    });
    Ok(Shown {
        number: found.number,
        assumed: found.assumed.as_ref().map(|of| assumed_on_page(of, &found.shop.book)),
        changes,
        weeks: weeks.collect::<Result<_, Refusal>>()?,
        whole: told(found.whole()),
        stale: found.from != numbers,
    })
}

/// The page.
pub async fn show(State(desk): State<Arc<Desk>>, Owns(who): Owns) -> Result<Response, Refusal> {
    html(&page(&desk, who, None).await?)
}

/// The page as it is, or with what was refused and what was typed.
async fn page(desk: &Arc<Desk>, who: Who, sent: Option<(Fields, Refusal)>) -> Result<PlanPage, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let found = desk.planning.found();
        let not_planned = match &found {
            Some(found) => not_planned(&found.shop, &found.plan),
            // A plan given out that cannot be laid over the book any more is planned again all the same.
            None => standing.drawn().ok().flatten().map(Drawn::not_planned).unwrap_or_default(),
        };
        Ok(PlanPage {
            not_planned,
            frame: Frame::new("Plan again", "/plan", &who, Some(&standing)),
            seen: desk.planning.seen(),
            found: found.map(|found| shown(&found, standing.numbers())).transpose()?,
            kept: standing.plan.is_some(),
            now: half(desk.now(&standing)),
            form: token()?,
            typed: Typed::of(sent.as_ref().map(|(fields, _)| fields), desk.now(&standing)),
            refused: sent.map(|(_, refusal)| RefusedHere::of(&refusal, &standing.value)),
        })
    });
    page.await
}

/// What a form, or a program, asks for.
pub fn wanted(fields: &Fields) -> Result<PlanningTerms, Refusal> {
    let seconds = match fields.get("seconds") {
        "" => PlanningTerms::usual().seconds,
        text => text.parse().ok().filter(|seconds| (1..=600).contains(seconds)).ok_or_else(|| {
            Refusal::input("usage::seconds", format!("`{text}` is no number of seconds."), "Give 1 to 600.")
                .at("seconds")
        })?,
    };
    // A program gives it as one text, the page as a date and its half.
    let (date, half) = (fields.get("date"), fields.get("half"));
    let now = if date.is_empty() { fields.get("now").to_owned() } else { format!("{date} {half}") };
    let now = match now.trim() {
        "" => None,
        text => Some(text.parse().map_err(|_| {
            Refusal::input("usage::now", format!("`{text}` is no half-day."), "Choose a date, and its half.").at("date")
        })?),
    };
    let weeks = match fields.get("weeks") {
        "" => None,
        text => Some(text.parse().ok().filter(|weeks| (1..=104).contains(weeks)).ok_or_else(|| {
            Refusal::input("usage::weeks", format!("`{text}` is no number of weeks."), "Give 1 to 104.").at("weeks")
        })?),
    };
    Ok(PlanningTerms { seconds, now, weeks, afresh: fields.ticked("afresh") })
}

/// Begins; where it is said so, instead of the one under way.
pub async fn start(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let wanted = match wanted(&fields) {
        Ok(wanted) => wanted,
        Err(refusal) => {
            let page = page(&desk, who, Some((fields, refusal.clone()))).await?;
            return Ok(refused::within(&refusal, html(&page)?));
        }
    };
    let of = Arc::clone(&desk);
    if fields.ticked("instead") {
        desk.planning.stop();
        let until = Instant::now() + STOPS;
        while desk.planning.seen().state == "running" && Instant::now() < until {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
    match desk.work(move |_| begin(&of, wanted)).await {
        Err(refusal) if refusal.status.is_client_error() => {
            let page = page(&desk, who, Some((fields, refusal.clone()))).await?;
            Ok(refused::within(&refusal, html(&page)?))
        }
        begun => begun.map(|_| on_to("/plan")),
    }
}

/// Stops with the best so far.
pub async fn stop(State(desk): State<Arc<Desk>>, _: Sent<Owns>) -> Result<Response, Refusal> {
    desk.planning.stop();
    Ok(on_to("/plan"))
}

/// Throws away what was found.
pub async fn discard(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    desk.planning.forget(sent.fields.number("number")?.unsigned_abs());
    Ok(on_to("/plan"))
}

/// Gives out.
pub async fn give_out(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let given = desk.change(move |desk| {
        let number = fields.number("number")?;
        crate::plan::making::give_out(desk, &who.account.name, number.unsigned_abs(), fields.form())
    });
    Ok(on_to(&address(given.await?)))
}
