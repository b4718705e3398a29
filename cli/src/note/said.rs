//! What is said of something: the words after its name, read.

use yardless_book::half_day::{HalfDay, Range};

use crate::args::{List, NoteArgs, half_day};
use crate::trouble::Trouble;

/// What is said.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A step is done.
    Done,
    /// Of a step so much is left.
    Left(f64),
    /// A step is to be planned again.
    Again,
    /// A unit stands at a place.
    At(String),
    /// A unit or a truck is out.
    Out(Range),
    /// A crew, or some of it, is away.
    Away(Range),
    /// It is back from a half-day on; from now on where none is given.
    Back(Option<HalfDay>),
}

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
        rest.parse().map_err(|e: yardless_book::half_day::NotATime| {
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
        "back" => Said::Back(Some(half_day(&rest).map_err(|e| Trouble::input("note::half-day", e, FORMS))?)),
        _ => return Err(usage(format!("`{verb}` cannot be said of anything"))),
    };
    Ok((what, said))
}

fn usage(says: String) -> Trouble {
    Trouble::input("note::words", says, FORMS)
}

impl Said {
    /// Whether it is said of steps.
    pub fn is_of_step(&self) -> bool {
        matches!(self, Self::Done | Self::Left(_) | Self::Again)
    }

    /// The lists of what it can be said of, steps apart.
    pub fn lists(&self) -> &'static [List] {
        match self {
            Self::At(_) => &[List::Unit],
            Self::Out(_) => &[List::Unit, List::Truck],
            Self::Away(_) => &[List::Crew],
            Self::Back(_) => &[List::Unit, List::Crew, List::Truck],
            Self::Done | Self::Left(_) | Self::Again => &[],
        }
    }

    fn verb(&self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Left(_) => "left",
            Self::Again => "again",
            Self::At(_) => "at",
            Self::Out(_) => "out",
            Self::Away(_) => "away",
            Self::Back(_) => "back",
        }
    }
}

/// Refuses options that say nothing with what is said: none is passed over.
pub fn fitting(args: &NoteArgs, said: Option<&Said>) -> Result<(), Trouble> {
    let verb = said.map_or("--until", Said::verb);
    let wrong: Vec<&str> = [
        ("--crew", args.crew.is_some(), &["done", "left"][..]),
        ("--way", args.way.is_some(), &["done", "left"]),
        ("--start", args.start.is_some(), &["done", "left"]),
        ("--end", args.end.is_some(), &["done"]),
        ("--units", args.units.is_some(), &["left"]),
        ("--parked", !args.parked.is_empty(), &["done", "left"]),
        ("--kept", args.kept.is_some(), &["done", "left", "again", "--until"]),
        ("--over", !args.over.is_empty(), &["--until"]),
        ("--people", args.people.is_some(), &["away"]),
        ("--as", args.list.is_some(), &["at", "out", "away", "back"]),
    ]
    .into_iter()
    .filter(|(_, given, with)| *given && !with.contains(&verb))
    .map(|(option, _, _)| option)
    .collect();
    if wrong.is_empty() {
        return Ok(());
    }
    Err(Trouble::input(
        "note::option",
        format!("{} has no meaning with `{verb}`", wrong.join(", ")),
        "leave it out; `yardless note --help` says what goes together",
    ))
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
