//! One alert, whichever form it came in.

use std::sync::Arc;

use chrono::{DateTime, Datelike, Utc};

use super::area::Area;
use super::shown;

/// What one published alert says. A CAP message with several `info` parts gives one of these for each.
#[derive(Clone, Debug, PartialEq)]
pub struct Alert {
    /// The message that it is a part of; all alerts of one message share it.
    pub message: Arc<Message>,
    /// What happens, when and where.
    pub info: Info,
}

/// The head of a message.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Message {
    /// Its identifier, as later messages refer to it.
    pub id: String,
    /// Who sent it.
    pub sender: String,
    /// When it was sent.
    pub sent: DateTime<Utc>,
    /// Whether it is meant.
    pub status: Status,
    /// Whether it is new, replaces or takes back others.
    pub kind: Kind,
    /// The messages that it replaces or takes back.
    pub references: Vec<Reference>,
}

/// What a message says of one event; nothing in a cancel that says no more than that.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Info {
    /// The event's name, such as `Winter Storm Warning`; empty in a cancel that names none.
    pub event: String,
    /// Extreme, Severe, Moderate, Minor or Unknown, as published.
    pub severity: String,
    /// Whether, and by which word, it says that the event is over.
    pub ended: Option<Ended>,
    /// One line for people.
    pub headline: Option<String>,
    /// When the hazard begins.
    pub onset: Option<DateTime<Utc>>,
    /// From when on the message holds.
    pub effective: Option<DateTime<Utc>>,
    /// When the hazard ends.
    pub ends: Option<DateTime<Utc>>,
    /// When the message lapses, which may be before the hazard begins.
    pub expires: Option<DateTime<Utc>>,
    /// Where.
    pub area: Area,
}

/// The words of CAP 1.2, 3.2.2, that say that an event is over. `severity` has none: its least word, `Minor`, is of an event
/// that is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// `responseType` `AllClear`: the event no longer poses a threat or concern.
    AllClear,
    /// `urgency` `Past`: responsive action is no longer required.
    Past,
}

impl Ended {
    /// By the responses that are asked for and the urgency; capitals do not matter.
    pub(super) fn of<'t>(responses: impl IntoIterator<Item = &'t str>, urgency: Option<&str>) -> Option<Self> {
        let is = |text: &str, word: &str| text.trim().eq_ignore_ascii_case(word);
        if responses.into_iter().any(|response| is(response, "AllClear")) {
            Some(Self::AllClear)
        } else {
            urgency.filter(|urgency| is(urgency, "Past")).map(|_| Self::Past)
        }
    }
}

/// Another message, as an alert refers to it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Reference {
    /// Its identifier.
    pub id: String,
    /// Its sender, where that is said.
    pub sender: Option<String>,
}

/// A word of CAP 1.2, read and written as it stands.
macro_rules! word {
    ($(#[$doc:meta])* $type:ident { $($(#[$each:meta])* $name:ident),* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum $type { $($(#[$each])* $name),* }

        impl $type {
            /// Reads the word as published.
            pub(super) fn read(text: &str) -> Result<Self, String> {
                match text.trim() {
                    $(stringify!($name) => Ok(Self::$name),)*
                    other => Err(format!("`{}` is none of {}", shown(other), [$(stringify!($name)),*].join(", "))),
                }
            }
        }
    };
}

word! {
    /// Whether a message is meant (CAP 1.2, 3.2.1 `status`).
    Status {
        /// Meant: the only one that counts.
        Actual,
        /// For those who take part in an exercise.
        Exercise,
        /// For the network alone.
        System,
        /// A test.
        Test,
        /// Not published yet.
        Draft
    }
}
word! {
    /// What a message is for (CAP 1.2, 3.2.1 `msgType`).
    Kind {
        /// News.
        Alert,
        /// Replaces the messages that it refers to.
        Update,
        /// Takes back the messages that it refers to.
        Cancel,
        /// Says that messages were received.
        Ack,
        /// Says that messages were refused.
        Error
    }
}

/// Reads a moment as RFC 3339 writes it, in the years 2000 to 2099.
pub(super) fn moment(text: &str) -> Result<DateTime<Utc>, String> {
    let moment = DateTime::parse_from_rfc3339(text.trim())
        .map_err(|_| format!("`{}` is no moment such as 2026-12-08T04:12:00-05:00", shown(text)))?
        .with_timezone(&Utc);
    if (2000..2100).contains(&moment.year()) {
        Ok(moment)
    } else {
        Err(format!("`{}` is outside the years 2000 to 2099", shown(text)))
    }
}
