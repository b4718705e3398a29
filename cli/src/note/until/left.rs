//! What is left of a step that went as planned up to a half-day, counted as rule W3 counts.

use std::ops::Range;

use yardless_solver::half_day::HalfDay;
use yardless_solver::plan::StepRow;
use yardless_solver::shop::{Amount, CrewId, Id, JobId, Shop, StepId};

use super::super::Desk;
use super::super::kept::Kept;
use super::super::subject::StepAt;
use crate::trouble::Trouble;

/// Labor hours are counted in millionths, as the shop counts them.
const MILLIONTHS: f64 = 1e6;

/// What is asked: the step, who does it how, and what the plan has of it.
pub struct Left<'d> {
    /// The book and its text.
    pub desk: &'d Desk<'d>,
    /// The plan.
    pub kept: &'d Kept,
    /// The book made ready for the plan's horizon.
    pub shop: &'d Shop,
    /// The step.
    pub at: StepAt,
    /// The crew's id.
    pub crew: &'d str,
    /// The way's id.
    pub way: Option<&'d str>,
    /// The plan's rows, one at least.
    pub rows: &'d [&'d StepRow],
    /// What lies before this half-day has happened.
    pub until: HalfDay,
}

/// Half-days or labor hours left, and what is to be doubted about the figure.
pub fn left(asked: &Left) -> Result<(f64, Option<String>), Trouble> {
    let Left { desk, kept, shop, at, rows, until, .. } = asked;
    let step = shop.jobs[JobId::from_index(at.job)].steps.start + at.step;
    let step = StepId::from_index(step);
    let of = &desk.book.jobs[at.job].steps[at.step];
    let (Some(way), Some(crew)) = (of.way(asked.way), shop.crews.find(|crew| crew.id == asked.crew)) else {
        return Err(Trouble::input(
            "note::plan",
            format!(
                "the plan `{}` has `{}/{}` done by `{}` in the way `{}`, which the book does not know",
                kept.name,
                rows[0].job,
                rows[0].step,
                asked.crew,
                asked.way.unwrap_or("usual")
            ),
            "correct the book, or note the step by hand first",
        ));
    };
    let horizon = shop.horizon;
    let index = |half_day: HalfDay| horizon.offset(half_day).clamp(0, horizon.len() as i64) as usize;
    let (now, until) = (kept.plan.now.map_or(0, index), index(*until));
    let facts = &shop.steps[step].ways;
    // A book that has no overtime days any more has no such way either.
    let late = facts.iter().position(|other| other.id == facts[way].id && other.overtime).unwrap_or(way);
    let overtime = rows.iter().filter(|row| row.overtime);
    let overtime = overtime.map(|row| index(row.start)..index(row.end) + 1).collect();
    let counted = Counted { shop, step, way, late, overtime, crew };
    // The half-days before `until`, within the rows.
    let worked = |from: usize| -> i64 {
        let spans = rows.iter().map(|row| index(row.start).max(from)..(index(row.end) + 1).min(until));
        spans.flatten().map(|h| counted.done_in(h)).sum()
    };
    // What is let go at once was begun before the plan.
    let known = of.progress.as_ref().filter(|_| rows[0].span == 2 || horizon.offset(rows[0].start) < now as i64);
    let remaining = match known {
        // It was begun in this plan.
        None => counted.amount().total() - worked(0),
        // It was in progress when the plan was made, and the book still says what was left then.
        Some(progress) if kept.plan.book_digest == desk.file.written.digest => counted.of(progress.left) - worked(now),
        // The book has been told of later half-days since: the plan's end says what is left from there.
        Some(progress) => {
            let end = rows.last().map_or(0, |row| index(row.end)).min(horizon.len() - 1);
            // Between its spans nothing is done.
            let worked = |h: usize| rows.iter().any(|row| (index(row.start)..=index(row.end)).contains(&h));
            let done_in = |h: usize| if worked(h) { counted.done_in(h) } else { 0 };
            from_the_end(done_in, counted.of(progress.left), until, end)
        }
    };
    let doubt = "by the book as it is now it would be done; noted as almost done, correct it by hand";
    Ok((counted.told(remaining), (remaining <= 0).then(|| doubt.to_owned())))
}

/// What is left at `until` of a step that ends at `end` and had `left` left at some half-day up to then, which is the
/// latest from which so much work reaches the end.
fn from_the_end(done_in: impl Fn(usize) -> i64, left: i64, until: usize, end: usize) -> i64 {
    let last = done_in(end);
    let mut sum = 0;
    for h in (0..=end).rev() {
        sum += done_in(h);
        if sum >= left {
            break;
        }
    }
    // Of the last half-day only a part may be wanted.
    let part = left - (sum - last);
    let part = if part > 0 && part <= last { part } else { last };
    (until..end).map(&done_in).sum::<i64>() + part
}

/// How work is counted: by one crew, on one step, in one way, which in overtime is another of the shop's ways (W9).
struct Counted<'s> {
    shop: &'s Shop,
    step: StepId,
    way: usize,
    late: usize,
    overtime: Vec<Range<usize>>,
    crew: CrewId,
}

impl Counted<'_> {
    fn amount(&self) -> Amount {
        self.shop.steps[self.step].ways[self.way].amount
    }

    /// W3: what is done in a half-day, nothing where it is not workable.
    fn done_in(&self, h: usize) -> i64 {
        let Self { shop, step, crew, .. } = *self;
        let way = if self.overtime.iter().any(|span| span.contains(&h)) { self.late } else { self.way };
        let workable = h < shop.len() && shop.obstacle(step, way, crew, h).is_none();
        if workable { shop.done_in(step, way, crew, h) } else { 0 }
    }

    fn of(&self, left: f64) -> i64 {
        match self.amount() {
            Amount::HalfDays(_) => left as i64,
            Amount::Hours(_) => (left * MILLIONTHS).round() as i64,
        }
    }

    /// As the book has it; a step in progress has something left, one person's half-day at least.
    fn told(&self, left: i64) -> f64 {
        match self.amount() {
            Amount::HalfDays(_) => left.max(1) as f64,
            Amount::Hours(_) if left > 0 => left as f64 / MILLIONTHS,
            Amount::Hours(total) => total.min(self.shop.half_day_hours()) as f64 / MILLIONTHS,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::from_the_end;

    #[test]
    fn what_is_left_is_found_from_the_end_whenever_the_book_was_told() {
        // 8 hours a half-day at 0, 1, 3, 4; 2 is a pause. 29 hours from 0 on end at 4 with 5 of its 8.
        let done_in = |h: usize| [8, 8, 0, 8, 8][h];
        for left in [29, 21, 13, 5] {
            let at: Vec<i64> = (0..=4).map(|until| from_the_end(done_in, left, until, 4)).collect();
            assert_eq!(at, [29, 21, 13, 13, 5], "{left}");
        }
        // Half-days, one each: what is workable up to the end.
        let one = |h: usize| i64::from(h != 2);
        assert_eq!([0, 1, 3, 4].map(|until| from_the_end(one, 4, until, 4)), [4, 3, 2, 1]);
    }
}
