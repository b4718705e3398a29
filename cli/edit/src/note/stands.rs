//! What people have said of steps that the plan has otherwise, and what by that cannot have begun.

use std::collections::{BTreeMap, BTreeSet};

use yardless_book::half_day::HalfDay;
use yardless_book::{Job, Step};
use yardless_plan::StepRow;

use super::left::{Left, known_to_plan, left, since};
use super::parked::{self, HowFar};
use super::step::{in_hours, step};
use super::subject::{self, StepAt};
use super::up_to::UpTo;
use super::word::{Outcome, Stands, Word};
use super::{HeldBack, NoteContext};
use crate::trouble::Trouble;

/// What stands beside the plan.
#[derive(Default)]
pub struct Settled {
    /// What the steps are of which a person's word stands.
    pub outcomes: BTreeMap<StepAt, Outcome>,
    /// Steps that the plan has begun and that cannot have, each with the reason.
    pub held_back: BTreeMap<StepAt, HeldBack>,
    /// The words that say otherwise than the plan.
    pub stands: Vec<Stands>,
    /// Units that are held where a job is that the plan is ahead of.
    pub stay: BTreeMap<String, String>,
    /// Steps of which the plan's word was asked for, and nobody has said otherwise.
    pub agreed: Vec<String>,
}

/// Units that are held from a half-day on, and by which step or job.
struct UnitsHeld {
    by: String,
    from: HalfDay,
    units: Vec<String>,
}

/// Settles what stands. What the plan has before the half-day is taken to have happened, as far as nobody has said
/// otherwise and as it can have. `over`: steps of which the plan's word is asked for.
pub fn settle(up_to: &UpTo, over: &[String]) -> Result<Settled, Trouble> {
    let book = up_to.context.book;
    let over: BTreeSet<StepAt> = over.iter().map(|of| subject::step(book, of)).collect::<Result<_, _>>()?;
    let mut settling = Settling::default();
    for at in all(up_to.context) {
        settling.one(up_to, at, &over)?;
    }
    let agreed = over.difference(&settling.taken).map(|at| step(book, *at).1);
    settling.settled.agreed = agreed.collect();
    settling.hold_back(up_to);
    Ok(settling.settled)
}

/// What is known while it is settled what stands.
#[derive(Default)]
struct Settling {
    settled: Settled,
    holders: Vec<UnitsHeld>,
    /// Steps that are not as far as the plan has them.
    behind: BTreeSet<StepAt>,
    /// Steps of which the plan's word is taken.
    taken: BTreeSet<StepAt>,
}

impl Settling {
    /// One step of which a person has said something.
    fn one(&mut self, up_to: &UpTo, at: StepAt, over: &BTreeSet<StepAt>) -> Result<(), Trouble> {
        let Some(word) = Word::of(step(up_to.context.book, at).0) else { return Ok(()) };
        let rows = up_to.rows(at);
        if rows.first().is_some_and(|first| first.start < up_to.until) {
            let asked = up_to.left(at, &rows)?;
            let Some(is) = by_word(&asked, word)? else { return Ok(()) };
            let plan = by_plan(&asked)?;
            let same = matches!((is, plan), (Outcome::Done(_), Outcome::Done(_))) || is == plan;
            if !same && over.contains(&at) {
                self.taken.insert(at);
                return Ok(());
            }
            self.settled.outcomes.insert(at, is);
            if !same {
                let (of, name) = step(up_to.context.book, at);
                let hours = in_hours(of, asked.way);
                self.settled.stands.push(Stands { of: name, word, is, plan, hours });
            }
            if is == Outcome::NotBegun || matches!((is, plan), (Outcome::Left(_), Outcome::Done(_))) {
                self.behind.insert(at);
            }
            if matches!(is, Outcome::Done(_)) {
                return Ok(());
            }
        }
        self.hold(up_to, at, &rows);
        Ok(())
    }

    /// What a step in progress holds stays where its job is.
    fn hold(&mut self, up_to: &UpTo, at: StepAt, rows: &[&StepRow]) {
        let (of, name) = step(up_to.context.book, at);
        let Some(progress) = &of.progress else { return };
        // Between its spans it holds nothing.
        let units = up_to.held(at, up_to.stage(rows, true), rows);
        let place = &up_to.context.book.jobs[at.job].place;
        self.settled.stay.extend(units.iter().map(|unit| (unit.clone(), place.clone())));
        self.holders.push(UnitsHeld { by: name, from: progress.start, units });
    }

    /// Takes out what the plan has begun and what cannot have: it comes after a step that is not done, or needs a unit
    /// that is held elsewhere.
    fn hold_back(&mut self, up_to: &UpTo) {
        // In the order of the plan, so that what holds others back comes before them.
        let mut open: Vec<(HalfDay, StepAt)> = all(up_to.context)
            .filter(|at| !step(up_to.context.book, *at).0.started() && !self.behind.contains(at))
            .filter_map(|at| Some((begun_rows(up_to, at).first()?.start, at)))
            .collect();
        open.sort_unstable();
        let mut parking: BTreeSet<usize> = BTreeSet::new();
        loop {
            self.park(up_to, &open, &mut parking);
            let mut not_yet = open.iter().filter(|(_, at)| !self.settled.held_back.contains_key(at));
            let found = not_yet.find_map(|(start, at)| Some((*at, self.why_not(up_to, *start, *at)?)));
            let Some((at, why)) = found else { break };
            self.settled.held_back.insert(at, why);
        }
    }

