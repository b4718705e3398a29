//! Puts jobs into a plan one after the other, hauls, trucks, roads and spots included, and takes them out again.

mod attempt;
mod begun;
mod hold;
mod known;
mod split;
mod taken;
mod together;

use std::sync::Arc;

use yardless_plan::shop::{CrewId, JobFacts, JobId, Shop, StepId, Table, UnitId};
use yardless_plan::{Done, Draft, Haul, Wanted, hitch};

use super::tables::Tables;
use super::yard::{Undo, Yard};
use known::Known;
pub(super) use together::Held;

/// A plan under construction that always holds, and its cost.
#[derive(Clone)]
pub(super) struct Builder<'s> {
    yard: Yard<'s>,
    tables: &'s Tables,
    steps: Table<StepId, Option<Arc<Done>>>,
    parked: Table<JobId, Vec<UnitId>>,
    done: Table<JobId, bool>,
    /// Cost of the jobs done (late, crews, waiting, ways) and left out; hauls apart.
    cents: i64,
    /// Way, crew and start of each step in a plan from elsewhere.
    wishes: Arc<Table<StepId, Option<Wish>>>,
    stuck: Arc<Vec<JobId>>,
}

/// A way, by its position, a crew, and a start.
pub(super) type Wish = (usize, CrewId, usize);

/// What a job that has begun costs besides while it is not ended: more than any plan (N1).
const MUST: i64 = 1 << 44;

/// What it costs that a job is out of the plan, as long as it is not known to be stuck.
fn out_cents(facts: &JobFacts) -> i64 {
    facts.left_out.0 + if facts.started { MUST } else { 0 }
}

/// How a job is tried: what the search varies.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Trial {
    /// No step starts before it.
    pub(super) not_before: usize,
    /// Seed of small changes to what choices seem to cost; 0: none.
    pub(super) noise: u64,
    /// The only own crew that may do its steps, where it may do them at all: another one costs (C4).
    pub(super) crew: Option<CrewId>,
    /// A step, by its place in the job's order, that starts at least so many half-days later than it could: it leaves
    /// room for another job in between.
    pub(super) delay: Option<(usize, usize)>,
    /// Its steps just as wished for, where they are.
    pub(super) as_wished: bool,
}

/// The steps, parked units and walks of a job that was tried.
struct Attempt {
    steps: Vec<(StepId, Arc<Done>)>,
    parked: Vec<UnitId>,
    redo: Undo,
}

impl<'s> Builder<'s> {
    /// Every job left out.
    pub(super) fn new(shop: &'s Shop, tables: &'s Tables) -> Self {
        let cents = shop.jobs.iter().filter(|job| job.planned()).map(out_cents).sum::<i64>() + shop.history.0;
        let mut yard = Yard::new(shop, tables);
        for job in shop.jobs.ids().filter(|job| shop.jobs[*job].started && shop.jobs[*job].planned()) {
            yard.keep(job);
        }
        Self {
            yard,
            tables,
            steps: Table::filled(shop.steps.len(), None),
            parked: Table::filled(shop.jobs.len(), Vec::new()),
            done: Table::filled(shop.jobs.len(), false),
            cents,
            wishes: Arc::new(Table::filled(shop.steps.len(), None)),
            stuck: Arc::default(),
        }
    }

