//! What a job is to the relaxation: its steps, their runs and what they hold.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, Id, JobId, Need, Part, Shop, Span, StepId};

use super::{Mask, PricedLink, Relaxation, Wanted};
use crate::encode::Wants;
use crate::tables::in_order;

/// A job's part of the relaxation.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub(super) id: JobId,
    pub(super) left_out: f64,
    /// In an order in which each comes after those it waits for.
    pub(super) steps: Vec<Step>,
    /// Positions of steps that no kept link leads on from.
    pub(super) last: Vec<usize>,
    pub(super) parked: Vec<Hold>,
    /// For each parked need, the ways to hold it.
    pub(super) stays: Vec<Vec<Stay>>,
    /// By tick: late (C1) and waiting (C5) for an end then.
    pub(super) ends: Vec<f64>,
    /// The sets of own crews that cost nothing by themselves (C4): one, or those that have been on the job; none where
    /// no price is on another.
    pub(super) alone: Vec<Vec<usize>>,
    /// Whether one of these sets does all that may be done, so that an extra crew need not be looked at.
    pub(super) only_alone: bool,
    pub(super) extra_crew: f64,
    /// The tick from which on what is parked is held, where the job has begun: the first.
    pub(super) begun: Option<usize>,
}

#[derive(Clone, Debug)]
pub(super) struct Step {
    pub(super) id: StepId,
    pub(super) groups: Vec<Group>,
    /// How many rests a first span of it may leave (W10).
    pub(super) rests: usize,
    pub(super) kept: Vec<Kept>,
    /// Priced links in which it is the one after, and the one before.
    pub(super) after: Vec<usize>,
    pub(super) before: Vec<usize>,
}

/// A link kept exactly: for each start tick the ticks in which the step before may end.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    /// Position of the step before.
    pub(super) step: usize,
    /// By start tick: one past the last, and the first.
    pub(super) until: Vec<usize>,
    pub(super) from: Option<Vec<usize>>,
}

/// Runs by one crew in one way, whole ones or spans that leave or do one rest.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) part: Part,
    /// The rest; 0 of whole runs.
    pub(super) rest: usize,
    pub(super) crew: usize,
    pub(super) way: usize,
    /// The position of its first run among those of its job.
    pub(super) first: usize,
    pub(super) own: bool,
    pub(super) holds: Vec<Hold>,
    pub(super) runs: Vec<Run>,
    /// By tick.
    pub(super) workable: Vec<bool>,
}

/// One run of a step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    /// The half-day with which it begins, by index, as all others know the run: what goes on begins now, and that need be
    /// no tick.
    pub(super) from: usize,
    /// First and last tick.
    pub(super) start: usize,
    pub(super) end: usize,
    /// Of a first span: the first tick in which the second may start; one past the last where none is.
    pub(super) ready: usize,
    /// Cost without prices, cents.
    pub(super) cost: f64,
    /// Its number among the runs of all jobs.
    pub(super) number: usize,
}

/// Units wanted, the pools and spots that serve, and the `come` rows.
#[derive(Clone, Debug)]
pub(super) struct Hold {
    /// Whether the work waits while they are out (N1).
    pub(super) waits: bool,
    pub(super) count: f64,
    pub(super) able: Vec<(usize, usize)>,
    pub(super) come: Vec<usize>,
}

pub(super) const NONE: f64 = f64::INFINITY;

/// How the whole of a job is looked at: by one own crew alone, or by any with one extra crew paid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mode<'m> {
    /// The only own crews; none: any.
    pub(super) only: Option<&'m [usize]>,
    /// What extra crews cost, cents.
    pub(super) extra: f64,
    /// For each parked need, which of the pools that can serve does.
    pub(super) parked: &'m [usize],
    /// First and last tick that the job may work in.
    pub(super) window: (usize, usize),
}

impl Mode<'_> {
    pub(super) fn may(self, run: &Run) -> bool {
        self.window.0 <= run.start && run.end <= self.window.1
    }
}

/// A way to hold what is parked: units of a pool, by its position among those that can serve, between half-days in which
/// they are out (E4): first and last tick.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stay {
    pub(super) pool: usize,
    pub(super) window: (usize, usize),
}

impl Group {
    /// Whether its crew is one of these, or not ours.
    fn may_be(&self, crews: &[usize]) -> bool {
        !self.own || crews.contains(&self.crew)
    }
}

impl Step {
    /// The groups that a mode may use, with their positions.
    pub(super) fn groups_in(&self, mode: Mode<'_>) -> impl Iterator<Item = (usize, &Group)> {
        let may = move |group: &Group| mode.only.is_none_or(|crews| group.may_be(crews));
        self.groups.iter().enumerate().filter(move |(_, group)| may(group))
    }
}

