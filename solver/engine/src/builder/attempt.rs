//! One attempt to put a job in: its steps one after the other, each where it costs least, then its parked units.

use std::sync::Arc;

use yardless_plan::Done;
use yardless_plan::shop::{CrewId, Id, JobId, Need, Part, StepId};

use super::known::Known;
use super::split::Bounds;
use super::{Builder, Trial};
use crate::yard::Undo;

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

impl Builder<'_> {
    /// Places all steps of a job and its parked units; the cost it adds. Where a step cannot follow another closely
    /// enough, or the parked units are not free, some step is held back and all is begun anew.
    pub(super) fn attempt(&mut self, job: JobId, trial: Trial, most: i64, known: &mut Known) -> Option<(i64, Undo)> {
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
                let first = order[0];
                if held_back.is_none()
                    && let Some(start) = self.parked_from(job, n == 0)
                {
                    held_back = Some(Some((at(first), start)));
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
            let Some(before) = &self.steps[link.before] else {
                // What has begun waits for no other job that is not done (N1).
                if shop.jobs[facts.job].started && shop.steps[link.before].job != facts.job {
                    continue;
                }
                return Err(Stuck::Lacks);
            };
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
        let placed = job.step_ids().filter_map(|other| self.steps[other].as_ref()).map(|done| done.crew);
        let own: Vec<CrewId> =
            job.crews_before.iter().copied().chain(placed.filter(|crew| shop.crews[*crew].own)).collect();
        let another = |crew: CrewId| !own.is_empty() && shop.crews[crew].own && !own.contains(&crew);
        let mut best: Option<(i64, usize, CrewId, usize, usize)> = None;
        let bound_to = trial.crew.filter(|crew| facts.crews.contains(crew));
        let wish = self.wishes[step].filter(|_| trial.as_wished);
        if let Some((_, _, start)) = wish {
            (first, last) = (first.max(start), last.min(start));
        }
        for (n, (way, crew, runs)) in shop.choices(step).enumerate() {
            if wish.is_some_and(|(wished, by, _)| (wished, by) != (way, crew)) {
                continue;
            }
            if shop.crews[crew].own && bound_to.is_some_and(|only| only != crew) && facts.fixed.crew.is_none() {
                continue;
            }
            let extra = if another(crew) { shop.extra_crew().0 } else { 0 };
            let fixed = extra + shop.comes_back_cost(step).0 + jitter(trial.noise, step, n);
            let mut fits = 0;
            // The start that the crew was told first: any other costs (C7).
            let told =
                facts.kept.filter(|kept| kept.crew == Some(crew)).and_then(|kept| usize::try_from(kept.start).ok());
            let told = told.filter(|start| (first..=last).contains(start));
            let change = facts.kept.filter(|_| facts.going.is_none()).map_or(0, |kept| kept.change.0);
            for start in told.into_iter().chain((first..=last).filter(|start| Some(*start) != told)) {
                let Some(end) = runs.end_of(start) else { continue };
                // A later start costs no less than this, whatever it works in overtime; the one told may come late.
                let least = fixed + facts.ways[way].extra.0 + score(end) + if Some(start) == told { 0 } else { change };
                let worse = |cents: i64| best.as_ref().is_some_and(|(so_far, ..)| cents >= *so_far);
                if Some(start) != told && (worse(least) || fits >= MOST_STARTS) {
                    break;
                }
                let cents = least + shop.overtime_cost(step, way, crew, start, end).0;
                if cents >= spare {
                    tight = Stuck::Dear;
                    if Some(start) != told && least >= spare {
                        break;
                    }
                    continue;
                }
                if worse(cents) {
                    continue;
                }
                if end > self.tables.latest_end[step]
                    || !self.lets_go_on(step, end)
                    || !shop.start_allowed(step, start)
                    || self.yard.busy(crew, runs.worked(start, end))
                {
                    continue;
                }
                let Some(hauls) = self.hauls(step, (way, crew), (start, end), known) else { continue };
                fits += 1;
                let total = cents + hauls;
                if best.as_ref().is_none_or(|(least, ..)| total < *least) {
                    best = Some((total, way, crew, start, end));
                }
            }
        }
        let whole = best.as_ref().map_or(spare, |(cents, ..)| *cents);
        let bounds = Bounds { start: first..=last, less_than: whole, crew: bound_to, wish, noise: trial.noise };
        if let Some(split) = self.best_split(step, &bounds, another, score) {
            return self.place_split(step, &split, known, undo).ok_or(Stuck::Lacks);
        }
        let Some((_, way, crew, start, end)) = best else { return Err(tight) };
        let done = Done { way, crew, start, end, units: Vec::new(), returns: None };
        self.place_whole(step, done, known, undo).ok_or(Stuck::Lacks)
    }

    /// Places a step in one go; the cost of hauls it adds.
    fn place_whole(&mut self, step: StepId, mut done: Done, known: &mut Known, undo: &mut Undo) -> Option<i64> {
        let shop = self.shop();
        let Done { way, crew, start, end, .. } = done;
        let needs: Vec<Need> = shop.needs(step, Part::Whole, way, start).collect();
        self.mark(step, &done, true);
        let Some((units, hauls)) = self.hold(shop.steps[step].job, &needs, start, end, undo) else {
            self.mark(step, &done, false);
            return None;
        };
        if self.brings_trucks(step, way, crew) {
            known.go_astray();
        } else {
            known.go_on(way, start, end);
        }
        done.units = units;
        self.steps[step] = Some(Arc::new(done));
        Some(hauls)
    }

    /// Whether what has begun and is placed already still comes after the step, in time (N1, W6).
    pub(super) fn lets_go_on(&self, step: StepId, end: usize) -> bool {
        self.tables.begun_after[step].iter().all(|(after, link)| {
            let next = end + 1;
            self.steps[*after].as_ref().is_none_or(|after| {
                next + link.wait <= after.start && link.within.is_none_or(|within| after.start <= next + within)
            })
        })
    }

    /// What the hauls for a step cost: the same for every crew that does it at the same time, but for one in overtime
    /// with trucks of its own (W9).
    fn hauls(
        &mut self,
        step: StepId,
        (way, crew): (usize, CrewId),
        (start, end): (usize, usize),
        known: &mut Known,
    ) -> Option<i64> {
        let shop = self.shop();
        let own_trucks = self.brings_trucks(step, way, crew);
        if let Some(entry) = known.find(way, start, end).filter(|_| !own_trucks) {
            return known.hauls(entry);
        }
        let needs: Vec<Need> = shop.needs(step, Part::Whole, way, start).collect();
        let run = Done { way, crew, start, end, units: Vec::new(), returns: None };
        if own_trucks {
            self.mark(step, &run, true);
        }
        let hauls = if shop.trailers_fit(step, Part::Whole, way, start) {
            self.cost_to_hold(shop.steps[step].job, &needs, start, end)
        } else {
            None
        };
        if own_trucks {
            self.mark(step, &run, false);
        } else {
            known.learn(way, start, end, hauls);
        }
        hauls
    }

    /// Whether a crew comes with trucks that haul in overtime.
    fn brings_trucks(&self, step: StepId, way: usize, crew: CrewId) -> bool {
        let shop = self.shop();
        shop.steps[step].ways[way].overtime && shop.trucks.iter().any(|truck| truck.crew == Some(crew))
    }

    /// Where the job's units cannot be parked from the first to the last half-day of the steps so far: before when it
    /// had better not start. Whether they can be brought is looked at for the first step only.
    fn parked_from(&mut self, job: JobId, hauls: bool) -> Option<usize> {
        let parked = &self.shop().jobs[job].parked;
        let (first, last) = self.span(job)?;
        let idle = parked.iter().filter_map(|need| self.enough_idle_from(job, *need, first, last)).max();
        let brought = |builder: &mut Self| builder.cost_to_hold(job, parked, first, last).is_some();
        idle.or_else(|| (hauls && !parked.is_empty() && !brought(self)).then_some(first + 1))
    }

    /// The first and the last half-day of the steps so far.
    fn span(&self, job: JobId) -> Option<(usize, usize)> {
        let rows = || self.shop().jobs[job].step_ids().filter_map(|step| self.steps[step].as_ref());
        let begun = self.shop().jobs[job].started.then_some(self.shop().now);
        Some((begun.or_else(|| rows().map(|done| done.start).min())?, rows().map(|done| done.end).max()?))
    }

    fn park(&mut self, job: JobId, undo: &mut Undo) -> Option<i64> {
        let facts = &self.shop().jobs[job];
        if facts.parked.is_empty() {
            return Some(0);
        }
        let (first, last) = self.span(job)?;
        let (units, cents) = self.hold(job, &facts.parked, first, last, undo)?;
        self.parked[job] = units;
        Some(cents)
    }
}

/// A small change to what a choice seems to cost, the same for the same seed.
pub(super) fn jitter(noise: u64, step: StepId, choice: usize) -> i64 {
    if noise == 0 {
        return 0;
    }
    let mut x = noise ^ ((step.index() as u64) << 20) ^ choice as u64;
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((x ^ (x >> 31)) % MOST_NOISE as u64) as i64
}
