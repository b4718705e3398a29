use yardless_plan::HaulRow;
use yardless_plan::shop::{Id, Shop};

use super::super::course::{At, Course};
use super::super::desk::desk;
use super::super::roads::Mark;
use super::labels::{Face, width};
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

/// The half-days that are drawn where all weeks are, as the book works Monday to Friday.
fn columns_of(course: &Course) -> Vec<usize> {
    (0..course.shop.len()).filter(|h| h % 14 < 10).collect()
}

/// The place whose row is at a height.
fn row(drawn: &Diagram, y: i32) -> Option<yardless_plan::shop::PlaceId> {
    drawn.bands.iter().find(|band| (band.y..band.y + band.height).contains(&y)).map(|band| band.place)
}

/// A drawing of all weeks with words.
fn all_weeks(course: &Course) -> Diagram {
    Diagram::new(course, 0..course.shop.horizon.weeks() as usize, WEEK)
}

#[test]
fn line_runs_along_the_place_where_its_unit_stands_and_goes_on_without_a_break() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    let drawn = all_weeks(&course);
    let idle: usize = drawn.idle.iter().map(|(_, units)| units.len()).sum();
    assert_eq!(drawn.lines.len() + idle, shop.units.len());
    let mut looked_at = 0;
    for line in &drawn.lines {
        let corners = corners(&line.path);
        assert!(corners.windows(2).all(|pair| pair[0].0 <= pair[1].0), "time goes on: {}", line.path);
        let unit = shop.units.ids().nth(line.number).expect("a unit");
        for (h, pair) in columns_of(&course).into_iter().zip(drawn.rules.windows(2)) {
            // In the middle of a half-day no haul is under way: they are made in the gutters.
            let at = pair[0].0.midpoint(pair[1].0);
            let Some(level) = corners.windows(2).find(|pair| pair[0].0 <= at && at <= pair[1].0) else { continue };
            let At::Place(place) = course.standing[unit][h] else { continue };
            assert_eq!(level[0].1, level[1].1, "{} is level in half-day {h}: {}", line.name, line.path);
            assert_eq!(row(&drawn, level[0].1), Some(place), "{} in half-day {h}", line.name);
            looked_at += 1;
        }
    }
    assert!(looked_at > 40, "{looked_at}");
}

#[test]
fn unit_that_is_neither_held_nor_hauled_is_said_in_words_and_no_other() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    for week in 0..shop.horizon.weeks() as usize {
        let drawn = Diagram::new(&course, week..week + 1, WEEK);
        let half_days = || (week * 14..(week + 1) * 14).filter(|h| h % 14 < 10);
        for (unit, facts) in shop.units.pairs() {
            let hauled = course.trips.iter().any(|trip| trip.unit == unit && trip.at / 14 == week);
            let used = hauled || half_days().any(|h| course.hold_at(unit, h).is_some() && !facts.out[h]);
            assert_eq!(drawn.lines.iter().any(|line| line.name == facts.name), used, "{}", facts.name);
            let says = drawn.idle.iter().flat_map(|(_, units)| units).any(|says| says.starts_with(&facts.name));
            assert_eq!(says, !used, "{}", facts.name);
        }
    }
}

