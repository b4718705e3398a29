//! Makes the subproblems of jobs from a shop, and the rows that tie them to units and to each other.

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{CrewId, Id, JobId, Link, Need, ParkedNeed, Part, PlaceId, Shop, Span, StepId, TeamId};

use super::job::{Begin, Demand, ExactLink, Group, JobSubproblem, ParkedBetween, Run, SubproblemStep, Takes};
use super::{DemandRow, PricedLink, Relaxation};
use crate::model::{Asks, DemandKey, in_order, parked_asks, shared};

/// A relaxation under way, with the rows `come` by who wants what.
pub(super) struct Building<'b> {
    pub(super) shop: &'b Shop,
    pub(super) of: &'b mut Relaxation,
    rows: BTreeMap<DemandKey, usize>,
    /// The families of rows `hold` by need and spot of shared units (E8).
    shared: BTreeMap<(DemandKey, usize, usize), usize>,
}

/// Runs that hold the same: of one step by one team in one way, whole ones or spans of one rest.
struct AlikeRuns {
    job: JobId,
    step: StepId,
    /// The rest; 0 of whole runs.
    rest: usize,
    team: TeamId,
    spans: Vec<Span>,
}

/// Into so many shares a crew's half-day is divided.
const SHARES: u64 = 1024;

impl<'b> Building<'b> {
    pub(super) fn new(shop: &'b Shop, of: &'b mut Relaxation) -> Self {
        Self { shop, of, rows: BTreeMap::new(), shared: BTreeMap::new() }
    }

    /// A job's subproblem; `None` where no schedule can do the job.
    pub(super) fn job(&mut self, id: JobId) -> Option<JobSubproblem> {
        let shop = self.shop;
        let facts = &shop.jobs[id];
        if facts.follows_later.is_some() {
            return None;
        }
        let mut led_on = vec![false; facts.steps.len()];
        let steps = self.steps(id, &mut led_on)?;
        let mut parked = Vec::new();
        for (i, held) in facts.parked.iter().enumerate() {
            parked.push(self.demand(id, parked_asks(shop, id, i), held.need)?);
        }
        // What is parked counts for the steps that want the same besides.
        for (key, row) in self.rows.iter().filter(|((job, by, _), _)| *job == id && matches!(by, Asks::Step(..))) {
            for (held, demand) in facts.parked.iter().zip(&mut parked) {
                if held.need.want == key.2 && held.whole() && !shared(shop, key.2) {
                    demand.come.push(*row);
                }
            }
        }
        let stays =
            (parked.iter().zip(&facts.parked)).map(|(demand, held)| demand.stays(self.of, held.whole())).collect();
        let parked_between = facts.parked.iter().map(|held| between(shop, id, &steps, held)).collect();
        let alone = self.free_crews(id, &steps);
        let last = (0..steps.len()).filter(|i| !led_on[*i]).collect();
        let end = |h: &usize| facts.late[*h].0 + shop.wait_half_day().0 * *h as i64 + shop.open_before(h + 1).0;
        let ends = self.of.ticks.iter().map(|h| end(h) as f64).collect();
        let (opens, begins) = self.begins(id);
        // What done steps cost is paid unless the job is left out.
        let left_out = (facts.left_out.0 - facts.past_cost.0) as f64;
        let extra_crew = if alone.is_empty() { 0.0 } else { shop.extra_crew().0 as f64 };
        let only_alone = false;
        Some(JobSubproblem {
            id,
            left_out,
            steps,
            last,
            parked,
            parked_between,
            stays,
            ends,
            opens,
            begins,
            alone,
            only_alone,
            extra_crew,
        })
    }

