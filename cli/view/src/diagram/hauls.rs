//! The hauls of the drawing: where they set out and land.

use yardless_plan::shop::{PlaceId, UnitId};

use super::super::course::Course;
use super::weather::Stretch;
use super::{Band, Columns, Sizes};

/// What a slant leans.
pub(super) const LEAN: i32 = 3;

/// A haul's course, as far as the rows tell it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Crossing {
    /// Its position among the course's trips.
    pub(super) trip: usize,
    pub(super) from: (i32, i32),
    pub(super) to: (i32, i32),
}

impl Crossing {
    /// Whether it crosses a box: left, right, top, bottom.
    pub(super) fn meets(&self, left: i32, right: i32, top: i32, bottom: i32) -> bool {
        let (above, below) = (self.from.1.min(self.to.1), self.from.1.max(self.to.1));
        self.from.0 < right && self.from.0 + LEAN > left && above < bottom && below > top
    }
}

/// The height of a unit's line at a place.
pub(super) fn height(bands: &[Band], sizes: Sizes, place: PlaceId, unit: UnitId) -> Option<i32> {
    let band = bands.iter().find(|band| band.place == place)?;
    let (_, line) = band.units.iter().find(|(of, _)| *of == unit)?;
    Some(band.top + band.strips * sizes.strip + (line + 1) * sizes.line - 2)
}

/// All that are drawn.
pub(super) fn crossings(course: &Course, columns: &Columns, bands: &[Band], sizes: Sizes) -> Vec<Crossing> {
    let of = |(trip, x): &(usize, i32)| {
        let facts = &course.trips[*trip];
        let height = |place| height(bands, sizes, place, facts.unit);
        // One that takes all its half-day lands at its end.
        let all_of_it = facts.time.is_some_and(|time| time.long) && !facts.evening;
        let lands = columns.stretch(facts.at, facts.at).filter(|_| all_of_it).map(|(x, width)| x + width);
        let lean = if columns.scale.words { LEAN } else { columns.scale.half_day / 4 };
        Some(Crossing {
            trip: *trip,
            from: (*x, height(facts.from)?),
            to: (lands.unwrap_or(*x + lean), height(facts.to)?),
        })
    };
    columns.hauls.iter().filter_map(of).collect()
}

/// Moves what a stretch of weather says to where no haul crosses it.
pub(super) fn past(crossings: &[Crossing], stretch: &mut Stretch) {
    let (left, right) = (stretch.x, stretch.x + stretch.width);
    let crosses = crossings.iter().filter(|of| of.meets(left, right, stretch.y, stretch.y + stretch.height));
    let mut ends: Vec<i32> = crosses.map(|of| of.from.0).chain([right]).collect();
    ends.sort_unstable();
    let begins = [left].into_iter().chain(ends.iter().map(|x| x + 5));
    let free = begins.zip(ends.iter().copied()).max_by_key(|(from, to)| to - from);
    let (from, to) = free.filter(|(from, to)| to - from >= stretch.plate.1).unwrap_or((left, right));
    stretch.plate.0 = from + (to - from - stretch.plate.1) / 2;
}
