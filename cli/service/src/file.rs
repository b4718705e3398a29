//! The sheets in one file that stands alone, to be printed or sent: its style within, no links, no scripts.

use std::ops::Range;

use askama::Template;
use chrono_tz::Tz;
use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Shop};
use yardless_view::diagram::WEEK;
use yardless_view::{Ask, CrewSheet, Sheet, Told, asks};

use crate::crews::list::crew_sheets;
use crate::sheets::{Drawing, Holds, Leaf, On, heading, season_leaves};
use crate::shown::assets::style_alone;
use crate::shown::paper::{Foot, Paper, now};

/// What is to be written.
pub struct FileOf<'a> {
    /// The book made ready.
    pub shop: &'a Shop,
    /// The plan.
    pub plan: &'a Plan,
    /// What the plan is called: `plan.json`.
    pub name: &'a str,
    /// The weeks by their position; where there are several, the season comes first.
    pub weeks: Range<usize>,
    /// This crew's sheets alone.
    pub crew: Option<CrewId>,
    /// What of the plan does not hold, a sentence each.
    pub breaches: Vec<String>,
    /// The rows of it that do not.
    pub broken: &'a Touched,
    /// The paper.
    pub paper: Paper,
}

#[derive(Template)]
#[template(path = "file.html")]
struct File {
    title: String,
    style: String,
    paper: String,
    holds: Holds,
    seasons: Vec<Leaf>,
    weeks: Vec<Week>,
}

/// A week's pages.
struct Week {
    /// `None`: nothing is done, or only a crew's sheets are asked for.
    leaf: Option<Leaf>,
    crews: Vec<CrewSheet>,
}

/// Writes the file's text.
pub fn file(of: &FileOf) -> Result<String, askama::Error> {
    let FileOf { shop, plan, .. } = *of;
    let holds = Holds {
        breaches: of.breaches.clone(),
        marked: *of.broken != Touched::default(),
        unplanned: Vec::new(),
        asks: asks(shop).iter().map(Ask::says).collect(),
    };
    let several = of.weeks.len() > 1;
    let what = match (several, of.crew) {
        (false, _) => format!("week of {}", shop.horizon.date(of.weeks.start * 14).format("%a %-d %b %Y")),
        (true, None) => "all weeks".to_owned(),
        (true, Some(crew)) => shop.crews[crew].name.clone(),
    };
    let name = &shop.book.shop.name;
    let zone: Tz = shop.book.shop.time_zone.parse().unwrap_or(Tz::UTC);
    let foot = Foot { shop: name, what: &what, plan: of.name, at: now(zone) };
    let seasons = if several && of.crew.is_none() {
        season_leaves((shop, plan, of.broken), &holds, true, On::Paper)?
    } else {
        Vec::new()
    };
    let weeks = of.weeks.clone().map(|week| pages_of(of, week, &holds)).collect::<Result<_, _>>()?;
    File {
        title: format!("{name} · {what}"), style: style_alone(), paper: foot.style(of.paper), holds, seasons, weeks
    }
    .render()
}

fn pages_of(of: &FileOf, week: usize, holds: &Holds) -> Result<Week, askama::Error> {
    let FileOf { shop, plan, broken, .. } = *of;
    if let Some(crew) = of.crew {
        return Ok(Week { leaf: None, crews: vec![CrewSheet::new(shop, plan, broken, crew, week)] });
    }
    let heading = heading(shop, week);
    let sheet = Sheet::new(shop, plan, broken, week..week + 1, WEEK);
    let does = !sheet.diagram.strips.is_empty() || !sheet.hauls.is_empty();
    let drawing = Drawing::new(sheet, &Told::default(), &heading, On::Paper)?;
    let leaf = does.then(|| Leaf::new(shop, heading, drawing, holds, true));
    Ok(Week { leaf, crews: crew_sheets(shop, plan, broken, week) })
}
