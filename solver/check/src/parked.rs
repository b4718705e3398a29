//! What is parked at each job, and from when to when: rules E3 and E7.

use yardless_plan::shop::{Id, JobId, Need, Shop, Table, UnitId, Want};
use yardless_plan::{ParkedRow, Plan, Rule};

use super::fact::{Holder, OfUnit};
use super::hauls::Yard;
use super::ids::Ids;
use super::rows::{Fate, Works};
use super::serving::{Holds, UnitHold, named, say_idle, say_missing, serve};
use super::{Found, history, later};

/// A parked need that is held.
struct HeldNeed {
    /// Its position among the job's in the book.
    listed: usize,
    need: Need,
    /// From when to when; `None` where the rows do not say.
    time: Option<HeldTime>,
}

/// When a need is held: up to `in_use` its units may not be out, and to `last` they stay (E7).
#[derive(Clone, Copy)]
struct HeldTime {
    first: usize,
    in_use: usize,
    last: usize,
}

/// E3, E7: the units parked at a job are just those that it parks.
pub(super) fn judge(
    shop: &Shop,
    ids: &Ids,
    plan: &Plan,
    work: &Works,
    yard: &Yard,
    holds: &mut Holds,
    found: &mut Found,
) {
    let mut rows: Table<JobId, Vec<&ParkedRow>> = Table::filled(shop.jobs.len(), Vec::new());
    for row in &plan.parked {
        if let Some(job) = ids.job(&row.job, found) {
            rows[job].push(row);
        }
    }
    for job in shop.jobs.ids() {
        let of_job = OfJob { shop, ids, job, rows: &rows[job], yard };
        match work.fates[job] {
            Fate::Done { start, end } => of_job.held(work, (start, end), holds, found),
            Fate::Rests => of_job.held(work, (shop.now, shop.now), holds, found),
            fate => of_job.not_done(fate, holds, found),
        }
    }
}

/// A job, and what a plan says is parked there.
struct OfJob<'a> {
    shop: &'a Shop,
    ids: &'a Ids<'a>,
    job: JobId,
    rows: &'a [&'a ParkedRow],
    yard: &'a Yard,
}

