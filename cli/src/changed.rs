//! What a command changes in the book, in words: a line for each change, a sentence for what there is to know besides.

use yardless_book::half_day::HalfDay;
use yardless_book::{Report, RoadReport, Seen, Weather, When};
use yardless_edit::note::amount;
use yardless_edit::trouble::places;
use yardless_edit::{BookChange, FilledIn, Remark, StepStatus};
use yardless_view::{WHO_DECIDES, together};

/// A line for each change, and one that goes with any change of the weather.
pub fn lines(changed: &[BookChange]) -> Vec<String> {
    let weather = |change: &BookChange| matches!(change, BookChange::Storm(_) | BookChange::StormBack { .. });
    let caution = changed.iter().any(weather).then(|| format!("Roads are judged by whoever drives. {WHO_DECIDES}"));
    changed.iter().map(line).chain(caution).collect()
}

fn line(change: &BookChange) -> String {
    match change {
        BookChange::Step { step, was, is, filled_in } => {
            let by_plan = filled_in.as_ref().map_or(String::new(), by_plan);
            format!("{step}: {} -> {}{by_plan}", status(was), status(is))
        }
        BookChange::Place { unit, was, is } => format!("{unit}: at {was} -> at {is}"),
        BookChange::Seen { thing, was, is } => {
            format!("{thing}: {} -> {}", was.as_ref().map_or("not seen".to_owned(), seen), seen(is))
        }
        BookChange::Parked { job, kind, was, is, by } => {
            let by = by.as_ref().map_or(String::new(), |plan| format!(" (by {})", plan.bare()));
            format!("parked at {job}, {kind}: {} -> {}{by}", named(was), named(is))
        }
        BookChange::Gone { of, crew, was, is } => {
            let also = if was.is_empty() { "" } else { "also " };
            let was: Vec<String> = was.iter().map(|was| gone(*crew, *was)).collect();
            let was = if was.is_empty() { format!("not {}", out(*crew)) } else { was.join("; ") };
            format!("{of}: {was} -> {also}{}", gone(*crew, *is))
        }
        BookChange::Back { of, crew, was, is, from } => {
            let is = is.map(|is| format!("{}, back {from}", gone(*crew, (is, was.1))));
            format!("{of}: {} -> {}", gone(*crew, *was), is.unwrap_or_else(|| "taken off".to_owned()))
        }
        BookChange::Price { at, was, is } => format!("{at}: ${was} -> ${is}"),
        BookChange::Storm(entry) => format!("{}, {}: {}", entry.on, places(entry.at.as_deref()), storm(entry)),
        BookChange::StormBack { on, at, removed } => {
            let how = if *removed { ", its report is removed" } else { "; what other reports say holds again" };
            format!("{on}, {}: storm taken back{how}", places(at.as_deref()))
        }
    }
}

/// Where a thing was seen.
fn seen(of: &Seen) -> String {
    let at = of.at.as_ref().map(|place| format!("at {place}"));
    let is = at.or_else(|| of.rides_in.as_ref().map(|carrier| format!("in {carrier}"))).unwrap_or_default();
    format!("seen {} {is}{}", of.when, of.by.as_ref().map_or(String::new(), |by| format!(" by {by}")))
}

/// How far a step is.
fn status(status: &StepStatus) -> String {
    let in_way = |way: &Option<String>| way.as_ref().map_or(String::new(), |way| format!(" ({way})"));
    let told = |as_of: &Option<HalfDay>| as_of.map_or(String::new(), |at| format!(" as of {at}"));
    match status {
        StepStatus::NotStarted { as_of } => format!("not started{}", told(as_of)),
        StepStatus::InProgress { crew, with: helpers, way, start, left, hours, as_of, units } => {
            let crew = crews(crew, helpers);
            let with = match units.as_deref() {
                None => ", holding nothing until its crew comes back to it".to_owned(),
                Some([]) => String::new(),
                Some(units) => format!(", with {}", units.join(", ")),
            };
            let (way, left) = (in_way(way), amount(*left, *hours));
            format!("in progress by {crew}{way} since {start}, {left} left{}{with}", told(as_of))
        }
        StepStatus::Done { crew, with, way, start, end } => {
            let crew = crews(crew, with);
            let to = if end == start { String::new() } else { format!(" to {end}") };
            format!("done by {crew}{}, {start}{to}", in_way(way))
        }
    }
}

fn by_plan(filled_in: &FilledIn) -> String {
    let what: Vec<&str> = filled_in.what.iter().map(|what| what.word()).collect();
    format!(" ({} by {})", what.join(", "), filled_in.plan.bare())
}

fn named(units: &[String]) -> String {
    if units.is_empty() { "not named".to_owned() } else { units.join(", ") }
}

/// A crew and those that help it.
fn crews(crew: &str, helpers: &[String]) -> String {
    together(std::iter::once(crew).chain(helpers.iter().map(String::as_str)))
}

fn out(crew: bool) -> &'static str {
    if crew { "away" } else { "out" }
}

fn gone(crew: bool, (on, people): (When, Option<u32>)) -> String {
    format!("{} {on}{}", out(crew), people.map_or(String::new(), |n| format!(", {n} of its people")))
}

/// What a reported storm stops.
fn storm(entry: &Weather) -> String {
    let mut words = vec!["storm: no outside work, no trailer on the road".to_owned()];
    if entry.no_travel == Report::Said(true) {
        words.push("no travel: no work, no hauls".to_owned());
    }
    if entry.roads == Report::Said(RoadReport::Covered) {
        words.push("roads covered: no trailer".to_owned());
    }
    if let Report::Said(gust) = entry.gust_mph {
        words.push(format!("gusts {gust} mph"));
    }
    words.join("; ")
}

/// What the reader should know besides.
pub fn remark(remark: &Remark) -> String {
    match remark {
        Remark::StillToCome { until, now } => format!("{until} is still to come: it is {now} now"),
        Remark::AlmostDone(step) => {
            format!("{step}: by the book as it is now it would be done; noted as almost done, correct it by hand")
        }
        Remark::NotInBook(step) => format!("{step} is in the plan and no longer in the book: passed over"),
        Remark::ClearOnlyAfter(last) => format!(
            "weekdays on which roads are expected clear count there only after {last} now, the last date reported (H2)"
        ),
        Remark::StormLeft => {
            "another report still has a storm there: the same command once more takes that back too".to_owned()
        }
    }
}
