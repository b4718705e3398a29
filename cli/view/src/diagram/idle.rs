//! The units that are neither held nor hauled in the drawn half-days: in words, by place.

use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::super::course::{At, Course, UnitState};
use super::Columns;
use super::bands::{drawn, shown};

/// A place's name and what stands there idle, in the order of the book.
pub(super) fn idle(course: &Course, columns: &Columns) -> Vec<(String, Vec<String>)> {
    let shop = course.shop;
    let moves: Vec<UnitId> = drawn(course, columns).collect();
    let Some(first) = shown(course, columns).next() else { return Vec::new() };
    let mut at: Vec<(PlaceId, Vec<String>)> = Vec::new();
    for (unit, facts) in shop.units.pairs().filter(|(unit, _)| !moves.contains(unit)) {
        let (At::Place(place) | At::Road(place)) = course.standing[unit][first];
        let out = |h| course.unit_state(unit, h) == UnitState::Out;
        let name = if shown(course, columns).all(out) {
            format!("{} (out of service)", facts.name)
        } else if shown(course, columns).any(out) {
            format!("{} (out of service for a time)", facts.name)
        } else {
            facts.name.clone()
        };
        match at.iter_mut().find(|(of, _)| *of == place) {
            Some((_, names)) => names.push(name),
            None => at.push((place, vec![name])),
        }
    }
    at.sort_by_key(|(place, _)| place.index());
    at.into_iter().map(|(place, names)| (shop.places[place].name.clone(), names)).collect()
}
