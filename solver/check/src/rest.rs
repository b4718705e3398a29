//! Whether the rest of a job that has begun and is left out would fit into the plan as it is: rule N1.
//!
//! The runs of each step are walked here from the rules themselves: by whom and how it may be done (W5, W8), when it may
//! start (W6), when it is worked on and ends (W3), and what it holds (E2, E5).

use yardless_plan::shop::{CrewId, Fixed, JobId, Need, Shop, StepId, Table, Team, UnitId, Want};
use yardless_plan::{Plan, Rule};

use super::crew_time::{AtWork, room};
use super::fact::OfHistory;
use super::hauls::Yard;
use super::rows::{Fate, Works, each};
use super::spans::{amount, gives};
use super::{Found, crew_cost, crew_time, help, history, waits};

/// N1: no job that has begun is left out where the rest of it fits into this very plan without a haul.
pub(super) fn fits_in(shop: &Shop, plan: &Plan, works: &Works, yard: &Yard, found: &mut Found) {
    let crews = crew_time::at_work(shop, &works.steps);
    let mut held: Table<UnitId, Vec<bool>> = Table::filled(shop.units.len(), vec![false; shop.len()]);
    let unit = |id: &String| shop.find_unit(id);
    for (_, work) in each(&works.steps) {
        let Some((start, end)) = work.span else { continue };
        for unit in work.row.units.iter().filter_map(unit) {
            held[unit][start..=end].fill(true);
        }
    }
    for (job, fate) in works.fates.pairs() {
        let Fate::Done { start, end } = *fate else { continue };
        let end = if works.later.is_part(shop, job) { shop.len() - 1 } else { end };
        let rows = plan.parked.iter().filter(|row| row.job == shop.jobs[job].id);
        for unit in rows.flat_map(|row| &row.units).filter_map(unit) {
            held[unit][start..=end].fill(true);
        }
    }
    for (job, facts) in shop.jobs.pairs() {
        let in_part = works.later.is_part(shop, job);
        let steps = works.later.planned(shop, job);
        let mut rest = RestOfJob { shop, job, steps, in_part, busy: crews.clone(), held: &held, yard };
        if facts.started && works.fates[job] == Fate::LeftOut && rest.fits() {
            found.say(Rule::N1, OfHistory::RestFits { job });
        }
    }
}

/// The rest of a job, to be put into a plan without a haul.
struct RestOfJob<'a> {
    shop: &'a Shop,
    job: JobId,
    /// What is to be done of it.
    steps: Vec<StepId>,
    /// Whether more comes later (W12).
    in_part: bool,
    /// The steps on which each crew works already, by half-day.
    busy: Table<CrewId, Vec<Vec<AtWork>>>,
    /// Those in which each unit is held.
    held: &'a Table<UnitId, Vec<bool>>,
    yard: &'a Yard,
}

