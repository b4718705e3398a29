//! A draft written out as a plan, format 1.

use yardless_book::money::Cents;

use crate::shop::{CrewId, JobId, Part, PastStep, Shop, StepId, UnitId};
use crate::{Costs, Done, Draft, Haul, HaulRow, LaterRow, LeftOutRow, ParkedRow, ParkedUnit, Plan, StepRow, Stint};

/// Writes a draft out as a plan; `why` tells why a job is left out. Cost and bound are left at nothing.
pub fn write(shop: &Shop, digest: &str, draft: &Draft, why: impl Fn(JobId) -> String) -> Plan {
    let mut plan = Plan {
        plan: 1,
        book_digest: digest.to_owned(),
        from: shop.horizon.monday(),
        weeks: shop.horizon.weeks(),
        now: Some(shop.horizon.half_day(shop.now)),
        so_far: None,
        cost: Cents::ZERO,
        bound: None,
        proven: false,
        stopped: String::new(),
        steps: Vec::new(),
        parked: Vec::new(),
        hauls: Vec::new(),
        left_out: Vec::new(),
        later: Vec::new(),
        costs: Costs::default(),
    };
    for (job, facts) in shop.jobs.pairs() {
        if facts.later {
            plan.later.push(LaterRow { job: facts.id.clone(), steps: Vec::new() });
        } else if facts.planned() && !draft.does(shop, job) {
            plan.left_out.push(LeftOutRow { job: facts.id.clone(), why: why(job) });
        } else {
            plan.steps.extend(facts.past.iter().map(|past| past_row(shop, job, past)));
            for step in facts.step_ids() {
                plan.steps.extend(draft.steps[step].iter().flat_map(|done| step_rows(shop, step, done)));
            }
            let parked = if facts.rests() { &facts.parked_units() } else { &draft.parked[job] };
            plan.parked.extend(rows_of_parked(shop, job, parked));
            if facts.in_part() {
                let steps = facts.later_ids().map(|step| shop.steps[step].id.clone()).collect();
                plan.later.push(LaterRow { job: facts.id.clone(), steps });
            }
        }
    }
    let mut hauls = draft.hauls.clone();
    hauls.sort_by_key(|haul| (haul.at, haul.evening, haul.unit));
    plan.hauls = hauls.iter().map(|haul| haul_row(shop, haul)).collect();
    plan
}

/// What is parked at a job: a row, or one for each need where they are not all held all the time (E7).
pub fn rows_of_parked(shop: &Shop, job: JobId, parked: &[ParkedUnit]) -> Vec<ParkedRow> {
    let facts = &shop.jobs[job];
    let row = |of: &dyn Fn(&ParkedUnit) -> bool| {
        let mut units: Vec<UnitId> = Vec::new();
        for held in parked.iter().filter(|held| of(held)) {
            // A shared one may serve several needs.
            if !units.contains(&held.unit) {
                units.push(held.unit);
            }
        }
        ParkedRow { job: facts.id.clone(), units: unit_ids(shop, &units) }
    };
    let mut rows = if facts.parks_apart {
        let mut listed: Vec<usize> = facts.parked.iter().map(|need| need.listed).collect();
        listed.dedup();
        listed
            .iter()
            .map(|listed| row(&|held| facts.parked.get(held.need).is_some_and(|need| need.listed == *listed)))
            .collect()
    } else {
        vec![row(&|_| true)]
    };
    rows.retain(|row| !row.units.is_empty());
    rows
}

fn unit_ids(shop: &Shop, units: &[UnitId]) -> Vec<String> {
    units.iter().map(|unit| shop.units[*unit].id.clone()).collect()
}

fn crew_ids(shop: &Shop, crews: &[CrewId]) -> Vec<String> {
    crews.iter().map(|crew| shop.crews[*crew].id.clone()).collect()
}

/// A step that is planned: a row a span. One that is let go at once has no first span any more.
fn step_rows<'d>(shop: &'d Shop, step: StepId, done: &'d Done) -> impl Iterator<Item = StepRow> + 'd {
    let (facts, team) = (&shop.steps[step], &shop.teams[done.team]);
    done.spans().filter(|held| held.span.part != Part::LetGo).map(move |Stint { span, units }| {
        let second = span.part == Part::Second || facts.comes_back();
        let going = facts.going.as_ref().filter(|_| !second);
        StepRow {
            job: shop.jobs[facts.job].id.clone(),
            step: facts.id.clone(),
            way: facts.ways[span.way].id.clone(),
            crew: shop.crews[team.crew].id.clone(),
            with: crew_ids(shop, &team.helpers),
            start: going.map_or(shop.horizon.half_day(span.start), |going| going.start),
            end: shop.horizon.half_day(span.end),
            units: unit_ids(shop, units),
            span: if second { 2 } else { 1 },
            overtime: facts.ways[span.way].overtime,
        }
    })
}

fn haul_row(shop: &Shop, haul: &Haul) -> HaulRow {
    let time = shop.haul_time(shop.units[haul.unit].moves, haul.from, haul.to);
    HaulRow {
        unit: shop.units[haul.unit].id.clone(),
        from: shop.places[haul.from].id.clone(),
        to: shop.places[haul.to].id.clone(),
        at: shop.horizon.half_day(haul.at),
        evening: haul.evening,
        truck: shop.trucks[haul.truck].id.clone(),
        minutes: time.map_or(0, |time| time.minutes),
        estimate: Some(time.is_some_and(|time| time.estimate)),
        needs_clear: Some(shop.may_haul(haul.unit, haul.from, haul.to, haul.at) == Some(true)),
    }
}

/// A step that is done, as the book has it (N1).
fn past_row(shop: &Shop, job: JobId, past: &PastStep) -> StepRow {
    StepRow {
        job: shop.jobs[job].id.clone(),
        step: past.id.clone(),
        way: past.way.clone(),
        crew: shop.crews[past.crew].id.clone(),
        with: crew_ids(shop, &past.helpers),
        start: past.start,
        end: past.end,
        units: Vec::new(),
        span: 1,
        overtime: false,
    }
}
