//! The crews' sheets, and what a crew tells of its work.

pub mod list;
mod steps;
pub mod tell;

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use chrono::NaiveDate;
use serde::Deserialize;
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_edit::note::{Request, Said, Says};
use yardless_plan::shop::CrewId;
use yardless_view::{CrewDay, CrewSheet, DayItem, crew_days, half};

use self::steps::{StepRow, steps, works};
use crate::book::keep::Change;
use crate::desk::Desk;
use crate::desk::standing::{Standing, kept};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Signed, Who};
use crate::sheets::{Holds, around, week_of};
use crate::shown::frame::{Frame, escaped, on_to, sheet};
use crate::shown::refused::{self, RefusedHere};
use crate::step::planned::whole;
use crate::store::token;

/// Which week.
#[derive(Deserialize)]
pub struct OfWeek {
    week: Option<NaiveDate>,
}

#[derive(Template)]
#[template(path = "crew.html")]
struct CrewPage {
    frame: Frame,
    id: String,
    /// Its week; `None`: no plan was given out yet.
    sheet: Option<CrewSheet>,
    before: Option<NaiveDate>,
    after: Option<NaiveDate>,
    /// The same for a telephone: today, tomorrow, and the days after them.
    days: Vec<ShownDay>,
    steps: Vec<StepRow>,
    /// What this crew has told and the owner has not taken over yet.
    waiting: Vec<String>,
    /// What may be told: its word, and what it is called.
    abouts: [(&'static str, &'static str); 4],
    /// Units and places to choose from, by id and name.
    units: Vec<(String, String)>,
    places: Vec<(String, String)>,
    /// Things likewise; none: the book has none.
    things: Vec<(String, String)>,
    holds: Holds,
    /// Whether it may be told here how the work goes.
    tells: bool,
    form: String,
    /// The week that was asked for, as it was.
    week: String,
    /// What was told and could not be kept, and what to do.
    refused: Option<RefusedHere>,
    /// What was told beside the steps and could not be kept.
    typed: Fields,
}

/// A crew's sheet: its own, or any for who reads all.
pub async fn one(
    State(desk): State<Arc<Desk>>,
    Signed(who): Signed,
    Path(crew): Path<String>,
    Query(OfWeek { week }): Query<OfWeek>,
) -> Result<Response, Refusal> {
    may_see(&who, &crew)?;
    let page = desk.work(move |desk| shown(desk, &who, &crew, week)).await?;
    sheet(&page, &page.frame)
}

fn shown(desk: &Desk, who: &Who, crew: &str, week: Option<NaiveDate>) -> Result<CrewPage, Refusal> {
    let standing = desk.book()?;
    let name = crew_name(&standing.book.written.book, crew)?;
    let frame = Frame::new(name, "/crews", who, Some(&standing));
    let mut page = CrewPage {
        frame,
        tells: who.owns() || who.crew() == Some(crew),
        id: crew.to_owned(),
        sheet: None,
        before: None,
        after: None,
        days: Vec::new(),
        steps: Vec::new(),
        waiting: tell::of_crew(desk, &standing, crew)?,
        abouts: tell::ABOUT,
        units: tell::units(&standing),
        places: tell::places(&standing),
        things: tell::things(&standing),
        holds: Holds::default(),
        form: token()?,
        week: week.map(|week| week.to_string()).unwrap_or_default(),
        refused: None,
        typed: Fields::default(),
    };
    let Some(drawn) = standing.drawn()? else { return Ok(page) };
    let week = week_of(desk, &standing, drawn, week)?;
    let horizon = drawn.shop.horizon;
    let (monday, before, after) = around(drawn, week);
    (page.before, page.after) = (before, after);
    page.frame = page.frame.on_paper(&format!("week of {}", monday.format("%a %-d %b %Y")), &standing);
    if let Some(found) = drawn.shop.find_crew(&page.id) {
        let found: CrewId = found;
        page.sheet = Some(CrewSheet::new(&drawn.shop, &drawn.plan, &drawn.broken, found, week));
        page.days = days(crew_days(&drawn.shop, &drawn.plan, &drawn.broken, found, week), desk.now(&standing).date());
    }
    page.holds = Holds::of(drawn);
    let span = (horizon.half_day(week * 14), horizon.half_day(week * 14 + 13));
    page.steps = steps(&standing, &page.id, span, desk.now(&standing).date());
    Ok(page)
}