    fn shop(&self) -> &'s Shop {
        self.yard.shop
    }

    /// What the plan costs now, in cents.
    pub(super) fn cost(&self) -> i64 {
        self.cents + self.yard.cents
    }

    /// Whether the job is in the plan.
    pub(super) fn does(&self, job: JobId) -> bool {
        self.done[job]
    }

    /// Whether the job comes after another that has come in.
    pub(super) fn waits(&self, job: JobId) -> bool {
        !self.done[job] && self.tables.leaders[job].iter().any(|leader| self.done[*leader])
    }

    /// When the job starts, where it is in the plan.
    pub(super) fn starts(&self, job: JobId) -> Option<usize> {
        self.shop().jobs[job].step_ids().filter_map(|step| self.steps[step].as_ref()).map(|done| done.start).min()
    }

    /// The own crews that may do some step of a job, if another one on it costs.
    pub(super) fn crews_to_try(&self, job: JobId) -> &'s [CrewId] {
        &self.tables.crews[job]
    }

    /// Takes a job out, with those that follow it, and those whose units only its crew's trucks could haul (W9).
    pub(super) fn remove(&mut self, job: JobId) {
        let tables = self.tables;
        for follower in tables.followers[job].iter().filter(|follower| !self.yard.shop.jobs[**follower].started) {
            self.remove(*follower);
        }
        if !self.done[job] {
            return;
        }
        self.cents += self.out_cents(job) - self.job_cents(job);
        for step in self.shop().jobs[job].step_ids() {
            self.take_back(step);
        }
        self.yard.remove_stops(job);
        self.parked[job].clear();
        self.done[job] = false;
        while let Some(other) = self.yard.stranded().filter(|other| self.done[*other]) {
            self.remove(other);
        }
    }

    /// Whether every haul has its truck and every trailer a spot. All else holds whatever is put in or taken out.
    pub(super) fn holds(&self) -> bool {
        self.yard.hitched() && self.yard.has_room()
    }

    fn take_back(&mut self, step: StepId) {
        if let Some(done) = self.steps[step].take() {
            self.mark(step, &done, false);
        }
    }

    fn mark(&mut self, step: StepId, done: &Done, busy: bool) {
        let works = done.works(self.shop(), step);
        self.yard.mark(done.crew, works, busy);
    }

    /// C1, C4, C5, C6 of a done job.
    fn job_cents(&self, job: JobId) -> i64 {
        let (steps, end) = self.so_far(job);
        steps + end
    }

    /// What the steps placed so far cost: by themselves and by when the job can end, hauls apart.
    fn so_far(&self, job: JobId) -> (i64, i64) {
        let shop = self.shop();
        let facts = &shop.jobs[job];
        let (mut cents, mut last, mut crews) = (facts.past_cost.0, 0, facts.crews_before.clone());
        for step in facts.step_ids() {
            let Some(done) = self.steps[step].as_ref() else { continue };
            cents += done.end as i64 + done.cost(shop, step).0;
            last = last.max((done.end + self.tables.tail[step]).min(shop.len() - 1));
            if shop.crews[done.crew].own && !crews.contains(&done.crew) {
                crews.push(done.crew);
            }
        }
        // Beyond those that the done steps have paid for.
        let extra_crews = shop.extra_crew().0 * crews.len().saturating_sub(facts.crews_before.len().max(1)) as i64;
        (cents + extra_crews, shop.jobs[job].late[last].0 + shop.wait_half_day().0 * last as i64)
    }

    /// Puts a job in as the trials do best, where that costs less than leaving it out.
    pub(super) fn insert(&mut self, job: JobId, trials: &[Trial]) -> bool {
        let facts = &self.shop().jobs[job];
        if self.done[job] || !facts.planned() || facts.follows_later.is_some() || self.stuck.contains(&job) {
            return false;
        }
        if !facts.started && !self.tables.leaders[job].iter().all(|leader| self.done[*leader]) {
            return false;
        }
        if facts.started {
            self.yard.remove_stops(job);
        }
        let out = self.out_cents(job);
        let mut best: Option<(i64, Attempt)> = None;
        let mut known = Known::new(self.shop().len());
        for trial in trials {
            // More than the best so far, or than leaving it out, is not worth the rest of an attempt.
            let most = best.as_ref().map_or(out, |(least, _)| *least);
            if let Some((cents, undo)) = self.attempt(job, *trial, most, &mut known) {
                let attempt = self.abandon(job, undo);
                if best.as_ref().is_none_or(|(least, _)| cents < *least) {
                    best = Some((cents, attempt));
                }
            }
        }
        match best {
            Some((cents, attempt)) if cents < out => {
                self.repeat(job, attempt);
                self.cents += self.job_cents(job) - out;
                self.done[job] = true;
                true
            }
            _ => {
                if facts.started {
                    self.yard.keep(job);
                }
                false
            }
        }
    }

    /// What it costs that the job is out of the plan.
    fn out_cents(&self, job: JobId) -> i64 {
        let facts = &self.shop().jobs[job];
        if self.stuck.contains(&job) { facts.left_out.0 } else { out_cents(facts) }
    }

    /// Takes an attempt back, so that it can be done again.
    fn abandon(&mut self, job: JobId, undo: Undo) -> Attempt {
        let steps =
            self.shop().jobs[job].step_ids().filter_map(|step| Some((step, self.steps[step].clone()?))).collect();
        for step in self.shop().jobs[job].step_ids() {
            self.take_back(step);
        }
        Attempt { steps, parked: std::mem::take(&mut self.parked[job]), redo: self.yard.undo(undo) }
    }

    /// Does again what was taken back, in the same plan.
    fn repeat(&mut self, job: JobId, attempt: Attempt) {
        for (step, done) in attempt.steps {
            self.mark(step, &done, true);
            self.steps[step] = Some(done);
        }
        self.parked[job] = attempt.parked;
        self.yard.undo(attempt.redo);
    }

    /// The plan so far. `None` where the trucks cannot be told apart after all, which the yard rules out.
    pub(super) fn draft(&self) -> Option<Draft> {
        let shop = self.shop();
        let mut draft = Draft {
            steps: self.steps.iter().map(|done| done.as_deref().cloned()).collect(),
            parked: self.parked.clone(),
            hauls: Vec::new(),
        };
        let mut trips: Vec<(usize, bool, Wanted)> = Vec::new();
        for (unit, walk) in shop.units.ids().zip(&self.yard.walks) {
            let wanted = |trip: &super::walk::Trip| Wanted { unit, from: trip.from, to: trip.to };
            trips.extend(walk.trips.iter().map(|trip| (trip.at, trip.evening, wanted(trip))));
        }
        trips.sort_by_key(|(at, evening, wanted)| (*at, *evening, wanted.unit));
        for same in trips.chunk_by(|a, b| a.0 == b.0) {
            let h = same[0].0;
            let wanted: Vec<Wanted> = same.iter().map(|trip| trip.2).collect();
            let trucks = hitch(shop, h, &wanted, |crew| crate::encode::works_at(shop, &draft, crew, h))?;
            for ((_, evening, Wanted { unit, from, to }), truck) in same.iter().zip(trucks) {
                draft.hauls.push(Haul { unit: *unit, from: *from, to: *to, at: h, evening: *evening, truck });
            }
        }
        Some(draft)
    }
}
