//! A sentence of the program as a page shows it: dates as they are spoken, and names in quotes.

use serde_json::Value;

use super::called::by_names;
use super::value::range;

/// Bytes of a date.
const DATE: usize = 10;

/// The same of a book, whose things are said by their names.
pub fn sentence_of(book: &Value, text: &str) -> String {
    sentence(&by_names(book, text))
}

/// The sentence with its dates, half-days and ranges spoken, and what is marked in quotes.
pub fn sentence(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut before = ' ';
    while let Some(c) = rest.chars().next() {
        let found = written(rest).filter(|_| !before.is_alphanumeric() && before != '-');
        if let Some(length) = found {
            out.push_str(&range(&rest[..length]));
            (before, rest) = ('0', &rest[length..]);
        } else {
            out.push(c);
            (before, rest) = (c, &rest[c.len_utf8()..]);
        }
    }
    let pieces = out.split('`').enumerate();
    // A last mark without another one to close it is none.
    let marks = out.matches('`').count();
    pieces.map(|(n, piece)| if n % 2 == 1 && n < marks { format!("“{piece}”") } else { piece.to_owned() }).collect()
}

/// How many bytes of a text a date, a half-day or a range takes at its beginning.
fn written(text: &str) -> Option<usize> {
    let one = half_day(text)?;
    let more = text[one..].strip_prefix('/').map(|rest| half_day(rest).map_or(0, |length| length));
    let end = match more {
        Some(length) => one + 1 + length,
        None => one,
    };
    // A longer number, or a word, is none.
    (!text[end..].starts_with(|c: char| c.is_ascii_digit() || c == '-')).then_some(end)
}

fn half_day(text: &str) -> Option<usize> {
    let date = text.get(..DATE)?;
    let shaped = date.bytes().enumerate().all(|(n, b)| if n == 4 || n == 7 { b == b'-' } else { b.is_ascii_digit() });
    let half = |rest: &str| [" am", " pm"].iter().any(|half| rest.starts_with(half));
    shaped.then(|| if half(&text[DATE..]) { DATE + 3 } else { DATE })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_spoken_and_names_quoted() {
        for (text, says) in [
            ("2026-12-09 am is before now", "Wed 9 Dec 2026, morning is before now"),
            ("covers 2026-12-07 to 2026-12-13.", "covers Mon 7 Dec 2026 to Sun 13 Dec 2026."),
            ("on `2026-12-07/2026-12-08`", "on “Mon 7 Dec 2026 to Tue 8 Dec 2026”"),
            ("away 2026-12-07/", "away from Mon 7 Dec 2026 on"),
            ("no crew `nobody`", "no crew “nobody”"),
            ("call 555-2026-12-09, or 2026-12-091", "call 555-2026-12-09, or 2026-12-091"),
            ("there is no 2026-13-01", "there is no 2026-13-01"),
            ("é`a", "éa"),
        ] {
            assert_eq!(sentence(text), says);
        }
    }
}
