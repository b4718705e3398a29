//! The material of planned steps: what is there, what comes, what is short and by when to order it (L7).

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Material, Moves};
use yardless_plan::Plan;
use yardless_plan::shop::{Id, JobId, PlaceId, Shop, StepId};

/// Material of a step that is to begin.
#[derive(Clone, Debug, PartialEq)]
pub struct Lot {
    /// The job.
    pub job: JobId,
    /// The step.
    pub step: StepId,
    /// By number in the step's list.
    pub number: usize,
    /// By index: when the step starts.
    pub start: usize,
    /// How it stands.
    pub state: LotState,
    /// What it costs to bring it to the job, where it lies or is delivered elsewhere.
    pub wrong: Option<WrongPlace>,
}

/// How material stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LotState {
    /// It lies at a place.
    OnHand(PlaceId),
    /// It comes on a date, to a place.
    OnOrder(NaiveDate, PlaceId),
    /// Nobody has ordered it. The last date to order it, where it is known how long it takes; and whether that has passed.
    Short(Option<NaiveDate>, bool),
}

/// Material at another place than where it is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrongPlace {
    /// Where it is.
    pub at: PlaceId,
    /// How many loads of a truck it makes.
    pub loads: u32,
    /// Minutes of hauling one of them; `None`: the drive is not known.
    pub minutes: Option<u32>,
    /// What all of them cost by the price of a carried haul (C3).
    pub cost: Option<Cents>,
}

/// All of a plan from its now on, in the order of the steps' starts.
pub fn lots(shop: &Shop, plan: &Plan) -> Vec<Lot> {
    let mut all = Vec::new();
    for row in plan.steps.iter().filter(|row| row.span == 1) {
        let Some(job) = shop.find_job(&row.job) else { continue };
        let Some(step) = shop.find_step(job, &row.step).filter(|step| shop.steps[*step].going.is_none()) else {
            continue;
        };
        let Some(start) = shop.horizon.index(row.start).filter(|start| *start >= shop.now) else { continue };
        let text = &shop.book.jobs[job.index()].steps[shop.steps[step].listed];
        all.extend(text.material.iter().enumerate().map(|(number, of)| {
            let state = state(shop, job, row.start, of);
            Lot { job, step, number, start, state, wrong: wrong(shop, job, of, state) }
        }));
    }
    all.sort_by_key(|lot| (lot.start, lot.step, lot.number));
    all
}

fn state(shop: &Shop, job: JobId, start: HalfDay, of: &Material) -> LotState {
    let place = |id: &Option<String>| id.as_ref().and_then(|id| shop.find_place(id));
    if let Some(at) = place(&of.at) {
        return LotState::OnHand(at);
    }
    if let Some(date) = of.expected {
        return LotState::OnOrder(date, place(&of.to).unwrap_or(shop.jobs[job].place));
    }
    let today = shop.horizon.date(shop.now);
    let last = of.lead_days.and_then(|days| start.date().checked_sub_days(chrono::Days::new(u64::from(days))));
    // On a day that the shop does not work nobody orders.
    let worked =
        last.map(|last| last.iter_days().rev().take(WEEKS).find(|date| shop.works_date(*date)).unwrap_or(last));
    LotState::Short(worked, worked.is_some_and(|last| last < today))
}

/// Days in which a shop works once at least.
const WEEKS: usize = 60;

fn wrong(shop: &Shop, job: JobId, of: &Material, state: LotState) -> Option<WrongPlace> {
    let to = shop.jobs[job].place;
    let ordered_to = of.to.as_ref().and_then(|id| shop.find_place(id));
    let at = match state {
        LotState::OnHand(at) | LotState::OnOrder(_, at) => Some(at),
        LotState::Short(..) => ordered_to,
    };
    let at = at.filter(|at| *at != to)?;
    let time = shop.haul_time(Moves::Carried, at, to);
    let minutes = time.map(|time| time.minutes);
    let cost = minutes.map(|minutes| shop.haul_cost(Moves::Carried, minutes) * i64::from(of.loads));
    Some(WrongPlace { at, loads: of.loads, minutes, cost })
}
