//! Puts jobs into a plan one after the other, hauls, trucks, roads and spots included, and takes them out again.

mod hold;
mod known;

use std::sync::Arc;

use super::tables::Tables;
use super::yard::{Undo, Yard};
use crate::plan::{Done, Draft, Haul, Wanted, hitch};
use crate::shop::{CrewId, Id, JobId, Need, Shop, StepId, Table, UnitId};
use known::Known;

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
}

/// The steps, parked units and walks of a job that was tried.
struct Attempt {
    steps: Vec<(StepId, Arc<Done>)>,
    parked: Vec<UnitId>,
    redo: Undo,
}

/// Why a step cannot be placed.
enum Stuck {
    /// Another step of the job came too early for this one to follow.
    After(StepId),
    /// It would cost more than is worth it.
    Dear,
    /// There is no start for it, whatever the steps before.
    Lacks,
}

/// The most by which noise changes what a choice seems to cost, in cents.
const MOST_NOISE: i64 = 2000;
/// Starts that fit, looked at for one step, crew and way before the best of them is taken.
const MOST_STARTS: usize = 10;
/// Times that a job is begun anew, some step later, before it is given up.
const MOST_RETRIES: usize = 30;

impl<'s> Builder<'s> {
    /// Every job left out.
    pub(super) fn new(shop: &'s Shop, tables: &'s Tables) -> Self {
        let cents = shop.jobs.iter().filter(|job| !job.later).map(|job| job.left_out.0).sum();
        Self {
            yard: Yard::new(shop, tables),
            tables,
            steps: Table::filled(shop.steps.len(), None),
            parked: Table::filled(shop.jobs.len(), Vec::new()),
            done: Table::filled(shop.jobs.len(), false),
            cents,
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

    /// Takes a job out, with those that follow it.
    pub(super) fn remove(&mut self, job: JobId) {
        if !self.done[job] {
            return;
        }
        let tables = self.tables;
        for follower in &tables.followers[job] {
            self.remove(*follower);
        }
        self.cents += self.shop().jobs[job].left_out.0 - self.job_cents(job);
        for step in self.shop().jobs[job].step_ids() {
            self.take_back(step);
        }
        self.yard.remove_stops(job);
        self.parked[job].clear();
        self.done[job] = false;
    }

    fn take_back(&mut self, step: StepId) {
        if let Some(done) = self.steps[step].take() {
            self.mark(step, &done, false);
        }
    }

    fn mark(&mut self, step: StepId, done: &Done, busy: bool) {
        if let Some(runs) = self.shop().runs(step, done.way, done.crew) {
            self.yard.mark(done.crew, runs.worked(done.start, done.end), busy);
        }
    }

    /// C1, C4, C5, C6 of a done job.
    fn job_cents(&self, job: JobId) -> i64 {
        let (steps, end) = self.so_far(job);
        steps + end
    }

    /// What the steps placed so far cost: by themselves and by when the job can end, hauls apart.
    fn so_far(&self, job: JobId) -> (i64, i64) {
        let shop = self.shop();
        let (mut cents, mut last, mut crews) = (0, 0, Vec::new());
        for step in shop.jobs[job].step_ids() {
            let Some(done) = self.steps[step].as_ref() else { continue };
            cents += done.end as i64 + shop.steps[step].ways[done.way].extra.0;
            last = last.max((done.end + self.tables.tail[step]).min(shop.len() - 1));
            if shop.crews[done.crew].own && !crews.contains(&done.crew) {
                crews.push(done.crew);
            }
        }
        let extra_crews = shop.extra_crew().0 * (crews.len() as i64 - 1).max(0);
        (cents + extra_crews, shop.jobs[job].late[last].0 + shop.wait_half_day().0 * last as i64)
    }

    /// Puts a job in as the trials do best, where that costs less than leaving it out.
    pub(super) fn insert(&mut self, job: JobId, trials: &[Trial]) -> bool {
        let facts = &self.shop().jobs[job];
        if self.done[job] || facts.later || facts.follows_later.is_some() {
            return false;
        }
        if !self.tables.leaders[job].iter().all(|leader| self.done[*leader]) {
            return false;
        }
        let mut best: Option<(i64, Attempt)> = None;
        let mut known = Known::new(self.shop().len());
        for trial in trials {
            // More than the best so far, or than leaving it out, is not worth the rest of an attempt.
            let most = best.as_ref().map_or(facts.left_out.0, |(least, _)| *least);
            if let Some((cents, undo)) = self.attempt(job, *trial, most, &mut known) {
                let attempt = self.abandon(job, undo);
                if best.as_ref().is_none_or(|(least, _)| cents < *least) {
                    best = Some((cents, attempt));
                }
            }
        }
        match best {
            Some((cents, attempt)) if cents < facts.left_out.0 => {
                self.repeat(job, attempt);
                self.cents += self.job_cents(job) - facts.left_out.0;
                self.done[job] = true;
                true
            }
            _ => false,
        }
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

    /// Places all steps of a job and its parked units; the cost it adds. Where a step cannot follow another closely
    /// enough, or the parked units are not free, some step is held back and all is begun anew.
    fn attempt(&mut self, job: JobId, trial: Trial, most: i64, known: &mut Known) -> Option<(i64, Undo)> {
        let shop = self.shop();
        let tables = self.tables;
        let order = &tables.order[job];
        let mut not_before = vec![trial.not_before; shop.jobs[job].steps.len()];
        let at = |step: StepId| step.index() - shop.jobs[job].steps.start;
        for _ in 0..MOST_RETRIES {
            let mut undo = Undo::new();
            let mut hauls = 0;
            let mut held_back = None;
            known.begin();
            for (n, step) in order.iter().enumerate() {
                let delay = trial.delay.filter(|(which, _)| *which == n).map_or(0, |(_, delay)| delay);
                let to_come: i64 = order[n + 1..].iter().map(|step| tables.earliest_end[*step] as i64).sum();
                let spare = most - hauls - to_come;
                match self.place(*step, (not_before[at(*step)], delay), trial, spare, known, &mut undo) {
                    Ok(cents) => hauls += cents,
                    Err(Stuck::After(before)) => {
                        let start = self.steps[before].as_ref().map_or(0, |done| done.start);
                        held_back = Some(Some((at(before), start + 1)));
                    }
                    Err(Stuck::Lacks) => held_back = Some(None),
                    Err(Stuck::Dear) => {
                        self.abandon(job, undo);
                        return None;
                    }
                }
                if held_back.is_some() {
                    break;
                }
            }
            if held_back.is_none() {
                if let Some(cents) = self.park(job, &mut undo) {
                    return Some((hauls + cents + self.job_cents(job), undo));
                }
                let first = order.first().copied()?;
                held_back = Some(self.steps[first].as_ref().map(|done| (at(first), done.start + 1)));
            }
            self.abandon(job, undo);
            let (step, start) = held_back.flatten()?;
            not_before[step] = start;
        }
        None
    }

    /// Places one step at its best start by its best crew in its best way; the cost of hauls it adds. `spare` is what
    /// the job's steps up to this one may cost, hauls before it apart.
    fn place(
        &mut self,
        step: StepId,
        (not_before, delay): (usize, usize),
        trial: Trial,
        spare: i64,
        known: &mut Known,
        undo: &mut Undo,
    ) -> Result<i64, Stuck> {
        let shop = self.shop();
        let facts = &shop.steps[step];
        let (mut first, mut last, mut tight) = (not_before, shop.len() - 1, Stuck::Lacks);
        for link in &facts.after {
            let Some(before) = &self.steps[link.before] else { return Err(Stuck::Lacks) };
            first = first.max(before.end + 1 + link.wait);
            if let Some(within) = link.within
                && before.end + 1 + within < last
            {
                last = before.end + 1 + within;
                tight = if shop.steps[link.before].job == facts.job { Stuck::After(link.before) } else { Stuck::Lacks };
            }
        }
        first += delay;
        let job = &shop.jobs[facts.job];
        let (steps, by_end) = self.so_far(facts.job);
        if steps + by_end >= spare {
            return Err(Stuck::Dear);
        }
        // Noise may prefer what costs more.
        let spare = spare - steps + if trial.noise == 0 { 0 } else { MOST_NOISE };
        let score = |end: usize| {
            let at_job_end = (end + self.tables.tail[step]).min(shop.len() - 1);
            job.late[at_job_end].0 + shop.wait_half_day().0 * at_job_end as i64 + end as i64
        };
        let own: Vec<CrewId> = job
            .step_ids()
            .filter_map(|other| self.steps[other].as_ref())
            .map(|done| done.crew)
            .filter(|crew| shop.crews[*crew].own)
            .collect();
        let mut best: Option<(i64, usize, CrewId, usize, usize)> = None;
        let bound_to = trial.crew.filter(|crew| facts.crews.contains(crew));
        for (n, (way, crew, runs)) in shop.choices(step).enumerate() {
            if shop.crews[crew].own && bound_to.is_some_and(|only| only != crew) && facts.fixed.crew.is_none() {
                continue;
            }
            let another = !own.is_empty() && shop.crews[crew].own && !own.contains(&crew);
            let fixed =
                facts.ways[way].extra.0 + if another { shop.extra_crew().0 } else { 0 } + jitter(trial.noise, step, n);
            let mut fits = 0;
            for start in first..=last {
                let Some(end) = runs.end_of(start) else { continue };
                let cents = fixed + score(end);
                if best.as_ref().is_some_and(|(least, ..)| cents >= *least) || fits >= MOST_STARTS {
                    break;
                }
                if cents >= spare {
                    tight = Stuck::Dear;
                    break;
                }
                if !shop.start_allowed(step, start) || self.yard.busy(crew, runs.worked(start, end)) {
                    continue;
                }
                let Some(hauls) = self.hauls(step, way, start, end, known) else { continue };
                fits += 1;
                let total = cents + hauls;
                if best.as_ref().is_none_or(|(least, ..)| total < *least) {
                    best = Some((total, way, crew, start, end));
                }
            }
        }
        let Some((_, way, crew, start, end)) = best else { return Err(tight) };
        let needs: Vec<Need> = shop.needs(step, way, start).collect();
        let Some((units, hauls)) = self.hold(facts.job, &needs, start, end, undo) else { return Err(Stuck::Lacks) };
        known.go_on(way, start, end);
        let done = Done { way, crew, start, end, units };
        self.mark(step, &done, true);
        self.steps[step] = Some(Arc::new(done));
        Ok(hauls)
    }

    /// What the hauls for a step cost: the same for every crew that does it at the same time.
    fn hauls(&mut self, step: StepId, way: usize, start: usize, end: usize, known: &mut Known) -> Option<i64> {
        if let Some(entry) = known.find(way, start, end) {
            return known.hauls(entry);
        }
        let needs: Vec<Need> = self.shop().needs(step, way, start).collect();
        let hauls = self.cost_to_hold(self.shop().steps[step].job, &needs, start, end);
        known.learn(way, start, end, hauls);
        hauls
    }

    fn park(&mut self, job: JobId, undo: &mut Undo) -> Option<i64> {
        let facts = &self.shop().jobs[job];
        if facts.parked.is_empty() {
            return Some(0);
        }
        let rows = || facts.step_ids().filter_map(|step| self.steps[step].as_ref());
        let (first, last) = (rows().map(|done| done.start).min()?, rows().map(|done| done.end).max()?);
        let (units, cents) = self.hold(job, &facts.parked, first, last, undo)?;
        self.parked[job] = units;
        Some(cents)
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

/// A small change to what a choice seems to cost, the same for the same seed.
fn jitter(noise: u64, step: StepId, choice: usize) -> i64 {
    if noise == 0 {
        return 0;
    }
    let mut x = noise ^ ((step.index() as u64) << 20) ^ choice as u64;
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((x ^ (x >> 31)) % MOST_NOISE as u64) as i64
}
