//! What a note of a step leaves unsaid, filled in from the book and the kept plan, or asked for.

use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Step, USUAL};
use yardless_plan::StepRow;

use super::kept::{Stage, held, stage};
use super::subject::StepAt;
use super::{NoteContext, parked};
use crate::changes::FilledIn;
use crate::trouble::{OfNote, Trouble, Unsaid};

/// From the book's own record of the step, else from the kept plan.
pub struct Fill<'d> {
    context: &'d NoteContext<'d>,
    step: &'d Step,
    rows: Vec<&'d StepRow>,
    /// The way's position, once it is known.
    way: Option<usize>,
    from_plan: Vec<Unsaid>,
    missing: Vec<Unsaid>,
    /// Half-days of the kept plan that are still to come.
    ahead: Vec<(Unsaid, HalfDay)>,
}

impl<'d> Fill<'d> {
    /// Nothing is filled in yet.
    pub fn new(context: &'d NoteContext<'d>, at: StepAt) -> Self {
        let job = &context.book.jobs[at.job];
        let step = &job.steps[at.step];
        let rows = context.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(&job.id, &step.id));
        Self { context, step, rows, way: None, from_plan: vec![], missing: vec![], ahead: vec![] }
    }

    /// As given, as the book has it, or as the plan has it.
    fn one<T>(&mut self, what: Unsaid, known: Option<T>, planned: impl FnOnce(&Self) -> Option<T>) -> Option<T> {
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
        let given = self.context.request.crew.as_ref().map(|crew| crew_id(self.context.book, crew));
        self.one(Unsaid::Crew, given.or_else(recorded), |fill| fill.rows.first().map(|row| row.crew.clone()))
    }

    /// Nothing where the step has only one way; then none need be written.
    pub fn way(&mut self) -> Option<String> {
        let step = self.step;
        let recorded =
            || step.progress.as_ref().map(|p| &p.way).or(step.done.as_ref().map(|d| &d.way)).cloned().flatten();
        let given = self.context.request.way.clone().or_else(recorded);
        let way = if step.ways.is_none() {
            given.filter(|way| way != USUAL)
        } else if given.is_none() && step.way(None).is_some() {
            None
        } else {
            self.one(Unsaid::Way, given, |fill| fill.rows.first().map(|row| row.way.clone()))
        };
        self.way = step.way(way.as_deref());
        way
    }

    /// The half-day in which it started.
    pub fn start(&mut self) -> Option<HalfDay> {
        let step = self.step;
        let recorded = step.progress.as_ref().map(|p| p.start).or(step.done.as_ref().map(|d| d.start));
        let given = self.context.request.start.or(recorded);
        self.half_day(Unsaid::Start, given, self.rows.first().map(|row| row.start))
    }

    /// The half-day in which it ended.
    pub fn end(&mut self) -> Option<HalfDay> {
        let given = self.context.request.end.or(self.step.done.as_ref().map(|done| done.end));
        self.half_day(Unsaid::End, given, self.rows.last().map(|row| row.end))
    }

    /// What the plan has still to come did not happen as planned.
    fn half_day(&mut self, what: Unsaid, known: Option<HalfDay>, planned: Option<HalfDay>) -> Option<HalfDay> {
        if let (None, Some(planned)) = (known, planned.filter(|planned| *planned > self.context.now)) {
            self.ahead.push((what, planned));
        }
        self.one(what, known, |_| planned)
    }

    /// The units it holds; asked after [`Fill::way`].
    pub fn units(&mut self) -> Option<Vec<String>> {
        let book = self.context.book;
        let given = self.context.request.units.as_ref();
        // Nothing given: it holds none.
        let named = |unit: &&String| !unit.trim().is_empty();
        let given =
            given.map(|units| units.iter().filter(named).map(|unit| parked::unit_id(book, unit.trim())).collect());
        let (now, recorded) = (self.context.now, self.step.progress.as_ref());
        let kept = self.context.kept.as_ref();
        let let_go = recorded.is_some() && kept.is_some_and(|kept| kept.reaches(now));
        let at_stage = stage(&self.rows, let_go, |row| row.start <= now, |row| row.end < now);
        let fresh = kept.is_some_and(|kept| kept.is_of(self.context.file));
        let held = held(at_stage, &self.rows, recorded, fresh);
        let as_recorded = recorded.map(|progress| &progress.units).filter(|units| held.as_ref() == Some(*units));
        let known = given.or_else(|| as_recorded.cloned());
        let planned = |fill: &Self| match at_stage {
            Stage::Waits => fill.rows.first().map(|row| row.units.clone()),
            _ => held,
        };
        let none = self.way.is_some_and(|way| self.step.needs(way).is_empty() && self.step.power(way) == 0);
        if known.is_none() && none && self.rows.is_empty() {
            return Some(Vec::new());
        }
        self.one(Unsaid::Units, known, planned)
    }

    /// What was filled in from the plan; or what has to be given, as it is known nowhere.
    pub fn settled(self, name: &str) -> Result<Option<FilledIn>, Trouble> {
        let (step, plan) = (name.to_owned(), self.context.kept.as_ref().map(|kept| kept.name.clone()));
        if !self.missing.is_empty() {
            return Err(OfNote::Missing { step, what: self.missing, plan }.into());
        }
        if !self.ahead.is_empty() {
            return Err(OfNote::Ahead { step, plan, what: self.ahead, now: self.context.now }.into());
        }
        let plan = plan.filter(|_| !self.from_plan.is_empty());
        Ok(plan.map(|plan| FilledIn { what: self.from_plan, plan }))
    }
}

/// A crew's id, where its name is given; what is no crew stays, and the reader tells of it.
pub fn crew_id(book: &Book, given: &str) -> String {
    if book.crews.iter().any(|crew| crew.id == given) {
        return given.to_owned();
    }
    let named = |name: &String| name.to_lowercase() == given.to_lowercase();
    let found = book.crews.iter().find(|crew| named(&crew.id) || crew.name.as_ref().is_some_and(named));
    found.map_or_else(|| given.to_owned(), |crew| crew.id.clone())
}
