//! The crews' sheets, and what a crew tells of its work.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use chrono::NaiveDate;
use serde::Deserialize;
use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Step};
use yardless_check::fact::Touched;
use yardless_edit::note::{Request, Said, Says};
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Shop};
use yardless_view::diagram::WEEK;
use yardless_view::{CrewSheet, CrewTable, Sheet, half};

use crate::book::keep::Change;
use crate::desk::Desk;
use crate::desk::standing::{Standing, kept};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Reads, Signed, Who};
use crate::sheets::{Holds, around, week_of};
use crate::shown::frame::{Frame, escaped, on_to, sheet};
use crate::shown::refused;
use crate::step::planned::{counted_in, how_far, whole};
use crate::store::token;

#[derive(Template)]
#[template(path = "crews.html")]
struct List {
    frame: Frame,
    crews: Option<CrewTable>,
    /// Each crew's sheet, of those that have something to do.
    sheets: Vec<CrewSheet>,
    holds: Holds,
    monday: String,
    before: Option<NaiveDate>,
    after: Option<NaiveDate>,
}

/// Which week.
#[derive(Deserialize)]
pub struct OfWeek {
    week: Option<NaiveDate>,
}

/// All crews, a row each.
pub async fn list(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(OfWeek { week }): Query<OfWeek>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let frame = Frame::new("Crews", "/crews", &who, Some(&standing));
        let Some(drawn) = standing.drawn()? else {
            return Ok(List {
                frame,
                crews: None,
                sheets: Vec::new(),
                holds: Holds::default(),
                monday: String::new(),
                before: None,
                after: None,
            });
        };
        let week = week_of(desk, &standing, drawn, week)?;
        let (monday, before, after) = around(drawn, week);
        let sheet = Sheet::new(&drawn.shop, &drawn.plan, &drawn.broken, week..week + 1, WEEK);
        Ok(List {
            frame: frame.on_paper(&format!("crews, week of {}", monday.format("%a %-d %b %Y")), &standing),
            sheets: crew_sheets(&drawn.shop, &drawn.plan, &drawn.broken, week),
            crews: sheet.crews.into_iter().next(),
            holds: Holds::of(drawn),
            monday: monday.format("%a %-d %b %Y").to_string(),
            before,
            after,
        })
    });
    let page = page.await?;
    sheet(&page, &page.frame)
}

/// The week's sheets of the crews that do or haul anything.
pub fn crew_sheets(shop: &Shop, plan: &Plan, broken: &Touched, week: usize) -> Vec<CrewSheet> {
    shop.crews.ids().map(|crew| CrewSheet::new(shop, plan, broken, crew, week)).filter(|sheet| !sheet.idle).collect()
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
    steps: Vec<StepRow>,
    holds: Holds,
    /// Whether it may be told here how the work goes.
    tells: bool,
    form: String,
    /// The week that was asked for, as it was.
    week: String,
    /// What was told and could not be kept, and what to do.
    refused: Option<(String, String)>,
}

/// A step of the crew, and how far it is.
struct StepRow {
    of: String,
    name: String,
    planned: String,
    state: String,
    done: bool,
    begun: bool,
    /// What is left is counted in these.
    unit: &'static str,
    /// What was typed and could not be kept.
    typed: String,
    /// Who may have helped: id, name, and whether it did by the book, else by the plan.
    helpers: Vec<(String, String, bool)>,
    /// Those that do, in words.
    helped: String,
}

/// A crew's sheet: its own, or any for who reads all.
pub async fn one(
    State(desk): State<Arc<Desk>>,
    Signed(who): Signed,
    Path(crew): Path<String>,
    Query(OfWeek { week }): Query<OfWeek>,
) -> Result<Response, Refusal> {
    may_see(&who, &crew)?;
    let page = desk.work(move |desk| shown(desk, &who, crew, week)).await?;
    sheet(&page, &page.frame)
}

