//! A note in words, read: of what, and what is said of it.

use yardless_book::half_day::{HalfDay, NotATime, Range, parse_date};

use super::Said;
use crate::trouble::{OfNote, Trouble};

/// The name, and what is said of it.
pub fn said(words: &[String]) -> Result<(&str, Said), Trouble> {
    let (what, verb, rest) = match words {
        [] => return Err(OfNote::Silent.into()),
        [what] => return Err(OfNote::SilentOf(what.clone()).into()),
        [what, verb, rest @ ..] => (what.as_str(), verb.as_str(), rest.join(" ")),
    };
    let needs = |form: String| OfNote::Form { verb: verb.to_owned(), form };
    let alone =
        |said| if rest.is_empty() { Ok(said) } else { Err(needs(format!("{what} {verb}, and nothing after it"))) };
    let range = || rest.parse::<Range>().map_err(OfNote::Range);
    let said = match verb {
        "done" => alone(Said::Done)?,
        "again" => alone(Said::Again)?,
        "left" => {
            let left = rest.parse::<f64>().ok().filter(|left| left.is_finite() && *left > 0.0);
            Said::Left(left.ok_or_else(|| needs(format!("{what} left N, N above 0; what has nothing left is done")))?)
        }
        "at" if rest.is_empty() => return Err(needs(format!("{what} at PLACE")).into()),
        "at" => Said::At(rest),
        "in" if rest.is_empty() => return Err(needs(format!("{what} in TRUCK, or {what} in UNIT")).into()),
        "in" => Said::In(rest),
        "out" | "away" if rest.is_empty() => {
            return Err(
                needs(format!("{what} {verb} 2026-12-09, or {what} {verb} \"2026-12-09 pm/2026-12-11\"")).into()
            );
        }
        "out" => Said::Out(range()?),
        "away" => Said::Away(range()?),
        "back" if rest.is_empty() => Said::Back(None),
        "back" => Said::Back(Some(half_day(&rest).map_err(OfNote::HalfDay)?)),
        _ => return Err(OfNote::NoVerb(verb.to_owned()).into()),
    };
    Ok((what, said))
}

/// A half-day; a date alone is its morning.
fn half_day(text: &str) -> Result<HalfDay, NotATime> {
    parse_date(text).map(HalfDay::am).or_else(|_| text.parse())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_with_ranges_quoted_or_not() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let range: Range = "2026-12-09 pm/2026-12-11".parse().expect("a range");
        let read = |text: &str| said(&words(text)).map(|(what, said)| (what.to_owned(), said)).ok();
        let of = |said| Some(("x".to_owned(), said));
        assert_eq!(read("x out 2026-12-09 pm/2026-12-11"), of(Said::Out(range)));
        let quoted = ["x".to_owned(), "away".to_owned(), "2026-12-09 pm/2026-12-11".to_owned()];
        assert_eq!(said(&quoted).ok(), Some(("x", Said::Away(range))));
        assert_eq!(read("x left 1.5"), of(Said::Left(1.5)));
        assert_eq!(read("x back 2026-12-09 pm"), of(Said::Back("2026-12-09 pm".parse().ok())));
        for wrong in [
            "x",
            "x done now",
            "x left",
            "x left 0",
            "x left inf",
            "x at",
            "x in",
            "x out",
            "x out 2026-13-01",
            "x gone",
        ] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }
}
