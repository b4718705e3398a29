//! The units of the drawing: a line each, from place to place.

use std::fmt::Write;

use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::super::course::{At, Course, Trip, UnitState};
use super::super::hauls::cautions;
use super::super::words::{BROKEN, half};
use super::bands::{at_its_start, in_its_evening, stands};
use super::{Band, Columns, LINE, NAME, STRIP};

/// A unit.
#[derive(Clone, Debug)]
pub struct UnitLine {
    /// Its number among the book's units.
    pub number: usize,
    /// Its name.
    pub name: String,
    /// The whole course, as a path to be pointed at.
    pub path: String,
    /// Where it only stands, as a path.
    pub waits: String,
    /// Where it is held for work.
    pub held: String,
    /// Where it is in repair or lent.
    pub out: String,
    /// Where it is hauled from one place to another.
    pub hauls: String,
    /// Of that the hauls that do not hold any more, and where each is marked.
    pub broken: String,
    /// See `broken`.
    pub marks: Vec<(i32, i32)>,
    /// Where its name is written: left end and height.
    pub labels: Vec<(i32, i32)>,
    /// What it does, in order.
    pub stays: Vec<Stay>,
}

/// What a unit does for a while, in words.
#[derive(Clone, Debug)]
pub struct Stay {
    /// From when.
    pub from: String,
    /// Until when.
    pub until: String,
    /// Where, and what for.
    pub says: String,
}

/// A stretch in which a unit's place and state are the same: from the beginning of a drawn half-day to that of another.
/// One that ends where it begins is where a haul sets out before the first drawn half-day, or lands after the last.
struct Stretch {
    first: usize,
    end: usize,
    y: i32,
    state: UnitState,
}

/// The lines of all units that are drawn.
pub(super) fn draw(course: &Course, columns: &Columns, bands: &[Band]) -> Vec<UnitLine> {
    course.shop.units.ids().filter_map(|unit| line(course, columns, bands, unit)).collect()
}

fn line(course: &Course, columns: &Columns, bands: &[Band], unit: UnitId) -> Option<UnitLine> {
    let stretches = stretches(course, columns, bands, unit);
    let first = stretches.first()?;
    let facts = &course.shop.units[unit];
    let mut line = UnitLine {
        number: unit.index(),
        name: facts.name.clone(),
        path: String::new(),
        waits: String::new(),
        held: String::new(),
        out: String::new(),
        hauls: String::new(),
        broken: String::new(),
        marks: Vec::new(),
        labels: if first.end > first.first { vec![(columns.x(first.first) + 3, first.y - 3)] } else { Vec::new() },
        stays: stays(course, columns, unit),
    };
    // A haul crosses in a quarter of a half-day: at the start of one, or in its evening.
    let crossing = (columns.scale.half_day / 4).max(3);
    let mut from = columns.x(first.first);
    for (n, stretch) in stretches.iter().enumerate() {
        let mut to = columns.x(stretch.end);
        let next = stretches.get(n + 1);
        let crosses = next.filter(|next| next.y != stretch.y);
        let evening = stretch.end > stretch.first
            && crosses.is_some_and(|next| leaves_in_the_evening(course, unit, stretch.end, next.first));
        if evening {
            to -= crossing;
        }
        let y = stretch.y;
        let part = if to > from { format!("M{from} {y}H{to}") } else { String::new() };
        match stretch.state {
            UnitState::Waits => line.waits += &part,
            UnitState::Held => line.held += &part,
            UnitState::Out => line.out += &part,
            // All its half-day on the road.
            UnitState::Road => line.hauls += &part,
        }
        let _ = write!(line.path, "{}{from} {y}H{to}", if n == 0 { "M" } else { "L" });
        from = to;
        if let Some(next) = crosses {
            let landed = if next.state == UnitState::Road { columns.x(next.end) } else { to + crossing };
            let _ = write!(line.hauls, "M{to} {y}L{landed} {}", next.y);
            if comes_broken(course, unit, stretch.end, next.first) {
                let _ = write!(line.broken, "M{to} {y}L{landed} {}", next.y);
                line.marks.push((landed.midpoint(to) + 5, next.y.midpoint(y) + 4));
            }
            from = landed;
            if landed + 40 < columns.x(usize::MAX) {
                line.labels.push((landed + 3, next.y - 3));
            }
        }
    }
    Some(line)
}

