//! The units of the drawing: a line each, from place to place.

use std::fmt::Write;

use yardless_solver::shop::{Id, UnitId};

use super::super::course::{At, Course, Trip};
use super::super::hauls::cautions;
use super::super::words::{half, moment};
use super::bands::stands;
use super::{Band, Columns, LINE, NAME, STRIP};

/// A unit.
#[derive(Clone, Debug)]
pub struct Line {
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

#[derive(Clone, Copy, PartialEq)]
enum State {
    Waits,
    Held,
    Out,
    Road,
}

/// A stretch in which a unit's place and state are the same: of the drawn half-days from one to another.
struct Stretch {
    first: usize,
    last: usize,
    y: i32,
    state: State,
}

/// The lines of all units that are drawn.
pub(super) fn draw(course: &Course, columns: &Columns, bands: &[Band]) -> Vec<Line> {
    course.shop.units.ids().filter_map(|unit| line(course, columns, bands, unit)).collect()
}

fn line(course: &Course, columns: &Columns, bands: &[Band], unit: UnitId) -> Option<Line> {
    let stretches = stretches(course, columns, bands, unit);
    let first = stretches.first()?;
    let facts = &course.shop.units[unit];
    let mut line = Line {
        number: unit.index(),
        name: facts.name.clone(),
        path: String::new(),
        waits: String::new(),
        held: String::new(),
        out: String::new(),
        hauls: String::new(),
        labels: vec![(columns.x(first.first) + 3, first.y - 3)],
        stays: stays(course, columns, unit),
    };
    // A haul crosses in a quarter of a half-day: at the start of one, or in its evening.
    let crossing = (columns.scale.half_day / 4).max(3);
    let mut from = columns.x(first.first);
    for (n, stretch) in stretches.iter().enumerate() {
        let mut to = columns.x(stretch.last + 1);
        let next = stretches.get(n + 1);
        let crosses = next.filter(|next| next.y != stretch.y);
        let evening = crosses.is_some_and(|next| leaves_in_the_evening(course, unit, stretch.last, next.first));
        if evening {
            to -= crossing;
        }
        let y = stretch.y;
        let part = format!("M{from} {y}H{to}");
        match stretch.state {
            State::Waits => line.waits += &part,
            State::Held => line.held += &part,
            State::Out => line.out += &part,
            // All its half-day on the road.
            State::Road => line.hauls += &part,
        }
        let _ = write!(line.path, "{}{from} {y}H{to}", if n == 0 { "M" } else { "L" });
        from = to;
        if let Some(next) = crosses {
            let landed = if next.state == State::Road { columns.x(next.last + 1) } else { to + crossing };
            let _ = write!(line.hauls, "M{to} {y}L{landed} {}", next.y);
            from = landed;
            if landed + 40 < columns.x(usize::MAX) {
                line.labels.push((landed + 3, next.y - 3));
            }
        }
    }
    Some(line)
}

/// The way into the second place begins in the evening of a half-day before it.
fn leaves_in_the_evening(course: &Course, unit: UnitId, last: usize, next: usize) -> bool {
    course.trips.iter().any(|trip| trip.unit == unit && trip.evening && (last..next).contains(&trip.at))
}

fn stretches(course: &Course, columns: &Columns, bands: &[Band], unit: UnitId) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    // Where a unit was before the plan begins it does not say.
    for &h in columns.shown.iter().filter(|h| **h >= course.shop.now) {
        let Some(band) = bands.iter().find(|band| stands(course, unit, band.place, h)) else { continue };
        let Some((_, lane)) = band.units.iter().find(|(of, _)| *of == unit) else { continue };
        let y = band.y + NAME + band.strips * STRIP + lane * LINE + LINE - 4;
        let state = match course.standing[unit][h] {
            At::Road(_) => State::Road,
            At::Place(_) if course.shop.units[unit].out[h] => State::Out,
            At::Place(_) if course.hold_at(unit, h).is_some() => State::Held,
            At::Place(_) => State::Waits,
        };
        match all.last_mut() {
            Some(last) if last.y == y && last.state == state => last.last = h,
            _ => all.push(Stretch { first: h, last: h, y, state }),
        }
    }
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
                let what = hold.step.map_or("parked for the whole job", |step| shop.steps[step].name.as_str());
                format!("at {}, held by {}: {what}", shop.places[at].name, shop.jobs[hold.job].name)
            }
        }
    };
    let mut stays: Vec<Stay> = Vec::new();
    for &h in columns.shown.iter().filter(|h| **h >= course.shop.now) {
        let now = half(shop.horizon.half_day(h));
        let says = says(h);
        let comes = course.trips.iter().find(|trip| trip.unit == unit && !trip.evening && trip.at == h);
        match stays.last_mut() {
            Some(last) if last.says == says && comes.is_none() => last.until = now,
            _ => {
                let before = course.trips.iter().rfind(|trip| trip.unit == unit && trip.evening && trip.at + 1 == h);
                if let Some(trip) = comes.or(before) {
                    stays.push(hauled(course, trip));
                }
                stays.push(Stay { from: now.clone(), until: now, says });
            }
        }
    }
    stays
}

fn hauled(course: &Course, trip: &Trip) -> Stay {
    let shop = course.shop;
    let clear = if trip.needs_clear { ", needs a clear day" } else { "" };
    let says = format!(
        "hauled {}, {} to {}, by {}{clear}",
        moment(shop, trip),
        shop.places[trip.from].name,
        shop.places[trip.to].name,
        shop.trucks[trip.truck].name
    );
    Stay { from: half(shop.horizon.half_day(trip.at)), until: String::new(), says }
}
    for caution in cautions(course, trip) {
        says = says + ", " + &caution;
    }
