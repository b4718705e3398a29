//! What has happened and what was given out: rules N1 and N3 as tables.

use std::collections::HashMap;

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::{Book, Code, Fault, Path, When};

use super::calendar::Calendar;
use super::names::printed;
use super::{CrewFacts, CrewId, Id, Table, TeamId, Teams, UnitId};

/// How the plan last given out starts a step: what C7 compares with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptStep {
    /// The job's id.
    pub job: String,
    /// The step's id within the job.
    pub step: String,
    /// The crew's id.
    pub crew: String,
    /// The ids of those that help it, in any order.
    pub with: Vec<String>,
    /// The half-day of its first start.
    pub start: HalfDay,
}

impl KeptStep {
    /// Whether it is by a crew with just these helpers, in any order.
    pub fn is_by(&self, crew: &str, with: &[String]) -> bool {
        let same = |a: &[String], b: &[String]| a.iter().all(|helper| b.contains(helper));
        self.crew == crew && same(&self.with, with) && same(with, &self.with)
    }
}

/// A step that is done.
#[derive(Clone, Debug, PartialEq)]
pub struct PastStep {
    /// Its id within the job.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// The crew.
    pub crew: CrewId,
    /// Those that helped it.
    pub helpers: Vec<CrewId>,
    /// The way's id.
    pub way: String,
    /// What the way cost besides (C6).
    pub extra: Cents,
    /// The half-day in which it started.
    pub start: HalfDay,
    /// The half-day in which it ended.
    pub end: HalfDay,
}

/// A step in progress: it goes on by the same crew in the same way with the same units, or is come back to.
#[derive(Clone, Debug, PartialEq)]
pub struct Going {
    /// The half-day in which it started.
    pub start: HalfDay,
    /// The units it holds from now on.
    pub units: Vec<UnitId>,
    /// Whether it is between its spans (W10): it holds nothing, and what is left of it is its second span.
    pub away: bool,
}

/// What the crews were told of a step, and what changing it costs (C7).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeptStart {
    /// The crew and its helpers; `None`: no step may be done so any more.
    pub team: Option<TeamId>,
    /// Half-days from the horizon's first one.
    pub start: i64,
    /// What another crew, other helpers or another date cost, or not doing it.
    pub change: Cents,
    /// What another half of the same date costs, by the same crew with the same helpers.
    pub same_date: Cents,
}

impl KeptStart {
    /// N3: what it costs to start by a team at an index; nothing where it was told so.
    pub(super) fn change_to(self, team: TeamId, start: i64) -> Cents {
        if self.team != Some(team) {
            self.change
        } else if self.start == start {
            Cents::ZERO
        } else if self.start.div_euclid(2) == start.div_euclid(2) {
            self.same_date
        } else {
            self.change
        }
    }
}

/// Everything told of before the plan begins, worked out for a horizon and a now.
pub(super) struct BookHistory<'b> {
    book: &'b Book,
    horizon: Horizon,
    now: usize,
    calendar: &'b Calendar,
    /// What the kept plan starts at or after now.
    rows: Vec<&'b KeptStep>,
    /// The first row of each job and step.
    kept: HashMap<(&'b str, &'b str), &'b KeptStep>,
}

impl<'b> BookHistory<'b> {
    pub(super) fn new(
        book: &'b Book,
        horizon: Horizon,
        now: usize,
        calendar: &'b Calendar,
        kept: &'b [KeptStep],
    ) -> Self {
        let rows: Vec<&KeptStep> = kept.iter().filter(|kept| horizon.offset(kept.start) >= now as i64).collect();
        let first = rows.iter().rev().map(|kept| ((kept.job.as_str(), kept.step.as_str()), *kept)).collect();
        Self { book, horizon, now, calendar, rows, kept: first }
    }

    /// A step in progress.
    pub(super) fn going(&self, job: &yardless_book::Job, step: &yardless_book::Step) -> Option<Going> {
        let progress = step.progress.as_ref()?;
        let power_from = self.book.places.iter().find(|place| place.id == job.place).and_then(|place| place.power_from);
        let away = step.between_spans(power_from);
        Some(Going { start: progress.start, units: self.units(&progress.units), away })
    }

    /// The half-days in which a unit is out that the step holds already, or its job: then it waits. What comes after the
    /// end of what is parked waits for that no more (E7).
    pub(super) fn paused(&self, job: &yardless_book::Job, step: &yardless_book::Step) -> Vec<bool> {
        let going = step.progress.iter().flat_map(|progress| &progress.units);
        let held_then = |need: &&yardless_book::Parked| {
            job.holds_now(need)
                && need.to.as_ref().is_none_or(|to| !self.book.comes_after((&job.id, &step.id), (&job.id, to)))
        };
        let parked = job.parked.iter().filter(held_then).flat_map(|parked| &parked.units);
        let held: Vec<&String> = parked.chain(going).collect();
        let held = self.book.equipment.iter().filter(|unit| held.contains(&&unit.id));
        let out: Vec<When> = held.flat_map(|unit| unit.out.iter().copied()).collect();
        if out.is_empty() { Vec::new() } else { super::hauling::marked(&out, self.horizon) }
    }

