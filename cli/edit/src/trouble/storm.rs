//! Of a storm.

use yardless_book::half_day::{HalfDay, NotATime, Range};

use super::topic::{Help, Topic};
use super::words::RANGE;

/// Where a storm is: ids of places; `None`: everywhere.
type StormPlaces = Option<Vec<String>>;

/// Why a storm cannot be reported or taken back.
#[derive(Clone, Debug, PartialEq)]
pub enum OfStorm {
    /// Its range is none.
    Range(NotATime),
    /// Its gusts are out of range.
    Gust {
        /// Miles per hour.
        gust: f64,
    },
    /// It is over.
    Past {
        /// Its range.
        on: Range,
        /// The half-day now.
        now: HalfDay,
    },
    /// There is none to take back.
    None {
        /// The range.
        on: Range,
        /// The places.
        at: StormPlaces,
        /// The storms of the book.
        known: Vec<(Range, StormPlaces)>,
    },
}

impl Topic for OfStorm {
    fn code(&self) -> &'static str {
        match self {
            Self::Range(_) => "storm::range",
            Self::Gust { .. } => "storm::gust",
            Self::Past { .. } => "storm::past",
            Self::None { .. } => "storm::none",
        }
    }

    fn says(&self) -> String {
        match self {
            Self::Range(why) => why.to_string(),
            Self::Gust { gust } => format!("gusts of {gust} miles per hour"),
            Self::Past { on, now } => format!("{on} is over: it is {now} now"),
            Self::None { on, at, .. } => format!("no storm holds on {on}, {}", places(at.as_deref())),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Range(_) => Help::plain(RANGE),
            Self::Gust { .. } => Help::command("give --gust 0 to 300"),
            Self::Past { .. } => {
                Help::command("a storm is reported for what is to come; what happened is noted with `yardless note`")
            }
            Self::None { known, .. } if known.is_empty() => Help::plain("the book has no storm"),
            Self::None { known, .. } => {
                let known: Vec<String> =
                    known.iter().map(|(on, at)| format!("{on} ({})", places(at.as_deref()))).collect();
                Help::plain(format!("the book has {}", known.join(", ")))
            }
        }
    }
}

/// Places as an entry lists them: none is everywhere.
pub fn places(at: Option<&[String]>) -> String {
    at.map_or_else(|| "everywhere".to_owned(), |places| places.join(", "))
}
