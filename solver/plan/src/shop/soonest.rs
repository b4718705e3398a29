//! Which steps are later (W12): the soonest end of every step, as if no unit, truck, road or other work were in its way.
//!
//! With r the runs of a step that `fixed` allows, by any crew in any way, overtime and spans apart,
//!
//! ```text
//! soonest(b) = min over runs s -> e of b with s >= soonest(a) + 1 + wait for every link a -> b of e
//! ```
//!
//! A job from which nothing can be waited for (it is later, or no plan does it) has no soonest end for other jobs' steps;
//! as that may take more jobs with it, all is worked out again until nothing changes.

use std::collections::BTreeSet;

use yardless_book::{Book, PowerFrom};

use super::making::Later;
use super::{CrewId, Id, JobId, Need, Shop, StepId, Table, Want};

/// What is later of a shop in whose tables no step is yet.
pub(super) fn later(shop: &Shop) -> Later {
    let soonest = Soonest::new(shop);
    let mut gone: BTreeSet<JobId> = shop.jobs.ids().filter(|job| soonest.never_waited_for(*job)).collect();
    loop {
        let ends = soonest.ends(&gone);
        let late = soonest.late(&ends);
        let all_late =
            |job: JobId| !shop.jobs[job].started && shop.jobs[job].step_ids().all(|step| late.contains(&step));
        let more: Vec<JobId> = shop
            .jobs
            .ids()
            .filter(|job| !gone.contains(job))
            .filter(|job| if soonest.in_part[*job] { all_late(*job) } else { soonest.lacks_one(*job, &ends) })
            .collect();
        if more.is_empty() {
            return soonest.told(&ends, &late);
        }
        gone.extend(more);
    }
}

/// The soonest end of each step; `None`: none.
type Ends = Table<StepId, Option<usize>>;

struct Soonest<'s> {
    shop: &'s Shop,
    /// Each step after those that it comes after.
    order: Vec<StepId>,
    /// Whether each job may be planned in part.
    in_part: Table<JobId, bool>,
    /// Whether each step could not be done at any date.
    never: Table<StepId, bool>,
}

impl<'s> Soonest<'s> {
    fn new(shop: &'s Shop) -> Self {
        let in_part = shop.book.jobs.iter().map(|job| job.in_part.unwrap_or(shop.book.shop.in_part)).collect();
        let never = shop.steps.ids().map(|step| !begun(shop, step) && shop.at_no_date(step)).collect();
        Self { shop, order: order(shop), in_part, never }
    }

    /// Whether other jobs' steps can wait for none of its steps, whatever else is later.
    fn never_waited_for(&self, job: JobId) -> bool {
        self.shop.jobs[job].later || self.shop.jobs[job].step_ids().any(|step| self.never[step])
    }

    /// Whether some step of a job has no soonest end.
    fn lacks_one(&self, job: JobId, ends: &Ends) -> bool {
        self.shop.jobs[job].step_ids().any(|step| ends[step].is_none())
    }

    /// The soonest ends, where nothing waits for other jobs that are `gone`.
    fn ends(&self, gone: &BTreeSet<JobId>) -> Ends {
        let mut ends: Ends = Table::filled(self.shop.steps.len(), None);
        for step in &self.order {
            ends[*step] = self.from(*step, &ends, gone).and_then(|from| self.end(*step, from));
        }
        ends
    }

    /// When a step may start after those before it; `None`: never.
    fn from(&self, step: StepId, ends: &Ends, gone: &BTreeSet<JobId>) -> Option<usize> {
        let shop = self.shop;
        let job = shop.steps[step].job;
        let mut from = shop.steps[step].start_from;
        for link in &shop.steps[step].after {
            let of = shop.steps[link.before].job;
            match ends[link.before].filter(|_| of == job || !gone.contains(&of)) {
                Some(end) => from = from.max(end + 1 + link.wait),
                // A job that has begun and is planned whole waits for no other job that is not done (N1).
                None if shop.jobs[job].started && !self.in_part[job] && of != job => {}
                None => return None,
            }
        }
        Some(from)
    }

    /// The soonest end of a step that starts in a half-day or later.
    fn end(&self, step: StepId, from: usize) -> Option<usize> {
        self.runs(step, from).map(|(_, end)| end).min()
    }

    /// By crew and way, without overtime: the first run that starts in a half-day or later, and the half-days after its
    /// end in which it could go on.
    fn runs(&self, step: StepId, from: usize) -> impl Iterator<Item = (usize, usize)> {
        let shop = self.shop;
        let facts = &shop.steps[step];
        let undated = facts.waited.is_some_and(|waited| waited.undated) && facts.going.is_none();
        let allowed = move |start: usize| {
            let fixed = facts.fixed.start.is_none_or(|fixed| shop.horizon.index(fixed) == Some(start));
            start >= from && fixed && !undated
        };
        let plain = shop.choices(step).filter(|(way, ..)| !facts.ways[*way].overtime);
        plain.filter_map(move |(_, _, runs)| {
            let (_, end) = runs.iter().find(|(start, _)| allowed(*start))?;
            Some((runs.workable[end + 1..].iter().filter(|workable| **workable).count(), end))
        })
    }

