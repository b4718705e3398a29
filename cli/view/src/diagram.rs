//! The sheet as a drawing: places down, half-days across. Work lies in a place's row as ruled strips; every unit is a thin
//! line along the row of the place where it stands, and crosses to the next at its haul, as trains are drawn on a graphic
//! timetable (Ibry; E. J. Marey, *La méthode graphique*, 1885).

mod bands;
mod lanes;
mod lines;
mod strips;

pub use bands::Band;
pub use lines::UnitLine;
pub use strips::Strip;

use chrono::Datelike;

use super::course::Course;
use super::words::day;

/// How large it is drawn, in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// A half-day's width.
    pub half_day: i32,
    /// The room for names at the left.
    pub names: i32,
    /// Whether strips have room for words.
    pub words: bool,
}

/// A week on a page.
pub const WEEK: Scale = Scale { half_day: 92, names: 150, words: true };
/// Many weeks on a page.
pub const SEASON: Scale = Scale { half_day: 12, names: 150, words: false };

/// A drawing, all in pixels.
#[derive(Clone, Debug)]
pub struct Diagram {
    /// Its width.
    pub width: i32,
    /// Its height.
    pub height: i32,
    /// The heads of the columns: where, how wide, and what they say.
    pub heads: Vec<(i32, i32, String)>,
    /// Under them the halves of the days, where there is room.
    pub halves: Vec<(i32, &'static str)>,
    /// Upright rules: where, and whether one begins a date (or a week).
    pub rules: Vec<(i32, bool)>,
    /// Half-days that the shop does not work: where and how wide.
    pub closed: Vec<(i32, i32)>,
    /// What lies before the plan begins: where, and how wide.
    pub past: Option<(i32, i32)>,
    /// Crews by number, of those whose work is drawn.
    pub crews: Vec<(usize, String)>,
    /// The places.
    pub bands: Vec<Band>,
    /// The works.
    pub strips: Vec<Strip>,
    /// The units.
    pub lines: Vec<UnitLine>,
}

/// Heights.
const HEAD: i32 = 40;
const NAME: i32 = 18;
const STRIP: i32 = 34;
const LINE: i32 = 15;

/// The half-days that are drawn, and where.
struct Columns {
    scale: Scale,
    /// Their indices in the plan, rising.
    shown: Vec<usize>,
}

impl Columns {
    /// Where a half-day begins; of one that is not drawn, where the next one does.
    fn x(&self, h: usize) -> i32 {
        self.scale.names + self.shown.partition_point(|of| *of < h) as i32 * self.scale.half_day
    }
    /// Where the half-days from one to another lie: from, width; none where none of them is drawn.
    fn span(&self, first: usize, last: usize) -> Option<(i32, i32)> {
        let (from, to) = (self.x(first), self.x(last + 1));
        (to > from).then_some((from, to - from))
    }
}

impl Diagram {
    /// Draws some weeks, by their position in the plan. Dates on which the shop does not work are left out, but for those
    /// on which something is done.
    pub fn new(course: &Course, weeks: std::ops::Range<usize>, scale: Scale) -> Self {
        let shop = course.shop;
        let work_days: Vec<chrono::Weekday> = shop.book.shop.work_days.iter().map(|day| (*day).into()).collect();
        let busy = |h: usize| {
            course.works.iter().any(|work| work.works_at(shop, h)) || course.trips.iter().any(|trip| trip.at == h)
        };
        let of_date = |h: &usize| {
            let am = h - h % 2;
            work_days.contains(&shop.horizon.date(*h).weekday()) || busy(am) || busy(am + 1)
        };
        let shown: Vec<usize> = (weeks.start * 14..(weeks.end * 14).min(shop.len())).filter(of_date).collect();
        let columns = Columns { scale, shown };
        let mut bands = bands::lay_out(course, &columns);
        let height = bands.last().map_or(HEAD, |band| band.y + band.height);
        let mut strips = Vec::new();
        for band in &mut bands {
            strips.extend(strips::of_band(course, &columns, band));
        }
        let lines = lines::draw(course, &columns, &bands);
        let mut drawn = Self {
            width: columns.x(usize::MAX) + 1,
            height: height + 1,
            heads: Vec::new(),
            halves: Vec::new(),
            rules: Vec::new(),
            closed: Vec::new(),
            past: shop.now.checked_sub(1).and_then(|last| columns.span(0, last)),
            crews: Vec::new(),
            bands,
            strips,
            lines,
        };
        drawn.rule(course, &columns);
        for (number, crew) in shop.crews.iter().enumerate() {
            if drawn.strips.iter().any(|strip| strip.crew == number) {
                drawn.crews.push((number, crew.name.clone()));
            }
        }
        drawn
    }

    fn rule(&mut self, course: &Course, columns: &Columns) {
        let shop = course.shop;
        let width = columns.scale.half_day;
        for &h in &columns.shown {
            let (x, at) = (columns.x(h), shop.horizon.half_day(h));
            let begins = if columns.scale.words {
                !at.is_pm()
            } else {
                columns.shown.iter().find(|of| *of / 14 == h / 14) == Some(&h)
            };
            if begins {
                let many = columns
                    .shown
                    .iter()
                    .filter(|of| if columns.scale.words { *of / 2 == h / 2 } else { *of / 14 == h / 14 });
                let says = if columns.scale.words { day(at) } else { at.date().format("%-d %b").to_string() };
                self.heads.push((x, many.count() as i32 * width, says));
            }
            if columns.scale.words || begins {
                self.rules.push((x, begins));
            }
            if columns.scale.words {
                self.halves.push((x + width / 2, if at.is_pm() { "pm" } else { "am" }));
            }
            if !shop.works[h] {
                self.closed.push((x, width));
            }
        }
    }
}

#[cfg(test)]
mod tests;
