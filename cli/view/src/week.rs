//! One week on one sheet of paper: places, hauls, crews, cautions.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::acts;
use super::cautions::cautions;
use super::cells::Week;
use super::course::Course;
use super::grid::{CellSpan, Says, WIDTH, WeekGrid, WeekRow, pad};
use super::hauls::hauls;
use super::table::table;
use super::words::day;

/// The sheet of a week, by its position in the horizon; what is to be asked for stands on the first.
pub fn sheet(course: &Course, week: usize, first: bool) -> String {
    let shop = course.shop;
    let half_days = week * 14..(week + 1) * 14;
    let monday = shop.horizon.half_day(half_days.start);
    let mut text = title(&shop.book.shop.name, &format!("sheet {} of {}", week + 1, shop.horizon.weeks()));
    let (number, sunday) =
        (monday.date().format("%V of %G"), shop.horizon.date(half_days.end - 1).format("%a %-d %b %Y"));
    let _ = writeln!(text, "Week {number} · {} to {sunday}", day(monday));
    text.push_str(&acts::told(course, &half_days, first).text());
    let mut rows = Week::new(course, week);
    if rows.is_empty() {
        return text + "Nothing is planned this week.\n";
    }
    let shown: Vec<usize> = rows.columns.clone();
    let grid = WeekGrid::new(shown.iter().map(|h| !shop.horizon.half_day(*h).is_pm()).collect());
    text.push_str(&grid.rule('═', '╤'));
    text.push_str(&heads(course, &grid, &shown, "WHERE"));
    if let Some(row) = rows.roads_everywhere() {
        text.push_str(&grid.row(&row));
    }
    for place in rows.places.clone() {
        text.push_str(&grid.rule('─', '┼'));
        for row in rows.place(place) {
            text.push_str(&grid.row(&row));
        }
    }
    text.push_str(&grid.rule('─', '┴'));
    text.push_str(&packed(rows.legend.iter().copied()));
    text.push_str("\nHAULS\n");
    text.push_str(&hauls(course, half_days.clone()).unwrap_or_else(|| "none this week\n".to_owned()));
    text.push('\n');
    text.push_str(&grid.rule('─', '┬'));
    text.push_str(&heads(course, &grid, &shown, "WHO"));
    for crew in shop.crews.ids() {
        text.push_str(&grid.rule('─', '┼'));
        for row in rows.crew(crew) {
            text.push_str(&grid.row(&row));
        }
    }
    text.push_str(&grid.rule('─', '┴'));
    let cautions = cautions(course, half_days, None);
    if !cautions.is_empty() {
        text.push_str("\nCAUTIONS  ");
        text.push_str(super::cautions::WHO_DECIDES);
        text.push('\n');
        text.push_str(&table(2, &cautions, [12, 0]));
    }
    text
}

/// Sayings one after the other, each whole on its line.
fn packed<'a>(sayings: impl Iterator<Item = &'a str>) -> String {
    let (mut text, mut used) = (String::new(), 0);
    for saying in sayings {
        let gap = match used {
            0 => "",
            _ if used + 3 + saying.width() <= WIDTH => "   ",
            _ => "\n",
        };
        used = if gap == "\n" { saying.width() } else { used + gap.len() + saying.width() };
        text.push_str(gap);
        text.push_str(saying);
    }
    if used > 0 { text + "\n" } else { text }
}

/// A line with its two ends at the edges of the sheet.
pub fn title(left: &str, right: &str) -> String {
    format!("{}  {right}\n", pad(left, WIDTH.saturating_sub(right.width() + 2)))
}

/// The dates, their halves, and which of them the shop does not work.
fn heads(course: &Course, grid: &WeekGrid, columns: &[usize], corner: &str) -> String {
    let shop = course.shop;
    let half_day = |c: usize| shop.horizon.half_day(columns[c]);
    let dates = (0..columns.len())
        .step_by(2)
        .map(|c| CellSpan {
            first: c,
            last: c + 1,
            says: Says::Fitting(vec![day(half_day(c)), half_day(c).date().format("%a %-d").to_string()]),
        })
        .collect();
    let halves = (0..columns.len())
        .map(|c| {
            let half = if half_day(c).is_pm() { "pm" } else { "am" };
            let says = if shop.works[columns[c]] { half.to_owned() } else { format!("{half} closed") };
            CellSpan { first: c, last: c, says: Says::Fitting(vec![says, "closed".to_owned(), "-".to_owned()]) }
        })
        .collect();
    grid.row(&WeekRow { label: Vec::new(), spans: dates })
        + &grid.row(&WeekRow { label: vec![corner.to_owned()], spans: halves })
}
