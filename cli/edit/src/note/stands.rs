//! What people have said of steps that the plan has otherwise, and what by that cannot have begun.

use std::collections::{BTreeMap, BTreeSet};

use yardless_book::half_day::HalfDay;
use yardless_book::{Job, Step, USUAL};
use yardless_plan::StepRow;
use yardless_plan::shop::Shop;

use super::kept::{Kept, held, stage};
use super::left::{Left, known_to_plan, left, since};
use super::step::{in_hours, step};
use super::subject::{self, StepAt};
use super::word::{Outcome, Stands, Word};
use super::{Desk, HeldBack, parked};
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
struct Holder {
    by: String,
    from: HalfDay,
    units: Vec<String>,
}

/// The plan's shop, made ready when it is first asked for.
pub fn shop<'s>(desk: &Desk, kept: &Kept, shop: &'s mut Option<Shop>) -> Result<&'s Shop, Trouble> {
    Ok(match shop {
        Some(shop) => shop,
        None => shop.insert(desk.file.shop_of(&desk.file.before(None).0, kept.horizon, 0, Some(&[]))?),
    })
}

/// Settles what stands. What the plan has before the half-day is taken to have happened, as far as nobody has said
/// otherwise and as it can have.
pub fn settle(
    desk: &Desk,
    kept: &Kept,
    (until, over): (HalfDay, &[String]),
    ready: &mut Option<Shop>,
) -> Result<Settled, Trouble> {
    let over: BTreeSet<StepAt> = over.iter().map(|of| subject::step(desk.book, of)).collect::<Result<_, _>>()?;
    let mut settled = Settled::default();
    let mut holders: Vec<Holder> = Vec::new();
    let mut behind: BTreeSet<StepAt> = BTreeSet::new();
    let mut taken: BTreeSet<StepAt> = BTreeSet::new();
    for at in all(desk) {
        let (of, name) = step(desk.book, at);
        let Some(word) = Word::of(of) else { continue };
        let job = &desk.book.jobs[at.job];
        let rows = kept.rows(&job.id, &of.id);
        let begun = rows.first().zip(rows.last()).filter(|(first, _)| first.start < until);
        if let Some((first, last)) = begun {
            let known = of.progress.as_ref();
            let crew = known.map_or(&first.crew, |known| &known.crew);
            let planned = (of.ways.is_some() || first.way != USUAL).then_some(&first.way);
            let way = known.map_or(planned, |known| known.way.as_ref()).map(String::as_str);
            let asked = Left { desk, kept, shop: shop(desk, kept, ready)?, at, crew, way, rows: &rows, until };
            let is = match word {
                Word::NotBegun(as_of) if first.start > as_of => continue,
                Word::NotBegun(_) => Outcome::NotBegun,
                Word::Left(of, as_of) if known_to_plan(&asked, of, as_of)? => continue,
                Word::Left(of, as_of) => since(&asked, of, as_of)?,
            };
            let plan = if last.end < until { Outcome::Done(last.end) } else { Outcome::Left(left(&asked)?.0) };
            let same = match (is, plan) {
                (Outcome::Done(_), Outcome::Done(_)) => true,
                _ => is == plan,
            };
            if !same && over.contains(&at) {
                taken.insert(at);
                continue;
            }
            settled.outcomes.insert(at, is);
            if !same {
                let hours = in_hours(of, way);
                settled.stands.push(Stands { of: name.clone(), word, is, plan, hours });
            }
            if is == Outcome::NotBegun || matches!((is, plan), (Outcome::Left(_), Outcome::Done(_))) {
                behind.insert(at);
            }
            if matches!(is, Outcome::Done(_)) {
                continue;
            }
        }
        if let Some(progress) = &of.progress {
            // Between its spans it holds nothing.
            let at_stage = stage(&rows, kept.reaches(until), |row| row.start < until, |row| row.end < until);
            let units = held(at_stage, &rows, Some(progress), kept.is_of(desk.file)).unwrap_or_default();
            settled.stay.extend(units.iter().map(|unit| (unit.clone(), job.place.clone())));
            holders.push(Holder { by: name, from: progress.start, units });
        }
    }
    let agreed = over.difference(&taken).map(|at| step(desk.book, *at).1);
    settled.agreed = agreed.collect();
    hold_back(desk, kept, until, &behind, holders, &mut settled);
    Ok(settled)
}

fn all(desk: &Desk) -> impl Iterator<Item = StepAt> {
    let jobs = desk.book.jobs.iter().enumerate();
    jobs.flat_map(|(job, of)| (0..of.steps.len()).map(move |step| StepAt { job, step }))
}

