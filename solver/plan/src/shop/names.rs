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
        self.find_job(id).map_or(id, |found| &self.jobs[found].name)
    }
    /// A crew's.
    pub fn crew_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.find_crew(id).map_or(id, |found| &self.crews[found].name)
    }
    /// A unit's.
    pub fn unit_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.find_unit(id).map_or(id, |found| &self.units[found].name)
    }
    /// A truck's.
    pub fn truck_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.find_truck(id).map_or(id, |found| &self.trucks[found].name)
    }
    /// A place's.
    pub fn place_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.find_place(id).map_or(id, |found| &self.places[found].name)
    }
    /// A kind's.
    pub fn kind_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.find_kind(id).map_or(id, |found| &self.kinds[found].name)
    }
    /// A road's.
    pub fn road_name<'a>(&'a self, id: &'a str) -> &'a str {
        let road = self.book.roads.iter().find(|road| road.id == id);
        road.and_then(|road| road.name.as_deref()).unwrap_or(id)
    }
}
