//! The rows of the drawing: a place each, as high as its works and units need, with what closes its road.

use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::super::course::{At, Course, Trip};
use super::super::roads::Mark;
use super::lanes::lanes;
use super::{Columns, HEAD, LINE, NAME, STRIP};

/// A place's row.
#[derive(Clone, Debug)]
pub struct Band {
    /// The place.
    pub place: PlaceId,
    /// Its name.
    pub name: String,
    /// Its upper edge.
    pub y: i32,
    /// Its height.
    pub height: i32,
    /// What is the matter with its road.
    pub marks: Vec<Box>,
    /// How many strips lie one below the other.
    pub(super) strips: i32,
    /// The units that stand here, and in which line below the strips.
    pub(super) units: Vec<(UnitId, i32)>,
}

/// A part of a row.
#[derive(Clone, Debug)]
pub struct Box {
    /// Its left edge.
    pub x: i32,
    /// Its width.
    pub width: i32,
    /// The sort of mark: `storm`, `no-travel`, `covered`, `season` or `clear`.
    pub kind: &'static str,
    /// What it says.
    pub says: &'static str,
}

/// The places where something is done or stands, in the order of the work; where equipment only stands comes last.
pub(super) fn lay_out(course: &Course, columns: &Columns) -> Vec<Band> {
    let shop = course.shop;
    let mut found: Vec<(usize, PlaceId)> = Vec::new();
    for place in shop.places.ids() {
        let works = course.works.iter().chain(&course.dropped.works);
        let here = works.filter(|work| shop.jobs[work.job].place == place);
        let first = here.filter(|work| columns.span(work.start, work.end).is_some()).map(|work| work.start).min();
        let stands = shop.units.ids().any(|unit| seen(course, columns, unit, place).next().is_some());
        if first.is_some() || stands {
            found.push((first.unwrap_or(usize::MAX), place));
        }
    }
    found.sort_by_key(|(first, place)| (*first, place.index()));
    let mut y = HEAD;
    let mut bands = Vec::new();
    for (_, place) in found {
        let strips = lanes(course, columns, place).len() as i32;
        let units = lines(course, columns, place);
        let many = units.iter().map(|(_, line)| line + 1).max().unwrap_or(0);
        let height = NAME + strips * STRIP + many * LINE + 4;
        let name = shop.places[place].name.clone();
        bands.push(Band { place, name, y, height, marks: marks(course, columns, place), strips, units });
        y += height;
    }
    bands
}

/// Whether a unit is drawn at a place in a half-day: where it stands, or is going.
pub(super) fn stands(course: &Course, unit: UnitId, place: PlaceId, h: usize) -> bool {
    matches!(course.standing[unit][h], At::Place(here) | At::Road(here) if here == place)
}

/// The haul that a unit makes at the start of a half-day.
pub(super) fn at_its_start<'c>(course: &'c Course, unit: UnitId, h: usize) -> Option<&'c Trip> {
    course.trips.iter().find(|trip| trip.unit == unit && trip.at == h && !trip.evening)
}

/// The haul that a unit makes in the evening of a half-day.
pub(super) fn in_its_evening<'c>(course: &'c Course, unit: UnitId, h: usize) -> Option<&'c Trip> {
    course.trips.iter().find(|trip| trip.unit == unit && trip.at == h && trip.evening)
}

/// The drawn half-days in which a unit is at a place: it stands there or is going there, leaves at the half-day's start or
/// lands in its evening.
fn seen<'c>(
    course: &'c Course,
    columns: &'c Columns,
    unit: UnitId,
    place: PlaceId,
) -> impl Iterator<Item = usize> + 'c {
    let leaves = move |h| at_its_start(course, unit, h).is_some_and(|trip| trip.from == place && h >= course.shop.now);
    let lands = move |h| in_its_evening(course, unit, h).is_some_and(|trip| trip.to == place);
    columns.shown.iter().copied().filter(move |h| stands(course, unit, place, *h) || leaves(*h) || lands(*h))
}

/// A line for each unit that stands at a place; two that are never there at once may share one.
fn lines(course: &Course, columns: &Columns, place: PlaceId) -> Vec<(UnitId, i32)> {
    let mut here: Vec<(usize, usize, UnitId)> = Vec::new();
    for unit in course.shop.units.ids() {
        let mut at = seen(course, columns, unit, place);
        if let Some(first) = at.next() {
            here.push((first, at.last().unwrap_or(first), unit));
        }
    }
    here.sort();
    let mut ends: Vec<usize> = Vec::new();
    let mut lines = Vec::new();
    for (first, last, unit) in here {
        // A half-day between two, so that neither looks like the other's going on.
        let line = ends.iter().position(|end| end + 2 < first).unwrap_or(ends.len());
        if line == ends.len() {
            ends.push(last);
        } else {
            ends[line] = last;
        }
        lines.push((unit, line as i32));
    }
    lines
}

/// What closes the place's road, each stretch once.
fn marks(course: &Course, columns: &Columns, place: PlaceId) -> Vec<Box> {
    let facts = &course.shop.places[place];
    let mut boxes: Vec<Box> = Vec::new();
    for &h in &columns.shown {
        let Some(mark) = Mark::of(facts, h) else { continue };
        let (x, width) = (columns.x(h), columns.scale.half_day);
        match boxes.last_mut() {
            Some(last) if last.says == mark.long && last.x + last.width == x => last.width += width,
            _ => boxes.push(Box { x, width, kind: mark.kind(), says: mark.long }),
        }
    }
    boxes
}
