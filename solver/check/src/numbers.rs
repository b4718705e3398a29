//! What the plan costs, and whether the plan says so: rules C1 to C18, the cost and the bound.

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::shop::{Id, JobId, PlaceId, Shop, StepId, UnitId};
use yardless_plan::{Costs, Plan, Rule, cost};

use super::fact::OfCost;
use super::hauls::Yard;
use super::rows::{Fate, KnownRow, Works, each};
use super::{Found, crew_cost, crew_time, help, history, home, later};

pub(super) fn costs(shop: &Shop, plan: &Plan, works: &Works, yard: &Yard, found: &mut Found) -> Costs {
    // Without the plan before it, the word of the plan itself.
    let said = plan.costs.changes.max(Cents::ZERO);
    let changes = shop.kept.as_ref().map_or(said, |kept| history::changes(shop, plan, kept));
    let overtime = shop.book.prices.overtime_half_day * crew_cost::overtime(shop, &works.steps);
    let worked = crew_time::at_work(shop, &works.steps);
    let reserve = crew_cost::reserve(shop, &worked);
    let driving = crew_cost::driving(shop, &worked, found);
    let mut costs = Costs { hauls: yard.cost, changes, overtime, reserve, driving, ..Costs::default() };
    for (unit, stands) in yard.stands.pairs() {
        for (place, there) in each_place(shop, unit, stands) {
            costs.standing += cost::standing(shop, unit, place);
            costs.hire += cost::hire(shop, unit, Some(place).filter(|_| there));
        }
    }
    home::late(shop, works, yard, &mut costs);
    for (step, work) in each(&works.steps) {
        costs.help += shop.book.prices.help_half_day * help::paid(shop, step, work);
        if work.comes_back() {
            costs.returns += shop.book.prices.come_back;
        }
    }
    for (step, work) in works.steps.pairs().filter_map(|(step, rows)| Some((step, rows.first()?))) {
        costs.ways += shop.steps[step].ways[work.way].extra;
    }
    for (job, fate) in works.fates.pairs() {
        if let Fate::Done { start, end } = *fate {
            costs.open += cost::open(shop, start, end);
        }
        match fate {
            Fate::Later => {}
            Fate::LeftOut => costs.left_out += cost::left_out(shop, job),
            Fate::Done { .. } | Fate::Over | Fate::Rests => {
                let work = || later::open(shop, job).filter_map(|step| works.steps[step].last());
                let ends = work().filter_map(|work: &KnownRow| work.span).map(|(_, end)| shop.horizon.half_day(end));
                let past = history::of(shop, job);
                let ends: Vec<HalfDay> = past.iter().map(|step| step.end).chain(ends).collect();
                costs.late += own_lateness(shop, job, works);
                costs.told += told(shop, job, works);
                let crews = past.iter().map(|step| step.crew).chain(work().map(|work| work.team.crew));
                costs.ways += past.iter().map(|step| step.extra).sum();
                if !works.later.is_part(shop, job) {
                    costs.late += cost::late(shop, job, &ends);
                }
                costs.crews += cost::crews(shop, crews);
                costs.waiting += cost::waiting(shop, &ends);
            }
        }
    }
    costs
}

/// Where a unit stands in each half-day from now on that the shop works, and whether it does; on the road the place that
/// it left.
fn each_place(shop: &Shop, unit: UnitId, stands: &[Option<PlaceId>]) -> impl Iterator<Item = (PlaceId, bool)> {
    let mut last = shop.units[unit].place;
    let places = stands.iter().enumerate().map(move |(h, at)| {
        last = at.unwrap_or(last);
        (h, last, at.is_some())
    });
    let counts = |h: usize| h >= shop.now && shop.works[h];
    places.filter(move |(h, ..)| counts(*h)).map(|(_, place, stands)| (place, stands))
}

/// C1 of the steps that have a `due` themselves, those done before now too.
fn own_lateness(shop: &Shop, job: JobId, works: &Works) -> Cents {
    let text = &shop.book.jobs[job.index()];
    let done = text.steps.iter().filter_map(|step| Some((step, step.done.as_ref()?.end)));
    let past: Cents = done.map(|(step, end)| cost::step_late(shop, job, step, end)).sum();
    let planned = later::open(shop, job).filter_map(|step| {
        let (_, end) = works.steps[step].last()?.span?;
        Some(cost::step_late(shop, job, history::written(shop, step), shop.horizon.half_day(end)))
    });
    past + planned.sum()
}

/// C10 of the steps that had not begun before now.
fn told(shop: &Shop, job: JobId, works: &Works) -> Cents {
    let begins = |step: &StepId| history::written(shop, *step).progress.is_none();
    let steps = later::open(shop, job).filter(begins);
    let told = steps.filter_map(|step| {
        let first = works.steps[step].first()?;
        Some(cost::told(shop, history::written(shop, step), first.row.start))
    });
    told.sum()
}

pub(super) fn judge(plan: &Plan, costs: Costs, found: &mut Found) {
    if plan.costs != Costs::default() {
        let said = plan.costs;
        for (rule, said, is) in [
            (Rule::C1, said.late, costs.late),
            (Rule::C2, said.left_out, costs.left_out),
            (Rule::C3, said.hauls, costs.hauls),
            (Rule::C4, said.crews, costs.crews),
            (Rule::C5, said.waiting, costs.waiting),
            (Rule::C6, said.ways, costs.ways),
            (Rule::C7, said.changes, costs.changes),
            (Rule::C8, said.overtime, costs.overtime),
            (Rule::C9, said.returns, costs.returns),
            (Rule::C10, said.told, costs.told),
            (Rule::C11, said.help, costs.help),
            (Rule::C12, said.standing, costs.standing),
            (Rule::C13, said.hire, costs.hire),
            (Rule::C14, said.reserve, costs.reserve),
            (Rule::C15, said.driving, costs.driving),
            (Rule::C16, said.open, costs.open),
            (Rule::C17, said.home, costs.home),
            (Rule::C18, said.clear, costs.clear),
        ] {
            if said != is {
                found.say(rule, OfCost::Term { said, is });
            }
        }
    }
    let (said, is) = (plan.cost, costs.total());
    if said != is {
        found.say(Rule::Cost, OfCost::Cost { said, is });
    }
    match plan.bound {
        Some(bound) if bound > plan.cost => {
            found.say(Rule::Bound, OfCost::Above { bound, cost: plan.cost });
        }
        bound if plan.proven && bound != Some(plan.cost) => {
            found.say(Rule::Bound, OfCost::Apart { bound, cost: plan.cost });
        }
        _ => {}
    }
}
