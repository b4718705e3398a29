//! What two plans may differ in, counted: what a question is told by.

use std::collections::BTreeMap;

use yardless_book::money::Cents;
use yardless_book::{Book, Moves};
use yardless_check::check;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use crate::given::Given;

/// A thing that is counted of a plan.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fact {
    /// A job that is left out: 1.
    LeftOut(String),
    /// Dates that the shop works by which a job, or steps of it, are late.
    Late(String),
    /// Dates outside those that customers were told.
    Told,
    /// Hauls with a trailer.
    Towed,
    /// Hauls in a truck.
    Carried,
    /// Minutes of towing, hitching included.
    TowMinutes,
    /// Minutes of carrying, loading included.
    CarryMinutes,
    /// Own crews on jobs beyond the first.
    ExtraCrews,
    /// Half-days in which crews help.
    Help,
    /// Half-days by which crews are kept free too little.
    KeptFree,
    /// Steps that are left and come back to.
    ComingBack,
    /// Half-days of overtime.
    Overtime,
    /// Half-days from the jobs' first steps to their last.
    Open,
    /// Half-days for which units are hired.
    Hire,
    /// Half-days in which trailers stand where standing costs.
    Standing,
    /// Minutes that crews drive from home and back.
    Driving,
    /// Steps done in a way that costs extra.
    DearWays,
    /// The half-days in which jobs end, added up.
    Ends,
}

/// The counts of a plan that are not 0.
pub type Facts = BTreeMap<Fact, i64>;

/// The shop with a cent for each thing that is counted: what a plan costs there is how many it has.
pub fn meter(given: &Given) -> Option<Shop> {
    let one = |price: &mut Cents| {
        if *price > Cents::ZERO {
            *price = Cents(1);
        }
    };
    given.what_if(&[], |book: &mut Book| {
        let prices = &mut book.prices;
        prices.tow_minute = Cents(1);
        prices.carry_minute = Cents::ZERO;
        for price in [
            &mut prices.extra_crew,
            &mut prices.help_half_day,
            &mut prices.reserve_half_day,
            &mut prices.come_back,
            &mut prices.overtime_half_day,
            &mut prices.open_half_day,
            &mut prices.drive_minute,
            &mut prices.told_day,
        ] {
            one(price);
        }
        book.places.iter_mut().for_each(|place| one(&mut place.stand_half_day));
        book.equipment.iter_mut().for_each(|unit| one(&mut unit.hire_half_day));
        let told = book.jobs.iter_mut().flat_map(|job| &mut job.steps).filter_map(|step| step.told.as_mut());
        told.for_each(|told| told.day = None);
    })
}

/// What a plan has of each.
pub fn facts(given: &Given, meter: &Shop, plan: &Plan) -> Facts {
    let shop = given.shop;
    let costs = check(meter, plan).costs;
    let towed = |unit: &String| shop.book.equipment.iter().any(|of| of.id == *unit && of.moves == Moves::Towed);
    let (tows, carries): (Vec<_>, Vec<_>) = plan.hauls.iter().partition(|haul| towed(&haul.unit));
    let minutes = |hauls: &[&yardless_plan::HaulRow]| hauls.iter().map(|haul| i64::from(haul.minutes)).sum::<i64>();
    let mut all: Facts = [
        (Fact::Told, costs.told.0),
        (Fact::Towed, tows.len() as i64),
        (Fact::Carried, carries.len() as i64),
        (Fact::TowMinutes, minutes(&tows)),
        (Fact::CarryMinutes, minutes(&carries)),
        (Fact::ExtraCrews, costs.crews.0),
        (Fact::Help, costs.help.0),
        (Fact::KeptFree, costs.reserve.0),
        (Fact::ComingBack, costs.returns.0),
        (Fact::Overtime, costs.overtime.0),
        (Fact::Open, costs.open.0),
        (Fact::Hire, costs.hire.0),
        (Fact::Standing, costs.standing.0),
        (Fact::Driving, costs.driving.0),
        (Fact::DearWays, dear_ways(shop, plan)),
        (Fact::Ends, ends(shop, plan)),
    ]
    .into();
    all.extend(plan.left_out.iter().map(|row| (Fact::LeftOut(row.job.clone()), 1)));
    all.extend(shop.book.jobs.iter().map(|job| (Fact::Late(job.id.clone()), late(shop, plan, job))));
    all.retain(|_, count| *count != 0);
    all
}

/// The dates by which a job and its steps are late; the job's own where it is done whole (W12).
fn late(shop: &Shop, plan: &Plan, job: &yardless_book::Job) -> i64 {
    let rows = || plan.steps.iter().filter(|row| row.job == job.id);
    let whole = !plan.later.iter().any(|row| row.job == job.id);
    let of_job = job.due.filter(|_| whole).and_then(|due| {
        let end = rows().map(|row| row.end).max()?;
        Some(shop.worked_dates(due, end.date()))
    });
    let of_steps = job.steps.iter().filter_map(|step| {
        let end = rows().filter(|row| row.step == step.id).map(|row| row.end).max()?;
        Some(shop.worked_dates(step.due?, end.date()))
    });
    of_job.into_iter().chain(of_steps).sum()
}

fn dear_ways(shop: &Shop, plan: &Plan) -> i64 {
    let dear = |row: &&yardless_plan::StepRow| {
        let job = shop.book.jobs.iter().find(|job| job.id == row.job);
        let step = job.and_then(|job| job.steps.iter().find(|step| step.id == row.step));
        let mut ways = step.into_iter().flat_map(|step| step.ways.iter().flatten());
        ways.any(|way| way.id == row.way && way.extra > Cents::ZERO)
    };
    plan.steps.iter().filter(dear).count() as i64
}

fn ends(shop: &Shop, plan: &Plan) -> i64 {
    let mut ends: BTreeMap<&String, i64> = BTreeMap::new();
    for row in &plan.steps {
        let end = shop.horizon.offset(row.end).max(0);
        let of = ends.entry(&row.job).or_insert(end);
        *of = end.max(*of);
    }
    ends.values().sum()
}
