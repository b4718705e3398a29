//! What is left of a step that went as planned up to a half-day, counted as rule W3 counts.

use std::ops::Range;

use yardless_book::half_day::HalfDay;
use yardless_plan::StepRow;
use yardless_plan::shop::{Amount, CrewId, Id, JobId, Shop, StepId, Team};

use super::NoteContext;
use super::kept::Kept;
use super::subject::StepAt;
use super::word::Outcome;
use crate::trouble::{OfNote, Trouble};

/// Labor hours are counted in millionths, as the shop counts them.
const MILLIONTHS: f64 = 1e6;

/// What is asked: the step, who does it how, and what the plan has of it.
pub struct Left<'d> {
    /// The book and its text.
    pub context: &'d NoteContext<'d>,
    /// The plan.
    pub kept: &'d Kept,
    /// The book made ready for the plan's horizon.
    pub shop: &'d Shop,
    /// The step.
    pub at: StepAt,
    /// The crew's id.
    pub crew: &'d str,
    /// The ids of the crews that help it.
    pub with: &'d [String],
    /// The way's id.
    pub way: Option<&'d str>,
    /// The plan's rows, one at least.
    pub rows: &'d [&'d StepRow],
    /// What lies before this half-day has happened.
    pub until: HalfDay,
}

/// Half-days or labor hours left by the plan, and whether it would be done by the book as it is now: then it is almost.
pub fn left(asked: &Left) -> Result<(f64, bool), Trouble> {
    let Left { context, kept, at, rows, .. } = asked;
    let of = &context.book.jobs[at.job].steps[at.step];
    let count = Count::new(asked)?;
    let known = of.progress.as_ref().filter(|_| count.begun_before);
    let remaining = match known {
        // It was begun in this plan.
        None => count.by.amount().total() - count.worked(0),
        // It was in progress when the plan was made, and the book still says what was left then.
        Some(progress) if kept.is_of(context.file) => count.by.of(progress.left) - count.worked(count.now),
        // The book has been told of later half-days since: the plan's end says what is left from there.
        Some(progress) => {
            let end = rows.last().map_or(0, |row| count.index(row.end)).min(asked.shop.len() - 1);
            // Between its spans nothing is done.
            let worked = |h: usize| rows.iter().any(|row| (count.index(row.start)..=count.index(row.end)).contains(&h));
            let done_in = |h: usize| if worked(h) { count.by.done_in(h) } else { 0 };
            from_the_end(done_in, count.by.of(progress.left), count.until, end)
        }
    };
    Ok((count.by.told(remaining), remaining <= 0))
}

/// Whether the plan was made with a person's word that so much was left as of a half-day: then what it has of the step is
/// that word, carried on.
pub fn known_to_plan(asked: &Left, left: f64, as_of: Option<HalfDay>) -> Result<bool, Trouble> {
    let count = Count::new(asked)?;
    let now = asked.shop.horizon.half_day(count.now);
    Ok(count.begun_before
        && match as_of {
            // Said in the half-day in which the plan was made: before that, where it plans just so much.
            Some(as_of) if as_of == now => {
                let end = asked.rows.last().map_or(0, |row| count.index(row.end));
                let all: i64 = count.within(count.now..end + 1).map(|h| count.by.done_in(h)).sum();
                let wanted = count.by.of(left);
                wanted <= all && all - count.by.done_in(end) < wanted
            }
            Some(as_of) => as_of < now,
            None => true,
        })
}

/// What a step is of which a person said how much was left at the end of a half-day: the half-days in which the plan has
/// its crew on it since are taken off. Where it was not said as of when, none are.
pub fn since(asked: &Left, left: f64, as_of: Option<HalfDay>) -> Result<Outcome, Trouble> {
    let count = Count::new(asked)?;
    let horizon = asked.shop.horizon;
    let from = as_of.map_or(count.until, |as_of| count.index(as_of.following()));
    let said = count.by.of(left);
    let mut remaining = said;
    for h in count.within(from..count.until) {
        remaining -= count.by.done_in(h);
        if remaining <= 0 {
            return Ok(Outcome::Done(horizon.half_day(h)));
        }
    }
    Ok(Outcome::Left(if remaining == said { left } else { count.by.told(remaining) }))
}

