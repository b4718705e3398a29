//! Dates, half-days and names as they are printed.

use yardless_book::half_day::{HalfDay, parse_date};
use yardless_plan::shop::CrewFacts;

use super::grid::{WIDTH, at_blanks};

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

/// What a crew comes back to of a step (W10).
pub fn the_rest(step: &str) -> String {
    format!("{step}, the rest")
}

/// A text with its dates and half-days written as on the sheet: `2026-12-09 am` becomes `Wed 9 Dec am`.
pub fn spoken(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut said: Vec<String> = Vec::new();
    let mut n = 0;
    while n < words.len() {
        let next = words.get(n + 1).map_or("", |next| next.get(..2).unwrap_or_default());
        if let Ok(half_day) = format!("{} {next}", words[n]).parse::<HalfDay>() {
            let rest = words.get(n + 1).and_then(|word| word.get(2..)).unwrap_or_default();
            said.push(half(half_day) + rest);
            n += 2;
        } else if let Ok(date) = parse_date(words[n].trim_end_matches([',', ';', '.'])) {
            let mark = words[n].trim_start_matches(|c: char| c.is_ascii_digit() || c == '-');
            said.push(day(HalfDay::am(date)) + mark);
            n += 1;
        } else {
            said.push(words[n].to_owned());
            n += 1;
        }
    }
    said.join(" ")
}

/// A crew's name without the word that all crews share: `North crew` is `North` in a narrow cell.
pub fn short_crew(crew: &CrewFacts) -> &str {
    let name = crew.name.as_str();
    name.strip_suffix("crew").map(str::trim_end).filter(|short| !short.is_empty()).unwrap_or(name)
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