    /// What is taken off of what the job's open site costs from now on, by the start of its first step, or by when it begins
    /// (C16).
    fn begins(&self, id: JobId) -> (Vec<f64>, Vec<Begin>) {
        let (shop, ticks) = (self.shop, &self.of.ticks);
        let before = |tick: usize| -shop.open_before(ticks[tick]).0 as f64;
        let whenever = vec![Begin { from: 0, cost: 0.0 }];
        if shop.open_half_day().0 == 0 || shop.jobs[id].started {
            return (Vec::new(), whenever);
        }
        let of_job = |link: &Link| shop.steps[link.before].job == id;
        let first = shop.jobs[id].step_ids().filter(|step| !shop.steps[*step].after.iter().any(of_job));
        if first.count() == 1 {
            return ((0..ticks.len()).map(before).collect(), whenever);
        }
        let several = ticks.len().div_ceil(MOST_BEGINS).max(1);
        let begin = |from: usize| Begin { from, cost: before((from + several).min(ticks.len()) - 1) };
        (Vec::new(), (0..ticks.len()).step_by(several).map(begin).collect())
    }

    /// The steps of a job in order, with their runs; `None` where one has none. `led_on`: whether an exact link leads on
    /// from each.
    fn steps(&mut self, id: JobId, led_on: &mut [bool]) -> Option<Vec<SubproblemStep>> {
        let shop = self.shop;
        let order = in_order(shop, id);
        let mut steps: Vec<SubproblemStep> = Vec::new();
        for step in &order {
            let groups = self.groups(id, *step);
            if groups.is_empty() {
                return None;
            }
            let rests = shop.steps[*step].rests.len();
            let mut made =
                SubproblemStep { id: *step, groups, rests, links: Vec::new(), after: Vec::new(), before: Vec::new() };
            for link in &shop.steps[*step].after {
                // What is in progress waits for no other job that is left out (N1): no row that all plans keep.
                if shop.jobs[id].started && shop.steps[link.before].job != id {
                    continue;
                }
                match order.iter().position(|other| *other == link.before) {
                    Some(position) if !led_on[position] => {
                        led_on[position] = true;
                        made.links.push(self.exact_link(position, link));
                    }
                    _ => {
                        self.of.priced.push(PricedLink { before: link.before, wait: link.wait });
                        made.after.push(self.of.priced.len() - 1);
                    }
                }
            }
            steps.push(made);
        }
        Some(steps)
    }

