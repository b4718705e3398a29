//! The sheet as a drawing: places down, half-days across. Work lies in a place's row as ruled strips; every unit that is used
//! or hauled is a thin line along the row of the place where it stands, and crosses to the next in the gutter between two
//! half-days, as trains are drawn on a graphic timetable (Ibry; E. J. Marey, *La méthode graphique*, 1885).

mod bands;
mod columns;
mod hauls;
mod idle;
mod labels;
mod lanes;
mod letters;
mod lines;
mod slants;
mod strips;
mod weather;
mod widths;

pub use bands::Band;
pub use labels::Label;
pub use lines::UnitLine;
pub use slants::Slant;
pub use strips::{Line, Strip, Wait};
pub use weather::Stretch;

use chrono::Datelike;
use yardless_book::half_day::HalfDay;
use yardless_plan::shop::Id;

use super::course::Course;
use super::words::{day, short_crew};
use columns::Columns;
use strips::Layout;

/// How large it is drawn, in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// A half-day's width.
    pub half_day: i32,
    /// What is left free between two half-days at least.
    pub gutter: i32,
    /// The room for names at the left.
    pub names: i32,
    /// Whether there is room for words.
    pub words: bool,
}

/// A week on a page.
pub const WEEK: Scale = Scale { half_day: 76, gutter: 6, names: 116, words: true };
/// A day on a telephone.
pub const DAY: Scale = Scale { half_day: 106, gutter: 6, names: 92, words: true };
/// Many weeks on a page.
pub const SEASON: Scale = Scale { half_day: 16, gutter: 0, names: 116, words: false };

/// A drawing, all in pixels.
#[derive(Clone, Debug)]
pub struct Diagram {
    /// Its width.
    pub width: i32,
    /// Its height.
    pub height: i32,
    /// Where the rows begin.
    pub head: i32,
    /// The heads of the columns: where, how wide, and what they say.
    pub heads: Vec<(i32, i32, String)>,
    /// Under them the halves of the days, where there is room.
    pub halves: Vec<(i32, &'static str)>,
    /// Upright rules: where, and whether one begins a date (or a week).
    pub rules: Vec<(i32, bool)>,
    /// Half-days that the shop does not work, hatched: as paths.
    pub closed: Vec<String>,
    /// What lies before the plan begins: where, and how wide.
    pub past: Option<(i32, i32)>,
    /// Where it is now, of a drawing that shows it.
    pub now: Option<i32>,
    /// The weather that most places have.
    pub weather: Vec<Stretch>,
    /// Crews of those whose work is drawn: number, letter, name.
    pub crews: Vec<(usize, String, String)>,
    /// The places.
    pub bands: Vec<Band>,
    /// The works.
    pub strips: Vec<Strip>,
    /// The units that are used or hauled.
    pub lines: Vec<UnitLine>,
    /// Those that are neither, by place.
    pub idle: Vec<(String, Vec<String>)>,
    /// The drawn half-days, each with where it begins.
    pub half_days: Vec<(i32, HalfDay)>,
    /// The same by their index.
    starts: Vec<(usize, i32)>,
}

/// Heights and letters, by how large it is drawn.
#[derive(Clone, Copy, Debug)]
struct Sizes {
    head: i32,
    weather: i32,
    ribbon: i32,
    strip: i32,
    line: i32,
    /// A strip's solid left edge.
    edge: i32,
    /// How far a unit's name may go beyond its line.
    beyond: i32,
    /// A unit's name, and a crew's letter.
    unit: f32,
    letter: f32,
}

impl Sizes {
    fn of(scale: Scale) -> Self {
        if scale.words {
            Self {
                head: 38,
                weather: 18,
                ribbon: 15,
                strip: 36,
                line: 18,
                edge: 4,
                beyond: 84,
                unit: 10.5,
                letter: 12.0,
            }
        } else {
            Self { head: 22, weather: 10, ribbon: 9, strip: 20, line: 16, edge: 2, beyond: 60, unit: 10.0, letter: 9.5 }
        }
    }
}

impl Diagram {
    /// Draws some weeks, by their position in the plan.
    pub fn new(course: &Course, weeks: std::ops::Range<usize>, scale: Scale) -> Self {
        Self::of(course, weeks.start * 14..weeks.end * 14, scale)
    }

    /// Draws each date of a week by itself.
    pub fn days(course: &Course, week: usize, scale: Scale) -> Vec<Self> {
        let dates = (week * 14..(week + 1) * 14).step_by(2);
        dates.map(|am| Self::of(course, am..am + 2, scale)).filter(|day| !day.heads.is_empty()).collect()
    }

