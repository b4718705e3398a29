//! How hauls are drawn: slants in the gutters, each with its truck's name along it.

use super::super::course::Course;
use super::hauls::{Crossing, LEAN};
use super::labels::{Face, Label, fit, width};
use super::{Columns, Strip};

/// How a truck's name is set.
const SIZE: f32 = 10.0;
/// What a slant's ends and its sign leave free of the truck's name.
const END: i32 = 4;
const SIGN: i32 = 18;

/// A haul.
#[derive(Clone, Debug)]
pub struct Slant {
    /// Where it sets out.
    pub from: (i32, i32),
    /// Where it lands.
    pub to: (i32, i32),
    /// Where the sign stands of one that needs a clear day.
    pub clear: Option<(i32, i32)>,
    /// Where the sign stands of one that does not hold any more.
    pub broken: Option<(i32, i32)>,
    /// The truck's name: where it begins, how it is turned in degrees, and what it says.
    pub truck: Option<(i32, i32, i32, Label)>,
}

/// A haul with its signs, past strips that it crosses.
pub(super) fn slant(course: &Course, columns: &Columns, strips: &[Strip], of: &Crossing) -> Slant {
    let Crossing { trip, from, to } = *of;
    let facts = &course.trips[trip];
    let down = if to.1 > from.1 { 1 } else { -1 };
    let upright = to.0 - from.0 <= LEAN;
    let clear = facts.needs_clear.then(|| (from.0 + (to.0 - from.0) / 8, from.1 + down * (END + SIGN / 3)));
    let broken = facts.broken().then(|| sign_of_broken(of, upright, clear.is_some()));
    let mut slant = Slant { from, to, clear, broken, truck: None };
    if columns.scale.words {
        let name = &course.shop.trucks[facts.truck].name;
        slant.truck = if upright { along(strips, &slant, name) } else { above(&slant, name) };
    }
    slant
}

/// Where the sign of a haul that does not hold stands: past the other sign, where it has one.
fn sign_of_broken(of: &Crossing, upright: bool, clear: bool) -> (i32, i32) {
    let (dx, dy) = (of.to.0 - of.from.0, of.to.1 - of.from.1);
    if !upright {
        return (of.from.0 + dx / 3, of.from.1 + dy / 3);
    }
    let before = END + SIGN / 2 + if clear { SIGN } else { 0 };
    (of.from.0 + dx / 2, of.from.1 + dy.signum() * before.min(dy.abs() / 2))
}

/// A truck's name along its slant, where no strip lies across it if there is such a stretch.
fn along(strips: &[Strip], slant: &Slant, name: &str) -> Option<(i32, i32, i32, Label)> {
    let (x, begins, ends) = (slant.from.0, slant.from.1, slant.to.1);
    let down = ends > begins;
    let signs = i32::from(slant.clear.is_some()) + i32::from(slant.broken.is_some());
    let sign = END.max(signs * (SIGN + END));
    let (top, bottom) = if down { (begins + sign, ends - END) } else { (ends + END, begins - sign) };
    // Of `Truck 2` the `2` tells it apart.
    let short = name.split_whitespace().next_back()?;
    let mut across: Vec<(i32, i32)> = strips
        .iter()
        .filter(|strip| {
            strip.x < x + LEAN + 8 && strip.x + strip.width > x && strip.y < bottom && strip.y + strip.height > top
        })
        .map(|strip| (strip.y - 1, strip.y + strip.height + 1))
        .collect();
    across.sort_unstable();
    let mut free: Vec<(i32, i32)> = Vec::new();
    let mut from = top;
    for (begins, ends) in across.into_iter().chain([(bottom, bottom)]) {
        free.push((from, begins));
        from = from.max(ends);
    }
    let (top, bottom) = free.into_iter().max_by_key(|(from, to)| to - from)?;
    let label = fit(&[name, short], Face::Sans, SIZE, bottom - top)?;
    let long = label.length.unwrap_or_else(|| width(&label.text, Face::Sans, SIZE).ceil() as i32);
    let half = long / 2;
    let middle = top.midpoint(bottom);
    // Read in the direction in which it is driven; the letters stand right of the slant.
    Some(if down { (x + 5, middle - half, 90, label) } else { (x + 12, middle + half, -90, label) })
}

/// A truck's name above the slant of a haul that takes all its half-day.
fn above(slant: &Slant, name: &str) -> Option<(i32, i32, i32, Label)> {
    let (dx, dy) = ((slant.to.0 - slant.from.0) as f32, (slant.to.1 - slant.from.1) as f32);
    let (turn, long) = (dy.atan2(dx), dx.hypot(dy));
    let label = fit(&[name], Face::Sans, SIZE, long as i32 - 2 * SIGN)?;
    let before = (long - width(&label.text, Face::Sans, SIZE)) / 2.0;
    let x = slant.from.0 as f32 + before * turn.cos() + 3.0 * turn.sin();
    let y = slant.from.1 as f32 + before * turn.sin() - 3.0 * turn.cos();
    Some((x as i32, y as i32, turn.to_degrees() as i32, label))
}