impl Job {
    /// `None` where no schedule can do the job.
    pub(super) fn new(shop: &Shop, of: &mut Relaxation, known: &mut BTreeMap<Wants, usize>, id: JobId) -> Option<Self> {
        let facts = &shop.jobs[id];
        if facts.follows_later.is_some() {
            return None;
        }
        let order = in_order(shop, id);
        let mut led_on = vec![false; order.len()];
        let mut steps: Vec<Step> = Vec::new();
        for step in &order {
            let groups = groups(shop, of, known, id, *step);
            if groups.is_empty() {
                return None;
            }
            let rests = shop.steps[*step].rests.len();
            let mut made = Step { id: *step, groups, rests, kept: Vec::new(), after: Vec::new(), before: Vec::new() };
            for link in &shop.steps[*step].after {
                // What has begun waits for no other job that is left out (N1): no row that all plans keep.
                if facts.started && shop.steps[link.before].job != id {
                    continue;
                }
                match order.iter().position(|other| *other == link.before) {
                    Some(position) if !led_on[position] => {
                        led_on[position] = true;
                        let ticks = &of.ticks;
                        let until = ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + link.wait <= *h)).collect();
                        let from = link.within.map(|within| {
                            ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + within < *h)).collect()
                        });
                        made.kept.push(Kept { step: position, until, from });
                    }
                    _ => {
                        of.priced.push(PricedLink { before: link.before, wait: link.wait });
                        made.after.push(of.priced.len() - 1);
                    }
                }
            }
            steps.push(made);
        }
        let mut parked = Vec::new();
        for need in &facts.parked {
            parked.push(hold(shop, of, known, id, None, *need)?);
        }
        // What is parked counts for the steps that want the same besides.
        for (key, row) in known.iter().filter(|((job, step, _), _)| *job == id && step.is_some()) {
            for (need, hold) in facts.parked.iter().zip(&mut parked) {
                if need.want == key.2 {
                    hold.come.push(*row);
                }
            }
        }
        let stays = parked.iter().map(|hold| hold.stays(of)).collect();
        let own = |crew: usize| shop.crews[CrewId::from_index(crew)].own;
        let mut able: Vec<usize> = steps.iter().flat_map(|s| &s.groups).map(|g| g.crew).filter(|c| own(*c)).collect();
        able.sort_unstable();
        able.dedup();
        let before: Vec<usize> = facts.crews_before.iter().map(|crew| crew.index()).collect();
        let alone = if shop.extra_crew().0 == 0 {
            Vec::new()
        } else if !before.is_empty() {
            vec![before]
        } else if able.len() < 2 || steps.len() < 2 {
            Vec::new()
        } else {
            able.into_iter().map(|crew| vec![crew]).collect()
        };
        let last = (0..steps.len()).filter(|i| !led_on[*i]).collect();
        let ends = of.ticks.iter().map(|h| (facts.late[*h].0 + shop.wait_half_day().0 * *h as i64) as f64).collect();
        // What done steps cost is paid unless the job is left out.
        let left_out = (facts.left_out.0 - facts.past_cost.0) as f64;
        let extra_crew = if alone.is_empty() { 0.0 } else { shop.extra_crew().0 as f64 };
        let begun = facts.started.then_some(0);
        Some(Self { id, left_out, steps, last, parked, stays, ends, alone, only_alone: false, extra_crew, begun })
    }

    /// The job with no other runs than a part of all plans may use.
    pub(super) fn within(&self, mask: &Mask) -> Self {
        let mut job = self.clone();
        for step in &mut job.steps {
            for group in &mut step.groups {
                group.runs.retain(|run| mask.runs[run.number]);
            }
            step.groups.retain(|group| !group.runs.is_empty());
        }
        job.place_groups();
        job.alone.retain(|crews| job.steps.iter().all(|step| step.groups.iter().any(|group| group.may_be(crews))));
        let all = |crews: &Vec<usize>| job.steps.iter().flat_map(|step| &step.groups).all(|group| group.may_be(crews));
        job.only_alone = job.alone.iter().any(all);
        job
    }

    fn place_groups(&mut self) {
        let mut first = 0;
        for group in self.steps.iter_mut().flat_map(|step| &mut step.groups) {
            group.first = first;
            first += group.runs.len();
        }
    }

    /// Tells the steps before in priced links which they are, and numbers the runs.
    pub(super) fn finish(&mut self, priced: &[PricedLink], runs: &mut usize) {
        for run in self.steps.iter_mut().flat_map(|step| &mut step.groups).flat_map(|group| &mut group.runs) {
            run.number = *runs;
            *runs += 1;
        }
        self.place_groups();
        for step in &mut self.steps {
            step.before = (0..priced.len()).filter(|l| priced[*l].before == step.id).collect();
        }
    }
}

