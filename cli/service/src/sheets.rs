//! The week sheet and the season sheet.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::Touched;
use yardless_edit::spoken::capital;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_view::breach::on_sheet;
use yardless_view::diagram::{Diagram, SEASON, WEEK};
use yardless_view::{Ask, Block, MOVE, Sheet, Told, asks, to_ask};

use crate::crews::tell::{Row, for_owner};
use crate::desk::Desk;
use crate::desk::standing::{Drawn, Standing};
use crate::refusal::Refusal;
use crate::request::who::{Reads, Signed, Who};
use crate::shown::frame::{Frame, escaped, on_to, sheet};
use crate::store::token;

#[derive(Template)]
#[template(path = "week.html")]
struct WeekPage {
    frame: Frame,
    heading: String,
    /// Mondays of the weeks around, where the plan has them.
    before: Option<NaiveDate>,
    after: Option<NaiveDate>,
    leaf: Option<Leaf>,
    holds: Holds,
    /// The number of the plan given out.
    given: Option<i64>,
    /// What crews have told, for the owner to take over.
    told: Vec<Row>,
    form: String,
}

#[derive(Template)]
#[template(path = "season.html")]
struct SeasonPage {
    frame: Frame,
    /// All that is drawn, for the lists in words; `None`: no plan was given out yet.
    listed: Option<Diagram>,
    /// The drawings, a few weeks each.
    leaves: Vec<Leaf>,
    /// The weeks: Monday, and how it is said.
    weeks: Vec<(NaiveDate, String)>,
    holds: Holds,
    whole: String,
}

/// A sheet, and its drawing written out.
pub struct Drawing {
    /// The sheet.
    pub sheet: Sheet,
    /// The drawing as SVG.
    pub svg: String,
    /// The same day by day, for narrow screens.
    pub days: Vec<Day>,
    /// Its signs, explained.
    pub key: String,
    /// The plan as a whole.
    pub whole: String,
}

/// Where a drawing stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// On a page whose rows in words it leads to.
    Page,
    /// On a page of a plan that is not given out, whose steps cannot be opened yet.
    Draft,
    /// On paper, or in a file by itself.
    Paper,
}

impl Drawing {
    /// Draws a sheet; `title` says what it shows to who cannot see it.
    pub fn new(sheet: Sheet, whole: &Told, title: &str, on: On) -> Result<Self, askama::Error> {
        let of = &sheet.diagram;
        let linked = on == On::Page;
        let (svg, key) = (Svg { of, title, linked }.render()?, Key { of, broken: sheet.broken }.render()?);
        let days = if on == On::Paper { Vec::new() } else { days(&sheet.days, linked)? };
        Ok(Self { svg, days, key, whole: told(whole), sheet })
    }
}

/// The dates of a week, each of which leads to the one before and the next.
fn days(of: &[Diagram], linked: bool) -> Result<Vec<Day>, askama::Error> {
    let id = |n: usize| Some(format!("day-{}", of.get(n)?.half_days.first()?.1.date()));
    let day = |(n, of): (usize, &Diagram)| {
        let says = of.heads.first().map_or_else(String::new, |(_, _, says)| says.clone());
        let svg = Svg { of, title: &says, linked }.render()?;
        let before = n.checked_sub(1).and_then(id);
        Ok(Day { id: id(n).unwrap_or_default(), before, next: id(n + 1), svg, today: of.now.is_some(), says })
    };
    of.iter().enumerate().map(day).collect()
}

/// A date by itself.
pub struct Day {
    /// Where it is on the page.
    pub id: String,
    /// Where the date before is.
    pub before: Option<String>,
    /// Where the next is.
    pub next: Option<String>,
    /// Which.
    pub says: String,
    /// The drawing as SVG.
    pub svg: String,
    /// Whether it is today.
    pub today: bool,
}

/// A sheet of paper: the drawing on its front, hauls, cautions and contacts on its back.
pub struct Leaf {
    /// The shop.
    pub shop: String,
    /// Which weeks.
    pub heading: String,
    /// The sheet.
    pub drawing: Drawing,
    /// Whether the plan holds, and what is to be asked for.
    pub holds: Holds,
    /// Whether it is the owner's.
    pub owns: bool,
}

impl Leaf {
    /// Of some weeks.
    pub fn new(shop: &Shop, heading: String, drawing: Drawing, holds: &Holds, owns: bool) -> Self {
        Self { shop: shop.book.shop.name.clone(), heading, drawing, holds: holds.clone(), owns }
    }

    /// What the owner acts on: a word, and its lines; calls where they are the owner's to make.
    pub fn acts(&self) -> Vec<(String, Vec<String>)> {
        let mut rows = self.drawing.sheet.acts.clone();
        if self.owns {
            let at = rows.iter().position(|[word, _]| word == MOVE).unwrap_or(rows.len());
            let calls = self.holds.asks.iter().map(|says| ["Call".to_owned(), says.clone()]);
            rows.splice(at..at, calls);
        }
        if rows.is_empty() {
            rows.push([
                "All well".to_owned(),
                "Nothing is late, every job is planned, and nobody is to be called.".to_owned(),
            ]);
        }
        let mut acts: Vec<(String, Vec<String>)> = Vec::new();
        for [word, line] in rows {
            match acts.last_mut() {
                Some((last, lines)) if *last == word => lines.push(line),
                _ => acts.push((word, vec![line])),
            }
        }
        acts
    }

