//! Units and crews that are alike in everything but id and name are pooled: the program counts them and tells them apart
//! afterwards, the relaxation solves one subproblem for all of them.

use std::collections::{BTreeMap, BTreeSet};

use yardless_book::Moves;
use yardless_book::money::Cents;
use yardless_plan::shop::{CrewId, Home, JobId, KindId, ParkedNeed, PlaceId, Shop, Table, TeamId, UnitId, Want};

use crate::context::Context;

/// Units alike in kinds, moving, weight, the trucks that may take them, times out, hire and home; they may begin at different places.
#[derive(Clone, Debug)]
pub(crate) struct UnitPool {
    /// The units, in the book's order.
    pub(crate) units: Vec<UnitId>,
    /// Towed or carried.
    pub(crate) moves: Moves,
    /// Pounds.
    pub(crate) weight_lb: u32,
    /// Whether each of its units serves any number of needs at a time (E8).
    pub(crate) shared: bool,
    /// Where each place of the pool is, and where nothing in particular is ([`Spot::Elsewhere`]).
    pub(crate) spots: Vec<Spot>,
    /// Units that stand at each spot at the beginning.
    pub(crate) begin: Vec<i64>,
    /// Whether all its units are out, by half-day index.
    pub(crate) out: Vec<bool>,
    /// One of its units, and the first and last tick of the time in which it alone is out.
    pub(crate) one_out: Option<OneOut>,
}

/// One unit of a pool that is out for a while, where the others are not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct OneOut {
    /// The unit.
    pub(crate) unit: UnitId,
    /// Index of the first half-day that the shop works in which it is out.
    pub(crate) first: usize,
    /// Index of the last.
    pub(crate) last: usize,
}

/// Where units of a pool may stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Spot {
    /// At one place.
    At(PlaceId),
    /// At any one of these places, where nothing wants them: a relaxation that keeps large books small. A haul to or
    /// from it takes the cheapest of them, on any road of theirs that is open.
    Elsewhere(Vec<PlaceId>),
}

impl Spot {
    /// The places it stands for.
    pub(crate) fn places(&self) -> &[PlaceId] {
        match self {
            Self::At(place) => std::slice::from_ref(place),
            Self::Elsewhere(places) => places,
        }
    }
}

impl UnitPool {
    /// The spot of a place.
    pub(crate) fn spot(&self, place: PlaceId) -> Option<usize> {
        self.spots.iter().position(|spot| spot.places().contains(&place))
    }

    /// C17: what it costs that a unit stands at a spot as a half-day begins. Its home is never one of places taken together.
    pub(crate) fn away_cents(&self, shop: &Shop, spot: usize, h: usize) -> i64 {
        let at = self.spots[spot].places().first();
        at.map_or(0, |place| shop.away_cost(self.units[0], *place, (h, h + 1)).0)
    }

    /// C12, C13: what a unit costs in a half-day that the shop works, where it stands at a spot; of places taken together the
    /// least of theirs.
    pub(crate) fn stand_cents(&self, shop: &Shop, spot: usize) -> i64 {
        let cents = self.spots[spot].places().iter().map(|place| shop.stand_cost(self.units[0], *place).0);
        cents.min().unwrap_or(0)
    }
}