fn shown(desk: &Desk, who: &Who, crew: String, week: Option<NaiveDate>) -> Result<CrewPage, Refusal> {
    let standing = desk.book()?;
    let name = crew_name(&standing.book.written.book, &crew)?;
    let frame = Frame::new(name, "/crews", who, Some(&standing));
    let mut page = CrewPage {
        frame,
        tells: who.owns() || who.crew() == Some(&crew),
        id: crew,
        sheet: None,
        before: None,
        after: None,
        steps: Vec::new(),
        holds: Holds::default(),
        form: token()?,
        week: week.map(|week| week.to_string()).unwrap_or_default(),
        refused: None,
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
    }
    page.holds = Holds::of(drawn);
    page.steps = steps(&standing, &page.id, (horizon.half_day(week * 14), horizon.half_day(week * 14 + 13)));
    Ok(page)
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

/// Whether a crew does a step, or helps with it.
fn works(row: &yardless_plan::StepRow, crew: &str) -> bool {
    row.crew == crew || row.with.iter().any(|helper| helper == crew)
}

/// The crew's steps that touch a range by the plan, and those that it has begun.
fn steps(standing: &Standing, crew: &str, (first, last): (HalfDay, HalfDay)) -> Vec<StepRow> {
    let book = &standing.book.written.book;
    let Some(given) = &standing.plan else { return Vec::new() };
    let rows = given.file.plan.steps.iter().filter(|row| works(row, crew) && row.end >= first && row.start <= last);
    let mut rows: Vec<_> = rows.collect();
    rows.sort_by_key(|row| row.start);
    rows.into_iter()
        .filter_map(|row| {
            let job = book.jobs.iter().find(|job| job.id == row.job)?;
            let step = job.steps.iter().find(|step| step.id == row.step)?;
            let name = |id: &str, name: &Option<String>| name.clone().unwrap_or_else(|| id.to_owned());
            let unit = counted_in(step, &row.way);
            let state = how_far(book, job, step, unit);
            let helpers = helpers(book, step, row);
            let helped: Vec<String> =
                helpers.iter().filter(|(_, _, does)| *does).map(|(_, name, _)| name.clone()).collect();
            Some(StepRow {
                of: format!("{}/{}", row.job, row.step),
                name: format!("{}, {}", name(&job.id, &job.name), name(&step.id, &step.name)),
                planned: format!("{} to {}", half(row.start), half(row.end)),
                state,
                done: step.done.is_some(),
                begun: step.progress.is_some(),
                unit,
                typed: String::new(),
                helpers,
                helped: if helped.is_empty() { "nobody".to_owned() } else { yardless_view::list(&helped) },
            })
        })
        .collect()
}

/// The crews that may have helped with a step; none where the book has no other crew of its own.
fn helpers(book: &Book, step: &Step, row: &yardless_plan::StepRow) -> Vec<(String, String, bool)> {
    let progress = step.progress.as_ref().map(|of| (&of.crew, &of.with));
    let (crew, with) = progress.unwrap_or((&row.crew, &row.with));
    let others = book.crews.iter().filter(|of| of.own && of.id != *crew);
    others.map(|of| (of.id.clone(), of.name.clone().unwrap_or_else(|| of.id.clone()), with.contains(&of.id))).collect()
}

/// A crew tells that a step is done, or what is left of it. What cannot be kept stays as it was typed.
pub async fn note(
    State(desk): State<Arc<Desk>>,
    Path(crew): Path<String>,
    sent: Sent<Signed>,
) -> Result<Response, Refusal> {
    let Sent { who: Signed(who), fields } = sent;
    if !who.owns() && who.crew() != Some(&crew) {
        return Err(Refusal::not_allowed("A crew tells of its own work."));
    }
    let week: Option<NaiveDate> = fields.get("week").parse().ok();
    let of_week = week.map_or_else(String::new, |week| format!("?week={week}"));
    let back = format!("/crews/{}{of_week}#kept", escaped(&crew));
    let done = desk.change(move |desk| match told(desk, &who, &crew, &fields) {
        Err(refusal) if !refusal.status.is_server_error() => {
            let mut page = shown(desk, &who, crew, week)?;
            if let Some(row) = page.steps.iter_mut().find(|row| row.of == fields.get("step")) {
                row.typed = fields.get("left").chars().take(LONGEST_NUMBER).collect();
                for (id, _, does) in row.helpers.iter_mut().filter(|_| fields.ticked("helpers")) {
                    *does = fields.all("with").any(|of| of == *id);
                }
            }
            page.refused = Some((refusal.problem.detail.clone(), refusal.problem.help.clone()));
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
