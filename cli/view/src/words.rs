//! Dates, half-days and names as they are printed.

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::CrewFacts;

use super::grid::{WIDTH, at_blanks};

/// Where a sheet is read: what it advises is a command on a terminal, and a page on a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadOn {
    /// On a terminal.
    Terminal,
    /// On a page of the service.
    Page,
}

/// `Mon 7 Dec`.
pub fn day(half_day: HalfDay) -> String {
    half_day.date().format("%a %-d %b").to_string()
}

/// `Mon 7 Dec am`.
pub fn half(half_day: HalfDay) -> String {
    format!("{} {}", day(half_day), if half_day.is_pm() { "pm" } else { "am" })
}

/// `Mon 7 Dec`, `Mon 7 Dec pm`, `Mon 7 Dec pm to Wed 9 Dec am`.
pub fn span(first: HalfDay, last: HalfDay) -> String {
    match (first.date() == last.date(), first == last) {
        (_, true) => half(first),
        (true, false) => day(first),
        _ => format!("{} to {}", half(first), half(last)),
    }
}

/// What is said of a row that breaks a rule.
pub const BROKEN: &str = "does not hold";

/// What a crew comes back to of a step (W10).
pub fn the_rest(step: &str) -> String {
    format!("{step}, the rest")
}

/// A crew's name without the word that all crews share: `North crew` is `North` in a narrow cell.
pub fn short_crew(crew: &CrewFacts) -> &str {
    let name = crew.name.as_str();
    name.strip_suffix("crew").map(str::trim_end).filter(|short| !short.is_empty()).unwrap_or(name)
}

/// Crews that do a step together: `Ann + Ben`.
pub fn together<'c>(crews: impl Iterator<Item = &'c str>) -> String {
    crews.collect::<Vec<_>>().join(" + ")
}

/// A paragraph on the sheet's width, with its last newline.
pub fn wrapped(text: &str) -> String {
    textwrap::fill(text.trim(), at_blanks(WIDTH)) + "\n"
}

/// `1 job`, `3 jobs`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// `a`, `a and b`, `a, b and c`.
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
