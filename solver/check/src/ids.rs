//! The ids that a plan may name, found by their text.

use std::collections::BTreeMap;

use yardless_book::half_day::HalfDay;
use yardless_plan::Rule;
use yardless_plan::shop::{CrewId, JobId, PlaceId, Shop, StepId, TruckId, UnitId};

use super::Found;
use super::fact::{Noun, OfPlan};

pub(super) struct Ids<'a> {
    shop: &'a Shop,
    steps: BTreeMap<(JobId, &'a str), StepId>,
}

impl<'a> Ids<'a> {
    pub(super) fn new(shop: &'a Shop) -> Self {
        Self { shop, steps: shop.steps.pairs().map(|(id, step)| ((step.job, step.id.as_str()), id)).collect() }
    }
    pub(super) fn job(&self, id: &str, found: &mut Found) -> Option<JobId> {
        known(self.shop.find_job(id), Noun::Job, id, found)
    }
    pub(super) fn step(&self, job: JobId, id: &str, found: &mut Found) -> Option<StepId> {
        let step = self.steps.get(&(job, id)).copied();
        if step.is_none() {
            found.say(Rule::Plan, OfPlan::NoStep { job, id: id.to_owned() });
        }
        step
    }
    pub(super) fn crew(&self, id: &str, found: &mut Found) -> Option<CrewId> {
        known(self.shop.find_crew(id), Noun::Crew, id, found)
    }
    pub(super) fn truck(&self, id: &str, found: &mut Found) -> Option<TruckId> {
        known(self.shop.find_truck(id), Noun::Truck, id, found)
    }
    pub(super) fn unit(&self, id: &str, found: &mut Found) -> Option<UnitId> {
        known(self.shop.find_unit(id), Noun::Unit, id, found)
    }
    pub(super) fn place(&self, id: &str, found: &mut Found) -> Option<PlaceId> {
        known(self.shop.find_place(id), Noun::Place, id, found)
    }
}

fn known<T>(id: Option<T>, noun: Noun, text: &str, found: &mut Found) -> Option<T> {
    if id.is_none() {
        found.say(Rule::Plan, OfPlan::Unknown { noun, id: text.to_owned() });
    }
    id
}

/// A half-day of the horizon by its index.
pub(super) fn when(shop: &Shop, h: usize) -> HalfDay {
    shop.horizon.half_day(h)
}