    /// What is parked at a job stays there while the plan is ahead of it. `parking`: the jobs that this is done for.
    fn park(&mut self, up_to: &UpTo, open: &[(HalfDay, StepAt)], parking: &mut BTreeSet<usize>) {
        let late: BTreeSet<usize> = self.behind.iter().chain(self.settled.held_back.keys()).map(|at| at.job).collect();
        let more: Vec<usize> = late.difference(parking).copied().collect();
        for job in more {
            let of = &up_to.context.book.jobs[job];
            let begins = |(start, at): &(HalfDay, StepAt)| {
                (at.job == job && !self.settled.held_back.contains_key(at)).then_some(*start)
            };
            let begun = of.steps.iter().filter_map(began).chain(open.iter().filter_map(begins)).min();
            parking.insert(job);
            let Some(from) = begun else { continue };
            let units = parked_units(up_to, of);
            self.settled.stay.extend(units.iter().map(|unit| (unit.clone(), of.place.clone())));
            self.holders.push(UnitsHeld { by: of.id.clone(), from, units });
        }
    }

    /// Why a step cannot have begun that the plan has begun.
    fn why_not(&self, up_to: &UpTo, start: HalfDay, at: StepAt) -> Option<HeldBack> {
        let book = up_to.context.book;
        let job = &book.jobs[at.job];
        let late = |before: &StepAt| self.behind.contains(before) || self.settled.held_back.contains_key(before);
        if let Some(before) = before(up_to.context, at).find(late) {
            return Some(HeldBack::After(step(book, before).1));
        }
        let begun = job.steps.iter().any(Step::started);
        let parks = if begun { Vec::new() } else { up_to.kept.parked(&job.id).concat() };
        let rows = begun_rows(up_to, at).into_iter();
        let wanted = rows.flat_map(|row| row.units.iter().map(move |unit| (row.start, unit)));
        let mut wanted = wanted.chain(parks.iter().map(|unit| (start, unit)));
        wanted.find_map(|(start, unit)| {
            let holds = |of: &&UnitsHeld| of.by != job.id && of.from < start && of.units.contains(unit);
            let holder = self.holders.iter().find(holds)?;
            Some(HeldBack::Unit { unit: unit.clone(), by: holder.by.clone() })
        })
    }
}

/// What a step is by a person's word; `None`: the plan was made with that.
fn by_word(asked: &Left, word: Word) -> Result<Option<Outcome>, Trouble> {
    Ok(match word {
        Word::NotBegun(as_of) => (asked.rows[0].start <= as_of).then_some(Outcome::NotBegun),
        Word::Left(of, as_of) if known_to_plan(asked, of, as_of)? => None,
        Word::Left(of, as_of) => Some(since(asked, of, as_of)?),
    })
}

/// What a step is by the plan.
fn by_plan(asked: &Left) -> Result<Outcome, Trouble> {
    let last = asked.rows[asked.rows.len() - 1];
    Ok(if last.end < asked.until { Outcome::Done(last.end) } else { Outcome::Left(left(asked)?.0) })
}

/// The plan's rows of a step that begin before the half-day.
fn begun_rows<'d>(up_to: &UpTo<'d>, at: StepAt) -> Vec<&'d StepRow> {
    up_to.rows(at).into_iter().filter(|row| row.start < up_to.until).collect()
}

fn all(context: &NoteContext) -> impl Iterator<Item = StepAt> {
    let jobs = context.book.jobs.iter().enumerate();
    jobs.flat_map(|(job, of)| (0..of.steps.len()).map(move |step| StepAt { job, step }))
}

/// The half-day in which a step began.
fn began(step: &Step) -> Option<HalfDay> {
    step.progress.as_ref().map(|progress| progress.start).or(step.done.as_ref().map(|done| done.start))
}

/// The units parked at a job: by the book, else by the plan.
fn parked_units(up_to: &UpTo, job: &Job) -> Vec<String> {
    let shared = parked::planned(up_to.context.book, job, &up_to.kept.parked(&job.id)).unwrap_or_default();
    let mut far = HowFar::of(job);
    let planned = |step: &Step| up_to.kept.rows(&job.id, &step.id).first().is_some_and(|row| row.start < up_to.until);
    far.begun.extend(job.steps.iter().enumerate().filter(|(_, step)| planned(step)).map(|(n, _)| n));
    let needs = job.parked.iter().enumerate().filter(|(_, need)| far.holds(job, need));
    needs
        .flat_map(
            |(n, need)| {
                if need.units.is_empty() { shared.get(n).cloned().unwrap_or_default() } else { need.units.clone() }
            },
        )
        .collect()
}

/// The steps that a step comes after (W6).
fn before<'d>(context: &'d NoteContext, at: StepAt) -> impl Iterator<Item = StepAt> + 'd {
    let of = &context.book.jobs[at.job].steps[at.step];
    let listed = at.step.checked_sub(1).filter(|_| of.after.is_none()).map(|step| StepAt { step, ..at });
    let named = of.after.iter().flatten().filter_map(move |after| {
        let link = after.link();
        let job = link.job.map_or(Some(at.job), |job| context.book.jobs.iter().position(|of| of.id == job))?;
        let step = context.book.jobs[job].steps.iter().position(|of| of.id == link.step)?;
        Some(StepAt { job, step })
    });
    listed.into_iter().chain(named)
}