impl RestOfJob<'_> {
    /// Whether the steps fit one after the other, each at its earliest, with units that stand there idle.
    fn fits(&mut self) -> bool {
        let shop = self.shop;
        let mut ends: Vec<(StepId, usize)> = Vec::new();
        while ends.len() < self.steps.len() {
            let Some((step, end)) = self.next(&ends) else { return false };
            ends.push((step, end));
        }
        // What is parked must have stayed there until the end, and two needs of one step must not share a unit.
        let last = ends.iter().map(|(_, end)| *end).max().unwrap_or(shop.now);
        let last = if self.in_part { shop.len() - 1 } else { last };
        let several = |step: StepId| {
            let facts = &shop.steps[step];
            facts.ways.iter().any(|way| way.needs.len() + way.power > 1)
        };
        // What is parked from a step on that has not begun is chosen by the plan.
        if shop.jobs[self.job].parked.iter().any(|parked| !parked.need.want.waits()) {
            return false;
        }
        let mut parked = shop.units.ids().filter(|unit| self.is_parked(*unit));
        parked.all(|unit| (shop.now..=last).all(|h| self.stands(unit, h))) && !self.steps.iter().copied().any(several)
    }

    /// Puts the next step whose predecessors are placed where it ends first; the step and its end.
    fn next(&mut self, ends: &[(StepId, usize)]) -> Option<(StepId, usize)> {
        let shop = self.shop;
        let known = |step: StepId| ends.iter().find(|(of, _)| *of == step).map(|(_, end)| *end);
        let placed = |step: StepId| {
            let own = |before: StepId| shop.steps[before].job == self.job;
            shop.steps[step].after.iter().all(|link| own(link.before) && known(link.before).is_some())
        };
        let step = self.steps.iter().copied().find(|step| known(*step).is_none() && placed(*step))?;
        let after = &shop.steps[step].after;
        let from = after.iter().filter_map(|link| Some(known(link.before)? + 1 + link.wait)).max().unwrap_or(shop.now);
        let by = after.iter().filter_map(|link| Some(known(link.before)? + 1 + link.within?)).min();
        let starts: Vec<usize> = (from..=by.unwrap_or(shop.len()).min(shop.len() - 1))
            .filter(|start| self.may_start(step, *start))
            .collect();
        // A later start never ends sooner.
        let first = |(way, team): (usize, Team)| {
            starts.iter().find_map(|start| Some((self.run(step, way, &team, *start)?, way, team.clone(), *start)))
        };
        let (end, way, team, start) = by_whom(shop, step).into_iter().filter_map(first).min()?;
        for h in (start..=end).filter(|h| shop.obstacle(step, way, &team, *h).is_none()) {
            for crew in help::who_works(shop, &team, h) {
                self.busy[crew][h].push(AtWork::new(shop, step, &shop.steps[step].ways[way].id));
            }
        }
        Some((step, end))
    }

    /// Whether a step may start in a half-day, as far as the owner has fixed it (W8), done steps let it (W6), and what it
    /// waits on has come (W14). What is in progress and has not been left goes on now (N1).
    fn may_start(&self, step: StepId, start: usize) -> bool {
        let shop = self.shop;
        if goes_on(shop, step) {
            return start == shop.now;
        }
        let fixed = if shop.steps[step].going.is_some() { None } else { shop.steps[step].fixed.start };
        fixed.is_none_or(|fixed| shop.horizon.index(fixed) == Some(start))
            && waits::allow(shop, step, shop.horizon.half_day(start))
            && history::done_before(shop, step).iter().all(|before| before.allows(shop, start as i64))
    }

    /// W3: the end of a run in whose half-days the crew is free, with enough units idle there from start to end.
    fn run(&self, step: StepId, way: usize, team: &Team, start: usize) -> Option<usize> {
        let shop = self.shop;
        if !goes_on(shop, step) && shop.obstacle(step, way, team, start).is_some() {
            return None;
        }
        let mut left = amount(shop, step, way);
        for h in (start..shop.len()).filter(|h| shop.obstacle(step, way, team, *h).is_none()) {
            let more = AtWork::new(shop, step, &shop.steps[step].ways[way].id);
            let free = |crew: CrewId| {
                room(shop, crew, &[&self.busy[crew][h][..], &[more]].concat()).is_ok()
                    && crew_cost::reaches(shop, crew, &self.busy[crew], (h, more))
            };
            if !help::who_works(shop, team, h).all(free) {
                return None;
            }
            left -= gives(shop, step, way, team, h);
            if left <= 0 {
                let needs = needs(shop, step, way, start);
                if help::somebody_never_there(shop, (step, way, team), start..=h) {
                    return None;
                }
                return needs.iter().all(|need| self.enough(*need, start, h)).then_some(h);
            }
        }
        None
    }

    /// Whether enough units stand there, idle or shared (E8). Trailers among them are there already: E6 is judged where they
    /// stand.
    fn enough(&self, need: Need, start: usize, end: usize) -> bool {
        let shop = self.shop;
        let its_own = history::held_now(shop, self.job);
        let able = |unit: &UnitId| {
            let facts = &shop.units[*unit];
            let idle = (start..=end).all(|h| !self.held[*unit][h])
                && !self.is_parked(*unit)
                && its_own.contains(unit) != facts.bound.is_empty();
            facts.serves(need.want) && (start..=end).all(|h| self.stands(*unit, h)) && (facts.shared || idle)
        };
        shop.units.ids().filter(able).count() >= need.count
    }

    /// Whether a unit stands at the job's place, and is not out.
    fn stands(&self, unit: UnitId, h: usize) -> bool {
        self.yard.stands[unit][h] == Some(self.shop.jobs[self.job].place) && !self.shop.units[unit].out[h]
    }

    /// Whether a unit may be one that is parked at the job: it serves no step besides.
    fn is_parked(&self, unit: UnitId) -> bool {
        self.shop.jobs[self.job].parked.iter().any(|parked| self.shop.units[unit].serves(parked.need.want))
    }
}

/// Whether a step is in progress, and not between its spans (W10).
fn goes_on(shop: &Shop, step: StepId) -> bool {
    shop.steps[step].going.is_some() && !history::between_spans(shop, step)
}

/// The ways and teams that may do a step: with the skill (W5), as the owner has fixed them (W8), with any helpers that may
/// (W11); of one in progress those that it goes on with (N1).
pub(super) fn by_whom(shop: &Shop, step: StepId) -> Vec<(usize, Team)> {
    let facts = &shop.steps[step];
    let text = history::written(shop, step);
    let ways = facts.ways.iter().enumerate();
    if let Some(progress) = &text.progress {
        let way = progress.way.as_deref().unwrap_or_else(|| history::only_way(text));
        let helpers = progress.with.iter().filter_map(|id| shop.find_crew(id)).collect();
        let team = shop.find_crew(&progress.crew).map(|crew| Team::new(crew, helpers));
        return ways.filter(|(_, of)| of.id == way).filter_map(|(way, _)| Some((way, team.clone()?))).collect();
    }
    let Fixed { way, crew, .. } = facts.fixed;
    let way = way.map(|way| facts.ways[way].id.as_str());
    let able = |of: &CrewId| crew.is_none_or(|crew| crew == *of) && shop.crews[*of].skills.contains(&facts.skill);
    let crews: Vec<CrewId> = shop.crews.ids().filter(able).collect();
    let ways = ways.filter(|(_, of)| way.is_none_or(|way| way == of.id));
    let teams = |of: &str| crews.iter().flat_map(|crew| help::teams(shop, text, of, *crew)).collect::<Vec<_>>();
    ways.flat_map(|(way, of)| teams(&of.id).into_iter().map(move |team| (way, team))).collect()
}

/// What a step holds, done in a way from a start: what its way needs and power where there is none yet (E2, E5); one that
/// goes on just its units (N1).
fn needs(shop: &Shop, step: StepId, way: usize, start: usize) -> Vec<Need> {
    let facts = &shop.steps[step];
    if let Some(going) = facts.going.as_ref().filter(|_| goes_on(shop, step)) {
        return going.units.iter().map(|unit| Need { want: Want::Unit(*unit), count: 1 }).collect();
    }
    let dark = start < shop.places[shop.jobs[facts.job].place].power_from;
    let count = if dark { facts.ways[way].power } else { 0 };
    let power = (count > 0).then_some(Need { want: Want::Power, count });
    facts.ways[way].needs.iter().copied().chain(power).collect()
}
