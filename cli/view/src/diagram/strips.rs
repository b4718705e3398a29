//! The works of the drawing: a strip each, in its place's row.

use yardless_plan::shop::Id;

use super::super::course::{Course, Novelty, Work};
use super::super::words::span;
use super::lanes::lanes;
use super::{Band, Columns, NAME, STRIP};

/// A work.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Its number among the plan's works, dropped ones after all others.
    pub number: usize,
    /// Its left edge.
    pub x: i32,
    /// Its upper edge.
    pub y: i32,
    /// Its width.
    pub width: i32,
    /// Its height.
    pub height: i32,
    /// The number of its crew, from 0: what colour and pattern go by.
    pub crew: usize,
    /// Who does it.
    pub who: String,
    /// What is done.
    pub what: String,
    /// The job that it is of.
    pub job: String,
    /// The job's id, and the step's.
    pub ids: (String, String),
    /// When: `Mon 7 Dec am to Tue 8 Dec pm`.
    pub when: String,
    /// Where it waits: left edge, width and why.
    pub waits: Vec<(i32, i32, &'static str)>,
    /// Against the plan given out: `moved`, `new`, `dropped`; none: as told, or nothing is laid beside it.
    pub mark: Option<&'static str>,
    /// Whether something that does not hold any more is about it.
    pub broken: bool,
}

impl Strip {
    /// The sign before its words, as on the printed sheet.
    pub fn sign(&self) -> &'static str {
        match self.mark {
            _ if self.broken => "! ",
            Some("moved") => "* ",
            Some("new") => "+ ",
            Some(_) => "- ",
            None => "",
        }
    }
}

/// The strips of a row.
pub(super) fn of_band(course: &Course, columns: &Columns, band: &Band) -> Vec<Strip> {
    let lanes = lanes(course, columns, band.place).into_iter().enumerate();
    let all = lanes.flat_map(|(lane, works)| works.into_iter().map(move |n| (lane as i32, n)));
    all.filter_map(|(lane, n)| {
        let dropped = n >= course.works.len();
        let work = course.works.iter().chain(&course.dropped.works).nth(n)?;
        let (x, width) = columns.span(work.start, work.end)?;
        let mark = match work.mark {
            _ if dropped => Some("dropped"),
            Some(Novelty::Moved) => Some("moved"),
            Some(Novelty::New) => Some("new"),
            None => None,
        };
        let shop = course.shop;
        let when = span(shop.horizon.half_day(work.start), shop.horizon.half_day(work.end));
        let way = &shop.steps[work.step].ways;
        let name = work.name(shop);
        Some(Strip {
            number: n,
            x: x + 1,
            y: band.y + NAME + lane * STRIP,
            width: width - 2,
            height: STRIP - 4,
            crew: work.team.crew.index(),
            who: work.who(shop),
            what: if way.len() > 1 { format!("{name} ({})", way[work.way].id) } else { name },
            job: shop.jobs[work.job].name.clone(),
            ids: (shop.jobs[work.job].id.clone(), shop.steps[work.step].id.clone()),
            when,
            waits: if dropped { Vec::new() } else { waits(course, columns, work) },
            mark,
            broken: work.broken,
        })
    })
    .collect()
}

/// The half-days in which a work waits, each stretch once.
fn waits(course: &Course, columns: &Columns, work: &Work) -> Vec<(i32, i32, &'static str)> {
    let mut waits: Vec<(i32, i32, &'static str)> = Vec::new();
    for &h in columns.shown.iter().filter(|h| (work.start..=work.end).contains(*h)) {
        if work.works_at(course.shop, h) {
            continue;
        }
        if h < course.shop.now {
            continue;
        }
        let why = work.waits_for(course.shop, h);
        let (x, width) = (columns.x(h), columns.scale.half_day);
        match waits.last_mut() {
            Some((from, wide, same)) if *same == why && *from + *wide == x => *wide += width,
            _ => waits.push((x, width, why)),
        }
    }
    waits
}
