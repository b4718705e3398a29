//! The candidates for a step: whole runs by each crew in each way, alone or helped, and what each costs.

use yardless_book::money::Cents;
use yardless_plan::Done;
use yardless_plan::shop::{CrewId, Id, KeptStart, Need, Part, Runs, Shop, StepId, TeamId};

use super::memo::HaulMemo;
use super::{PartialPlan, Trial};
use crate::model::Hint;
use crate::primal::half_days::{HalfDays, each, holds, holds_within};

/// A step to be placed.
pub(super) struct SlotQuery {
    pub(super) step: StepId,
    /// It does not start before.
    pub(super) not_before: usize,
    /// It starts at least so many half-days later than it could.
    pub(super) delay: usize,
    /// What the job's steps up to this one may cost, in cents, hauls before it apart.
    pub(super) spare: i64,
    pub(super) trial: Trial,
}

/// Why a step cannot be placed.
pub(super) enum Infeasible {
    /// Another step of the job came too early for this one to follow.
    After(StepId),
    /// It would cost more than is worth it.
    TooDear,
    /// There is no start for it, whatever the steps before.
    NoStart,
}

/// What a step's candidates keep to, and what they cost beside themselves.
pub(super) struct Slot<'s> {
    pub(super) step: StepId,
    /// First and last half-day in which it may start.
    pub(super) first: usize,
    pub(super) last: usize,
    /// What it may cost, hauls included, in cents.
    pub(super) spare: i64,
    /// The only own crew that may do it, unless the book says which.
    pub(super) crew: Option<CrewId>,
    /// Just so, where it is set.
    pub(super) hint: Option<Hint>,
    pub(super) noise: u64,
    /// Why no candidate may be left in the end.
    pub(super) tight: Infeasible,
    shop: &'s Shop,
    /// Own crews on the job so far.
    crews: Vec<CrewId>,
    /// Half-days between its end and the job's, at least.
    tail: usize,
    /// What being late costs by the job's end (C1).
    late: &'s [Cents],
    wait_half_day: i64,
    /// The first start of the job's steps so far.
    begins: Option<usize>,
}

impl Slot<'_> {
    /// What it costs that the step ends in a half-day: late, its own lateness apart, and waiting.
    pub(super) fn end_cents(&self, end: usize) -> i64 {
        let at_job_end = (end + self.tail).min(self.shop.len() - 1);
        self.late[at_job_end].0 + self.wait_half_day * at_job_end as i64 + end as i64
    }

    /// What it costs that the site is open, where the step goes from one half-day to another (C16).
    pub(super) fn open_cents(&self, start: usize, end: usize) -> i64 {
        let at_job_end = (end + self.tail).min(self.shop.len() - 1);
        let first = self.begins.map_or(start, |begins| begins.min(start));
        self.shop.open_cost(self.shop.steps[self.step].job, first, at_job_end).0
    }

    /// What another own crew on the job costs (C4); its helpers cost nothing here.
    pub(super) fn crew_cents(&self, team: TeamId) -> i64 {
        let crew = self.shop.teams[team].crew;
        let another = !self.crews.is_empty() && self.shop.crews[crew].own && !self.crews.contains(&crew);
        if another { self.shop.extra_crew().0 } else { 0 }
    }

    /// Whether the trial lets the crew do it, whoever helps.
    pub(super) fn lets(&self, team: TeamId) -> bool {
        let crew = self.shop.teams[team].crew;
        let other = self.shop.crews[crew].own && self.crew.is_some_and(|only| only != crew);
        !other || self.shop.steps[self.step].fixed.crew.is_some()
    }
}

/// The best candidate so far.
pub(super) struct Best {
    pub(super) cents: i64,
    pub(super) run: Done,
}

/// Whether so much is no less than the best costs.
fn no_better(best: Option<&Best>, cents: i64) -> bool {
    best.is_some_and(|best| cents >= best.cents)
}