/// Pools all units that some step or job may want, and towed ones that may have to make room (E6).
pub(crate) fn unit_pools(shop: &Shop, context: &Context, merge_rests: bool, join_outs: bool) -> Vec<UnitPool> {
    // What a job in progress holds is itself alone (N1).
    type Taken<'a> = (u32, &'a [bool]);
    type UnitTraits<'a> =
        (&'a [KindId], Moves, Taken<'a>, &'a [bool], Option<UnitId>, (Cents, Option<PlaceId>), Option<Home>);
    let mut alike: BTreeMap<UnitTraits<'_>, Vec<UnitId>> = BTreeMap::new();
    for (id, unit) in shop.units.pairs() {
        let itself = (!unit.bound.is_empty()).then_some(id);
        let hire = (unit.hire_half_day, unit.hire_place);
        alike
            .entry((&unit.kinds, unit.moves, (unit.weight_lb, &unit.takers), &unit.out, itself, hire, unit.home))
            .or_default()
            .push(id);
    }
    let mut pools: Vec<UnitPool> = Vec::new();
    let alike: Vec<Vec<UnitId>> = alike.into_values().collect();
    let groups =
        if join_outs { with_one_out(shop, alike) } else { alike.into_iter().map(|units| (units, None)).collect() };
    for (units, one_out) in groups {
        let facts = &shop.units[units[0]];
        let wanted = wanted_at(shop, context, units[0]);
        let in_the_way = facts.towed() && units.iter().any(|unit| shop.places[shop.units[*unit].place].spots.is_some());
        // Where it costs that they stand, hauling them away may pay though nothing wants them (C12, C13, C17, C18).
        let late = |unit: UnitId, place| shop.away_cost(unit, place, (shop.now, shop.len())).0 > 0;
        let leaves = |place| facts.towed() && shop.clearings.iter().any(|site| site.place == place);
        let cost = |unit: &UnitId| {
            let place = shop.units[*unit].place;
            shop.stand_cost(*unit, place).0 > 0 || late(*unit, place) || leaves(place)
        };
        if wanted.is_empty() && !in_the_way && !units.iter().any(cost) {
            continue;
        }
        let mut places: BTreeSet<PlaceId> = wanted;
        places.extend(units.iter().map(|unit| shop.units[*unit].place));
        // Its home is told apart from all places that are not (C17).
        places.extend(facts.home.map(|home| home.place));
        let rests = rests(shop, units[0], &places);
        let mut spots: Vec<Spot> = places.into_iter().map(Spot::At).collect();
        if merge_rests && rests.len() > 1 {
            spots.push(Spot::Elsewhere(rests));
        } else {
            spots.extend(rests.into_iter().map(Spot::At));
        }
        let mut pool = UnitPool {
            begin: vec![0; spots.len()],
            spots,
            moves: facts.moves,
            weight_lb: facts.weight_lb,
            shared: facts.shared,
            out: facts.out.clone(),
            one_out,
            units,
        };
        for unit in pool.units.clone() {
            if let Some(spot) = pool.spot(shop.units[unit].place) {
                pool.begin[spot] += 1;
            }
        }
        pools.push(pool);
    }
    pools.sort_by_key(|pool| pool.units[0]);
    pools
}

/// Joins a unit that is out once, for one stretch, with units that are like it but never out, where all begin at the
/// same place: up to that stretch any of them may be the one, so that the program only keeps one free then. Shared units
/// are not joined: their holds are counted need by need (E8).
fn with_one_out(shop: &Shop, groups: Vec<Vec<UnitId>>) -> Vec<(Vec<UnitId>, Option<OneOut>)> {
    let mut joined: Vec<(Vec<UnitId>, Option<OneOut>)> = Vec::new();
    let never_out = |units: &[UnitId]| !shop.units[units[0]].out.contains(&true);
    let (whole, others): (Vec<_>, Vec<_>) = groups.into_iter().partition(|units| never_out(units));
    joined.extend(whole.into_iter().map(|units| (units, None)));
    for units in others {
        // What is parked past the planned part of its job may be out there: just it, and no other (E7).
        let stays = |held: &ParkedNeed| held.on && shop.units[units[0]].serves(held.need.want);
        let rests = shop.jobs.iter().any(|job| job.parked.iter().any(stays));
        let like = joined.iter_mut().find(|(pool, one)| {
            let (a, b) = (&shop.units[pool[0]], &shop.units[units[0]]);
            !rests
                && one.is_none()
                && !b.shared
                && a.bound.is_empty()
                && b.bound.is_empty()
                && (&a.kinds, a.moves, a.weight_lb, &a.takers) == (&b.kinds, b.moves, b.weight_lb, &b.takers)
                && (a.hire_half_day, a.hire_place, a.home) == (b.hire_half_day, b.hire_place, b.home)
                && pool.iter().all(|unit| shop.units[*unit].place == b.place)
        });
        match (like, one_stretch(shop, units[0])) {
            (Some((pool, one)), Some((first, last)))
                if units.len() == 1 && !pool.is_empty() && !shop.units[pool[0]].out.contains(&true) =>
            {
                pool.extend(&units);
                *one = Some(OneOut { unit: units[0], first, last });
            }
            _ => joined.push((units, None)),
        }
    }
    joined
}

/// The first and last worked half-day of the only stretch in which a unit is out.
fn one_stretch(shop: &Shop, unit: UnitId) -> Option<(usize, usize)> {
    let out = &shop.units[unit].out;
    let first = out.iter().position(|out| *out)?;
    let last = out.iter().rposition(|out| *out)?;
    let mut worked = (first..=last).filter(|h| shop.open[*h]);
    let ends = (worked.next()?, (first..=last).rfind(|h| shop.open[*h])?);
    out[first..=last].iter().all(|out| *out).then_some(ends)
}

