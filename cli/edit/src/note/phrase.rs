//! A note in words, read: of what, and what is said of it.

use yardless_book::half_day::{HalfDay, NotATime, Range, parse_date};

use super::Said;
use crate::trouble::Trouble;

const FORMS: &str = "write: JOB/STEP done, JOB/STEP left N, JOB/STEP again, UNIT at PLACE, UNIT out RANGE, TRUCK out RANGE, \
                     CREW away RANGE, or UNIT back [HALF-DAY]; `yardless note --help` explains them";

/// The name, and what is said of it.
pub fn said(words: &[String]) -> Result<(&str, Said), Trouble> {
    let (what, verb, rest) = match words {
        [] => return Err(usage("nothing is said".to_owned())),
        [what] => return Err(usage(format!("nothing is said of `{what}`"))),
        [what, verb, rest @ ..] => (what.as_str(), verb.as_str(), rest.join(" ")),
    };
    let needs = |form: &str| usage(format!("`{verb}` is written: {form}"));
    let alone =
        |said| if rest.is_empty() { Ok(said) } else { Err(needs(&format!("{what} {verb}, and nothing after it"))) };
    let range = || -> Result<Range, Trouble> {
        rest.parse().map_err(|e: NotATime| {
            let help =
                "a range is a date, a half-day, or two of them with a slash between, as 2026-12-09 pm/2026-12-11";
            Trouble::input("note::range", e.to_string(), help)
        })
    };
    let said = match verb {
        "done" => alone(Said::Done)?,
        "again" => alone(Said::Again)?,
        "left" => {
            let left = rest.parse::<f64>().ok().filter(|left| left.is_finite() && *left > 0.0);
            Said::Left(left.ok_or_else(|| needs(&format!("{what} left N, N above 0; what has nothing left is done")))?)
        }
        "at" if rest.is_empty() => return Err(needs(&format!("{what} at PLACE"))),
        "at" => Said::At(rest),
        "out" => Said::Out(range()?),
        "away" => Said::Away(range()?),
        "back" if rest.is_empty() => Said::Back(None),
        "back" => {
            Said::Back(Some(half_day(&rest).map_err(|e| Trouble::input("note::half-day", e.to_string(), FORMS))?))
        }
        _ => return Err(usage(format!("`{verb}` cannot be said of anything"))),
    };
    Ok((what, said))
}

fn usage(says: String) -> Trouble {
    Trouble::input("note::words", says, FORMS)
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
        for wrong in
            ["x", "x done now", "x left", "x left 0", "x left inf", "x at", "x out", "x out 2026-13-01", "x gone"]
        {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }
}