    /// Whether some half-day may be worked in overtime.
    pub(super) fn overtime(&self) -> bool {
        (self.now..self.horizon.len()).any(|h| self.calendar.overtime(self.horizon.half_day(h)))
    }

    pub(super) fn units(&self, ids: &[String]) -> Vec<UnitId> {
        let position = |id: &String| self.book.equipment.iter().position(|unit| unit.id == *id);
        ids.iter().filter_map(position).map(UnitId::from_index).collect()
    }

    /// What the kept plan says of a step that it starts at or after now.
    pub(super) fn kept(&self, job: &str, step: &str, by: (&Table<CrewId, CrewFacts>, &Teams)) -> Option<KeptStart> {
        let kept = self.kept.get(&(job, step))?;
        let (crews, teams) = by;
        Some(KeptStart {
            team: teams.named(crews, &kept.crew, &kept.with),
            start: self.horizon.offset(kept.start),
            change: self.change(kept.start),
            same_date: self.change_in(kept.start, self.same_date()),
        })
    }

    /// C7 of what is decided already: kept steps that the book no longer has, and those done otherwise.
    pub(super) fn changed(&self) -> Cents {
        let steps = self.book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
        let steps: HashMap<(&str, &str), &yardless_book::Step> =
            steps.map(|(job, step)| ((job.id.as_str(), step.id.as_str()), step)).collect();
        let price = |kept: &KeptStep| match steps.get(&(&kept.job, &kept.step)).map(|step| &step.done) {
            None => self.book.prices.change,
            Some(Some(done)) if !kept.is_by(&done.crew, &done.with) || done.start.date() != kept.start.date() => {
                self.book.prices.change
            }
            Some(Some(done)) if done.start != kept.start => self.same_date(),
            Some(_) => Cents::ZERO,
        };
        self.rows.iter().map(|kept| self.change_in(kept.start, price(kept))).sum()
    }

    /// The price of another half of the same date.
    fn same_date(&self) -> Cents {
        self.book.prices.change_same_date.unwrap_or(self.book.prices.change)
    }

    /// N3: what another crew or date costs.
    fn change(&self, start: HalfDay) -> Cents {
        self.change_in(start, self.book.prices.change)
    }

    /// N3: a price twice when fewer worked half-days than the notice lie before the kept start, and nothing from
    /// `told_half_days` on.
    fn change_in(&self, start: HalfDay, price: Cents) -> Cents {
        let facts = &self.book.shop;
        let worked = self.calendar.worked_half_days(self.now as i64, self.horizon.offset(start));
        let far = facts.told_half_days.is_some_and(|told| worked >= i64::from(told));
        price * if far { 0 } else { 1 + i64::from(worked < i64::from(facts.notice_half_days)) }
    }
}

/// A done step.
pub(super) fn past(step: &yardless_book::Step, crews: &Table<CrewId, CrewFacts>) -> Option<PastStep> {
    let done = step.done.as_ref()?;
    let way = step.way(done.way.as_deref())?;
    let extra = step.ways.as_ref().map_or(Cents::ZERO, |ways| ways[way].extra);
    Some(PastStep {
        id: step.id.clone(),
        name: printed(step.name.as_ref(), &step.id),
        crew: crews.find(|crew| crew.id == done.crew)?,
        helpers: done.with.iter().filter_map(|id| crews.find(|crew| crew.id == *id)).collect(),
        way: step.ways.as_ref().map_or(yardless_book::USUAL.to_owned(), |ways| ways[way].id.clone()),
        extra,
        start: done.start,
        end: done.end,
    })
}

const SAY_WHAT_IS_LEFT: &str = "say what is left of it with `progress`";
const CORRECT_IT: &str = "correct the start";

/// N1: what the book says has happened, happened before now.
pub(super) fn faults(book: &Book, horizon: Horizon, now: usize) -> Vec<Fault> {
    let mut faults = Vec::new();
    let begins = horizon.half_day(now);
    for (j, job) in book.jobs.iter().enumerate() {
        for (k, step) in job.steps.iter().enumerate() {
            let ended = step.done.as_ref().map(|done| ("done", "end", "ended", done.end, SAY_WHAT_IS_LEFT));
            let began = step.progress.as_ref().map(|going| ("progress", "start", "started", going.start, CORRECT_IT));
            for (field, half, verb, at, or) in [ended, began].into_iter().flatten().filter(|said| said.3 >= begins) {
                let path = Path::default().field("jobs").index(j).field("steps").index(k).field(field).field(half);
                let says =
                    format!("the step `{}` is said to have {verb} on {at}, and the plan begins with {begins}", step.id);
                let help = format!("plan from a later half-day on (--now), or {or}");
                faults.push(Fault::new(Code::History, path, says).help(help));
            }
        }
    }
    faults
}