/// The places where some step or job may want the unit.
fn wanted_at(shop: &Shop, context: &Context, unit: UnitId) -> BTreeSet<PlaceId> {
    let facts = &shop.units[unit];
    let wants_it = |job: JobId| {
        let job = &shop.jobs[job];
        let power = shop.places[job.place].power_from > 0 && facts.serves(Want::Power);
        job.parked.iter().any(|parked| facts.serves(parked.need.want))
            || job.step_ids().any(|step| {
                let step = &shop.steps[step];
                let holds = step.going.as_ref().map(|going| going.units.contains(&unit));
                // What goes on wants other units only where it comes back (W10).
                if let Some(holds) = holds.filter(|holds| *holds || !step.may_split) {
                    return holds;
                }
                (power && step.ways.iter().any(|way| way.power > 0))
                    || step.ways.iter().any(|way| way.needs.iter().any(|need| facts.serves(need.want)))
            })
    };
    let plannable = |job: &JobId| context.plans(shop, *job) && shop.jobs[*job].follows_later.is_none();
    shop.jobs.ids().filter(plannable).filter(|job| wants_it(*job)).map(|job| shop.jobs[job].place).collect()
}

/// Other places where resting may pay. A place p is dropped when a unit that goes q -> p -> r could as well stay at q until
/// it leaves for r: standing at q and being on the road from it cost no more (C12, C13), the direct haul costs no more and
/// takes no longer, q's road is open whenever p's is and has no less posted, and q never lacks a trailer spot. Where standing
/// costs anything, the direct haul must also take no less: a half-day on the road from p may be cheaper than one at r.
/// Dropped one by one, each against all that are still kept.
fn rests(shop: &Shop, unit: UnitId, wanted: &BTreeSet<PlaceId>) -> Vec<PlaceId> {
    /// Above this many places the test (places cubed) is not worth its time; keeping a place is always right.
    const MOST_TESTED: usize = 60;
    let mut kept: Vec<PlaceId> = shop.places.ids().collect();
    if kept.len() > MOST_TESTED {
        return kept.into_iter().filter(|place| !wanted.contains(place)).collect();
    }
    let moves = shop.units[unit].moves;
    let costs = shop.stands_at_a_cost(unit);
    let cheaper = |q, p| {
        let site = || costs && shop.clearings.iter().any(|site| site.place == q);
        shop.stand_cost(unit, q) <= shop.stand_cost(unit, p)
            && shop.road_cost(unit, q) <= shop.road_cost(unit, p)
            && !site()
    };
    let towed = shop.units.iter().filter(|unit| unit.towed()).count();
    let roomy = |place: PlaceId| moves == Moves::Carried || shop.places[place].spots.is_none_or(|spots| spots >= towed);
    let passable = |place: PlaceId, h: usize| match moves {
        Moves::Towed => shop.places[place].road[h].is_open(),
        Moves::Carried => !shop.places[place].weather[h].no_travel,
    };
    let weighs_less = |q, p, h| shop.posted(q, h).is_some_and(|of| shop.posted(p, h).is_none_or(|other| of < other));
    let cost = |a, b| shop.haul_time(moves, a, b).map(|time| (time.minutes, time.long));
    for p in shop.places.ids().filter(|place| !wanted.contains(place)) {
        let others: Vec<PlaceId> = kept.iter().copied().filter(|place| *place != p).collect();
        let no_better = others.iter().all(|q| {
            roomy(*q)
                && cheaper(*q, p)
                && (0..shop.len())
                    .all(|h| !shop.open[h] || !passable(p, h) || (passable(*q, h) && !weighs_less(*q, p, h)))
                && others.iter().filter(|r| *r != q).all(|r| match (cost(*q, p), cost(p, *r), cost(*q, *r)) {
                    (Some((qp, _)), Some((pr, pr_long)), Some((qr, qr_long))) => {
                        qr <= qp + pr && (!qr_long || pr_long) && (!costs || qr_long || !pr_long)
                    }
                    (_, _, direct) => direct.is_some() || cost(*q, p).is_none() || cost(p, *r).is_none(),
                })
        });
        if no_better {
            kept = others;
        }
    }
    kept.into_iter().filter(|place| !wanted.contains(place)).collect()
}

