//! Printed names by the ids that plans and answers carry; an id that the book does not know stands for itself.

use yardless_book::visible;

use super::Shop;

/// What is printed of a thing: its name, else its id; nothing in it can steer a terminal or turn a sentence around.
pub(super) fn printed(name: Option<&String>, id: &str) -> String {
    visible(name.map_or(id, String::as_str))
}

impl Shop {
    /// A job's.
    pub fn job_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.jobs.iter().find(|job| job.id == id).map_or(id, |job| &job.name)
    }
    /// A crew's.
    pub fn crew_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.crews.iter().find(|crew| crew.id == id).map_or(id, |crew| &crew.name)
    }
    /// A unit's.
    pub fn unit_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.units.iter().find(|unit| unit.id == id).map_or(id, |unit| &unit.name)
    }
    /// A truck's.
    pub fn truck_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.trucks.iter().find(|truck| truck.id == id).map_or(id, |truck| &truck.name)
    }
    /// A place's.
    pub fn place_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.places.iter().find(|place| place.id == id).map_or(id, |place| &place.name)
    }
    /// A kind's.
    pub fn kind_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.kinds.iter().find(|kind| kind.id == id).map_or(id, |kind| &kind.name)
    }
    /// A road's.
    pub fn road_name<'a>(&'a self, id: &'a str) -> &'a str {
        let road = self.book.roads.iter().find(|road| road.id == id);
        road.and_then(|road| road.name.as_deref()).unwrap_or(id)
    }
}
