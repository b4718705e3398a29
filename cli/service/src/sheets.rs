//! The week sheet and the season sheet.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::Touched;
use yardless_view::breach::on_sheet;
use yardless_view::diagram::{SEASON, WEEK};
use yardless_view::{Ask, Block, Sheet, Told, asks};

use crate::desk::Desk;
use crate::desk::standing::{Drawn, Standing};
use crate::refusal::Refusal;
use crate::request::who::{Reads, Signed, Who};
use crate::shown::frame::{Frame, escaped, html, on_to};

#[derive(Template)]
#[template(path = "week.html")]
struct WeekPage {
    frame: Frame,
    heading: String,
    /// Mondays of the weeks around, where the plan has them.
    before: Option<NaiveDate>,
    after: Option<NaiveDate>,
    sheet: Option<Drawing>,
    holds: Holds,
    /// The number of the plan given out.
    given: Option<i64>,
}

#[derive(Template)]
#[template(path = "season.html")]
struct SeasonPage {
    frame: Frame,
    sheet: Option<Drawing>,
    /// The weeks: Monday, and how it is said.
    weeks: Vec<(NaiveDate, String)>,
    holds: Holds,
}

/// A sheet, and its drawing written out.
pub struct Drawing {
    /// The sheet.
    pub sheet: Sheet,
    /// The drawing as SVG.
    pub svg: String,
    /// The plan as a whole.
    pub whole: String,
}

impl Drawing {
    /// Draws a sheet; `title` says what it shows to who cannot see it.
    pub fn new(sheet: Sheet, whole: &Told, title: &str) -> Result<Self, Refusal> {
        let svg = Svg { of: &sheet.diagram, title }.render().map_err(|e| Refusal::ours("web::template", e))?;
        Ok(Self { sheet, svg, whole: told(whole) })
    }
}

#[derive(Template)]
#[template(path = "diagram.svg", escape = "html")]
struct Svg<'a> {
    of: &'a yardless_view::diagram::Diagram,
    title: &'a str,
}

#[derive(Template)]
#[template(path = "told.html")]
struct ToldPart<'a> {
    blocks: &'a [Block],
}

/// An answer written out for a page.
pub fn told(told: &Told) -> String {
    ToldPart { blocks: &told.blocks }.render().unwrap_or_default()
}

/// The week now; a crew's own sheet; a book to begin with, where there is none.
pub async fn home(State(desk): State<Arc<Desk>>, Signed(who): Signed) -> Result<Response, Refusal> {
    if let Some(crew) = who.crew() {
        return Ok(on_to(&format!("/crews/{}", escaped(crew))));
    }
    if who.owns() && desk.work(|desk| Ok(desk.standing()?.is_none())).await? {
        return Ok(on_to("/start"));
    }
    week_page(desk, who, None).await
}

/// A week by its Monday.
pub async fn week(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path(monday): Path<NaiveDate>,
) -> Result<Response, Refusal> {
    week_page(desk, who, Some(monday)).await
}

async fn week_page(desk: Arc<Desk>, who: Who, monday: Option<NaiveDate>) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let Some(drawn) = standing.drawn()? else {
            let frame = Frame::new("The week", "/", &who, Some(&standing));
            let heading = "No plan has been given out yet".to_owned();
            return Ok(WeekPage {
                frame,
                heading,
                before: None,
                after: None,
                sheet: None,
                holds: Holds::default(),
                given: None,
            });
        };
        let week = week_of(desk, &standing, drawn, monday)?;
        let (first, before, after) = around(drawn, week);
        let last = drawn.shop.horizon.date(week * 14 + 13);
        let heading = format!(
            "Week {} · {} to {}",
            first.format("%V of %G"),
            first.format("%a %-d %b"),
            last.format("%a %-d %b %Y")
        );
        let sheet = Sheet::new(&drawn.shop, &drawn.plan, &drawn.broken, week..week + 1, WEEK);
        Ok(WeekPage {
            frame: Frame::new("The week", "/", &who, Some(&standing)),
            before,
            after,
            sheet: Some(Drawing::new(sheet, drawn.whole(), &heading)?),
            holds: Holds::of(drawn),
            given: standing.plan.as_ref().map(|given| given.revision.number),
            heading,
        })
    });
    html(&page.await?)
}

/// Whether the plan given out still holds, as every sheet of it says.
#[derive(Default)]
pub struct Holds {
    /// What does not, a sentence each.
    pub breaches: Vec<String>,
    /// Whether rows are marked that do not.
    pub marked: bool,
    /// Jobs that are not planned yet.
    pub unplanned: Vec<String>,
    /// What to ask for this week, a sentence each.
    pub asks: Vec<String>,
}

impl Holds {
    /// Of the plan as it is drawn.
    pub fn of(drawn: &Drawn) -> Self {
        let breaches = drawn.breaches.iter().map(|breach| on_sheet(&drawn.by, breach)).collect();
        let asks = asks(&drawn.by).iter().map(Ask::says).collect();
        Self { breaches, marked: drawn.broken != Touched::default(), unplanned: drawn.unplanned.clone(), asks }
    }
}

/// The Monday of a week by its position, and those of the weeks before and after it that the plan has.
pub fn around(drawn: &Drawn, week: usize) -> (NaiveDate, Option<NaiveDate>, Option<NaiveDate>) {
    let horizon = drawn.shop.horizon;
    let monday = |week: usize| horizon.date(week * 14);
    let after = (week + 1 < horizon.weeks() as usize).then(|| monday(week + 1));
    (monday(week), week.checked_sub(1).map(monday), after)
}

/// The position of the week asked for; else of the one now, or the plan's first or last.
pub fn week_of(desk: &Desk, standing: &Standing, drawn: &Drawn, monday: Option<NaiveDate>) -> Result<usize, Refusal> {
    let horizon = drawn.shop.horizon;
    let covered = || {
        let says = format!("The plan covers {} to {}.", horizon.monday(), horizon.last_date());
        Refusal::missing(says)
    };
    if let Some(monday) = monday {
        return horizon.index(HalfDay::am(monday)).map(|h| h / 14).ok_or_else(covered);
    }
    let now = horizon.offset(desk.now(standing)).clamp(0, drawn.shop.len() as i64 - 1);
    Ok(now as usize / 14)
}

/// All weeks.
pub async fn season(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let frame = Frame::new("The season", "/season", &who, Some(&standing));
        let Some(drawn) = standing.drawn()? else {
            return Ok(SeasonPage { frame, sheet: None, weeks: Vec::new(), holds: Holds::default() });
        };
        let weeks = drawn.shop.horizon.weeks() as usize;
        let sheet = Sheet::new(&drawn.shop, &drawn.plan, &drawn.broken, 0..weeks, SEASON);
        let monday = |week: usize| {
            let date = drawn.shop.horizon.date(week * 14);
            (date, date.format("%-d %b").to_string())
        };
        let sheet = Some(Drawing::new(sheet, drawn.whole(), "The season, week by week")?);
        Ok(SeasonPage { frame, sheet, weeks: (0..weeks).map(monday).collect(), holds: Holds::of(drawn) })
    });
    html(&page.await?)
}
