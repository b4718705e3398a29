//! The best plan of a tiny book, by trying everything: half-day by half-day, one choice at a time, cheapest first.
//!
//! Reads the rules from [`super::plain`] and shares no table, program or builder with the planner.

mod begin;
mod bound;
mod days;
mod home;
mod part;
mod runs;
mod tables;
mod told;

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use chrono::NaiveDate;
use serde_json::Value;
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_plan::Draft;

use super::plain::Plain;
use days::CrewDays;
use runs::{Run, RunPart};
use tables::Tables;

/// The best plan and what it costs, in cents.
pub struct Best {
    pub cents: i64,
    /// The plan of a clean sheet; history, overtime and second spans are told by `plan` alone.
    pub draft: Draft,
    /// The plan as it is stored, but for costs by term.
    pub plan: Value,
    /// Jobs left out, and those that were started and cannot be ended.
    pub left_out: Vec<String>,
    /// States looked at: how hard the book was.
    pub looked_at: usize,
}

/// Where a unit is.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum UnitAt {
    /// It stands here, and did to the end of the half-day before.
    Stands(usize),
    /// It stands here from this half-day on: it cannot leave at its start (H1).
    Arrived(usize),
    /// On the road, or hauled away this evening: it stands there from the next half-day.
    Coming(usize),
}

/// How far a step is.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum StepState {
    LeftOut,
    /// After these weeks (W12).
    Later,
    Waits,
    Runs {
        run: usize,
        units: u64,
    },
    /// Between its spans: what is left, and from when on it may be done (W10).
    Away {
        rest: usize,
        ready: usize,
    },
    /// Where it ended, negative before the horizon.
    Done {
        end: i64,
    },
}

/// Everything that the rest of the plan depends on.
#[derive(Clone, PartialEq, Eq, Hash)]
struct SearchState {
    h: usize,
    /// Whose choice is next: a haul at the start a unit, a start a step, an evening haul a unit.
    turn: usize,
    units: Vec<UnitAt>,
    /// The hauls of this half-day: four bits a unit, 0 where it is not hauled, else 1 and the position of what is posted on its
    /// way ([`Plain::weights_posted`]).
    hauled: u64,
    steps: Vec<StepState>,
    /// Own crews that have worked at each job, and the units that each of its parked needs holds, and last those that a job
    /// without an end keeps besides.
    jobs: Vec<(u64, Vec<u64>)>,
    /// What the week and the day of some crews have been so far.
    days: CrewDays,
}

#[derive(Clone)]
enum Choice {
    Nothing,
    Haul {
        unit: usize,
        from: usize,
        to: usize,
        h: usize,
        evening: bool,
    },
    /// `parked`: the needs that are held from then on, by their positions, with their units.
    Start {
        step: usize,
        run: usize,
        units: u64,
        parked: Vec<(usize, u64)>,
    },
}

struct Search<'a> {
    tables: Tables<'a>,
    seen: Vec<(SearchState, i64, usize, Choice)>,
    cheapest: HashMap<SearchState, i64>,
    open: BinaryHeap<Reverse<(i64, Reverse<usize>, usize)>>,
    trucks: HashMap<(usize, u64, u64), bool>,
}

/// Finds the best plan; `None` where the book takes more than `most` states, or no plan keeps E6.
pub fn best(book: &Book, from: NaiveDate, weeks: u32, most: usize) -> Option<Best> {
    best_from(book, from, weeks, 0, None, most)
}