    /// The later steps, those of later jobs too.
    fn late(&self, ends: &Ends) -> BTreeSet<StepId> {
        let shop = self.shop;
        let later_jobs = shop.jobs.iter().filter(|job| job.later);
        let mut late: BTreeSet<StepId> = later_jobs.flat_map(super::JobFacts::step_ids).collect();
        let may = |step: StepId| self.in_part[shop.steps[step].job] && !begun(shop, step) && !self.never[step];
        late.extend(shop.steps.ids().filter(|step| may(*step) && ends[*step].is_none()));
        loop {
            let before = late.len();
            for step in &self.order {
                if may(*step) && shop.steps[*step].after.iter().any(|link| late.contains(&link.before)) {
                    late.insert(*step);
                }
            }
            for step in self.order.iter().rev().filter(|step| late.contains(step)).copied().collect::<Vec<_>>() {
                let close = shop.steps[step].after.iter().filter(|link| link.within.is_some());
                late.extend(close.map(|link| link.before).filter(|before| may(*before)));
            }
            if late.len() == before {
                return late;
            }
        }
    }

    /// What is later, by positions in the book.
    fn told(&self, ends: &Ends, late: &BTreeSet<StepId>) -> Later {
        let mut later = Later::default();
        for (job, facts) in self.shop.jobs.pairs().filter(|(job, facts)| self.in_part[*job] && !facts.later) {
            let position = |step: StepId| (job.index(), self.shop.steps[step].listed);
            let steps: Vec<StepId> = facts.step_ids().filter(|step| late.contains(step)).collect();
            if steps.len() == facts.steps.len() && !facts.started {
                later.jobs.insert(job.index());
                continue;
            }
            let barely = facts.step_ids().find(|step| !late.contains(step) && self.is_barely(*step, ends));
            later.barely.extend(barely.map(position));
            later.steps.extend(steps.into_iter().map(position));
        }
        later
    }

    /// Whether a step has a soonest end, and would have none if it took one half-day more.
    fn is_barely(&self, step: StepId, ends: &Ends) -> bool {
        let waits = self.shop.steps[step].after.iter().filter_map(|link| Some(ends[link.before]? + 1 + link.wait));
        let from = waits.max().unwrap_or(0).max(self.shop.steps[step].start_from);
        !begun(self.shop, step) && ends[step].is_some() && self.runs(step, from).all(|(more, _)| more == 0)
    }
}

/// Whether a step is in progress.
fn begun(shop: &Shop, step: StepId) -> bool {
    shop.steps[step].going.is_some()
}

/// The steps, each after those that it comes after.
fn order(shop: &Shop) -> Vec<StepId> {
    let mut followers: Table<StepId, Vec<StepId>> = Table::filled(shop.steps.len(), Vec::new());
    let mut waits: Table<StepId, usize> = Table::filled(shop.steps.len(), 0);
    for (step, facts) in shop.steps.pairs() {
        waits[step] = facts.after.len();
        for link in &facts.after {
            followers[link.before].push(step);
        }
    }
    let mut order: Vec<StepId> = shop.steps.ids().filter(|step| waits[*step] == 0).collect();
    let mut next = 0;
    while let Some(step) = order.get(next).copied() {
        next += 1;
        for follower in &followers[step] {
            waits[*follower] -= 1;
            if waits[*follower] == 0 {
                order.push(*follower);
            }
        }
    }
    order
}

/// Whether some job of a book may be planned in part.
pub(super) fn asked(book: &Book) -> bool {
    book.shop.in_part || book.jobs.iter().any(|job| job.in_part == Some(true))
}

impl Shop {
    /// Whether a step could not be done at any date: in no way that is allowed are there both a crew that reaches the
    /// fewest people with all of its own there, and units enough (W12).
    fn at_no_date(&self, step: StepId) -> bool {
        !self.choices(step).any(|(way, crew, _)| {
            self.people_at_best(crew) >= self.min_people(step, way, crew) && self.units_enough(step, way)
        })
    }

    /// The most people who can ever be there where a crew does a step: all of its own.
    fn people_at_best(&self, crew: CrewId) -> u32 {
        self.book.crews[crew.index()].people
    }

    /// Whether the shop has as many units as a way needs: of each kind, and where the place never has power, for that.
    fn units_enough(&self, step: StepId, way: usize) -> bool {
        let facts = &self.steps[step];
        let place = self.jobs[facts.job].place.index();
        let dark = self.book.places[place].power_from == Some(PowerFrom::Never);
        let power = Need { want: Want::Power, count: if dark { facts.ways[way].power } else { 0 } };
        let needs = &facts.ways[way].needs;
        needs.iter().chain([&power]).all(|need| {
            let wanted: usize = needs.iter().filter(|other| other.want == need.want).map(|other| other.count).sum();
            self.units.iter().filter(|unit| unit.serves(need.want)).count() >= wanted.max(need.count)
        })
    }
}
