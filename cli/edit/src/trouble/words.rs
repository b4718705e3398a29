//! The words that refusals share: names of plans, what was perhaps meant, lists of what there is.

use yardless_book::nearest;

/// What to do about a defect.
pub const DEFECT: &str = "this is a defect of the program; please report it with the book";
/// How one job is given by itself.
pub const ONE_JOB: &str = "write one job as the book has it: `{ \"id\": ..., \"place\": ..., \"steps\": [...] }`";
/// How a range is given.
pub const RANGE: &str =
    "a range is a date, a half-day, or two of them with a slash between, as 2026-12-09 pm/2026-12-11";

/// What a plan is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Called {
    /// A file, by the name that the user gave it.
    File(String),
    /// The one that the service keeps and has given out.
    GivenOut,
}

impl Called {
    /// ``the plan `a.json` ``, or `the plan given out`.
    pub fn plan(&self) -> String {
        match self {
            Self::File(name) => format!("the plan `{name}`"),
            Self::GivenOut => self.bare().to_owned(),
        }
    }
    /// `` `a.json` ``, or `the plan given out`.
    pub fn quoted(&self) -> String {
        match self {
            Self::File(name) => format!("`{name}`"),
            Self::GivenOut => self.bare().to_owned(),
        }
    }
    /// `a.json`, or `the plan given out`.
    pub fn bare(&self) -> &str {
        match self {
            Self::File(name) => name,
            Self::GivenOut => "the plan given out",
        }
    }
}

/// What the name was perhaps meant to be.
pub fn near<'n>(name: &str, known: impl IntoIterator<Item = &'n str>) -> Option<String> {
    nearest(name, known).map(str::to_owned)
}

/// `; did you mean ...?` where something known is near.
pub fn did_you_mean(near: Option<&String>) -> String {
    near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

/// All ids, each in its quotes.
pub fn all(ids: &[String]) -> String {
    let all: Vec<String> = ids.iter().map(|id| format!("`{id}`")).collect();
    if all.is_empty() { "none".to_owned() } else { all.join(", ") }
}

/// The first few ids of a list.
pub fn some(ids: &[String]) -> String {
    const MOST: usize = 12;
    let more = if ids.len() > MOST { ", ..." } else { "" };
    all(&ids[..ids.len().min(MOST)]) + more
}
