//! The planning rules as a mixed-integer program.
//!
//! **Sets.** Time is the horizon's half-days h; a *tick* k at half-day h_k is one that the shop works, the only ones in
//! which work starts or ends and hauls are made. Jobs j have steps s; a step has *modes* m (a way with what it then
//! holds), and a mode has *runs* r: by a pool of teams (a crew, alone or with helpers), from a start to an end. Units that
//! are alike are a pool p with spots P, where they may stand; pools are those of the book that need not be told apart.
//!
//! **Decisions**, all whole:
//!
//! ```text
//! x_r        1: the run is made                        y_j        1: the job is left out
//! a          hauls along an arc (from, to, tick, at its start or in its evening) by units of a pool
//! q_p        units of pool p that serve a need where several pools may
//! o_P        1: the one unit of a pool that is out for a while stands at P
//! ```
//!
//! **What follows from them**, as sums, greatest and least of columns before:
//!
//! ```text
//! started_m(k), ended_m(k)   1 once a run of the mode has started, ended, up to k
//! started_j(k), over_j(k)    1 once the job has started, is over
//! at(P,k), come(P,k)         units of a pool that stand at P in k; that have come there up to k
//! u_c, z                     1: crew c is on the job; some own crew is
//! ```
//!
//! **Minimise**, in whole cents (the constant is what history costs):
//!
//! ```text
//! sum of cost(r) x_r      C5's cent for a step's end, C6 to C11, and C1, C5, C16 where the run begins or ends the job
//! + sum of left_out(j) y_j                                                                      C2
//! + sum of haul cost(a) a                                                                       C3
//! + sum of standing(P) at(P,k) + road(P) hauls from P that take all of k                        C12 C13
//! + sum of away(P,k) before(P,k) + late_day uncleared(P,k)                                      C17 C18
//! + extra_crew (sum of u_c - z)   of each job                                                   C4
//! + late, waiting and open by over_j(k)   of jobs with several last steps                       C1 C5 C16
//! - not open yet by started_j(k)          of jobs with several first steps                      C16
//! + reserve_half_day short + rounds of crews by their dates                                      C14 C15
//! ```
//!
//! **Subject to** the rows, one pass a rule family, in the order in which [`encode`] lists them; each says its rules, its
//! formula and why it is exact. All columns count from 0 up.
//!
//! | pass | rules | columns | rows |
//! |---|---|---|---|
//! | [`work::runs`](work) | W1 W3 W5 W8, C2 C6 C11 | x a run, y a job | one a step, two sums a step and tick |
//! | `work::spans` | W10, C9 | x a span | one a rest, one a rest and half-day |
//! | [`crews::crews`](crews) | W4 W11 W13 W16 | | one a crew and tick |
//! | [`crew_cost::reserves`](crew_cost) | C14 | one a crew and week | as many |
//! | `crew_cost::driving` | C15 | one a crew, date and pair of places | three a column |
//! | `crews::overtime_once` | C8 | one a crew and tick, of overtime | |
//! | `work::order` | W6 | | one a link and tick |
//! | [`holds::holds`](holds) | E2 E3 E5 E7 | a share where several pools can serve | a few a need and tick |
//! | `holds::outs` | E4 | where a unit that is out stands | one a unit |
//! | [`flow::flows`](flow) | E1 E4 E8 H1-H3 H5, C3 C12 C13 C17 | a haul count an arc and tick | up to five a pool, place and tick, of shared units and need |
//! | [`capacity::trucks`](capacity) | H4 | | one a tick and weight |
//! | `capacity::spots` | E6 | | one a place with spots and tick |
//! | [`cost::ends`](cost) | C1 C5 C16 | one a tick, for jobs with several last steps | as many |
//! | `cost::begins` | C16 | one a tick, for jobs with several first steps | as many |
//! | `cost::crews` | C4 | one a job and crew | one a step and crew |
//! | [`clear::sites`](clear) | C18 | one a site to be cleared and date | as many |
//! | [`cut::arrivals`](cut), `cut::stays` | follow from E1 E2 | | two a need and tick |
//! | `cut::crew_time` | follow from W1 W4 | | a few |
//!
//! T1, T2, W2 and W7 are in the runs themselves; H6 in the arcs' costs.

