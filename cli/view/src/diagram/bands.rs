//! The rows of the drawing: a place each, as high as its works and units need.

use yardless_plan::shop::{Id, PlaceId, Shop, UnitId};

use super::super::course::{At, Course, Trip, UnitState};
use super::labels::{Face, Label, fit, wrapped};
use super::lanes::lanes;
use super::weather::{Stretch, at_place, of_most, under_the_dates};
use super::{Columns, Sizes};

/// A place's row.
#[derive(Clone, Debug)]
pub struct Band {
    /// The place.
    pub place: PlaceId,
    /// Its name, on one line or two.
    pub name: Vec<Label>,
    /// Its street.
    pub street: Option<Label>,
    /// Its upper edge.
    pub y: i32,
    /// Its height.
    pub height: i32,
    /// Where weather and road are otherwise than most have them.
    pub marks: Vec<Stretch>,
    /// The upper edge of the first strip.
    pub(super) top: i32,
    /// How many strips lie one below the other.
    pub(super) strips: i32,
    /// The units that are drawn here, and in which line below the strips.
    pub(super) units: Vec<(UnitId, i32)>,
}

/// The rows, and what stands under the dates.
pub(super) struct Rows {
    /// The rows from above.
    pub(super) bands: Vec<Band>,
    /// Weather that most places have.
    pub(super) weather: Vec<Stretch>,
    /// The height of the head.
    pub(super) head: i32,
}

/// The places where something is done, or a unit that is drawn stands, in the order of the work.
pub(super) fn lay_out(course: &Course, columns: &Columns, sizes: Sizes) -> Rows {
    let found = places(course, columns);
    let most = of_most(course, columns, &found);
    let weather = under_the_dates(columns, &most, sizes);
    let head = sizes.head + if weather.is_empty() { 0 } else { sizes.weather };
    let mut y = head;
    let mut bands = Vec::new();
    for place in found {
        let strips = lanes(course, columns, place).len() as i32;
        let units = lines(course, columns, place);
        let many = units.iter().map(|(_, line)| line + 1).max().unwrap_or(0);
        let marks = at_place(course, columns, place, &most, (y + 1, sizes.ribbon - 2));
        let (name, street) = named(course.shop, place, columns.scale.names - 10);
        let ribbon = if marks.is_empty() { 0 } else { sizes.ribbon };
        let lines = 15 * name.len() as i32 + if street.is_some() { 13 } else { 0 };
        let height = (ribbon + strips * sizes.strip + many * sizes.line + 8).max(lines + 8);
        bands.push(Band { place, name, street, y, height, marks, top: y + ribbon + 4, strips, units });
        y += height;
    }
    Rows { bands, weather, head }
}

fn places(course: &Course, columns: &Columns) -> Vec<PlaceId> {
    let shop = course.shop;
    let mut found: Vec<(usize, PlaceId)> = Vec::new();
    for place in shop.places.ids() {
        let works = course.works.iter().chain(&course.dropped.works);
        let here = works.filter(|work| shop.jobs[work.job].place == place);
        let first = here.filter(|work| columns.span(work.start, work.end).is_some()).map(|work| work.start).min();
        let stands = drawn(course, columns).any(|unit| seen(course, columns, unit, place).next().is_some());
        if first.is_some() || stands {
            found.push((first.unwrap_or(usize::MAX), place));
        }
    }
    found.sort_by_key(|(first, place)| (*first, place.index()));
    found.into_iter().map(|(_, place)| place).collect()
}

/// A place's name on one line or two, and its street.
fn named(shop: &Shop, place: PlaceId, room: i32) -> (Vec<Label>, Option<Label>) {
    const NAME: f32 = 13.0;
    let facts = &shop.places[place];
    let one = |text: &str| fit(&[text], Face::Serif, NAME, room);
    let label = one(&facts.name);
    let name = match label {
        Some(label) if label.text == facts.name => vec![label],
        label => match wrapped(&facts.name, Face::Serif, NAME, room, room) {
            Some((first, rest)) => vec![first, rest],
            None => label.into_iter().collect(),
        },
    };
    let address = shop.book.places.iter().find(|of| of.id == facts.id).and_then(|of| of.address.as_deref());
    (name, address.and_then(|street| fit(&[street], Face::Sans, 10.5, room)))
}

/// The units that are drawn: those that are held or hauled in the drawn half-days. The others are idle, and said in words.
pub(super) fn drawn<'c>(course: &'c Course, columns: &'c Columns) -> impl Iterator<Item = UnitId> + 'c {
    let hauled = |unit: UnitId| columns.hauls.iter().any(|(n, _)| course.trips[*n].unit == unit);
    let held = |unit: UnitId| shown(course, columns).any(|h| course.unit_state(unit, h) == UnitState::Held);
    course.shop.units.ids().filter(move |unit| hauled(*unit) || held(*unit))
}

/// The drawn half-days from the plan's begin on: where a unit was before, it does not say.
pub(super) fn shown<'c>(course: &'c Course, columns: &'c Columns) -> impl Iterator<Item = usize> + 'c {
    columns.shown.iter().copied().filter(|h| *h >= course.shop.now)
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
    let stands = move |h: usize| matches!(course.standing[unit][h], At::Place(at) | At::Road(at) if at == place);
    let leaves = move |h| at_its_start(course, unit, h).is_some_and(|trip| trip.from == place);
    let lands = move |h| in_its_evening(course, unit, h).is_some_and(|trip| trip.to == place);
    shown(course, columns).filter(move |h| stands(*h) || leaves(*h) || lands(*h))
}

/// A line for each unit that is drawn at a place; two that are never there at once may share one.
fn lines(course: &Course, columns: &Columns, place: PlaceId) -> Vec<(UnitId, i32)> {
    let mut here: Vec<(usize, usize, UnitId)> = Vec::new();
    for unit in drawn(course, columns) {
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