/// One way and team for a step.
#[derive(Clone, Copy)]
struct Choice<'s> {
    way: usize,
    team: TeamId,
    runs: &'s Runs,
    /// The half-days in which its runs may work.
    workable: HalfDays<'s>,
    /// The half-days in which some run of it starts while its crews have the time.
    starts: HalfDays<'s>,
    /// Half-days in which its runs work, and its crews have not the time; and whether there are no others, drives apart.
    blocked: HalfDays<'s>,
    told: bool,
    /// What it costs whatever the start.
    fixed: i64,
}

/// The most by which noise changes what a choice seems to cost, in cents.
const MOST_NOISE: i64 = 2000;
/// Starts that fit, looked at for one step, crew and way before the best of them is taken.
const MOST_STARTS: usize = 10;

impl<'s> PartialPlan<'s> {
    /// What the steps placed so far leave to the candidates of one more.
    pub(super) fn slot(&self, asked: &SlotQuery) -> Result<Slot<'s>, Infeasible> {
        let shop = self.shop();
        let facts = &shop.steps[asked.step];
        let job = &shop.jobs[facts.job];
        let (mut first, mut last, tight) = self.after_others(asked.step, asked.not_before)?;
        first += asked.delay;
        let (steps, by_end) = self.so_far(facts.job);
        if steps + by_end >= asked.spare {
            return Err(Infeasible::TooDear);
        }
        // Noise may prefer what costs more.
        let spare = asked.spare - steps + if asked.trial.noise == 0 { 0 } else { MOST_NOISE };
        let placed =
            job.step_ids().filter_map(|other| self.steps[other].as_ref()).map(|done| shop.teams[done.team].crew);
        let crews = job.crews_before.iter().copied().chain(placed.filter(|crew| shop.crews[*crew].own)).collect();
        let hint = self.hints[asked.step].filter(|_| asked.trial.as_hinted);
        if let Some(Hint { start, .. }) = hint {
            (first, last) = (first.max(start), last.min(start));
        }
        Ok(Slot {
            step: asked.step,
            first,
            last,
            spare,
            crew: asked.trial.crew.filter(|crew| facts.teams.contains(&shop.alone(*crew))),
            hint,
            noise: asked.trial.noise,
            tight,
            shop,
            crews,
            tail: self.tables.tail[asked.step],
            late: &job.late,
            wait_half_day: shop.wait_half_day().0,
            begins: self.starts(facts.job),
        })
    }

    /// First and last start of a step after those that it waits for, and why there may be none (W6).
    fn after_others(&self, step: StepId, not_before: usize) -> Result<(usize, usize, Infeasible), Infeasible> {
        let shop = self.shop();
        let facts = &shop.steps[step];
        let (mut first, mut last, mut tight) = (not_before, shop.len() - 1, Infeasible::NoStart);
        for link in &facts.after {
            let other_job = shop.steps[link.before].job != facts.job;
            let Some(before) = &self.steps[link.before] else {
                // What is in progress waits for no other job that is not done (N1).
                if shop.jobs[facts.job].started && other_job {
                    continue;
                }
                return Err(Infeasible::NoStart);
            };
            first = first.max(before.end + 1 + link.wait);
            if let Some(within) = link.within
                && before.end + 1 + within < last
            {
                last = before.end + 1 + within;
                tight = if other_job { Infeasible::NoStart } else { Infeasible::After(link.before) };
            }
        }
        Ok((first, last, tight))
    }

    /// The cheapest whole run of a step, hauls included.
    pub(super) fn best_run(&mut self, slot: &mut Slot<'s>, memo: &mut HaulMemo) -> Option<Best> {
        let shop = self.shop();
        let tables = self.tables;
        let mut best = None;
        let (mut blocked, mut starts) = (Vec::new(), Vec::new());
        // One of the crews that nothing tells apart and that have nothing to do is as good as another.
        let mut idle: Vec<(usize, usize)> = Vec::new();
        for (n, (way, team, position)) in tables.choices[slot.step].iter().copied().enumerate() {
            let Some(runs) = shop.runs_at(slot.step, position) else { continue };
            if slot.hint.is_some_and(|hint| (hint.way, hint.team) != (way, team)) || !slot.lets(team) {
                continue;
            }
            if let Some(pool) = tables.alike[team].filter(|_| self.timetable.without_work(shop.teams[team].crew)) {
                if idle.contains(&(way, pool)) {
                    continue;
                }
                idle.push((way, pool));
            }
            let fixed = slot.crew_cents(team) + shop.comes_back_cost(slot.step).0 + jitter(slot.noise, slot.step, n);
            // Mostly the crew has not the time: that is told before what a run costs, but where another step is held back for
            // one that would cost too much.
            let by_bits = !matches!(slot.tight, Infeasible::After(_));
            let workable = tables.workable[slot.step].row(position);
            let told = self.timetable.blocked((slot.step, way, team), workable, &mut blocked) && by_bits;
            if !by_bits {
                blocked.fill(0);
            }
            starts.clear();
            let may_start = tables.starts[slot.step].row(position);
            starts.extend(may_start.iter().zip(&blocked).map(|(may, blocked)| may & !blocked));
            let choice = Choice { way, team, runs, workable, starts: &starts, blocked: &blocked, told, fixed };
            self.best_start(slot, choice, &mut best, memo);
        }
        best
    }

    /// The cheapest start by a team in a way, where it beats the best so far.
    fn best_start(&mut self, slot: &mut Slot<'s>, choice: Choice<'_>, best: &mut Option<Best>, memo: &mut HaulMemo) {
        let shop = self.shop();
        let Choice { way, team, runs, starts, blocked, fixed, .. } = choice;
        let step = slot.step;
        let facts = &shop.steps[step];
        let kept = facts.kept.filter(|_| facts.going.is_none());
        let in_time = |start: &usize| (slot.first..=slot.last).contains(start) && holds(starts, *start);
        let as_kept = kept_start(facts.kept, team).filter(in_time);
        let change = kept.map_or(0, |kept| kept.change.min(kept.same_date).0);
        let by_start = fixed + facts.ways[way].extra.0;
        let all = in_order(&facts.told, starts, slot.first, slot.last);
        let (mut fits, mut missed) = (0, facts.told.is_empty());
        for start in as_kept.into_iter().chain(all.filter(|start| Some(*start) != as_kept)) {
            let Some(end) = runs.end_of(start) else { continue };
            if holds_within(blocked, start, end + 1) {
                continue;
            }
            let is_kept = Some(start) == as_kept;
            if !missed && !is_kept && misses(&facts.told, start) {
                (missed, fits) = (true, 0);
            }
            // A later start costs no less than this, whatever it works in overtime; the one kept may come late.
            let least = by_start + slot.end_cents(end) + if is_kept { 0 } else { change };
            if !is_kept && (no_better(best.as_ref(), least) || fits >= MOST_STARTS) {
                if missed {
                    break;
                }
                continue;
            }
            let own = shop.start_cost(step, way, team, start) - shop.comes_back_cost(step) + shop.end_cost(step, end);
            let by_span = slot.end_cents(end) + slot.open_cents(start, end);
            let cents = fixed + own.0 + by_span + shop.time_cost_of(runs, step, way, start, end).0;
            if cents >= slot.spare {
                slot.tight = Infeasible::TooDear;
                if !is_kept && least >= slot.spare && missed {
                    break;
                }
                continue;
            }
            if no_better(best.as_ref(), cents) || !self.may_run(step, &choice, start, end) {
                continue;
            }
            let run = Done { way, team, start, end, units: Vec::new(), returns: None };
            let cents = cents + self.time_cents(step, &run, choice.workable);
            if no_better(best.as_ref(), cents) {
                continue;
            }
            let Some(hauls) = self.hauls(step, &run, memo) else { continue };
            fits += 1;
            if !no_better(best.as_ref(), cents + hauls) {
                *best = Some(Best { cents: cents + hauls, run });
            }
        }
    }

    /// Whether its crews are free for a run, and all that is bound to it lets it be.
    fn may_run(&self, step: StepId, choice: &Choice<'_>, start: usize, end: usize) -> bool {
        let worked = each(choice.workable, start, end);
        let busy = || {
            if choice.told {
                self.timetable.far((step, choice.way, choice.team), &worked)
            } else {
                self.timetable.busy(step, choice.way, choice.team, worked)
            }
        };
        end <= self.tables.latest_end[step]
            && self.lets_go_on(step, end)
            && self.shop().start_allowed(step, start)
            && !busy()
    }

    /// Whether what is in progress and placed already still comes after the step, in time (N1, W6).
    pub(super) fn lets_go_on(&self, step: StepId, end: usize) -> bool {
        self.tables.in_progress_after[step].iter().all(|(after, link)| {
            let next = end + 1;
            self.steps[*after].as_ref().is_none_or(|after| {
                next + link.wait <= after.start && link.within.is_none_or(|within| after.start <= next + within)
            })
        })
    }

    /// What the hauls for a run cost: the same for every team that does it at the same time, but for one in overtime
    /// with trucks of its own (W9).
    fn hauls(&mut self, step: StepId, run: &Done, memo: &mut HaulMemo) -> Option<i64> {
        let shop = self.shop();
        let Done { way, team, start, end, .. } = *run;
        let own_trucks = self.brings_trucks(step, way, team);
        if let Some(entry) = memo.find(way, start, end).filter(|_| !own_trucks) {
            return memo.hauls(entry);
        }
        let needs: Vec<Need> = shop.needs(step, Part::Whole, way, start).collect();
        if own_trucks {
            self.mark(step, run, true);
        }
        let hauls = if shop.trailers_fit(step, Part::Whole, way, start) {
            self.cost_to_hold(&needs, self.stop(shop.steps[step].job, start, end))
        } else {
            None
        };
        if own_trucks {
            self.mark(step, run, false);
        } else {
            memo.learn(way, start, end, hauls);
        }
        hauls
    }

    /// What a run adds to what its crews' weeks and dates cost (C14, C15).
    fn time_cents(&self, step: StepId, run: &Done, workable: HalfDays<'_>) -> i64 {
        if !self.timetable.time_costs() {
            return 0;
        }
        self.timetable.time_cents((step, run.way, run.team), &each(workable, run.start, run.end))
    }

    /// Whether a team comes with trucks that haul in overtime.
    pub(super) fn brings_trucks(&self, step: StepId, way: usize, team: TeamId) -> bool {
        let shop = self.shop();
        let brings = |crew: CrewId| shop.trucks.iter().any(|truck| truck.crew == Some(crew));
        shop.steps[step].ways[way].overtime && shop.teams[team].crews().any(brings)
    }
}

/// Whether a start lies outside the dates that somebody was told (C10), by what each start costs.
fn misses(told: &[Cents], start: usize) -> bool {
    told.get(start).is_some_and(|cents| *cents > Cents::ZERO)
}

/// The starts from one to another in their order: first those on dates that somebody was told, or all where nobody was.
fn in_order(told: &[Cents], starts: HalfDays<'_>, first: usize, last: usize) -> impl Iterator<Item = usize> {
    let (from, to) = if told.is_empty() { (1, 0) } else { (first, last) };
    let outside = each(starts, from, to).filter(|start| misses(told, *start));
    each(starts, first, last).filter(|start| !misses(told, *start)).chain(outside)
}

/// The start that the kept plan gave the team, looked at first: any other costs (C7).
fn kept_start(kept: Option<KeptStart>, team: TeamId) -> Option<usize> {
    kept.filter(|kept| kept.team == Some(team)).and_then(|kept| usize::try_from(kept.start).ok())
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
