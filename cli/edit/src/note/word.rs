//! Who said how far a step is: a person, as of a half-day; or nobody, where `note --until` took it from the plan.
//!
//! The book carries it in two fields that no plan is made from: [`SAID`] on what a person told of a step in progress, or
//! of one that has not begun after all; [`PLANNED`] on what was taken from the plan. A step in progress with neither was
//! written by hand, which is a person's word too.

use serde_json::Value;
use yardless_book::half_day::HalfDay;
use yardless_book::{Extra, Step};

/// The half-day at whose end it was as a person said.
pub const SAID: &str = "x_said";
/// The half-day before which all went as planned.
const PLANNED: &str = "x_planned";

/// `1 half-day`, `2.5 labor hours`.
pub fn amount(left: f64, hours: bool) -> String {
    let what = match (hours, (left - 1.0).abs() < 1e-9) {
        (true, true) => "labor hour",
        (true, false) => "labor hours",
        (false, true) => "half-day",
        (false, false) => "half-days",
    };
    format!("{left} {what}")
}

/// What a person said of a step that is not done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Word {
    /// So much of it is left.
    Left(f64, Option<HalfDay>),
    /// It has not begun.
    NotBegun(HalfDay),
}

impl Word {
    /// A person's word on a step; `None`: there is none, or it is said to be done.
    pub fn of(step: &Step) -> Option<Self> {
        match (&step.done, &step.progress) {
            (Some(_), _) => None,
            (None, Some(progress)) if is_planned(&progress.extra) => None,
            (None, Some(progress)) => Some(Self::Left(progress.left, said_at(&progress.extra))),
            (None, None) => said_at(&step.extra).map(Self::NotBegun),
        }
    }
}

/// The half-day at whose end it was so, where a person said it.
pub fn said_at(extra: &Extra) -> Option<HalfDay> {
    extra.get(SAID)?.as_str()?.parse().ok()
}

/// The half-day before which it went as planned, where that was taken from the plan.
pub fn planned_till(extra: &Extra) -> Option<HalfDay> {
    extra.get(PLANNED)?.as_str()?.parse().ok()
}

/// Whether it was taken from the plan.
pub fn is_planned(extra: &Extra) -> bool {
    extra.contains_key(PLANNED)
}

/// The fields of what a person says.
pub fn said(extra: &Extra, as_of: HalfDay) -> Extra {
    marked(extra, SAID, as_of)
}

/// The fields of what the plan says.
pub fn planned(extra: &Extra, until: HalfDay) -> Extra {
    marked(extra, PLANNED, until)
}

fn marked(extra: &Extra, mark: &str, at: HalfDay) -> Extra {
    let others = extra.iter().filter(|(name, _)| *name != SAID && *name != PLANNED);
    let others = others.map(|(name, value)| (name.clone(), value.clone()));
    others.chain([(mark.to_owned(), Value::from(at.to_string()))]).collect()
}

/// Marks what somebody has changed of what is left, on a form or in a file, as said now.
pub fn retold(was: &Value, wanted: &mut Value, now: HalfDay) {
    let member = |list: &Value, id: &Value| {
        let all = list.as_array().into_iter().flatten();
        all.into_iter().find(|of| of["id"] == *id).cloned().unwrap_or_default()
    };
    for job in wanted.get_mut("jobs").and_then(Value::as_array_mut).into_iter().flatten() {
        let job_was = member(&was["jobs"], &job["id"]);
        for step in job.get_mut("steps").and_then(Value::as_array_mut).into_iter().flatten() {
            let step_was = member(&job_was["steps"], &step["id"]);
            let Some(progress) = step.get_mut("progress").and_then(Value::as_object_mut) else { continue };
            let same = |name: &str| progress.get(name) == step_was["progress"].get(name);
            if !same("left") && same(SAID) && same(PLANNED) {
                *progress = said(progress, now);
            }
        }
    }
}

/// How far a step is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// Done, at the end of a half-day.
    Done(HalfDay),
    /// In progress, with so much left.
    Left(f64),
    /// Not begun.
    NotBegun,
}

/// A person's word that stands where the plan says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Stands {
    /// The step, `job/step`.
    pub of: String,
    /// What was said.
    pub word: Word,
    /// What it is by that.
    pub is: Outcome,
    /// What it is by the plan.
    pub plan: Outcome,
    /// Whether it is counted in labor hours.
    pub hours: bool,
}

impl Stands {
    /// What was said and what it is by that, in words, with half-days as `at` writes them.
    pub fn said(&self, at: impl Fn(HalfDay) -> String) -> String {
        let said = match self.word {
            Word::Left(left, Some(as_of)) => format!("{} left as of {}", amount(left, self.hours), at(as_of)),
            Word::Left(left, None) => format!("{} left by the book", amount(left, self.hours)),
            Word::NotBegun(as_of) => format!("not begun as of {}", at(as_of)),
        };
        match (self.word, self.is) {
            (_, Outcome::Done(end)) => format!("{said}, so done on {}", at(end)),
            (Word::Left(left, _), Outcome::Left(now)) if now < left => {
                format!("{said}, so {} left now", amount(now, self.hours))
            }
            _ => said,
        }
    }

    /// What the plan says, in words, with half-days as `at` writes them.
    pub fn planned(&self, at: impl Fn(HalfDay) -> String) -> String {
        match self.plan {
            Outcome::Done(end) => format!("done on {}", at(end)),
            Outcome::Left(left) => format!("{} left", amount(left, self.hours)),
            Outcome::NotBegun => "not begun".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn what_is_left_by_a_form_is_said_when_the_form_was_sent() {
        let book = |progress: Value| json!({ "jobs": [{ "id": "j", "steps": [{ "id": "s", "progress": progress }] }] });
        let was = book(json!({ "crew": "c", "left": 3, "x_planned": "2026-12-08 am" }));
        let now = "2026-12-09 pm".parse().expect("a half-day");
        let mut told = book(json!({ "crew": "c", "left": 1, "x_planned": "2026-12-08 am" }));
        retold(&was, &mut told, now);
        assert_eq!(told, book(json!({ "crew": "c", "left": 1, "x_said": "2026-12-09 pm" })));
        // Another crew, and the same left: as it was.
        let mut crew = book(json!({ "crew": "d", "left": 3, "x_planned": "2026-12-08 am" }));
        let before = crew.clone();
        retold(&was, &mut crew, now);
        assert_eq!(crew, before);
        // What says for itself when it was said is left alone.
        let dated = book(json!({ "crew": "c", "left": 1, "x_said": "2026-12-08 pm" }));
        let mut told = dated.clone();
        retold(&was, &mut told, now);
        assert_eq!(told, dated);
    }
}