/// The plan's rows of a step as indices, and how its work is counted.
struct Count<'d> {
    asked: &'d Left<'d>,
    by: Counted<'d>,
    /// From where on it was planned.
    now: usize,
    /// What lies before has happened.
    until: usize,
    /// Whether it was in progress when the plan was made.
    begun_before: bool,
}

impl<'d> Count<'d> {
    fn new(asked: &'d Left<'d>) -> Result<Self, Trouble> {
        let Left { kept, shop, rows, .. } = *asked;
        let by = counted(asked)?;
        let index = |half_day| index(shop, half_day);
        let now = kept.plan.now.map_or(0, index);
        // What is let go at once was begun before the plan.
        let begun_before = rows[0].span == 2 || shop.horizon.offset(rows[0].start) < now as i64;
        Ok(Self { asked, by, now, until: index(asked.until), begun_before })
    }

    fn index(&self, half_day: HalfDay) -> usize {
        index(self.asked.shop, half_day)
    }

    /// The half-days of a range that the rows have.
    fn within(&self, range: Range<usize>) -> impl Iterator<Item = usize> {
        let spans = self.asked.rows.iter();
        spans.flat_map(move |row| self.index(row.start).max(range.start)..(self.index(row.end) + 1).min(range.end))
    }

    /// What was done before `until`, from a half-day on.
    fn worked(&self, from: usize) -> i64 {
        self.within(from..self.until).map(|h| self.by.done_in(h)).sum()
    }
}

/// The half-days before, or the half-days of the horizon: clamped to it.
fn index(shop: &Shop, half_day: HalfDay) -> usize {
    shop.horizon.offset(half_day).clamp(0, shop.len() as i64) as usize
}

fn counted<'d>(asked: &'d Left<'d>) -> Result<Counted<'d>, Trouble> {
    let Left { context, kept, shop, at, rows, .. } = asked;
    let step = shop.jobs[JobId::from_index(at.job)].steps.start + at.step;
    let step = StepId::from_index(step);
    let of = &context.book.jobs[at.job].steps[at.step];
    let helpers: Option<Vec<CrewId>> = asked.with.iter().map(|id| shop.find_crew(id)).collect();
    let team = shop.find_crew(asked.crew).zip(helpers).map(|(crew, helpers)| Team::new(crew, helpers));
    let (Some(way), Some(team)) = (of.way(asked.way), team) else {
        let step = format!("{}/{}", rows[0].job, rows[0].step);
        let (crew, way) = (asked.crew.to_owned(), asked.way.unwrap_or("usual").to_owned());
        return Err(OfNote::UnknownWay { plan: kept.name.clone(), step, crew, way }.into());
    };
    let facts = &shop.steps[step].ways;
    // A book that has no overtime days any more has no such way either.
    let late = facts.iter().position(|other| other.id == facts[way].id && other.overtime).unwrap_or(way);
    let overtime = rows.iter().filter(|row| row.overtime);
    let overtime = overtime.map(|row| index(shop, row.start)..index(shop, row.end) + 1).collect();
    Ok(Counted { shop, step, way, late, overtime, team })
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

/// How work is counted: by one crew and its helpers, on one step, in one way, which in overtime is another of the shop's ways (W9).
struct Counted<'s> {
    shop: &'s Shop,
    step: StepId,
    way: usize,
    late: usize,
    overtime: Vec<Range<usize>>,
    team: Team,
}

impl Counted<'_> {
    fn amount(&self) -> Amount {
        self.shop.steps[self.step].ways[self.way].amount
    }

    /// W3: what is done in a half-day, nothing where it is not workable.
    fn done_in(&self, h: usize) -> i64 {
        let Self { shop, step, ref team, .. } = *self;
        let way = if self.overtime.iter().any(|span| span.contains(&h)) { self.late } else { self.way };
        let workable = h < shop.len() && shop.obstacle(step, way, team, h).is_none();
        if workable { shop.done_in(step, way, team, h) } else { 0 }
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