    /// The same in a few words each, for paper.
    pub fn short(&self) -> Vec<String> {
        let asks = self.owns.then(|| to_ask(self.holds.asks.len()));
        let mut says: Vec<String> = asks.into_iter().chain(self.drawing.sheet.short.iter().cloned()).collect();
        if let Some(first) = says.first_mut() {
            *first = capital(first);
        }
        says
    }
}

#[derive(Template)]
#[template(path = "diagram.svg", escape = "html")]
struct Svg<'a> {
    of: &'a Diagram,
    title: &'a str,
    linked: bool,
}

#[derive(Template)]
#[template(path = "key.html")]
struct Key<'a> {
    of: &'a Diagram,
    /// Whether a row is marked that does not hold any more.
    broken: bool,
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
        let frame = Frame::new("The week", "/", &who, Some(&standing));
        let given = standing.plan.as_ref().map(|given| given.revision.number);
        let told = if who.owns() { for_owner(desk, &standing)? } else { Vec::new() };
        let Some(drawn) = standing.drawn()? else {
            let heading = "No plan has been given out yet".to_owned();
            let (before, after, leaf, holds) = (None, None, None, Holds::default());
            return Ok(WeekPage { frame, heading, before, after, leaf, holds, given, told, form: token()? });
        };
        let week = week_of(desk, &standing, drawn, monday)?;
        let (first, before, after) = around(drawn, week);
        let heading = heading(&drawn.shop, week);
        let now = drawn.shop.horizon.index(desk.now(&standing));
        let sheet = Sheet::new(&drawn.shop, &drawn.plan, &drawn.broken, week..week + 1, WEEK).at(now);
        let drawing = Drawing::new(sheet, drawn.whole(), &heading, On::Page)?;
        let holds = Holds::of(drawn);
        let leaf = Leaf::new(&drawn.shop, heading.clone(), drawing, &holds, who.owns());
        let frame = frame.on_paper(&format!("week of {}", first.format("%a %-d %b %Y")), &standing);
        Ok(WeekPage { frame, heading, before, after, leaf: Some(leaf), holds, given, told, form: token()? })
    });
    let page = page.await?;
    sheet(&page, &page.frame)
}

/// `Week 50 of 2026 · Mon 7 Dec to Sun 13 Dec 2026`.
pub fn heading(shop: &Shop, week: usize) -> String {
    let (first, last) = (shop.horizon.date(week * 14), shop.horizon.date(week * 14 + 13));
    format!("Week {} · {} to {}", first.format("%V of %G"), first.format("%a %-d %b"), last.format("%a %-d %b %Y"))
}

/// Whether the plan given out still holds, as every sheet of it says.
#[derive(Clone, Default)]
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
        let unkept =
            drawn.unkept.iter().map(|says| format!("{says}, where it is fixed: let it move, or fix it elsewhere"));
        let breaches = unkept.chain(drawn.breaches.iter().map(|breach| on_sheet(&drawn.by, breach))).collect();
        let asks = asks(&drawn.by).iter().map(Ask::says).collect();
        Self { breaches, marked: drawn.broken != Touched::default(), unplanned: drawn.unplanned.clone(), asks }
    }
}

impl Holds {
    /// What stands over a plan that does not hold.
    pub fn warning(&self) -> &'static str {
        if self.marked {
            "This plan does not hold by the book as it is now. Do not work from what has a ! before it."
        } else {
            "This plan does not hold by the book as it is now. Do not work from it."
        }
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

/// Weeks of a season on one sheet.
pub const WEEKS_ON_A_SHEET: usize = 6;

/// The weeks of a season, as many as a sheet holds on each.
pub fn season_leaves(
    (shop, plan, broken): (&Shop, &Plan, &Touched),
    holds: &Holds,
    owns: bool,
    on: On,
) -> Result<Vec<Leaf>, askama::Error> {
    let all = shop.horizon.weeks() as usize;
    let leaf = |first: usize| {
        let weeks = first..(first + WEEKS_ON_A_SHEET).min(all);
        let (monday, sunday) = (shop.horizon.date(first * 14), shop.horizon.date(weeks.end * 14 - 1));
        let heading = format!("{} to {}", monday.format("%a %-d %b"), sunday.format("%a %-d %b %Y"));
        let drawing = Drawing::new(Sheet::new(shop, plan, broken, weeks, SEASON), &Told::default(), &heading, on)?;
        Ok(Leaf::new(shop, heading, drawing, holds, owns))
    };
    (0..all).step_by(WEEKS_ON_A_SHEET).map(leaf).collect()
}

/// All weeks.
pub async fn season(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let frame = Frame::new("All weeks", "/season", &who, Some(&standing));
        let Some(drawn) = standing.drawn()? else {
            let (listed, leaves, weeks, holds, whole) = (None, Vec::new(), Vec::new(), Holds::default(), String::new());
            return Ok(SeasonPage { frame, listed, leaves, weeks, holds, whole });
        };
        let shop = &drawn.shop;
        let all = shop.horizon.weeks() as usize;
        let holds = Holds::of(drawn);
        let monday = |week: usize| {
            let date = shop.horizon.date(week * 14);
            (date, date.format("%-d %b").to_string())
        };
        Ok(SeasonPage {
            frame: frame.on_paper("all weeks", &standing),
            listed: Some(Sheet::new(shop, &drawn.plan, &drawn.broken, 0..all, SEASON).diagram),
            leaves: season_leaves((shop, &drawn.plan, &drawn.broken), &holds, who.owns(), On::Page)?,
            weeks: (0..all).map(monday).collect(),
            holds,
            whole: told(drawn.whole()),
        })
    });
    let page = page.await?;
    sheet(&page, &page.frame)
}