/// A day, and how large it is shown.
struct ShownDay {
    day: CrewDay,
    /// `Today`, `Tomorrow`; empty: another day.
    name: &'static str,
}

/// Today and tomorrow as such; days before today are past, and are left to the sheet of the week.
fn days(all: Vec<CrewDay>, today: NaiveDate) -> Vec<ShownDay> {
    let began = all.iter().any(|day| day.date <= today) && all.iter().any(|day| day.date >= today);
    let named = |date: NaiveDate| match (date - today).num_days() {
        0 => "Today",
        1 => "Tomorrow",
        _ => "",
    };
    let all = all.into_iter().filter(|day| !began || day.date >= today);
    all.map(|day| ShownDay { name: named(day.date), day }).collect()
}

impl CrewPage {
    /// How far a step is that a day shows.
    fn step(&self, of: &str) -> Option<&StepRow> {
        self.steps.iter().find(|row| row.of == *of)
    }
}

fn may_see(who: &Who, crew: &str) -> Result<(), Refusal> {
    match who.crew() {
        Some(own) if own != crew => Err(Refusal::not_allowed("A crew sees its own sheet.")),
        _ => Ok(()),
    }
}

fn crew_name(book: &Book, id: &str) -> Result<String, Refusal> {
    let crew = book.crews.iter().find(|crew| crew.id == id);
    let crew = crew.ok_or_else(|| Refusal::missing(format!("The book has no crew `{id}`.")))?;
    Ok(crew.name.clone().unwrap_or_else(|| crew.id.clone()))
}

/// A crew tells that a step is done, or what is left of it. What cannot be kept stays as it was typed.
pub async fn note(
    State(desk): State<Arc<Desk>>,
    Path(crew): Path<String>,
    sent: Sent<Signed>,
) -> Result<Response, Refusal> {
    let Sent { who: Signed(who), fields } = sent;
    who.may_tell_of(&crew)?;
    let week: Option<NaiveDate> = fields.get("week").parse().ok();
    let of_week = week.map_or_else(String::new, |week| format!("?week={week}"));
    let back = format!("/crews/{}{of_week}#kept", escaped(&crew));
    let done = desk.change(move |desk| match told(desk, &who, &crew, &fields) {
        Err(refusal) if !refusal.status.is_server_error() => {
            let mut page = shown(desk, &who, &crew, week)?;
            if let Some(row) = page.steps.iter_mut().find(|row| row.of == fields.get("step")) {
                row.typed = fields.get("left").chars().take(LONGEST_NUMBER).collect();
                for (id, _, does) in row.helpers.iter_mut().filter(|_| fields.ticked("helpers")) {
                    *does = fields.all("with").any(|of| of == *id);
                }
            }
            page.refused = Some(RefusedHere::of(&refusal, &desk.book()?.value));
            Ok(Some(refused::within(&refusal, sheet(&page, &page.frame)?)))
        }
        kept => kept.map(|()| None),
    });
    Ok(done.await?.unwrap_or_else(|| on_to(&back)))
}

/// Most characters of what is left.
const LONGEST_NUMBER: usize = 12;

/// Keeps what a form says of a step of a crew.
pub fn told(desk: &Desk, who: &Who, crew: &str, fields: &Fields) -> Result<(), Refusal> {
    let (step, says) = (fields.get("step").to_owned(), fields.get("says"));
    let standing = desk.book()?;
    let mut rows = standing.plan.iter().flat_map(|given| &given.file.plan.steps);
    if !rows.any(|row| works(row, crew) && format!("{}/{}", row.job, row.step) == step) {
        let says = "That step is none of this crew's by the plan given out.";
        return Err(Refusal::new(StatusCode::FORBIDDEN, "web::not-allowed", says, "The owner can tell of it."));
    }
    let (said, words) = match says {
        "done" => (Said::Done, "done".to_owned()),
        "again" => (Said::Again, "again".to_owned()),
        "left" => {
            let left = left(fields.get("left"))?;
            (Said::Left(left), format!("left {left}"))
        }
        _ => {
            let help = "Say `done`, or what is left.";
            return Err(Refusal::input("web::note", "Nothing is said of the step.", help));
        }
    };
    may_be_told(&standing, &step, says, fields.get("left"), desk.now(&standing))?;
    if !who.owns() {
        desk.throttle.report(who.account.id, &step)?;
    }
    // A form that names who may help says by its ticks who did.
    let with = (fields.ticked("helpers") && said != Said::Again)
        .then(|| fields.all("with").map(str::to_owned).collect::<Vec<_>>());
    let what = format!("Noted {step} {words}{}", together(with.as_deref()));
    noted(desk, who, (step, said, with), &what, fields.form())
}

