//! The kept plan up to a half-day, laid beside the book.

use std::cell::OnceCell;

use yardless_book::half_day::HalfDay;
use yardless_book::{Step, USUAL};
use yardless_plan::StepRow;
use yardless_plan::shop::Shop;

use super::NoteContext;
use super::kept::{Kept, Stage, held, stage};
use super::left::Left;
use super::step::step;
use super::subject::StepAt;
use crate::trouble::Trouble;

/// The plan, and the half-day before which it is taken to have happened.
pub struct UpTo<'d> {
    /// The book.
    pub context: &'d NoteContext<'d>,
    /// The plan.
    pub kept: &'d Kept,
    /// The half-day.
    pub until: HalfDay,
    shop: OnceCell<Shop>,
}

impl<'d> UpTo<'d> {
    /// Nothing is made ready yet.
    pub fn new(context: &'d NoteContext<'d>, kept: &'d Kept, until: HalfDay) -> Self {
        Self { context, kept, until, shop: OnceCell::new() }
    }

    /// The plan's shop, made ready when it is first asked for.
    fn shop(&self) -> Result<&Shop, Trouble> {
        if let Some(shop) = self.shop.get() {
            return Ok(shop);
        }
        let file = self.context.file;
        let shop = file.shop_of(&file.before(None).0, self.kept.horizon, 0, Some(&[]))?;
        Ok(self.shop.get_or_init(|| shop))
    }

    /// The step, and what the plan has of it.
    pub fn rows(&self, at: StepAt) -> Vec<&'d StepRow> {
        let job = &self.context.book.jobs[at.job];
        self.kept.rows(&job.id, &job.steps[at.step].id)
    }

    /// How far a step is by the plan's rows; `let_go`: whether it may have been let go at once.
    pub fn stage<'r>(&self, rows: &[&'r StepRow], let_go: bool) -> Stage<'r> {
        let let_go = let_go && self.kept.reaches(self.until);
        stage(rows, let_go, |row| row.start < self.until, |row| row.end < self.until)
    }

    /// The units that a step holds which is so far.
    pub fn held(&self, at: StepAt, at_stage: Stage, rows: &[&StepRow]) -> Vec<String> {
        let recorded = step(self.context.book, at).0.progress.as_ref();
        held(at_stage, rows, recorded, self.kept.is_of(self.context.file)).unwrap_or_default()
    }

    /// What is asked to know what is left of a step that the plan has begun.
    pub fn left<'r>(&'r self, at: StepAt, rows: &'r [&'r StepRow]) -> Result<Left<'r>, Trouble> {
        let ByWhom { crew, with, way } = by_whom(step(self.context.book, at).0, rows[0]);
        let (context, kept, shop) = (self.context, self.kept, self.shop()?);
        Ok(Left { context, kept, shop, at, crew, with, way: way.map(String::as_str), rows, until: self.until })
    }
}

/// Who does a step, with whose help, and in which way, by their ids.
pub struct ByWhom<'r> {
    pub crew: &'r String,
    pub with: &'r [String],
    pub way: Option<&'r String>,
}

/// What the book says of a step in progress comes before what the plan meant to do.
pub fn by_whom<'r>(of: &'r Step, first: &'r StepRow) -> ByWhom<'r> {
    if let Some(known) = &of.progress {
        return ByWhom { crew: &known.crew, with: &known.with, way: known.way.as_ref() };
    }
    let way = (of.ways.is_some() || first.way != USUAL).then_some(&first.way);
    ByWhom { crew: &first.crew, with: &first.with, way }
}