/// A haul into the second place does not hold any more.
fn comes_broken(course: &Course, unit: UnitId, end: usize, next: usize) -> bool {
    let lands = |trip: &Trip| trip.at + usize::from(trip.evening);
    course.trips.iter().any(|trip| trip.unit == unit && trip.broken() && (end..=next).contains(&lands(trip)))
}

/// The way into the second place begins in the evening of a half-day before it.
fn leaves_in_the_evening(course: &Course, unit: UnitId, end: usize, next: usize) -> bool {
    let between = |at: usize| (end..=next).contains(&(at + 1));
    course.trips.iter().any(|trip| trip.unit == unit && trip.evening && between(trip.at))
}

fn stretches(course: &Course, columns: &Columns, bands: &[Band], unit: UnitId) -> Vec<Stretch> {
    let height = |is: &dyn Fn(&Band) -> bool| {
        let band = bands.iter().find(|band| is(band))?;
        let (_, lane) = band.units.iter().find(|(of, _)| *of == unit)?;
        Some(band.y + NAME + band.strips * STRIP + lane * LINE + LINE - 4)
    };
    let point = |place: PlaceId, h: usize| {
        height(&|band| band.place == place).map(|y| Stretch { first: h, end: h, y, state: UnitState::Waits })
    };
    // Where a unit was before the plan begins it does not say.
    let shown = || columns.shown.iter().copied().filter(|h| *h >= course.shop.now);
    let comes = shown().next().and_then(|h| point(at_its_start(course, unit, h)?.from, h));
    let mut all: Vec<Stretch> = comes.into_iter().collect();
    for h in shown() {
        let Some(y) = height(&|band| stands(course, unit, band.place, h)) else { continue };
        let state = course.unit_state(unit, h);
        match all.last_mut() {
            Some(last) if last.y == y && last.state == state && last.end > last.first => last.end = h + 1,
            _ => all.push(Stretch { first: h, end: h + 1, y, state }),
        }
    }
    let goes = shown().next_back().and_then(|h| point(in_its_evening(course, unit, h)?.to, h + 1));
    all.extend(goes);
    all
}

/// What a unit does in the drawn half-days, in words.
fn stays(course: &Course, columns: &Columns, unit: UnitId) -> Vec<Stay> {
    let shop = course.shop;
    let says = |h: usize| {
        let out = shop.units[unit].out[h];
        match (course.standing[unit][h], course.hold_at(unit, h)) {
            (At::Road(to), _) => format!("on the road to {}", shop.places[to].name),
            (At::Place(at), _) if out => format!("at {}, out of service", shop.places[at].name),
            (At::Place(at), None) => format!("at {}, not in use", shop.places[at].name),
            (At::Place(at), Some(hold)) => {
                let parked = if hold.whole { "parked for the whole job" } else { "parked" };
                let what = hold.step.map_or(parked, |step| shop.steps[step].name.as_str());
                format!("at {}, held by {}: {what}", shop.places[at].name, shop.jobs[hold.job].name)
            }
        }
    };
    let mut stays: Vec<Stay> = Vec::new();
    for &h in columns.shown.iter().filter(|h| **h >= course.shop.now) {
        let now = half(shop.horizon.half_day(h));
        let says = says(h);
        let comes = at_its_start(course, unit, h);
        match stays.last_mut() {
            Some(last) if last.says == says && comes.is_none() => last.until = now,
            _ => {
                let before = h.checked_sub(1).and_then(|h| in_its_evening(course, unit, h));
                if let Some(trip) = comes.or(before) {
                    stays.push(hauled(course, trip));
                }
                stays.push(Stay { from: now.clone(), until: now, says });
            }
        }
    }
    let goes = columns.shown.last().and_then(|h| in_its_evening(course, unit, *h));
    stays.extend(goes.map(|trip| hauled(course, trip)));
    stays
}

fn hauled(course: &Course, trip: &Trip) -> Stay {
    let shop = course.shop;
    let mut says = format!(
        "hauled {}, {} to {}, by {}",
        trip.moment(shop),
        shop.places[trip.from].name,
        shop.places[trip.to].name,
        shop.trucks[trip.truck].name
    );
    if trip.broken() {
        says = says + ", " + &BROKEN.to_uppercase();
    }
    for caution in cautions(course, trip) {
        says = says + ", " + &caution;
    }
    Stay { from: half(shop.horizon.half_day(trip.at)), until: String::new(), says }
}