/// `, with ben and cal`, as a change is called.
pub fn together(with: Option<&[String]>) -> String {
    let with = with.unwrap_or_default();
    if with.is_empty() { String::new() } else { format!(", with {}", yardless_view::list(with)) }
}

/// What is left of a step, as a number.
fn left(text: &str) -> Result<f64, Refusal> {
    let number = text.parse().ok().filter(|left: &f64| *left > 0.0 && left.is_finite());
    number.filter(|_| text.len() <= LONGEST_NUMBER).ok_or_else(|| {
        let text: String = text.chars().take(LONGEST_NUMBER).collect();
        let says = format!("`{text}` is not what can be left of a step.");
        Refusal::input(
            "web::left",
            says,
            "Give a number above 0, as 2 or 2.5; of what has nothing left say that it is done.",
        )
    })
}

/// Refuses what is more likely a slip: a step that is not due yet, and more left of one than there was of it.
fn may_be_told(standing: &Standing, of: &str, says: &str, left: &str, now: HalfDay) -> Result<(), Refusal> {
    let rows = standing.plan.iter().flat_map(|given| &given.file.plan.steps);
    let row = rows.filter(|row| format!("{}/{}", row.job, row.step) == of).min_by_key(|row| row.start);
    let book = &standing.book.written.book;
    let steps = book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    let step = steps.filter(|(job, step)| format!("{}/{}", job.id, step.id) == of).map(|(_, step)| step).next();
    let (Some(row), Some(step)) = (row, step) else { return Ok(()) };
    if says != "again" && row.start.date() > now.date() && !step.started() {
        let says = format!("That step is planned for {}, and nothing is said of it before.", half(row.start));
        return Err(Refusal::input("web::early", says, "The owner can change the plan or the book."));
    }
    if let (Ok(left), Some(whole)) = (left.parse::<f64>(), whole(step, &row.way).filter(|_| says == "left"))
        && left > whole
    {
        let says = format!("{left} are left, and the whole step is {whole}.");
        return Err(Refusal::input("web::left", says, "Give what is left of it now."));
    }
    Ok(())
}

/// Keeps what is said of a step, a unit, a crew or a truck.
pub fn noted(
    desk: &Desk,
    who: &Who,
    (of, said, with): (String, Said, Option<Vec<String>>),
    what: &str,
    form: Option<&str>,
) -> Result<(), Refusal> {
    // What is said to be done now was done by now, whatever was planned.
    let standing = desk.book()?;
    let now = desk.now(&standing);
    let planned = standing.plan.iter().flat_map(|given| &given.file.plan.steps);
    let begins = matches!(said, Said::Done | Said::Left(_));
    let planned = planned.filter(|row| begins && format!("{}/{}", row.job, row.step) == of);
    let ends = planned.clone().map(|row| row.end).max();
    let starts = planned.map(|row| row.start).min();
    let begun = standing
        .book
        .written
        .book
        .jobs
        .iter()
        .any(|job| job.steps.iter().any(|step| format!("{}/{}", job.id, step.id) == of && step.progress.is_some()));
    let done = said == Said::Done;
    let request = Request {
        with,
        start: starts.filter(|start| *start > now && !begun).map(|_| now),
        end: ends.filter(|end| *end > now && done).map(|_| now),
        ..Request::new(Says::Of(of, said), desk.settings.now)
    };
    keep(desk, who, &request, what, form)
}

/// Keeps what a note changes, by the plan given out.
pub fn keep(desk: &Desk, who: &Who, request: &Request, what: &str, form: Option<&str>) -> Result<(), Refusal> {
    let change = Change { who: &who.account.name, what, form };
    let kept = desk.keep_edits(&change, |standing| Ok(request.noted(&standing.book, kept(standing))?.changes.edits))?;
    kept.or_refuse()
}