    /// Draws some half-days. Dates on which the shop does not work are left out, but for those on which something is done.
    fn of(course: &Course, half_days: std::ops::Range<usize>, scale: Scale) -> Self {
        let shop = course.shop;
        let work_days: Vec<chrono::Weekday> = shop.book.shop.work_days.iter().map(|day| (*day).into()).collect();
        let busy = |h: usize| {
            course.works.iter().any(|work| work.works_at(shop, h)) || course.trips.iter().any(|trip| trip.at == h)
        };
        let of_date = |h: &usize| {
            let am = h - h % 2;
            work_days.contains(&shop.horizon.date(*h).weekday()) || busy(am) || busy(am + 1)
        };
        let shown: Vec<usize> = (half_days.start..half_days.end.min(shop.len())).filter(of_date).collect();
        let columns = Columns::new(course, scale, shown);
        Self::over(course, &columns)
    }

    fn over(course: &Course, columns: &Columns) -> Self {
        let shop = course.shop;
        let sizes = Sizes::of(columns.scale);
        let bands::Rows { mut bands, weather, head } = bands::lay_out(course, columns, sizes);
        let height = bands.last().map_or(head, |band| band.y + band.height);
        let letters = letters::letters(shop);
        let crossings = hauls::crossings(course, columns, &bands, sizes);
        for stretch in bands.iter_mut().flat_map(|band| &mut band.marks) {
            hauls::past(&crossings, stretch);
        }
        let layout = Layout { course, columns, sizes, letters: &letters, crossings: &crossings };
        let strips: Vec<Strip> = bands.iter().flat_map(|band| layout.of_band(band)).collect();
        let sheet = lines::Sheet { course, columns, sizes, bands: &bands, crossings: &crossings, strips: &strips };
        let lines = sheet.lines();
        let crews = shop.crews.pairs().filter(|(crew, _)| strips.iter().any(|strip| strip.crew == crew.index()));
        let crews = crews.map(|(id, crew)| (id.index(), letters[id].clone(), short_crew(crew).to_owned())).collect();
        let mut drawn = Self {
            width: columns.width + 1,
            height: height + 1,
            head,
            heads: Vec::new(),
            halves: Vec::new(),
            rules: Vec::new(),
            closed: Vec::new(),
            past: shop.now.checked_sub(1).and_then(|last| columns.stretch(0, last)),
            now: None,
            weather,
            crews,
            idle: idle::idle(course, columns),
            half_days: columns
                .shown
                .iter()
                .zip(&columns.rules)
                .map(|(h, x)| (*x, course.shop.horizon.half_day(*h)))
                .collect(),
            starts: columns.shown.iter().copied().zip(columns.rules.iter().copied()).collect(),
            bands,
            strips,
            lines,
        };
        drawn.rule(course, columns);
        drawn
    }

    /// Draws a line for a half-day, where it is drawn.
    pub fn tell_now(&mut self, now: Option<usize>) {
        self.now = now.and_then(|now| self.starts.iter().find(|(h, _)| *h == now)).map(|(_, x)| *x);
    }

    fn rule(&mut self, course: &Course, columns: &Columns) {
        let shop = course.shop;
        for (c, &h) in columns.shown.iter().enumerate() {
            let (x, at) = (columns.rules[c], shop.horizon.half_day(h));
            let (first, last) = if columns.scale.words { (h - h % 2, h | 1) } else { (h - h % 14, h - h % 14 + 13) };
            let begins = columns.shown.iter().find(|of| **of >= first) == Some(&h);
            if begins && let Some((x, width)) = columns.stretch(first, last) {
                let says = if columns.scale.words { day(at) } else { at.date().format("%-d %b").to_string() };
                self.heads.push((x, width, says));
            }
            if columns.scale.words || begins {
                self.rules.push((x, begins));
            }
            if columns.scale.words {
                self.halves.push((columns.left(c).midpoint(columns.right(c)), if at.is_pm() { "pm" } else { "am" }));
            }
            if !shop.works[h] {
                let lies = columns.stretch(h, h).map(|(x, width)| (x, 20, width, self.height - 20));
                self.closed.extend(lies.map(|lies| weather::hatch("closed", lies)));
            }
        }
        self.rules.extend(columns.rules.last().map(|x| (*x, true)));
    }
}

#[cfg(test)]
mod tests;
