//! What the insertion heuristic asks of a shop again and again: orders of steps, who follows whom, who may do what.

use yardless_book::Moves;
use yardless_plan::shop::{
    CrewId, Id, JobFacts, JobId, KindId, Link, PlaceId, Runs, Shop, StepId, Table, TeamId, UnitFacts, UnitId, Want,
};

use super::activity_list::is_project;
use super::half_days::{HalfDaySets, HalfDays};
use crate::model::{in_order, team_pools};

/// What the insertion heuristic asks of a shop again and again.
pub(crate) struct Tables {
    /// Steps of each job in an order in which each comes after those it waits for.
    pub(crate) order: Table<JobId, Vec<StepId>>,
    /// Whether the steps of each job may be done in many orders.
    pub(crate) projects: Table<JobId, bool>,
    /// The ways and teams that may do each step, and where its runs by them are among all of the step.
    pub(crate) choices: Table<StepId, Vec<(usize, TeamId, usize)>>,
    /// By step, and where its runs by a team in a way are among all of it: the half-days in which these may work (W2).
    pub(crate) workable: Table<StepId, HalfDaySets>,
    /// Likewise the half-days in which one of them starts.
    pub(crate) starts: Table<StepId, HalfDaySets>,
    /// By team: the pool of crews that nothing tells apart, where it is of several.
    pub(crate) alike: Table<TeamId, Option<usize>>,
    /// Half-days that at least pass between a step's end and the end of its job.
    pub(crate) tail: Table<StepId, usize>,
    /// A step that ends later leaves no time for those of its job that come after it.
    pub(crate) latest_end: Table<StepId, usize>,
    /// No run of the step ends before this half-day.
    pub(crate) earliest_end: Table<StepId, usize>,
    /// Jobs that have a step after one of this job's.
    pub(crate) followers: Table<JobId, Vec<JobId>>,
    /// Jobs that one of this job's steps comes after.
    pub(crate) leaders: Table<JobId, Vec<JobId>>,
    /// Steps of other jobs in progress that come after the step where its job is done (N1).
    pub(crate) in_progress_after: Table<StepId, Vec<(StepId, Link)>>,
    /// Own crews that may do some step of each job, where it has several of both.
    pub(crate) crews: Table<JobId, Vec<CrewId>>,
    /// Units that can serve as each kind, and those that give power.
    kinds: Table<KindId, Vec<UnitId>>,
    power: Vec<UnitId>,
    units: Table<UnitId, UnitId>,
    /// For each unit the first one that is the same as long as both have not been moved.
    pub(crate) same: Table<UnitId, UnitId>,
    /// The units for which it costs somewhere that they stand (C12, C13, C17, C18).
    pub(crate) standing_costs: Vec<UnitId>,
    /// What a haul costs (C3), of towed units and then of carried ones, from and to; `i64::MAX`: no drive is known.
    haul_cents: Vec<i64>,
    /// When roads and travel let a unit leave or come: towed ones by place, then carried ones (H1 to H3).
    roads: HalfDaySets,
    /// When each unit may be hauled (E4).
    hauled: HalfDaySets,
}

impl Tables {
    pub(crate) fn new(shop: &Shop) -> Self {
        let (leaders, followers) = leaders_and_followers(shop);
        let order: Table<JobId, Vec<StepId>> = shop.jobs.ids().map(|job| in_order(shop, job)).collect();
        let first_end = |step: StepId| {
            shop.choices(step).filter_map(|(_, _, runs)| runs.iter().next().map(|(_, end)| end)).min().unwrap_or(0)
        };
        let able = |want: Want| shop.units.ids().filter(|unit| shop.units[*unit].serves(want)).collect::<Vec<_>>();
        Self {
            choices: shop.steps.ids().map(|step| choices(shop, step)).collect(),
            workable: shop.steps.ids().map(|step| of_runs(shop, step, |runs, h| runs.workable[h])).collect(),
            starts: shop.steps.ids().map(|step| of_runs(shop, step, |runs, h| runs.end_of(h).is_some())).collect(),
            alike: alike(shop),
            tail: tails(shop, &order),
            latest_end: latest_ends(shop, &order),
            earliest_end: shop.steps.ids().map(first_end).collect(),
            projects: order.pairs().map(|(job, order)| is_project(shop, job, order)).collect(),
            order,
            followers,
            leaders,
            in_progress_after: in_progress_after(shop),
            crews: shop.jobs.iter().map(|job| own_crews(shop, job)).collect(),
            kinds: shop.kinds.ids().map(|kind| able(Want::Kind(kind))).collect(),
            power: able(Want::Power),
            units: shop.units.ids().collect(),
            same: same(shop),
            standing_costs: shop.units.ids().filter(|unit| shop.stands_at_a_cost(*unit)).collect(),
            haul_cents: haul_cents(shop),
            roads: roads(shop),
            hauled: hauled(shop),
        }
    }