/// Every haul of some weeks crosses, beside its half-day, from the row where it sets out to the one where it lands.
fn hauls_are_drawn(course: &Course, weeks: std::ops::Range<usize>, scale: Scale) -> usize {
    let drawn = Diagram::new(course, weeks.clone(), scale);
    let columns: Vec<usize> = columns_of(course).into_iter().filter(|h| weeks.contains(&(h / 14))).collect();
    let trips: Vec<_> = course.trips.iter().filter(|trip| weeks.contains(&(trip.at / 14))).collect();
    for trip in &trips {
        let line = drawn.lines.iter().find(|line| line.number == trip.unit.index()).expect("its line");
        let lands = (Some(trip.from), Some(trip.to));
        let of = |haul: &&Slant| (row(&drawn, haul.from.1), row(&drawn, haul.to.1)) == lands;
        let n = columns.iter().position(|h| *h == trip.at).expect("a drawn half-day");
        let near = |haul: &&Slant| {
            let (before, after) = (drawn.starts[n].1, drawn.starts.get(n + 1).map_or(drawn.width, |(_, x)| *x));
            let (begin, end) = (haul.from.0 - before, after - haul.from.0);
            if trip.evening { (0..60).contains(&end) } else { (0..60).contains(&begin) }
        };
        let found = line.hauls.iter().filter(of).find(near);
        let found = found.unwrap_or_else(|| panic!("{} in half-day {}: {:?}", line.name, trip.at, line.hauls));
        assert_eq!(found.clear.is_some(), trip.needs_clear, "{}", line.name);
        assert!(line.stays.iter().any(|stay| stay.says.starts_with("hauled ")), "{}", line.name);
        assert!(!scale.words || found.truck.is_some(), "the truck of {}", line.name);
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

#[test]
fn strips_lie_in_their_place_apart_from_one_another_and_as_long_as_the_work() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    let drawn = all_weeks(&course);
    assert_eq!(drawn.strips.len(), course.works.len());
    for strip in &drawn.strips {
        let work = &course.works[strip.number];
        let covers = |x: i32| (strip.x..strip.x + strip.width).contains(&x);
        let middles = drawn.rules.windows(2).map(|pair| pair[0].0.midpoint(pair[1].0));
        let covered: Vec<usize> =
            columns_of(&course).into_iter().zip(middles).filter(|(_, x)| covers(*x)).map(|(h, _)| h).collect();
        let worked: Vec<usize> =
            columns_of(&course).into_iter().filter(|h| (work.start..=work.end).contains(h)).collect();
        assert_eq!(covered, worked, "{}", strip.what);
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

/// Every line of words ends within its strip, clear of what crosses it.
fn words_fit(drawn: &Diagram) -> usize {
    let mut lines = 0;
    for strip in &drawn.strips {
        for line in &strip.lines {
            let wide = width(&line.who, Face::Bold, 12.0) + width(&line.what, Face::Sans, 12.0);
            let gap = if line.who.is_empty() || line.what.is_empty() { 0 } else { 4 };
            let ends = line.x + line.length.unwrap_or(wide.ceil() as i32 + gap);
            assert!(ends <= strip.x + strip.width + 1, "{:?} in {} px", line, strip.width);
            assert!(line.y <= strip.y + strip.height, "{line:?}");
            let crosses = |haul: &Slant| {
                let (above, below) = (haul.from.1.min(haul.to.1), haul.from.1.max(haul.to.1));
                above < strip.y && below > strip.y + strip.height && (line.x..ends - 1).contains(&haul.from.0)
            };
            let crossed = drawn.lines.iter().flat_map(|line| &line.hauls).any(crosses);
            assert!(!crossed || strip.lines.len() == 1, "a haul crosses {line:?}");
            lines += 1;
        }
    }
    lines
}

#[test]
fn words_fit_their_strips_however_long_they_are() {
    let (mut shop, plan) = desk();
    assert!(words_fit(&all_weeks(&Course::new(&shop, &plan))) > 8);
    let long = "Take all of the old loose fill out of the lower attic";
    let steps: Vec<_> = shop.steps.ids().collect();
    for step in steps {
        shop.steps[step].name = long.to_owned();
    }
    let drawn = all_weeks(&Course::new(&shop, &plan));
    words_fit(&drawn);
    let ended = |strip: &Strip| strip.lines.iter().any(|line| line.what.ends_with('…'));
    assert!(drawn.strips.iter().any(ended), "what is too long says so");
    for day in Diagram::days(&Course::new(&shop, &plan), 0, DAY) {
        words_fit(&day);
    }
}

#[test]
fn each_date_is_drawn_by_itself_and_work_that_goes_on_is_open() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    let days = Diagram::days(&course, 0, DAY);
    let heads: Vec<&str> = days.iter().map(|day| day.heads[0].2.as_str()).collect();
    assert_eq!(heads, ["Mon 7 Dec", "Tue 8 Dec", "Wed 9 Dec", "Thu 10 Dec", "Fri 11 Dec"]);
    let mut open = 0;
    for (date, day) in days.iter().enumerate() {
        for strip in &day.strips {
            let work = &course.works[strip.number];
            assert_eq!(strip.edge.is_empty(), work.start < date * 2, "{}", strip.what);
            open += usize::from(strip.edge.is_empty());
        }
    }
    assert!(open > 0, "some work goes over a night");
}

#[test]
fn weather_of_most_places_stands_under_the_dates_and_in_a_row_only_where_it_is_otherwise() {
    let (shop, plan) = desk();
    let course = Course::new(&shop, &plan);
    for week in 0..shop.horizon.weeks() as usize {
        let drawn = Diagram::new(&course, week..week + 1, WEEK);
        let kind = |stretches: &[Stretch], x: i32| {
            stretches.iter().find(|of| (of.x..of.x + of.width).contains(&x)).map(|of| of.kind)
        };
        for (n, (h, x)) in drawn.starts.iter().enumerate() {
            let at = x.midpoint(drawn.starts.get(n + 1).map_or(drawn.width, |(_, x)| *x));
            let most = kind(&drawn.weather, at);
            for band in &drawn.bands {
                let here = Mark::of(&shop.places[band.place], *h).map(Mark::kind);
                let said = kind(&band.marks, at).map_or(most, |kind| (kind != "none").then_some(kind));
                assert_eq!(said, here, "{:?} in half-day {h}", band.name);
            }
        }
    }
}

#[test]
fn crew_is_told_by_as_many_letters_as_tell_it_apart() {
    let (mut shop, _) = desk();
    let names = |shop: &Shop| letters::letters(shop).iter().cloned().collect::<Vec<String>>();
    assert!(names(&shop).iter().all(|letter| letter.chars().count() == 1), "{:?}", names(&shop));
    let crews: Vec<_> = shop.crews.ids().collect();
    for (crew, name) in crews.iter().zip(["Nell", "North crew"]) {
        shop.crews[*crew].name = name.to_owned();
    }
    assert_eq!(names(&shop)[..2], ["Ne", "No"]);
}