    fn exact_link(&self, step: usize, link: &Link) -> ExactLink {
        let ticks = &self.of.ticks;
        let until = ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + link.wait <= *h)).collect();
        let first = |within: usize| ticks.iter().map(|h| ticks.partition_point(|t| t + 1 + within < *h)).collect();
        ExactLink { step, until, from: link.within.map(first) }
    }

    /// The sets of own crews that cost nothing by themselves on a job (C4).
    fn free_crews(&self, id: JobId, steps: &[SubproblemStep]) -> Vec<Vec<usize>> {
        let shop = self.shop;
        let own = |crew: usize| shop.crews[CrewId::from_index(crew)].own;
        let mut able: Vec<usize> = steps.iter().flat_map(|s| &s.groups).map(|g| g.crew).filter(|c| own(*c)).collect();
        able.sort_unstable();
        able.dedup();
        let before: Vec<usize> = shop.jobs[id].crews_before.iter().map(|crew| crew.index()).collect();
        if shop.extra_crew().0 == 0 {
            Vec::new()
        } else if !before.is_empty() {
            vec![before]
        } else if able.len() < 2 || steps.len() < 2 {
            Vec::new()
        } else {
            able.into_iter().map(|crew| vec![crew]).collect()
        }
    }

    fn groups(&mut self, job: JobId, step: StepId) -> Vec<Group> {
        let shop = self.shop;
        let mut groups = Vec::new();
        for (way, team, runs) in shop.choices(step) {
            let most = shop.steps[step].ways[way].power;
            for power in BTreeSet::from([0, most]) {
                let spans: Vec<Span> = runs
                    .iter()
                    .filter(|(start, _)| shop.start_allowed(step, *start) && shop.power(step, way, *start) == power)
                    .filter(|(start, end)| shop.equipped(step, Part::Whole, way, *start, *end))
                    .map(|(start, end)| Span { part: Part::Whole, way, start, end })
                    .collect();
                groups.extend(self.group(&AlikeRuns { job, step, rest: 0, team, spans }));
            }
        }
        let mut parts: BTreeMap<_, Vec<Span>> = BTreeMap::new();
        for (rest, team, span) in shop.spans(step) {
            let power = shop.power(step, span.way, span.start);
            parts.entry((span.part, rest, span.way, power, team)).or_default().push(span);
        }
        for ((_, rest, _, _, team), spans) in parts {
            groups.extend(self.group(&AlikeRuns { job, step, rest, team, spans }));
        }
        for i in 0..groups.len() {
            groups[i].alike = groups.iter().position(|other| other.demands == groups[i].demands).unwrap_or(i);
        }
        groups
    }

    /// `None` where there are no runs, or too few units.
    fn group(&mut self, alike: &AlikeRuns) -> Option<Group> {
        let shop = self.shop;
        let AlikeRuns { job, step, rest, team, ref spans } = *alike;
        let Span { part, way, start, .. } = *spans.first()?;
        let needs: Vec<Need> = shop.needs(step, part, way, start).collect();
        let asks = Asks::Step(step, part == Part::Second);
        let demands: Option<Vec<Demand>> = needs.iter().map(|need| self.demand(job, asks, *need)).collect();
        let demands = demands?;
        let takes = self.takes(step, team, (part, way));
        let ticks = &self.of.ticks;
        let tick = |h: usize| ticks.partition_point(|t| *t < h);
        let run = |span: &Span| {
            let ends = if part.ends() { span.end as i64 } else { 0 };
            let cost = (shop.span_cost(step, team, *span).0 + ends + self.driving(step, team, *span)
                - self.paid_elsewhere(step, team, *span)) as f64;
            let (start, end, ready) = (tick(span.start), tick(span.end), tick(span.ready()));
            Run { from: span.start, start, end, ready, cost, number: 0 }
        };
        let crew = shop.teams[team].crew;
        Some(Group {
            part,
            rest,
            team,
            crew: crew.index(),
            takes,
            way,
            first: 0,
            own: shop.crews[crew].own,
            demands,
            alike: 0,
            runs: spans.iter().map(run).collect(),
        })
    }

    /// What the work takes of its crew and each helper, by tick (W11): all of a half-day, or less of one that works on
    /// several (W13, W16).
    fn takes(&mut self, step: StepId, team: TeamId, (part, way): (Part, usize)) -> Vec<Takes> {
        let shop = self.shop;
        let Some(runs) = shop.runs(step, way, team).filter(|_| part != Part::LetGo) else { return Vec::new() };
        let of = (step, part == Part::Second);
        let visits: Vec<Option<[usize; 2]>> =
            shop.teams[team].crews().map(|crew| self.visits(crew, shop.drives_to(step, way, crew)?, of)).collect();
        let of_crew = |(crew, visits): (CrewId, Option<[usize; 2]>)| {
            let share = (SHARES * shop.load(step, way, crew) / shop.capacity(crew)) as f64 / SHARES as f64;
            let works = |h: usize| runs.workable[h] && shop.crews[crew].people[h] > 0;
            let by_tick = self.of.ticks.iter().map(|h| if works(*h) { share } else { 0.0 }).collect();
            Takes { crew: crew.index(), visits, by_tick }
        };
        shop.teams[team].crews().zip(visits).map(of_crew).collect()
    }

    /// The families of the rows `visit` and `touch` for a crew's work on a step, or on its second span, at a place.
    fn visits(&mut self, crew: CrewId, place: PlaceId, work: (StepId, bool)) -> Option<[usize; 2]> {
        let next = [self.of.visits, self.of.touches];
        let rounds = self.of.rounds.iter_mut().find(|of| of.is_of(crew))?;
        let [visit, touch] = rounds.families(place, work, next);
        (self.of.visits, self.of.touches) = (next[0].max(visit + 1), next[1].max(touch + 1));
        Some([visit, touch])
    }

    /// C15 where rounds are not worked out: what a span adds to its crews' rounds at least. The way out is driven in the am,
    /// the way back in the pm, so that each half-day pays one; both where the crew does not work in the date's other half.
    fn driving(&self, step: StepId, team: TeamId, span: Span) -> i64 {
        let shop = self.shop;
        if !shop.counts_driving() || !self.of.rounds.is_empty() {
            return 0;
        }
        let one_way = |crew: CrewId, h: usize| {
            let place = shop.drives_to(step, span.way, crew)?;
            let there = shop.round_cost(crew, Some(place), None)?.0;
            let other = h ^ 1;
            let may = other < shop.len() && shop.open[other] && shop.crews[crew].people[other] > 0;
            Some(if may { there / 2 } else { there })
        };
        let of_half_day =
            |h: usize| -> i64 { shop.working(&shop.teams[team], h).filter_map(|crew| one_way(crew, h)).sum() };
        shop.span_works(step, team, span).map(of_half_day).sum()
    }

    /// Overtime of a crew that works on several steps or stops is paid once (C8): each run pays its share of a half-day, as
    /// so many as fit in it pay all of it at most. Cents that the run's cost has too much.
    fn paid_elsewhere(&self, step: StepId, team: TeamId, span: Span) -> i64 {
        let shop = self.shop;
        let price = shop.book.prices.overtime_half_day.0;
        let overtime = shop.span_works(step, team, span).filter(|h| shop.overtime[*h]);
        let in_half_day = |h: usize| -> i64 {
            let crews = shop.working(&shop.teams[team], h);
            let share = |crew: CrewId| price * shop.load(step, span.way, crew) as i64 / shop.capacity(crew) as i64;
            crews.map(|crew| price - share(crew)).sum()
        };
        if shop.shares_half_days() { overtime.map(in_half_day).sum() } else { 0 }
    }

    fn demand(&mut self, job: JobId, by: Asks, need: Need) -> Option<Demand> {
        let (shop, of) = (self.shop, &mut *self.of);
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
        let key = (job, by, need.want);
        let row = *self.rows.entry(key).or_insert_with(|| {
            of.wanted.push(DemandRow { able: able.clone() });
            of.wanted.len() - 1
        });
        let mut holds = Vec::with_capacity(able.len());
        for (p, spot) in &able {
            if !of.pools[*p].of.shared {
                holds.push(of.flat(*p, *spot));
                continue;
            }
            // A step is done in one way: its ways share the rows.
            holds.push(*self.shared.entry((key, *p, *spot)).or_insert_with(|| {
                of.pools[*p].holds[*spot].push(of.holds);
                of.holds += 1;
                of.holds - 1
            }));
        }
        Some(Demand { waits: need.want.waits(), count: need.count as f64, able, holds, come: vec![row] })
    }
}

/// Most times at which a job with several first steps is taken to begin.
const MOST_BEGINS: usize = 30;

/// Between which steps a parked need is paid for: from `from`, or from one that starts no sooner than the first, to `to`.
fn between(shop: &Shop, job: JobId, steps: &[SubproblemStep], held: &ParkedNeed) -> ParkedBetween {
    let position = |step: StepId| steps.iter().position(|of| of.id == step).unwrap_or(0);
    let to = held.to.map(position);
    // Of those that `to` comes after within the job the first in order, where it does not begin with a step of its own.
    let mut soonest = to.unwrap_or(0);
    while let Some(before) = (held.to.is_some())
        .then(|| shop.steps[steps[soonest].id].after.iter().map(|link| link.before))
        .and_then(|before| before.filter(|step| shop.steps[*step].job == job).map(position).min())
    {
        soonest = before;
    }
    let from = held.from.map_or(soonest, position);
    ParkedBetween { from, from_now: held.from.is_none() && shop.jobs[job].started, to, on: held.on }
}
