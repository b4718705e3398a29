//! The units of the drawing: a line each, from place to place.

use std::fmt::Write;

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{Id, UnitId};

use super::super::course::{At, Course, Trip, UnitState};
use super::super::hauls::cautions;
use super::super::words::{BROKEN, day, span};
use super::bands::{at_its_start, drawn, in_its_evening, shown};
use super::hauls::{Crossing, height};
use super::labels::{Face, Label, fit, width};
use super::slants::{Slant, slant};
use super::{Band, Columns, Sizes, Strip};

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
    /// Its hauls.
    pub hauls: Vec<Slant>,
    /// Its name at every bend: left end, foot and words.
    pub labels: Vec<(i32, i32, Label)>,
    /// What it does, in order.
    pub stays: Vec<Stay>,
}

/// What a unit does for a while, in words.
#[derive(Clone, Debug)]
pub struct Stay {
    /// From when until when.
    pub when: String,
    /// Where, and what for.
    pub says: String,
}

/// A level part of a unit's line: where it is, and from where to where.
struct Level {
    y: i32,
    from: i32,
    to: i32,
}

/// How far from its line's end a unit's name may begin.
const NEAR: i32 = 40;

/// What lines are drawn over.
pub(super) struct Sheet<'a> {
    pub(super) course: &'a Course<'a>,
    pub(super) columns: &'a Columns,
    pub(super) sizes: Sizes,
    pub(super) bands: &'a [Band],
    pub(super) crossings: &'a [Crossing],
    pub(super) strips: &'a [Strip],
}

impl Sheet<'_> {
    /// The lines of all units that are drawn.
    pub(super) fn lines(&self) -> Vec<UnitLine> {
        drawn(self.course, self.columns).filter_map(|unit| self.line(unit)).collect()
    }

    fn line(&self, unit: UnitId) -> Option<UnitLine> {
        let Self { course, columns, .. } = *self;
        let own: Vec<&Crossing> = self.crossings.iter().filter(|of| course.trips[of.trip].unit == unit).collect();
        let levels = self.levels(unit, &own)?;
        let facts = &course.shop.units[unit];
        let mut line = UnitLine {
            number: unit.index(),
            name: facts.name.clone(),
            path: String::new(),
            waits: String::new(),
            held: String::new(),
            out: String::new(),
            hauls: own.iter().map(|of| slant(course, columns, self.strips, of)).collect(),
            labels: levels.iter().filter_map(|level| self.label(level, &facts.name)).collect(),
            stays: stays(course, columns, unit),
        };
        if !columns.scale.words {
            line.labels.retain(|(_, _, label)| label.text == facts.name);
        }
        for (n, level) in levels.iter().enumerate() {
            let _ = write!(line.path, "{}{} {}H{}", if n == 0 { "M" } else { "L" }, level.from, level.y, level.to);
            self.parts(unit, level, &mut line);
        }
        Some(line)
    }

    /// The level parts, from the first drawn half-day to the last, one more than there are hauls.
    fn levels(&self, unit: UnitId, own: &[&Crossing]) -> Option<Vec<Level>> {
        let Self { course, columns, .. } = *self;
        let first = shown(course, columns).next()?;
        let (begins, _) = columns.stretch(first, first)?;
        let stands = match course.standing[unit][first] {
            At::Place(place) | At::Road(place) => place,
        };
        let place = own.first().map_or(stands, |of| course.trips[of.trip].from);
        let y = height(self.bands, self.sizes, place, unit)?;
        let mut levels = vec![Level { y, from: begins, to: *columns.rules.last()? }];
        for crossing in own {
            let level = levels.last_mut()?;
            let ends = level.to;
            level.to = crossing.from.0.max(level.from);
            levels.push(Level { y: crossing.to.1, from: crossing.to.0, to: ends });
        }
        Some(levels)
    }

    /// A level part by what the unit does there.
    fn parts(&self, unit: UnitId, level: &Level, line: &mut UnitLine) {
        let Self { course, columns, .. } = *self;
        for (c, h) in columns.shown.iter().copied().enumerate() {
            let (from, to) = (columns.rules[c].max(level.from), columns.rules[c + 1].min(level.to));
            if to <= from || h < course.shop.now {
                continue;
            }
            // In the gutter before a half-day, or after it, where it is hauled it is not held yet, or any more.
            let in_gutter = to <= columns.left(c) || from >= columns.right(c);
            let part = match course.unit_state(unit, h) {
                _ if in_gutter => &mut line.waits,
                UnitState::Waits => &mut line.waits,
                UnitState::Held => &mut line.held,
                UnitState::Out => &mut line.out,
                // All its half-day on the road: that is the haul's.
                UnitState::Road => continue,
            };
            let goes_on = format!("H{from}");
            if part.ends_with(&goes_on) {
                part.truncate(part.len() - goes_on.len());
                let _ = write!(part, "H{to}");
            } else {
                let _ = write!(part, "M{from} {}H{to}", level.y);
            }
        }
    }

    /// The unit's name where it lands, or past the hauls that cross there.
    fn label(&self, level: &Level, name: &str) -> Option<(i32, i32, Label)> {
        let y = level.y - 4;
        let most = (level.to + self.sizes.beyond).min(self.columns.width);
        let crosses = self.crossings.iter().filter(|of| of.meets(level.from + 1, most, y - 8, y + 1));
        let mut across: Vec<i32> = crosses.map(|of| of.from.0).collect();
        across.sort_unstable();
        let begins = across.iter().filter(|x| **x <= level.to + NEAR).map(|x| x + 6);
        let ends = |x: i32| across.iter().find(|of| **of > x).map_or(most, |of| of - 2);
        // The sign of a haul that does not hold stands on the haul.
        let sign = |of: &Crossing| {
            self.course.trips[of.trip].broken() && of.meets(level.from - 2, level.from + 3, y - 8, y + 1)
        };
        let first = level.from + if self.crossings.iter().any(sign) { 9 } else { 3 };
        let places: Vec<(i32, i32)> = [first].into_iter().chain(begins).map(|x| (x, ends(x) - x)).collect();
        let wide = width(name, Face::Sans, self.sizes.unit).ceil() as i32;
        let whole = places.iter().find(|(_, room)| *room >= wide);
        let (x, room) = *whole.or_else(|| places.iter().max_by_key(|(_, room)| *room))?;
        fit(&[name], Face::Sans, self.sizes.unit, room).map(|label| (x, y, label))
    }
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
    let mut from = HalfDay::am(shop.horizon.monday());
    for h in shown(course, columns) {
        let now = shop.horizon.half_day(h);
        let says = says(h);
        let comes = at_its_start(course, unit, h);
        match stays.last_mut() {
            Some(last) if last.says == says && comes.is_none() => last.when = span(from, now),
            _ => {
                let before = h.checked_sub(1).and_then(|h| in_its_evening(course, unit, h));
                if let Some(trip) = comes.or(before) {
                    stays.push(hauled(course, trip));
                }
                from = now;
                stays.push(Stay { when: span(from, now), says });
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
    Stay { when: day(shop.horizon.half_day(trip.at)), says }
}
