//! What a plan names, found by its id.

use std::collections::BTreeMap;

use super::Shop;
use super::ids::{CrewId, Id, JobId, KindId, PlaceId, StepId, TruckId, UnitId};

/// Every id of the shop, made once.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    jobs: BTreeMap<String, JobId>,
    crews: BTreeMap<String, CrewId>,
    trucks: BTreeMap<String, TruckId>,
    units: BTreeMap<String, UnitId>,
    places: BTreeMap<String, PlaceId>,
    kinds: BTreeMap<String, KindId>,
}

impl Index {
    /// That of a shop with its tables.
    pub(super) fn of(shop: &Shop) -> Self {
        fn by<I: Id>(ids: impl Iterator<Item = String>) -> BTreeMap<String, I> {
            ids.enumerate().map(|(n, id)| (id, I::from_index(n))).collect()
        }
        Self {
            jobs: by(shop.jobs.iter().map(|job| job.id.clone())),
            crews: by(shop.crews.iter().map(|crew| crew.id.clone())),
            trucks: by(shop.trucks.iter().map(|truck| truck.id.clone())),
            units: by(shop.units.iter().map(|unit| unit.id.clone())),
            places: by(shop.places.iter().map(|place| place.id.clone())),
            kinds: by(shop.kinds.iter().map(|kind| kind.id.clone())),
        }
    }
}

impl Shop {
    /// The job with an id.
    pub fn find_job(&self, id: &str) -> Option<JobId> {
        self.index.jobs.get(id).copied()
    }
    /// The step with an id, of those of a job that are not done.
    pub fn find_step(&self, job: JobId, id: &str) -> Option<StepId> {
        self.jobs[job].step_ids().find(|step| self.steps[*step].id == id)
    }
    /// The crew with an id.
    pub fn find_crew(&self, id: &str) -> Option<CrewId> {
        self.index.crews.get(id).copied()
    }
    /// The truck with an id.
    pub fn find_truck(&self, id: &str) -> Option<TruckId> {
        self.index.trucks.get(id).copied()
    }
    /// The unit with an id.
    pub fn find_unit(&self, id: &str) -> Option<UnitId> {
        self.index.units.get(id).copied()
    }
    /// The place with an id.
    pub fn find_place(&self, id: &str) -> Option<PlaceId> {
        self.index.places.get(id).copied()
    }
    /// The kind with an id.
    pub fn find_kind(&self, id: &str) -> Option<KindId> {
        self.index.kinds.get(id).copied()
    }
}
