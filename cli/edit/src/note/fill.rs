//! What a note of a step leaves unsaid, filled in from the book and the kept plan, or asked for.

use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Step, USUAL};
use yardless_plan::StepRow;

use super::kept::{Stage, held, stage};
use super::subject::StepAt;
use super::{Desk, parked};
use crate::trouble::Trouble;

/// From the book's own record of the step, else from the kept plan.
pub struct Fill<'d> {
    desk: &'d Desk<'d>,
    step: &'d Step,
    rows: Vec<&'d StepRow>,
    /// The way's position, once it is known.
    way: Option<usize>,
    from_plan: Vec<&'static str>,
    missing: Vec<&'static str>,
    /// Half-days of the kept plan that are still to come.
    ahead: Vec<(&'static str, HalfDay)>,
}

impl<'d> Fill<'d> {
    /// Nothing is filled in yet.
    pub fn new(desk: &'d Desk<'d>, at: StepAt) -> Self {
        let job = &desk.book.jobs[at.job];
        let step = &job.steps[at.step];
        let rows = desk.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(&job.id, &step.id));
        Self { desk, step, rows, way: None, from_plan: vec![], missing: vec![], ahead: vec![] }
    }

    /// As given, as the book has it, or as the plan has it.
    fn one<T>(&mut self, what: &'static str, known: Option<T>, planned: impl FnOnce(&Self) -> Option<T>) -> Option<T> {
        if known.is_some() {
            return known;
        }
        let planned = planned(self);
        if planned.is_some() {
            self.from_plan.push(what);
        } else {
            self.missing.push(what);
        }
        planned
    }

    /// The crew's id.
    pub fn crew(&mut self) -> Option<String> {
        let step = self.step;
        let recorded = || step.progress.as_ref().map(|p| &p.crew).or(step.done.as_ref().map(|d| &d.crew)).cloned();
        let given = self.desk.request.crew.as_ref().map(|crew| crew_id(self.desk.book, crew));
        self.one("crew", given.or_else(recorded), |fill| fill.rows.first().map(|row| row.crew.clone()))
    }

    /// Nothing where the step has only one way; then none need be written.
    pub fn way(&mut self) -> Option<String> {
        let step = self.step;
        let recorded =
            || step.progress.as_ref().map(|p| &p.way).or(step.done.as_ref().map(|d| &d.way)).cloned().flatten();
        let given = self.desk.request.way.clone().or_else(recorded);
        let way = if step.ways.is_none() {
            given.filter(|way| way != USUAL)
        } else if given.is_none() && step.way(None).is_some() {
            None
        } else {
            self.one("way", given, |fill| fill.rows.first().map(|row| row.way.clone()))
        };
        self.way = step.way(way.as_deref());
        way
    }

    /// The half-day in which it started.
    pub fn start(&mut self) -> Option<HalfDay> {
        let step = self.step;
        let recorded = step.progress.as_ref().map(|p| p.start).or(step.done.as_ref().map(|d| d.start));
        let given = self.desk.request.start.or(recorded);
        self.half_day("start", given, self.rows.first().map(|row| row.start))
    }

    /// The half-day in which it ended.
    pub fn end(&mut self) -> Option<HalfDay> {
        let given = self.desk.request.end.or(self.step.done.as_ref().map(|done| done.end));
        self.half_day("end", given, self.rows.last().map(|row| row.end))
    }

    /// What the plan has still to come did not happen as planned.
    fn half_day(&mut self, what: &'static str, known: Option<HalfDay>, planned: Option<HalfDay>) -> Option<HalfDay> {
        if let (None, Some(planned)) = (known, planned.filter(|planned| *planned > self.desk.now)) {
            self.ahead.push((what, planned));
        }
        self.one(what, known, |_| planned)
    }

    /// The units it holds; asked after [`Fill::way`].
    pub fn units(&mut self) -> Option<Vec<String>> {
        let book = self.desk.book;
        let given = self.desk.request.units.as_ref();
        // Nothing given: it holds none.
        let named = |unit: &&String| !unit.trim().is_empty();
        let given =
            given.map(|units| units.iter().filter(named).map(|unit| parked::unit_id(book, unit.trim())).collect());
        let (now, recorded) = (self.desk.now, self.step.progress.as_ref());
        let kept = self.desk.kept.as_ref();
        let let_go = recorded.is_some() && kept.is_some_and(|kept| kept.reaches(now));
        let at_stage = stage(&self.rows, let_go, |row| row.start <= now, |row| row.end < now);
        let fresh = kept.is_some_and(|kept| kept.plan.book_digest == self.desk.file.written.digest);
        let held = held(at_stage, &self.rows, recorded, fresh);
        let as_recorded = recorded.map(|progress| &progress.units).filter(|units| held.as_ref() == Some(*units));
        let known = given.or_else(|| as_recorded.cloned());
        let planned = |fill: &Self| match at_stage {
            Stage::Waits => fill.rows.first().map(|row| row.units.clone()),
            _ => held,
        };
        let none = self.way.is_some_and(|way| self.step.needs(way).is_empty()) && !self.step.needs_power;
        if known.is_none() && none && self.rows.is_empty() {
            return Some(Vec::new());
        }
        self.one("units", known, planned)
    }

    /// Where what was filled in comes from, in words; or what has to be given, as it is known nowhere.
    pub fn settled(self, name: &str) -> Result<String, Trouble> {
        let options = |what: &[&str]| {
            let form = |what: &&str| match *what {
                "crew" => "--crew CREW".to_owned(),
                "way" => "--way WAY".to_owned(),
                "units" => "--units UNIT,UNIT".to_owned(),
                half_day => format!("--{half_day} HALF-DAY"),
            };
            what.iter().map(form).collect::<Vec<_>>().join(" ")
        };
        let kept = self.desk.kept.as_ref();
        if !self.missing.is_empty() {
            let given = options(&self.missing);
            let help = match kept {
                Some(kept) => format!("the plan `{}` does not have it: give {given}", kept.name),
                None => format!("there is no kept plan (plan.json beside the book, or --kept PLAN): give {given}"),
            };
            let says = format!("of `{name}` it is not known: {}", self.missing.join(", "));
            return Err(Trouble::input("note::missing", says, help));
        }
        let plan = kept.map_or("", |kept| kept.name.as_str());
        if !self.ahead.is_empty() {
            let what: Vec<&str> = self.ahead.iter().map(|(what, _)| *what).collect();
            let all: Vec<String> = self.ahead.iter().map(|(what, at)| format!("{what} {at}")).collect();
            return Err(Trouble::input(
                "note::ahead",
                format!(
                    "the plan `{plan}` has `{name}` otherwise: {}, and it is {} now",
                    all.join(", "),
                    self.desk.now
                ),
                format!("say when it was: {}", options(&what)),
            ));
        }
        Ok(if self.from_plan.is_empty() {
            String::new()
        } else {
            format!(" ({} by {plan})", self.from_plan.join(", "))
        })
    }
}

/// A crew's id, where its name is given; what is no crew stays, and the reader tells of it.
fn crew_id(book: &Book, given: &str) -> String {
    if book.crews.iter().any(|crew| crew.id == given) {
        return given.to_owned();
    }
    let named = |name: &String| name.to_lowercase() == given.to_lowercase();
    let found = book.crews.iter().find(|crew| named(&crew.id) || crew.name.as_ref().is_some_and(named));
    found.map_or_else(|| given.to_owned(), |crew| crew.id.clone())
}