impl Hold {
    /// The ways to hold it from the job's beginning to its end.
    fn stays(&self, of: &Relaxation) -> Vec<Stay> {
        let last = of.ticks.len().saturating_sub(1);
        let mut stays = Vec::new();
        for (pool, (p, _)) in self.able.iter().enumerate() {
            if self.waits {
                stays.push(Stay { pool, window: (0, last) });
                continue;
            }
            let may = |first: usize, last: usize| of.pools[*p].may_hold(of.ticks[first], of.ticks[last]);
            let mut first = 0;
            while let Some(from) = (first..of.ticks.len()).find(|tick| may(*tick, *tick)) {
                let to = (from..of.ticks.len()).take_while(|tick| may(from, *tick)).last().unwrap_or(from);
                stays.push(Stay { pool, window: (from, to) });
                first = to + 1;
            }
        }
        stays
    }
}

fn groups(
    shop: &Shop,
    of: &mut Relaxation,
    known: &mut BTreeMap<Wants, usize>,
    job: JobId,
    step: StepId,
) -> Vec<Group> {
    let mut groups = Vec::new();
    let choices: Vec<_> = shop.choices(step).map(|(way, crew, runs)| (way, crew, runs.clone())).collect();
    for (way, crew, runs) in choices {
        for power in [false, true] {
            let spans: Vec<Span> = runs
                .iter()
                .filter(|(start, _)| shop.start_allowed(step, *start) && shop.takes_power(step, *start) == power)
                .filter(|(start, end)| shop.equipped(step, Part::Whole, way, *start, *end))
                .map(|(start, end)| Span { part: Part::Whole, way, start, end })
                .collect();
            groups.extend(group(shop, of, known, (job, step), (0, crew), &spans));
        }
    }
    let mut parts: BTreeMap<_, Vec<Span>> = BTreeMap::new();
    for (rest, crew, span) in shop.spans(step) {
        let power = shop.takes_power(step, span.start);
        parts.entry((span.part, rest, span.way, power, crew)).or_default().push(span);
    }
    for ((_, rest, _, _, crew), spans) in parts {
        groups.extend(group(shop, of, known, (job, step), (rest, crew), &spans));
    }
    groups
}

/// Spans by one crew in one way that hold the same; none where there are none, or too few units.
fn group(
    shop: &Shop,
    of: &mut Relaxation,
    known: &mut BTreeMap<Wants, usize>,
    (job, step): (JobId, StepId),
    (rest, crew): (usize, CrewId),
    spans: &[Span],
) -> Option<Group> {
    let Span { part, way, start, .. } = *spans.first()?;
    let needs: Vec<Need> = shop.needs(step, part, way, start).collect();
    let asks = Some((step, part == Part::Second));
    let holds: Option<Vec<Hold>> = needs.iter().map(|need| hold(shop, of, known, job, asks, *need)).collect();
    let holds = holds?;
    let tick = |h: usize| of.ticks.partition_point(|t| *t < h);
    let run = |span: &Span| {
        let ends = if part.ends() { span.end as i64 } else { 0 };
        let cost = (shop.span_cost(step, crew, *span).0 + ends) as f64;
        Run {
            from: span.start,
            start: tick(span.start),
            end: tick(span.end),
            ready: tick(span.ready()),
            cost,
            number: 0,
        }
    };
    let runs = spans.iter().map(run).collect();
    let workable = shop.runs(step, way, crew).filter(|_| part != Part::LetGo);
    Some(Group {
        part,
        rest,
        crew: crew.index(),
        way,
        first: 0,
        own: shop.crews[crew].own,
        holds,
        runs,
        workable: of.ticks.iter().map(|h| workable.is_some_and(|runs| runs.workable[*h])).collect(),
    })
}

fn hold(
    shop: &Shop,
    of: &mut Relaxation,
    known: &mut BTreeMap<Wants, usize>,
    job: JobId,
    step: Option<(StepId, bool)>,
    need: Need,
) -> Option<Hold> {
    let place = shop.jobs[job].place;
    let able: Vec<(usize, usize)> = of
        .pools
        .iter()
        .enumerate()
        .filter(|(_, pool)| shop.units[pool.of.units[0]].serves(need.want))
        .filter_map(|(p, pool)| Some((p, pool.of.spot(place)?)))
        .collect();
    if able.iter().map(|(p, _)| of.pools[*p].of.units.len()).sum::<usize>() < need.count {
        return None;
    }
    let row = *known.entry((job, step, need.want)).or_insert_with(|| {
        of.wanted.push(Wanted { able: able.clone() });
        of.wanted.len() - 1
    });
    Some(Hold { waits: need.want.waits(), count: need.count as f64, able, come: vec![row] })
}