mod arc_cost;
mod capacity;
mod clear;
mod cost;
mod crew_cost;
mod crews;
mod cut;
mod decode;
mod flow;
mod holds;
mod one_crew;
mod program;
mod values;
mod work;

pub use program::{Col, Program, Row, Rule, States, Terms};

use yardless_plan::shop::{CrewId, Id, JobId, PlaceId, Shop, StepId, Table, TeamId, UnitId};

use crate::context::Context;
use crate::model::{Spot, TeamPool, UnitPool, team_pools, unit_pools};
use flow::Flow;
use holds::PoolHold;
use work::{Mode, RunColumn};

/// The program of a shop, and what its columns stand for.
#[derive(Clone, Debug)]
pub struct Encoding {
    /// The program.
    pub program: Program,
    /// Whether every solution of the program is a plan at that cost; otherwise it is a relaxation (merged places).
    pub exact: bool,
    /// The half-days that the shop works.
    pub ticks: Vec<usize>,
    /// The tick of each half-day that the shop works.
    tick_of: Vec<usize>,
    unit_pools: Vec<UnitPool>,
    team_pools: Vec<TeamPool>,
    team_pool_of: Table<TeamId, usize>,
    /// By job: 1 when it is left out; none for later jobs.
    left_out: Vec<Option<Col>>,
    modes: Vec<Mode>,
    modes_of: Vec<std::ops::Range<usize>>,
    holds: Vec<PoolHold>,
    flows: Vec<Flow>,
    /// Own crews on each job beyond the first, summed over the jobs on which they cost (C4).
    extra_crews: Terms,
}

/// Writes the rules as rows. `None` where the shop works in no half-day of the horizon: then nothing can be done.
/// With `merge_rests` the places where nothing wants a pool's units are taken together (see `Spot::Elsewhere`):
/// far fewer columns, and a relaxation where there are several.
pub fn encode(shop: &Shop, merge_rests: bool) -> Option<Encoding> {
    encode_within(shop, &Context::free(), merge_rests)
}

/// The same for the plans that a search looks for.
pub(crate) fn encode_within(shop: &Shop, context: &Context, merge_rests: bool) -> Option<Encoding> {
    let ticks: Vec<usize> = (0..shop.len()).filter(|h| shop.open[*h]).collect();
    if ticks.is_empty() {
        return None;
    }
    let mut tick_of = vec![usize::MAX; shop.len()];
    for (k, h) in ticks.iter().enumerate() {
        tick_of[*h] = k;
    }
    let (team_pools, team_pool_of) = team_pools(shop);
    let unit_pools = unit_pools(shop, context, merge_rests, true);
    let mut e = Encoding {
        program: Program::default(),
        exact: flow::exact(&unit_pools),
        ticks,
        tick_of,
        unit_pools,
        team_pools,
        team_pool_of,
        left_out: Vec::new(),
        modes: Vec::new(),
        modes_of: Vec::new(),
        holds: Vec::new(),
        flows: Vec::new(),
        extra_crews: Terms::new(),
    };
    work::runs(shop, context, &mut e);
    crews::crews(shop, &mut e);
    crews::overtime_once(shop, &mut e);
    crew_cost::reserves(shop, &mut e);
    crew_cost::driving(shop, &mut e);
    work::order(shop, context, &mut e);
    holds::holds(shop, context, &mut e);
    holds::outs(&mut e);
    flow::flows(shop, &mut e);
    capacity::trucks(shop, &mut e);
    capacity::spots(shop, &mut e);
    cost::ends(shop, &mut e);
    cost::begins(shop, &mut e);
    cost::crews(shop, &mut e);
    clear::sites(shop, &mut e);
    cut::arrivals(shop, &mut e);
    cut::crew_time(shop, context, &mut e);
    Some(e)
}

/// Columns above which the program is a relaxation with merged places, and above which there is none.
const MOST_HAUL_COLUMNS: usize = 40_000;
const MOST_COLUMNS: usize = 400_000;

