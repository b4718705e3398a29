//! Weather and closed roads: said once under the dates, and in a place's row only where it is otherwise there.

use std::fmt::Write;

use yardless_plan::shop::PlaceId;

use super::super::course::Course;
use super::super::roads::Mark;
use super::labels::{Face, Label, fit, width as wide};
use super::{Columns, Sizes};

/// How words on a hatched stretch are set.
const SIZE: f32 = 10.5;
/// What their plate leaves free.
const MARGIN: i32 = 12;

/// A stretch of half-days.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// Its left edge.
    pub x: i32,
    /// Its width.
    pub width: i32,
    /// Its upper edge.
    pub y: i32,
    /// Its height.
    pub height: i32,
    /// The sort of mark: `storm`, `no-travel`, `covered`, `season`, `clear`; `none`: not so here.
    pub kind: &'static str,
    /// Its hatching, as a path.
    pub hatch: String,
    /// What it says, where there is room.
    pub says: Option<Label>,
    /// The plate on which it is said: left edge and width.
    pub plate: (i32, i32),
}

/// What most of the places have, by column.
pub(super) fn of_most(course: &Course, columns: &Columns, places: &[PlaceId]) -> Vec<Option<Mark>> {
    let of = |h: usize| {
        let marks: Vec<Option<Mark>> = places.iter().map(|place| Mark::of(&course.shop.places[*place], h)).collect();
        let most = marks.iter().copied().find(|mark| marks.iter().filter(|of| *of == mark).count() * 2 > marks.len());
        most.flatten()
    };
    columns.shown.iter().map(|h| of(*h)).collect()
}

/// The same as stretches.
pub(super) fn under_the_dates(columns: &Columns, most: &[Option<Mark>], sizes: Sizes) -> Vec<Stretch> {
    let lies = (sizes.head, sizes.weather - 3);
    stretches(columns, lies, most.iter().map(|mark| mark.map(|mark| (mark.kind(), [mark.long, mark.short]))))
}

/// Where a place has another.
pub(super) fn at_place(
    course: &Course,
    columns: &Columns,
    place: PlaceId,
    most: &[Option<Mark>],
    lies: (i32, i32),
) -> Vec<Stretch> {
    let facts = &course.shop.places[place];
    let other = columns.shown.iter().zip(most).map(|(h, most)| {
        let here = Mark::of(facts, *h);
        (here != *most).then(|| here.map_or(("none", ["not here"; 2]), |mark| (mark.kind(), [mark.long, mark.short])))
    });
    stretches(columns, lies, other)
}

type Said = (&'static str, [&'static str; 2]);

fn stretches(columns: &Columns, (y, height): (i32, i32), marks: impl Iterator<Item = Option<Said>>) -> Vec<Stretch> {
    let mut all: Vec<(usize, usize, Said)> = Vec::new();
    for (c, mark) in marks.enumerate() {
        let Some(mark) = mark else { continue };
        match all.last_mut() {
            Some((_, last, same)) if *same == mark && *last + 1 == c => *last = c,
            _ => all.push((c, c, mark)),
        }
    }
    let stretch = |(first, last, (kind, texts)): (usize, usize, Said)| {
        let (x, width) = (columns.rules[first], columns.rules[last + 1] - columns.rules[first]);
        let says = if columns.scale.words { fit(&texts, Face::Sans, SIZE, width - MARGIN) } else { None };
        let plate =
            says.as_ref().map_or(0, |label| wide(&label.text, Face::Sans, SIZE).ceil() as i32 + 8).min(width - 4);
        Stretch {
            x,
            width,
            y,
            height,
            kind,
            hatch: hatch(kind, (x, y, width, height)),
            plate: (x + (width - plate) / 2, plate),
            says,
        }
    };
    all.into_iter().map(stretch).collect()
}

/// Hatching by sort: lines and rows of dots, which stay small where a page is printed to a file, as patterns do not.
pub(super) fn hatch(kind: &str, (x, y, width, height): (i32, i32, i32, i32)) -> String {
    let mut path = String::new();
    let level = |path: &mut String, first: i32, step: i32| {
        for down in (first..height).step_by(step as usize) {
            let _ = write!(path, "M{} {}h{}", x + 2, y + down, width - 3);
        }
    };
    match kind {
        "storm" | "no-travel" => {
            for across in (3..width + height).step_by(6) {
                let (right, down) = (across.min(width), (across - width).max(0));
                let long = right.min(height - down);
                let _ = write!(path, "M{} {}l-{long} {long}", x + right, y + down);
                if kind == "no-travel" {
                    let _ = write!(path, "M{} {}l{long} {long}", x + width - right, y + down);
                }
            }
        }
        "covered" => level(&mut path, 3, 5),
        "clear" => level(&mut path, height / 2, height.max(1)),
        "season" => level(&mut path, 2, 4),
        "closed" => {
            for across in (2..width).step_by(5) {
                let _ = write!(path, "M{} {y}v{height}", x + across);
            }
        }
        _ => {}
    }
    path
}