/// Teams that the program treats as one: crews alone, or one team with helpers.
#[derive(Clone, Debug)]
pub(crate) struct TeamPool {
    /// The teams, as many crews as they are.
    pub(crate) teams: Vec<TeamId>,
    /// The pool of their crew without helpers: its own, but for a team with helpers.
    pub(crate) alone: usize,
    /// The pool before this one whose only crew is just like this one's: used first (rows `Order` of the program).
    pub(crate) after: Option<usize>,
}

/// Pools crews that nothing tells apart: same people in every half-day, same skills, none of them fixed, none that helps
/// or is helped. They are counted together where counting is exact: no job has two steps that they may do (or another crew
/// costs nothing, C4), each half-day of theirs takes one step, and none of their runs pauses while they are present, so
/// that runs are intervals and any count that fits in every half-day can be told apart. Otherwise each stays alone and only
/// the order in which they are used is set. Teams with helpers come after the crews, each by itself.
pub(crate) fn team_pools(shop: &Shop) -> (Vec<TeamPool>, Table<TeamId, usize>) {
    type CrewTraits<'a> = (&'a [u32], BTreeSet<&'a str>, bool, u32, Option<CrewId>);
    // Crews that a book, a kept plan or history names are not like any other, nor those that help or are helped.
    let mut fixed: BTreeSet<CrewId> = shop.steps.iter().filter_map(|step| step.fixed.crew).collect();
    fixed.extend(shop.steps.iter().filter_map(|step| Some(shop.teams[step.kept?.team?].crew)));
    fixed.extend(shop.jobs.iter().flat_map(|job| &job.crews_before));
    let helped = |team: &TeamId| !shop.teams[*team].helpers.is_empty();
    fixed.extend(shop.teams.ids().filter(helped).flat_map(|team| shop.teams[team].crews()));
    if shop.overtime.contains(&true) {
        fixed.extend(shop.trucks.iter().filter_map(|truck| truck.crew));
    }
    let mut alike: BTreeMap<CrewTraits<'_>, Vec<CrewId>> = BTreeMap::new();
    for (id, crew) in shop.crews.pairs() {
        let skills = crew.skills.iter().map(String::as_str).collect();
        let itself = fixed.contains(&id).then_some(id);
        alike.entry((&crew.people, skills, crew.own, crew.at_once, itself)).or_default().push(id);
    }
    let mut pools: Vec<TeamPool> = Vec::new();
    for crews in alike.into_values() {
        let teams: Vec<TeamId> = crews.iter().map(|crew| shop.alone(*crew)).collect();
        if crews.len() == 1 || countable(shop, crews[0]) {
            pools.push(TeamPool { teams, alone: pools.len(), after: None });
        } else {
            for (i, team) in teams.into_iter().enumerate() {
                let after = (i > 0).then(|| pools.len() - 1);
                pools.push(TeamPool { teams: vec![team], alone: pools.len(), after });
            }
        }
    }
    let mut pool_of = Table::filled(shop.teams.ids().count(), 0);
    for (i, pool) in pools.iter().enumerate() {
        for team in &pool.teams {
            pool_of[*team] = i;
        }
    }
    for team in shop.teams.ids().filter(helped) {
        pool_of[team] = pools.len();
        let alone = pool_of[shop.alone(shop.teams[team].crew)];
        pools.push(TeamPool { teams: vec![team], alone, after: None });
    }
    (pools, pool_of)
}

fn countable(shop: &Shop, crew: CrewId) -> bool {
    let team = shop.alone(crew);
    let may_do = |job: JobId| shop.jobs[job].step_ids().filter(|step| shop.steps[*step].teams.contains(&team)).count();
    let free = shop.extra_crew().0 == 0 || !shop.crews[crew].own;
    let people = &shop.crews[crew].people;
    shop.capacity(crew) == 1
        && (free || shop.jobs.ids().all(|job| may_do(job) <= 1))
        && shop.steps.ids().all(|step| {
            // Both spans are by one crew (W10).
            !(shop.steps[step].may_split && shop.steps[step].teams.contains(&team))
                && (0..shop.steps[step].ways.len()).filter_map(|way| shop.runs(step, way, team)).all(|runs| {
                    runs.iter().all(|(start, end)| (start..=end).all(|h| runs.workable[h] || people[h] == 0))
                })
        })
}