/// Takes out what the plan has begun and what cannot have: it comes after a step that is not done, or needs a unit that
/// is held elsewhere.
fn hold_back(
    desk: &Desk,
    kept: &Kept,
    until: HalfDay,
    behind: &BTreeSet<StepAt>,
    mut holders: Vec<Holder>,
    settled: &mut Settled,
) {
    let rows = |at: StepAt| -> Vec<&StepRow> {
        let job = &desk.book.jobs[at.job];
        let rows = kept.rows(&job.id, &job.steps[at.step].id);
        rows.into_iter().filter(|row| row.start < until).collect()
    };
    // In the order of the plan, so that what holds others back comes before them.
    let mut open: Vec<(HalfDay, StepAt)> = all(desk)
        .filter(|at| !step(desk.book, *at).0.started() && !behind.contains(at))
        .filter_map(|at| Some((rows(at).first()?.start, at)))
        .collect();
    open.sort_unstable();
    let mut parking: BTreeSet<usize> = BTreeSet::new();
    loop {
        let late: BTreeSet<usize> = behind.iter().chain(settled.held_back.keys()).map(|at| at.job).collect();
        let more: Vec<usize> = late.difference(&parking).copied().collect();
        for job in more {
            let of = &desk.book.jobs[job];
            let begins = |(start, at): &(HalfDay, StepAt)| {
                (at.job == job && !settled.held_back.contains_key(at)).then_some(*start)
            };
            let begun = of.steps.iter().filter_map(began).chain(open.iter().filter_map(begins)).min();
            parking.insert(job);
            let Some(from) = begun else { continue };
            let units = parked_units(desk, kept, of);
            settled.stay.extend(units.iter().map(|unit| (unit.clone(), of.place.clone())));
            holders.push(Holder { by: of.id.clone(), from, units });
        }
        let found = open.iter().find_map(|(start, at)| {
            if settled.held_back.contains_key(at) {
                return None;
            }
            let job = &desk.book.jobs[at.job];
            let late = |before: &StepAt| behind.contains(before) || settled.held_back.contains_key(before);
            if let Some(before) = before(desk, *at).find(late) {
                return Some((*at, HeldBack::After(step(desk.book, before).1)));
            }
            let parks = if job.steps.iter().any(Step::started) { &[][..] } else { kept.parked(&job.id) };
            let wanted = rows(*at).into_iter().flat_map(|row| row.units.iter().map(move |unit| (row.start, unit)));
            let mut wanted = wanted.chain(parks.iter().map(|unit| (*start, unit)));
            wanted.find_map(|(start, unit)| {
                let holds = |of: &&Holder| of.by != job.id && of.from < start && of.units.contains(unit);
                let holder = holders.iter().find(holds)?;
                Some((*at, HeldBack::Unit { unit: unit.clone(), by: holder.by.clone() }))
            })
        });
        let Some((at, why)) = found else { break };
        settled.held_back.insert(at, why);
    }
}

/// The half-day in which a step began.
fn began(step: &Step) -> Option<HalfDay> {
    step.progress.as_ref().map(|progress| progress.start).or(step.done.as_ref().map(|done| done.start))
}

/// The units parked at a job: by the book, else by the plan.
fn parked_units(desk: &Desk, kept: &Kept, job: &Job) -> Vec<String> {
    let shared = parked::share(desk.book, job, kept.parked(&job.id)).unwrap_or_default();
    let needs = job.parked.iter().enumerate();
    needs
        .flat_map(
            |(n, need)| {
                if need.units.is_empty() { shared.get(n).cloned().unwrap_or_default() } else { need.units.clone() }
            },
        )
        .collect()
}

/// The steps that a step comes after (W6).
fn before<'d>(desk: &'d Desk, at: StepAt) -> impl Iterator<Item = StepAt> + 'd {
    let of = &desk.book.jobs[at.job].steps[at.step];
    let listed = at.step.checked_sub(1).filter(|_| of.after.is_none()).map(|step| StepAt { step, ..at });
    let named = of.after.iter().flatten().filter_map(move |after| {
        let link = after.link();
        let job = link.job.map_or(Some(at.job), |job| desk.book.jobs.iter().position(|of| of.id == job))?;
        let step = desk.book.jobs[job].steps.iter().position(|of| of.id == link.step)?;
        Some(StepAt { job, step })
    });
    listed.into_iter().chain(named)
}
