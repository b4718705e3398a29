//! The ids that a plan may name, found by their text.

use std::collections::BTreeMap;

use yardless_book::half_day::HalfDay;
use yardless_plan::Rule;
use yardless_plan::shop::{CrewId, JobId, PlaceId, Shop, StepId, TruckId, UnitId};

use super::Found;
use super::fact::{Noun, OfPlan};

pub(super) struct Ids<'a> {
    jobs: BTreeMap<&'a str, JobId>,
    steps: BTreeMap<(JobId, &'a str), StepId>,
    crews: BTreeMap<&'a str, CrewId>,
    trucks: BTreeMap<&'a str, TruckId>,
    units: BTreeMap<&'a str, UnitId>,
    places: BTreeMap<&'a str, PlaceId>,
}

impl<'a> Ids<'a> {
    pub(super) fn new(shop: &'a Shop) -> Self {
        Self {
            jobs: shop.jobs.pairs().map(|(id, job)| (job.id.as_str(), id)).collect(),
            steps: shop.steps.pairs().map(|(id, step)| ((step.job, step.id.as_str()), id)).collect(),
            crews: shop.crews.pairs().map(|(id, crew)| (crew.id.as_str(), id)).collect(),
            trucks: shop.trucks.pairs().map(|(id, truck)| (truck.id.as_str(), id)).collect(),
            units: shop.units.pairs().map(|(id, unit)| (unit.id.as_str(), id)).collect(),
            places: shop.places.pairs().map(|(id, place)| (place.id.as_str(), id)).collect(),
        }
    }
    pub(super) fn job(&self, id: &str, found: &mut Found) -> Option<JobId> {
        known(self.jobs.get(id).copied(), Noun::Job, id, found)
    }
    pub(super) fn step(&self, job: JobId, id: &str, found: &mut Found) -> Option<StepId> {
        let step = self.steps.get(&(job, id)).copied();
        if step.is_none() {
            found.say(Rule::Plan, OfPlan::NoStep { job, id: id.to_owned() });
        }
        step
    }
    pub(super) fn crew(&self, id: &str, found: &mut Found) -> Option<CrewId> {
        known(self.crews.get(id).copied(), Noun::Crew, id, found)
    }
    pub(super) fn truck(&self, id: &str, found: &mut Found) -> Option<TruckId> {
        known(self.trucks.get(id).copied(), Noun::Truck, id, found)
    }
    pub(super) fn unit(&self, id: &str, found: &mut Found) -> Option<UnitId> {
        known(self.units.get(id).copied(), Noun::Unit, id, found)
    }
    pub(super) fn place(&self, id: &str, found: &mut Found) -> Option<PlaceId> {
        known(self.places.get(id).copied(), Noun::Place, id, found)
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
