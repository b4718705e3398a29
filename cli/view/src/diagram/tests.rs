use yardless_plan::HaulRow;
use yardless_plan::shop::Id;

use super::super::course::{At, Course};
use super::super::desk::desk;
use super::*;

/// The corners of a path of `M`, `L` and `H`.
fn corners(path: &str) -> Vec<(i32, i32)> {
    let mut all: Vec<(i32, i32)> = Vec::new();
    let mut rest = path;
    while let Some(letter) = rest.chars().next() {
        let end = rest[1..].find(char::is_alphabetic).map_or(rest.len(), |end| end + 1);
        let numbers: Vec<i32> = rest[1..end].split(' ').map(|n| n.parse().expect("a number")).collect();
        all.push(match (letter, numbers.as_slice()) {
            ('M' | 'L', [x, y]) => (*x, *y),
            ('H', [x]) => (*x, all.last().expect("a corner before").1),
            _ => panic!("{path}"),
        });
        rest = &rest[end..];
    }
    all
}

#[test]
fn line_runs_along_the_place_where_its_unit_stands_and_goes_on_without_a_break() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    for scale in [WEEK, SEASON] {
        let drawn = Diagram::new(&course, 0..shop.horizon.weeks() as usize, scale);
        assert_eq!(drawn.lines.len(), shop.units.len());
        let mut looked_at = 0;
        for line in &drawn.lines {
            let corners = corners(&line.path);
            assert!(corners.windows(2).all(|pair| pair[0].0 <= pair[1].0), "time goes on: {}", line.path);
            for (n, (x, _)) in drawn.rules.iter().enumerate().filter(|_| scale.words) {
                // Past the middle of a half-day no haul that is made at its start, or in its evening, is under way.
                let (at, h) = (x + scale.half_day * 5 / 8, columns_of(&course)[n]);
                let Some(pair) = corners.windows(2).find(|pair| pair[0].0 <= at && at <= pair[1].0) else { continue };
                let At::Place(place) = course.standing[shop.units.ids().nth(line.number).expect("a unit")][h] else {
                    continue;
                };
                assert_eq!(pair[0].1, pair[1].1, "{} is level in half-day {h}: {}", line.name, line.path);
                let band = drawn.bands.iter().find(|band| (band.y..band.y + band.height).contains(&pair[0].1));
                assert_eq!(band.map(|band| band.place), Some(place), "{} in half-day {h}", line.name);
                looked_at += 1;
            }
        }
        assert!(!scale.words || looked_at > 50, "{looked_at}");
    }
}

/// Every haul of some weeks slants from the row where it sets out to the one where it lands, within its half-day.
fn hauls_are_drawn(course: &Course, weeks: std::ops::Range<usize>, scale: Scale) -> usize {
    let drawn = Diagram::new(course, weeks.clone(), scale);
    let columns: Vec<usize> = columns_of(course).into_iter().filter(|h| weeks.contains(&(h / 14))).collect();
    let row =
        |y: i32| drawn.bands.iter().find(|band| (band.y..band.y + band.height).contains(&y)).map(|band| band.place);
    let trips: Vec<_> = course.trips.iter().filter(|trip| weeks.contains(&(trip.at / 14))).collect();
    for trip in &trips {
        let n = columns.iter().position(|h| *h == trip.at).expect("a drawn half-day") as i32;
        let (left, right) = (scale.names + n * scale.half_day, scale.names + (n + 1) * scale.half_day);
        let line = drawn.lines.iter().find(|line| line.number == trip.unit.index()).expect("its line");
        let slants = corners(&line.hauls);
        let found = slants.windows(2).find(|pair| {
            (left..=right).contains(&pair[0].0) && (left..=right).contains(&pair[1].0) && pair[0].1 != pair[1].1
        });
        let found = found.unwrap_or_else(|| panic!("{} in half-day {}: {}", line.name, trip.at, line.hauls));
        assert_eq!((row(found[0].1), row(found[1].1)), (Some(trip.from), Some(trip.to)), "{}", line.name);
        let early = found[0].0 - left < scale.half_day / 2;
        assert_eq!(early, !trip.evening, "{} in half-day {}", line.name, trip.at);
        assert!(line.stays.iter().any(|stay| stay.says.starts_with("hauled ")), "{}", line.name);
    }
    trips.len()
}

#[test]
fn hauls_before_the_first_half_day_and_after_the_last_are_drawn_with_the_rows_that_they_leave_and_reach() {
    let (shop, mut plan) = desk();
    // Monday's first half-day has one, also in the second week; the evening of the first Friday gets another.
    let evening = plan.hauls.iter().find(|row| row.evening).expect("a haul in an evening").clone();
    let friday = "2026-12-11 pm".parse().expect("a half-day");
    plan.hauls.push(HaulRow { at: friday, from: "hill".to_owned(), to: "far".to_owned(), ..evening });
    let course = Course::new(&shop, &plan);
    for scale in [WEEK, SEASON] {
        let weeks = [0..1, 1..2, 0..2].map(|weeks| hauls_are_drawn(&course, weeks, scale));
        assert_eq!(weeks, [5, 2, 7]);
    }
}

/// The half-days that are drawn where all weeks are, as the book works Monday to Friday.
fn columns_of(course: &Course) -> Vec<usize> {
    (0..course.shop.len()).filter(|h| h % 14 < 10).collect()
}

#[test]
fn strips_lie_in_their_place_apart_from_one_another_and_as_long_as_the_work() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    let drawn = Diagram::new(&course, 0..shop.horizon.weeks() as usize, WEEK);
    assert_eq!(drawn.strips.len(), course.works.len());
    for strip in &drawn.strips {
        let work = &course.works[strip.number];
        let columns = columns_of(&course).into_iter().filter(|h| (work.start..=work.end).contains(h)).count() as i32;
        assert_eq!(strip.width + 2, columns * WEEK.half_day, "{}", strip.what);
        let band = drawn.bands.iter().find(|band| band.place == shop.jobs[work.job].place).expect("its place");
        assert!(band.y < strip.y && strip.y + strip.height < band.y + band.height, "{}", strip.what);
        for other in drawn.strips.iter().filter(|other| other.number != strip.number) {
            let apart = other.x >= strip.x + strip.width
                || strip.x >= other.x + other.width
                || other.y >= strip.y + strip.height
                || strip.y >= other.y + other.height;
            assert!(apart, "{} and {}", strip.what, other.what);
        }
    }
    for pair in drawn.bands.windows(2) {
        assert_eq!(pair[0].y + pair[0].height, pair[1].y, "rows follow one another");
    }
}