/// The program of what a search looks for: exact where that is small enough, none where it is too large.
pub(crate) fn within_size(shop: &Shop, context: &Context) -> Option<Encoding> {
    let works = shop.open.iter().filter(|works| **works).count();
    // Pools have at most as many places as the shop: an upper estimate of the haul columns.
    let hauls = shop.units.len() * shop.places.len() * shop.places.len() * works * 3 / 2;
    let runs: usize =
        shop.steps.ids().map(|step| shop.choices(step).map(|(_, _, runs)| runs.iter().count()).sum::<usize>()).sum();
    if runs > MOST_COLUMNS {
        return None;
    }
    let encoding = if hauls <= 4 * MOST_HAUL_COLUMNS { encode_within(shop, context, false) } else { None };
    let encoding = match encoding {
        Some(exact) if exact.haul_columns() <= MOST_HAUL_COLUMNS => Some(exact),
        _ => encode_within(shop, context, true),
    };
    encoding.filter(|encoding| encoding.program.columns() <= MOST_COLUMNS)
}

impl Encoding {
    /// How many columns count hauls.
    pub fn haul_columns(&self) -> usize {
        self.flows.iter().map(|flow| flow.arcs.len()).sum()
    }

    /// How many own crews are on jobs beyond the first of each, where they cost: empty where none can be.
    pub fn extra_crews(&self) -> &Terms {
        &self.extra_crews
    }

    /// The columns that leave a job out.
    pub fn left_out_columns(&self) -> impl Iterator<Item = Col> + '_ {
        self.left_out.iter().copied().flatten()
    }

    /// The columns of work, each with its mode and the teams of its pool.
    pub(crate) fn work(&self) -> impl Iterator<Item = (&Mode, &RunColumn, &[TeamId])> + '_ {
        self.modes.iter().flat_map(move |mode| {
            mode.runs.iter().map(move |run| (mode, run, self.team_pools[run.pool].teams.as_slice()))
        })
    }

    /// The columns of hauls between single places: units of the pool, from, to, half-day, in the evening.
    pub(crate) fn hauls(&self) -> impl Iterator<Item = (Col, &[UnitId], PlaceId, PlaceId, usize, bool)> + '_ {
        self.unit_pools.iter().zip(&self.flows).flat_map(move |(pool, flow)| {
            flow.arcs.iter().filter_map(move |arc| match (&pool.spots[arc.from], &pool.spots[arc.to]) {
                (Spot::At(from), Spot::At(to)) => {
                    Some((arc.col, pool.units.as_slice(), *from, *to, self.ticks[arc.tick], arc.evening))
                }
                _ => None,
            })
        })
    }

    /// The column that leaves a job out.
    pub(crate) fn left_out(&self, job: JobId) -> Option<Col> {
        self.left_out[job.index()]
    }

    /// One of the crews of a pool: of a team with helpers the crew that they help.
    fn crew_of(&self, shop: &Shop, pool: usize) -> CrewId {
        shop.teams[self.team_pools[pool].teams[0]].crew
    }

    /// The modes of a step.
    fn modes_of(&self, step: StepId) -> impl Iterator<Item = &Mode> {
        self.modes[self.modes_of[step.index()].clone()].iter()
    }

    /// 1 once a step has started, up to a tick; empty where the step has no run.
    fn started(&self, step: StepId, k: usize) -> Terms {
        self.modes_of(step).filter(|mode| mode.part.starts()).map(|mode| (mode.started[k], 1)).collect()
    }

    /// 1 once a step has ended; likewise.
    fn ended(&self, step: StepId, k: usize) -> Terms {
        self.modes_of(step).filter(|mode| mode.part.ends()).map(|mode| (mode.ended[k], 1)).collect()
    }

    /// The first tick at or after a half-day: its own, but for what goes on from a now that is none.
    fn tick_from(&self, h: usize) -> usize {
        self.ticks.partition_point(|tick| *tick < h)
    }

    /// The last tick at or before a half-day, which may lie beyond the horizon.
    fn last_tick(&self, h: usize) -> Option<usize> {
        self.ticks.partition_point(|tick| *tick <= h).checked_sub(1)
    }
}