impl OfJob<'_> {
    fn units(&self, rows: &[&ParkedRow], found: &mut Found) -> Vec<UnitId> {
        named(self.ids, rows.iter().flat_map(|row| &row.units), Holder::Job(self.job), Rule::E3, found)
    }

    /// Nothing is parked; what has begun keeps what it holds (N1).
    fn not_done(&self, fate: Fate, holds: &mut Holds, found: &mut Found) {
        let (shop, job) = (self.shop, self.job);
        if !self.units(self.rows, found).is_empty() {
            found.say(Rule::E3, OfUnit::ParkedNotDone { job });
        }
        if fate == Fate::LeftOut && shop.jobs[job].started {
            let place = shop.jobs[job].place;
            for unit in history::held_now(shop, job) {
                let (by, start, end) = (Holder::Begun(job), shop.now, shop.len() - 1);
                let in_use = end;
                holds[unit].push(UnitHold { start, end, in_use, place, by, waits: true, rule: Rule::N1 });
            }
        }
    }

    /// Just what is held is parked.
    fn held(&self, work: &Works, whole: (usize, usize), holds: &mut Holds, found: &mut Found) {
        let needs = self.needs(work, whole);
        let mut listed: Vec<usize> = needs.iter().map(|need| need.listed).collect();
        listed.dedup();
        let written = &self.shop.book.jobs[self.job.index()].parked;
        let apart = written.iter().any(|need| need.from.is_some() || need.to.is_some());
        if apart && self.rows.len() == listed.len() {
            for (row, listed) in self.rows.iter().zip(listed) {
                let mine: Vec<&HeldNeed> = needs.iter().filter(|need| need.listed == listed).collect();
                self.served(&[*row], &mine, holds, found);
            }
        } else {
            self.served(self.rows, &needs.iter().collect::<Vec<_>>(), holds, found);
        }
    }

    /// The units of some rows serve just some needs, each in its time.
    fn served(&self, rows: &[&ParkedRow], needs: &[&HeldNeed], holds: &mut Holds, found: &mut Found) {
        let units = self.units(rows, found);
        let all: Vec<Need> = needs.iter().map(|need| need.need).collect();
        let (missing, idle) = serve(self.shop, &all, &units);
        let by = Holder::Job(self.job);
        say_missing(by, Rule::E3, &missing, found);
        if missing.is_empty() {
            say_idle(by, Rule::E3, &idle, found);
        }
        let serves = |unit: UnitId, held: &HeldNeed| self.shop.units[unit].serves(held.need.want);
        let (mut left, mut idle) = (units.clone(), units);
        for held in needs {
            let mut able: Vec<UnitId> = left.iter().copied().filter(|unit| serves(*unit, held)).collect();
            // Of several those that stand there.
            able.sort_by_key(|unit| !self.stands(*unit, held));
            able.truncate(held.need.count);
            left.retain(|unit| self.shop.units[*unit].shared || !able.contains(unit));
            idle.retain(|unit| !able.contains(unit));
            for unit in able {
                self.hold(unit, held, holds);
            }
        }
        for unit in idle {
            if let Some(held) = needs.iter().find(|held| serves(unit, held)).or(needs.first()) {
                self.hold(unit, held, holds);
            }
        }
    }

    fn hold(&self, unit: UnitId, held: &HeldNeed, holds: &mut Holds) {
        let Some(HeldTime { first: start, in_use, last: end }) = held.time else { return };
        let (by, waits, place) = (Holder::Parked(self.job), held.need.want.waits(), self.shop.jobs[self.job].place);
        holds[unit].push(UnitHold { start, end, in_use, place, by, waits, rule: Rule::E3 });
    }

    /// Whether a unit stands at the job all the time of a need.
    fn stands(&self, unit: UnitId, held: &HeldNeed) -> bool {
        let there = |h: usize| self.yard.stands[unit][h] == Some(self.shop.jobs[self.job].place);
        held.time.is_some_and(|time| (time.first..=time.last).all(there))
    }

    /// What is held, by the book and the rows of the steps: `whole` is from when to when the job lasts.
    fn needs(&self, work: &Works, whole: (usize, usize)) -> Vec<HeldNeed> {
        let (shop, job) = (self.shop, self.job);
        let text = &shop.book.jobs[job.index()];
        let started = shop.jobs[job].started;
        let rows = |id: &str| shop.find_step(job, id).map_or(&[][..], |step| &work.steps[step]);
        let later =
            |id: &String| later::open(shop, job).any(|step| shop.steps[step].id == *id && work.later.steps[step]);
        let mut needs = Vec::new();
        for (listed, parked) in text.parked.iter().enumerate() {
            if started && history::is_over(text, parked) || parked.from.as_ref().is_some_and(later) {
                continue;
            }
            // What ends it is later: it stays to the end of the horizon.
            let on = parked.to.as_ref().map_or_else(|| work.later.is_part(shop, job), later);
            let now = started && history::has_begun(text, parked);
            let first = match &parked.from {
                Some(from) if !now => rows(from).first().and_then(|row| Some(row.span?.0)),
                _ => Some(whole.0),
            };
            let to = parked.to.as_ref().filter(|_| !on);
            let in_use = to.map_or(Some(whole.1), |to| Some(rows(to).last()?.span?.1));
            let time = first.zip(in_use).filter(|(first, in_use)| first <= in_use).map(|(first, in_use)| {
                let last = if on { shop.len() - 1 } else { in_use };
                HeldTime { first, in_use, last }
            });
            let kind = shop.find_kind(&parked.kind).map(|kind| (Want::Kind(kind), parked.count as usize));
            let units = parked.units.iter().filter_map(|unit| shop.find_unit(unit)).map(|unit| (Want::Unit(unit), 1));
            let wants: Vec<(Want, usize)> = if now { units.collect() } else { kind.into_iter().collect() };
            let need = |(want, count)| HeldNeed { listed, need: Need { want, count }, time };
            needs.extend(wants.into_iter().map(need));
        }
        needs
    }
}