/// Finds the best plan from now on, beside what the crews were told: a stored plan, of which the rows of steps are read.
pub fn best_from(
    book: &Book,
    from: NaiveDate,
    weeks: u32,
    now: usize,
    kept: Option<&Value>,
    most: usize,
) -> Option<Best> {
    let horizon = Horizon::new(from, weeks).expect("a horizon");
    let tables = Tables::new(Plain { book, horizon }, now, kept)?;
    let mut search =
        Search { tables, seen: Vec::new(), cheapest: HashMap::new(), open: BinaryHeap::new(), trucks: HashMap::new() };
    search.begin();
    while let Some(Reverse((_, _, node))) = search.open.pop() {
        let (state, cost) = (search.seen[node].0.clone(), search.seen[node].1);
        if search.cheapest[&state] < cost {
            continue;
        }
        if search.is_over(&state) {
            return Some(search.told(node));
        }
        if search.seen.len() > most {
            return None;
        }
        search.expand(node, &state, cost);
    }
    None
}

impl Search<'_> {
    fn offer(&mut self, state: SearchState, cost: i64, parent: usize, choice: Choice) {
        let Some(rest) = self.at_least(&state) else { return };
        if self.cheapest.get(&state).is_some_and(|known| *known <= cost) {
            return;
        }
        self.cheapest.insert(state.clone(), cost);
        self.open.push(Reverse((cost + rest, Reverse(self.seen.len()), self.seen.len())));
        self.seen.push((state, cost, parent, choice));
    }

    /// Nothing is left to do, and every unit has stood rightly for a half-day, or to the end where that costs (C12, C13, C17,
    /// C18).
    fn is_over(&self, state: &SearchState) -> bool {
        let settled = !self.tables.stands_at_a_cost
            && state.h > self.tables.now
            && state.days.no_round_is_open()
            && state.turn == 0
            && state.units.iter().all(|at| matches!(at, UnitAt::Stands(_)));
        (settled || state.h == self.tables.len)
            && state
                .steps
                .iter()
                .all(|work| matches!(work, StepState::LeftOut | StepState::Later | StepState::Done { .. }))
    }

    fn expand(&mut self, node: usize, state: &SearchState, cost: i64) {
        let (units, steps) = (state.units.len(), state.steps.len());
        if state.h == self.tables.len {
            return;
        }
        match state.turn {
            unit if unit < units => self.expand_start_haul(node, state, cost, unit),
            turn if turn == units => {
                if self.spots_kept(state) {
                    let cost = cost + self.standing(state);
                    let mut next = state.clone();
                    next.turn += 1;
                    for at in &mut next.units {
                        if let UnitAt::Arrived(place) = *at {
                            *at = UnitAt::Stands(place);
                        }
                    }
                    self.offer(next, cost, node, Choice::Nothing);
                }
            }
            turn if turn <= units + steps => self.expand_step(node, state, cost, turn - units - 1),
            turn if turn == units + steps + 1 => {
                // E4 for parked units, but those that a job without an end keeps; W9 for the hauls of the half-day's
                // start, now that it is known who works; then the evening, which only a pm has.
                let ends = |job: usize| self.tables.steps_of(job).all(|step| state.steps[step] != StepState::LeftOut);
                // Work that has begun waits for its own units instead.
                let chosen = |(j, n): (usize, usize)| {
                    self.tables.jobs[j].parked.get(n).is_some_and(|parked| parked.named.is_none())
                };
                // Of a job in part that is over for these weeks they only stand there (E7).
                let over = |job: usize| {
                    let mut steps = self.tables.steps_of(job);
                    steps.all(|step| matches!(state.steps[step], StepState::Later | StepState::Done { .. }))
                };
                let jobs = state.jobs.iter().enumerate().filter(|(j, _)| ends(*j) && !over(*j));
                let parked = jobs.flat_map(|(j, job)| job.1.iter().enumerate().map(move |(n, units)| ((j, n), *units)));
                let parked = parked.filter(|(of, _)| chosen(*of)).fold(0, |all, (_, units)| all | units);
                let out = (0..units).any(|unit| parked >> unit & 1 == 1 && self.tables.out[unit][state.h]);
                if out || !self.enough_trucks(state.h, state.hauled, self.in_overtime(state)) {
                    return;
                }
                let pm = self.tables.plain.at(state.h).is_pm();
                let turn = if pm { state.turn + 1 } else { 2 * units + steps + 2 };
                let mut days = state.days.clone();
                let Some(of_day) = self.work_of_half_day(state, &mut days) else { return };
                let cost = cost + self.shared_overtime(state) + of_day;
                self.offer(SearchState { turn, days, ..state.clone() }, cost, node, Choice::Nothing);
            }
            turn if turn < 2 * units + steps + 2 => {
                self.expand_evening_haul(node, state, cost, turn - units - steps - 2);
            }
            _ => self.next_half_day(node, state, cost),
        }
    }

    /// H1 at the start of the half-day.
    fn expand_start_haul(&mut self, node: usize, state: &SearchState, cost: i64, unit: usize) {
        let stays = SearchState { turn: state.turn + 1, ..state.clone() };
        let UnitAt::Stands(from) = state.units[unit] else { return self.offer(stays, cost, node, Choice::Nothing) };
        if self.held(state, false) >> unit & 1 == 0 {
            for to in 0..self.tables.places {
                let Some(haul) = self.tables.haul(unit, from, to, state.h) else { continue };
                let hauled = state.hauled | self.hauled(unit, from, to, state.h);
                if self.enough_trucks(state.h, hauled, u64::MAX) {
                    let mut next = stays.clone();
                    next.hauled = hauled;
                    next.units[unit] = if haul.long { UnitAt::Coming(to) } else { UnitAt::Arrived(to) };
                    let choice = Choice::Haul { unit, from, to, h: state.h, evening: false };
                    let road = if haul.long { self.tables.unit_cost(unit, from, false, state.h) } else { 0 };
                    self.offer(next, cost + haul.cost + road, node, choice);
                }
            }
        }
        self.offer(stays, cost, node, Choice::Nothing);
    }

    /// H1 in the evening: the unit may be held up to and with this half-day.
    fn expand_evening_haul(&mut self, node: usize, state: &SearchState, cost: i64, unit: usize) {
        let stays = SearchState { turn: state.turn + 1, ..state.clone() };
        if let UnitAt::Stands(from) = state.units[unit]
            && self.held(state, true) >> unit & 1 == 0
            && haul_of(state.hauled, unit) == 0
        {
            for to in 0..self.tables.places {
                let Some(haul) = self.tables.haul(unit, from, to, state.h) else { continue };
                let crews = self.in_overtime(state);
                let hauled = state.hauled | self.hauled(unit, from, to, state.h);
                if !haul.long && self.enough_trucks(state.h, hauled, crews) {
                    let mut next = stays.clone();
                    next.hauled = hauled;
                    next.units[unit] = UnitAt::Coming(to);
                    let choice = Choice::Haul { unit, from, to, h: state.h, evening: true };
                    self.offer(next, cost + haul.cost, node, choice);
                }
            }
        }
        self.offer(stays, cost, node, Choice::Nothing);
    }

    /// W3 to W6, E2, E3, E5: the step starts now in some run with some units, or not now.
    fn expand_step(&mut self, node: usize, state: &SearchState, cost: i64, step: usize) {
        let waits = SearchState { turn: state.turn + 1, ..state.clone() };
        let table = &self.tables.steps[step];
        let runs = match state.steps[step] {
            StepState::Waits if self.after_all(state, step) => table.starting[state.h].clone(),
            StepState::Away { rest, ready } if ready <= state.h => {
                table.rests[rest].seconds.iter().copied().filter(|run| table.runs[*run].start == state.h).collect()
            }
            _ => Vec::new(),
        };
        if !runs.is_empty() {
            let free = !self.held(state, false);
            for run in runs {
                if self.crew_is_taken(state, run, step) {
                    continue;
                }
                let facts = &self.tables.steps[step];
                let Run { team, end, extra, wants, .. } = &facts.runs[run];
                let (job, at) = (facts.job, self.tables.jobs[facts.job].place);
                let free = free | self.tables.shared;
                let here: u64 = (0..state.units.len())
                    .filter(|unit| state.units[*unit] == UnitAt::Stands(at) && free >> unit & 1 == 1)
                    .fold(0, |all, unit| all | 1 << unit);
                let fit: u64 = (0..state.units.len())
                    .filter(|unit| !self.tables.out[*unit][state.h..=*end].contains(&true))
                    .fold(0, |all, unit| all | 1 << unit);
                let to_come = |other: usize| matches!(state.steps[other], StepState::Waits | StepState::Later);
                let first = self.tables.steps_of(job).all(to_come);
                let joins = if self.tables.own[team.crew] { 1_u64 << team.crew } else { 0 };
                let met = state.jobs[job].0;
                let crews = if joins & !met != 0 && met != 0 { self.tables.extra_crew } else { 0 };
                let cost = cost + extra + crews;
                for units in self.tables.serving(wants, here & fit) {
                    for parked in self.parked_from(state, (job, step), first, here & (!units | self.tables.shared)) {
                        let mut next = waits.clone();
                        next.steps[step] = StepState::Runs { run, units };
                        next.jobs[job].0 |= joins;
                        for (need, units) in &parked {
                            next.jobs[job].1[*need] = *units;
                        }
                        self.offer(next, cost, node, Choice::Start { step, run, units, parked });
                    }
                }
            }
        }
        self.offer(waits, cost, node, Choice::Nothing);
    }

    /// Every way to hold the parked needs that are first held with the start of a step; `first`: it is the first of its job
    /// (E3, E7).
    fn parked_from(
        &self,
        state: &SearchState,
        (job, step): (usize, usize),
        first: bool,
        among: u64,
    ) -> Vec<Vec<(usize, u64)>> {
        let starts = state.steps[step] == StepState::Waits;
        let mut ways = vec![(Vec::new(), among)];
        for (n, parked) in self.tables.jobs[job].parked.iter().enumerate() {
            let now = parked.from.map_or(first, |from| from == step && starts);
            if parked.named.is_some() || !now {
                continue;
            }
            let mut more = Vec::new();
            for (held, among) in ways {
                for units in self.tables.serving(std::slice::from_ref(&parked.want), among) {
                    let mut held = held.clone();
                    held.push((n, units));
                    more.push((held, among & (!units | self.tables.shared)));
                }
            }
            ways = more;
        }
        ways.into_iter().map(|(held, _)| held).collect()
    }

    /// Open sites cost (C16), steps that end now are done (C1, C5), units on the road arrive.
    fn next_half_day(&mut self, node: usize, state: &SearchState, mut cost: i64) {
        let t = &self.tables;
        if t.plain.works(t.plain.at(state.h)) {
            let open = (0..t.jobs.len()).filter(|job| self.is_open(state, *job)).count();
            cost += open as i64 * t.plain.book.prices.open_half_day.0;
        }
        let mut next = SearchState { h: state.h + 1, turn: 0, hauled: 0, ..state.clone() };
        next.days.begin(t, next.h);
        for (s, work) in state.steps.iter().enumerate() {
            if let StepState::Away { rest, ready } = *work {
                next.steps[s] = StepState::Away { rest, ready: if ready <= next.h { 0 } else { ready } };
            }
            if let StepState::Runs { run, .. } = *work
                && t.steps[s].runs[run].end == state.h
            {
                if let RunPart::First { rest } = t.steps[s].runs[run].part {
                    next.steps[s] = StepState::Away { rest, ready: state.h + 2 };
                    continue;
                }
                next.steps[s] = StepState::Done { end: state.h as i64 };
                cost += state.h as i64 + t.steps[s].late[state.h];
                let job = t.steps[s].job;
                for (n, _) in t.jobs[job].parked.iter().enumerate().filter(|(_, parked)| parked.to == Some(s)) {
                    next.jobs[job].1[n] = 0;
                }
                let over = |other: usize| matches!(next.steps[other], StepState::Later | StepState::Done { .. });
                if t.steps_of(job).all(over) {
                    cost += t.jobs[job].end_cost[state.h];
                    next.jobs[job].0 = 0;
                    // What is parked at a job in part stays, but for what a step has ended (E7).
                    if !t.in_part(job) {
                        next.jobs[job].1.fill(0);
                    }
                }
            }
        }
        // An end that no later start looks at is forgotten, so that like states meet.
        for s in 0..next.steps.len() {
            let watched = |other: usize| {
                next.steps[other] == StepState::Waits && t.steps[other].after.iter().any(|link| link.step == s)
            };
            if matches!(next.steps[s], StepState::Done { .. }) && !self.clears(s) && !(0..next.steps.len()).any(watched)
            {
                next.steps[s] = StepState::Done { end: 0 };
            }
        }
        for at in &mut next.units {
            if let UnitAt::Coming(place) = *at {
                *at = UnitAt::Arrived(place);
            }
        }
        let cost = cost + self.late(&next);
        self.offer(next, cost, node, Choice::Nothing);
    }

    /// C16: whether a job that is done has begun by this half-day, and not ended before it; in part, as far as it is planned.
    fn is_open(&self, state: &SearchState, job: usize) -> bool {
        let steps = || self.tables.steps_of(job).map(|step| state.steps[step]).filter(|work| *work != StepState::Later);
        let begun = self.tables.jobs[job].started || steps().any(|work| work != StepState::Waits);
        let over = steps().all(|work| matches!(work, StepState::Done { .. }));
        begun && !over && steps().all(|work| work != StepState::LeftOut)
    }

    /// The units held in this half-day; `beyond`: only those still held in the next.
    fn held(&self, state: &SearchState, beyond: bool) -> u64 {
        let last = state.h + usize::from(beyond);
        let over = |step: usize, run: usize| self.tables.steps[step].runs[run].end < last;
        let ends = |step: usize| match state.steps[step] {
            StepState::Runs { run, .. } => {
                over(step, run) && !matches!(self.tables.steps[step].runs[run].part, RunPart::First { .. })
            }
            work => matches!(work, StepState::Done { .. }),
        };
        let by_steps = state.steps.iter().enumerate().map(|(s, work)| match work {
            StepState::Runs { run, units } if !over(s, *run) => *units,
            _ => 0,
        });
        let by_jobs = state.jobs.iter().enumerate().flat_map(|(j, job)| {
            let to = move |n: usize| self.tables.jobs[j].parked.get(n).and_then(|parked| parked.to);
            let over = move |n: usize| to(n).map_or_else(|| self.tables.steps_of(j).all(ends), ends);
            job.1.iter().enumerate().map(move |(n, units)| if over(n) { 0 } else { *units })
        });
        by_steps.chain(by_jobs).fold(0, |all, units| all | units)
    }

    /// W6 for a start now. A started job does not wait for a job that is not done (N1); of one that is not started there
    /// is no plan then.
    fn after_all(&self, state: &SearchState, step: usize) -> bool {
        self.tables.steps[step].after.iter().all(|link| match state.steps[link.step] {
            StepState::Done { end } => {
                let (first, h) = (end + 1, state.h as i64);
                first + link.wait <= h && link.within.is_none_or(|within| h <= first + within)
            }
            work => matches!(work, StepState::LeftOut | StepState::Later),
        })
    }

    /// The runs in progress, but of one step.
    fn others(&self, state: &SearchState, of: usize) -> impl Iterator<Item = &Run> {
        let others = state.steps.iter().enumerate().filter(move |(s, _)| *s != of);
        others.filter_map(|(s, work)| match *work {
            StepState::Runs { run, .. } => Some(&self.tables.steps[s].runs[run]),
            _ => None,
        })
    }

    /// W4, W13, W16: whether a crew of the run has no room for it beside what it works on in the same half-day.
    fn crew_is_taken(&self, state: &SearchState, run: usize, of: usize) -> bool {
        let run = &self.tables.steps[of].runs[run];
        run.works.iter().zip(&run.at_work).any(|(h, crews)| {
            let beside: Vec<&Run> = self.others(state, of).filter(|other| other.crews_at(*h) & crews != 0).collect();
            (0..self.tables.own.len()).filter(|crew| crews >> crew & 1 == 1).any(|crew| {
                let others = beside.iter().filter(|other| other.crews_at(*h) >> crew & 1 == 1);
                let all: Vec<Option<f64>> = others.map(|other| other.stop).chain([run.stop]).collect();
                !self.tables.plain.one_half_day_holds(crew, &all)
            })
        })
    }

    /// The crews that work in this half-day on a step in overtime (W9).
    fn in_overtime(&self, state: &SearchState) -> u64 {
        let at_it = self.others(state, usize::MAX).filter(|run| run.overtime);
        at_it.fold(0, |all, run| all | run.crews_at(state.h))
    }

    /// C8 of crews that may work on several at once, each counted once.
    fn shared_overtime(&self, state: &SearchState) -> i64 {
        let plain = &self.tables.plain;
        if !plain.overtime(plain.at(state.h)) {
            return 0;
        }
        let shared = |run: &&Run| run.stop.is_some() || plain.several_at_once(run.team.crew).is_some();
        let crews = self.others(state, usize::MAX).filter(shared).fold(0, |all, run| all | run.crews_at(state.h));
        i64::from(crews.count_ones()) * plain.book.prices.overtime_half_day.0
    }

    /// C12 and C13 of this half-day, units on the road apart.
    fn standing(&self, state: &SearchState) -> i64 {
        let at = |(unit, at): (usize, &UnitAt)| match *at {
            UnitAt::Stands(place) | UnitAt::Arrived(place) => self.tables.unit_cost(unit, place, true, state.h),
            UnitAt::Coming(_) => 0,
        };
        state.units.iter().enumerate().map(at).sum()
    }

    /// E6.
    fn spots_kept(&self, state: &SearchState) -> bool {
        self.tables.spots.iter().enumerate().all(|(place, spots)| {
            let here = |at: &UnitAt| matches!(at, UnitAt::Stands(p) | UnitAt::Arrived(p) if *p == place);
            let standing = state.units.iter().zip(&self.tables.towed).filter(|(at, towed)| **towed && here(at));
            spots.is_none_or(|spots| standing.count() <= spots)
        })
    }

    /// A haul among those of its half-day.
    fn hauled(&self, unit: usize, from: usize, to: usize, h: usize) -> u64 {
        let plain = &self.tables.plain;
        let posted = plain.posted(from, to, h);
        let weights = plain.weights_posted();
        let which = posted.map_or(0, |most| 1 + weights.iter().position(|of| *of == most).expect("one of them"));
        (1 + which as u64) << (4 * unit)
    }

    /// H4, H7, H8; the crews in overtime matter only in a half-day that the shop does not work.
    fn enough_trucks(&mut self, h: usize, hauled: u64, in_overtime: u64) -> bool {
        let plain = &self.tables.plain;
        let crews = if plain.works(plain.at(h)) { 0 } else { in_overtime };
        *self.trucks.entry((h, hauled, crews)).or_insert_with(|| {
            let weights = plain.weights_posted();
            let of = |unit: usize| haul_of(hauled, unit);
            let hauls: Vec<(usize, Option<u32>)> = (0..16)
                .filter(|unit| of(*unit) > 0)
                .map(|unit| (unit, of(unit).checked_sub(2).map(|which| weights[which])))
                .collect();
            plain.trucks(h, &hauls, crews).is_some()
        })
    }
}

/// The four bits of a unit among the hauls of a half-day.
fn haul_of(hauled: u64, unit: usize) -> usize {
    (hauled >> (4 * unit)) as usize % 16
}