    /// The units that can serve what is wanted.
    pub(crate) fn able(&self, want: Want) -> &[UnitId] {
        match want {
            Want::Kind(kind) => &self.kinds[kind],
            Want::Power => &self.power,
            Want::Unit(unit) => std::slice::from_ref(&self.units[unit]),
        }
    }

    /// Whether it costs somewhere that the unit stands there.
    pub(crate) fn stands_at_a_cost(&self, unit: UnitId) -> bool {
        self.standing_costs.binary_search(&unit).is_ok()
    }

    /// What a haul costs (C3); `i64::MAX`: no drive is known.
    pub(crate) fn haul_cents(&self, shop: &Shop, moves: Moves, from: PlaceId, to: PlaceId) -> i64 {
        let table = if moves == Moves::Towed { 0 } else { shop.places.len() };
        self.haul_cents[(table + from.index()) * shop.places.len() + to.index()]
    }

    /// When roads and travel let a unit leave a place or come to it.
    pub(crate) fn road(&self, shop: &Shop, moves: Moves, place: PlaceId) -> HalfDays<'_> {
        self.roads.row(place.index() + if moves == Moves::Towed { 0 } else { shop.places.len() })
    }

    /// When a unit is not out.
    pub(crate) fn hauled(&self, unit: UnitId) -> HalfDays<'_> {
        self.hauled.row(unit.index())
    }
}

fn alike(shop: &Shop) -> Table<TeamId, Option<usize>> {
    let (pools, of) = team_pools(shop);
    of.iter().map(|pool| Some(*pool).filter(|pool| pools[*pool].teams.len() > 1)).collect()
}

/// By job: those that one of its steps comes after, and those that have a step after one of its own.
fn choices(shop: &Shop, step: StepId) -> Vec<(usize, TeamId, usize)> {
    let choice = |(way, team, _)| Some((way, team, shop.position_of_runs(step, way, team)?));
    shop.choices(step).filter_map(choice).collect()
}

fn leaders_and_followers(shop: &Shop) -> (Table<JobId, Vec<JobId>>, Table<JobId, Vec<JobId>>) {
    let mut leaders: Table<JobId, Vec<JobId>> = Table::filled(shop.jobs.len(), Vec::new());
    let mut followers = leaders.clone();
    for (job, facts) in shop.jobs.pairs() {
        for link in facts.step_ids().flat_map(|step| &shop.steps[step].after) {
            let other = shop.steps[link.before].job;
            if other != job && !leaders[job].contains(&other) {
                leaders[job].push(other);
                followers[other].push(job);
            }
        }
    }
    (leaders, followers)
}

fn in_progress_after(shop: &Shop) -> Table<StepId, Vec<(StepId, Link)>> {
    let mut after = Table::filled(shop.steps.len(), Vec::new());
    for (step, facts) in shop.steps.pairs().filter(|(_, facts)| shop.jobs[facts.job].started) {
        for link in facts.after.iter().filter(|link| shop.steps[link.before].job != facts.job) {
            after[link.before].push((step, *link));
        }
    }
    after
}

fn tails(shop: &Shop, order: &Table<JobId, Vec<StepId>>) -> Table<StepId, usize> {
    let shortest = |step: StepId| {
        shop.choices(step).filter_map(|(_, _, runs)| runs.iter().map(|(s, e)| e + 1 - s).min()).min().unwrap_or(1)
    };
    let mut tail = Table::filled(shop.steps.len(), 0);
    for steps in order {
        for step in steps.iter().rev() {
            let behind = tail[*step] + shortest(*step);
            for link in &shop.steps[*step].after {
                if steps.contains(&link.before) {
                    tail[link.before] = tail[link.before].max(behind + link.wait);
                }
            }
        }
    }
    tail
}

/// For each unit the first one that is the same as long as both have not been moved.
fn same(shop: &Shop) -> Table<UnitId, UnitId> {
    let same = |unit: &UnitFacts| {
        let alike = |other: &UnitFacts| {
            (other.moves, other.weight_lb, other.place) == (unit.moves, unit.weight_lb, unit.place)
                && other.takers == unit.takers
                && other.kinds == unit.kinds
                && other.out == unit.out
                && (other.hire_half_day, other.hire_place, other.home)
                    == (unit.hire_half_day, unit.hire_place, unit.home)
                && other.bound.is_empty()
                && unit.bound.is_empty()
        };
        shop.units.find(alike).unwrap_or(unit.number)
    };
    shop.units.iter().map(same).collect()
}

/// The half-days of which something is so of a step's runs, by their position.
fn of_runs(shop: &Shop, step: StepId, is_so: impl Fn(&Runs, usize) -> bool) -> HalfDaySets {
    let all: Vec<&Runs> = (0..).map_while(|position| shop.runs_at(step, position)).collect();
    let mut sets = HalfDaySets::new(all.len(), shop.len());
    for (row, runs) in all.iter().enumerate() {
        for h in 0..shop.len() {
            sets.put(row, h, is_so(runs, h));
        }
    }
    sets
}

fn haul_cents(shop: &Shop) -> Vec<i64> {
    let cents = |moves, from, to| {
        shop.haul_time(moves, from, to).map_or(i64::MAX, |time| shop.haul_cost(moves, time.minutes).0)
    };
    [Moves::Towed, Moves::Carried]
        .into_iter()
        .flat_map(|moves| shop.places.ids().map(move |from| (moves, from)))
        .flat_map(|(moves, from)| shop.places.ids().map(move |to| cents(moves, from, to)))
        .collect()
}

/// A road is open from one place to another where it is so at either.
fn roads(shop: &Shop) -> HalfDaySets {
    let mut roads = HalfDaySets::new(2 * shop.places.len(), shop.len());
    for place in shop.places.ids() {
        for h in 0..shop.len() {
            roads.put(place.index(), h, shop.roads_open(Moves::Towed, place, place, h).is_some());
            let carried = shop.roads_open(Moves::Carried, place, place, h).is_some();
            roads.put(shop.places.len() + place.index(), h, carried);
        }
    }
    roads
}

fn hauled(shop: &Shop) -> HalfDaySets {
    let mut hauled = HalfDaySets::new(shop.units.len(), shop.len());
    for (unit, facts) in shop.units.pairs() {
        for h in 0..shop.len() {
            hauled.put(unit.index(), h, !facts.out[h]);
        }
    }
    hauled
}

/// By when each step must end, so that a run of every step after it in its job ends within the horizon.
fn latest_ends(shop: &Shop, order: &Table<JobId, Vec<StepId>>) -> Table<StepId, usize> {
    let mut latest = Table::filled(shop.steps.len(), shop.len() - 1);
    for step in order.iter().flat_map(|steps| steps.iter().rev()).copied() {
        let in_time = |(_, end): &(usize, usize)| *end <= latest[step];
        let starts = shop.choices(step).filter_map(|(_, _, runs)| runs.iter().rfind(in_time).map(|(start, _)| start));
        let last = starts.max().unwrap_or(0);
        for link in shop.steps[step].after.iter().filter(|link| shop.steps[link.before].job == shop.steps[step].job) {
            latest[link.before] = latest[link.before].min(last.saturating_sub(1 + link.wait));
        }
    }
    latest
}

fn own_crews(shop: &Shop, job: &JobFacts) -> Vec<CrewId> {
    let mut crews: Vec<CrewId> = job
        .step_ids()
        .flat_map(|step| &shop.steps[step].teams)
        .map(|team| shop.teams[*team].crew)
        .filter(|crew| shop.crews[*crew].own)
        .collect();
    crews.sort_unstable();
    crews.dedup();
    if crews.len() < 2 || job.steps.len() < 2 || shop.extra_crew().0 == 0 { Vec::new() } else { crews }
}
