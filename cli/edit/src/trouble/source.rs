//! Of what is read from elsewhere: alerts and forecasts, from files, stdin and addresses.

use chrono::NaiveDateTime;

use super::topic::{Cause, Help, Topic};
use super::words::{all, did_you_mean};

/// Why a source is not read.
#[derive(Clone, Debug, PartialEq)]
pub enum OfSource {
    /// It is an address of a kind that is not fetched.
    NotFetched {
        /// The address.
        source: String,
    },
    /// It is no address.
    NoAddress {
        /// What was given.
        url: String,
        /// What is wrong with it.
        why: String,
    },
    /// It is a file that cannot be read.
    Unreadable {
        /// The file.
        source: String,
        /// What the machine says.
        why: String,
    },
    /// It has too many bytes.
    TooLarge {
        /// The file or address.
        source: String,
        /// Most bytes.
        most: usize,
    },
    /// The server answers something else.
    Refused {
        /// The address.
        url: String,
        /// The status.
        status: String,
        /// Whether the server says that it is its own failure.
        by_failure: bool,
    },
    /// The server does not answer.
    Silent {
        /// The address.
        url: String,
        /// How many seconds were waited.
        seconds: u64,
    },
    /// It could not be fetched.
    Failed {
        /// The address.
        url: String,
        /// What the network says.
        why: String,
    },
    /// The program was built without what fetches.
    LeftOut {
        /// The address.
        url: String,
    },
    /// Stdin is named several times.
    StdinTwice,
    /// There are not as many forecasts as places for them.
    Places {
        /// How many forecasts.
        forecasts: usize,
        /// How many places.
        places: usize,
    },
    /// A forecast's place is not in the book.
    NoPlace {
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The places of the book.
        known: Vec<String>,
    },
    /// There is no such time on the shop's clock.
    NoTime {
        /// The time.
        at: NaiveDateTime,
    },
}

impl Topic for OfSource {
    fn code(&self) -> &'static str {
        match self {
            Self::NotFetched { .. } | Self::NoAddress { .. } => "fetch::address",
            Self::Unreadable { .. } => "fetch::unreadable",
            Self::TooLarge { .. } => "fetch::too-large",
            Self::Refused { .. } => "fetch::refused",
            Self::Silent { .. } => "fetch::timeout",
            Self::Failed { .. } => "fetch::failed",
            Self::LeftOut { .. } => "fetch::left-out",
            Self::StdinTwice => "weather::stdin",
            Self::Places { .. } | Self::NoPlace { .. } => "weather::at",
            Self::NoTime { .. } => "weather::now",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            // What the server could not do is not the user's mistake.
            Self::Refused { by_failure: true, .. } | Self::Silent { .. } | Self::Failed { .. } => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        match self {
            Self::NotFetched { source } => format!("`{source}` cannot be fetched"),
            Self::NoAddress { url, why } => format!("`{url}` is no address: {why}"),
            Self::Unreadable { source, why } => format!("`{source}` cannot be read: {why}"),
            Self::TooLarge { source, most } => format!("{source} has more than {} MB", most / 1_000_000),
            Self::Refused { url, status, .. } => format!("{url} answered {status}"),
            Self::Silent { url, seconds } => format!("{url} did not answer within {seconds} seconds"),
            Self::Failed { url, why } => format!("{url} could not be fetched: {why}"),
            Self::LeftOut { url } => format!("{url}: this program was built without fetching"),
            Self::StdinTwice => "stdin can be read once only".to_owned(),
            Self::Places { forecasts, places } => format!("{forecasts} forecasts for {places} places"),
            Self::NoPlace { word, near, .. } => format!("no place `{word}`{}", did_you_mean(near.as_ref())),
            Self::NoTime { at } => {
                let at = at.format("%Y-%m-%d %H:%M");
                format!("there is no {at} on the shop's clock: it is put forward then")
            }
        }
    }

    fn help(&self) -> Help {
        Help::command(match self {
            Self::NotFetched { .. } => "addresses begin with https://",
            Self::NoAddress { .. } => "write it as https://...",
            Self::Unreadable { .. } => "give a file, - for stdin, or an address that begins with https://",
            Self::TooLarge { .. } => "ask for fewer areas",
            Self::Refused { .. } => "open the address in a browser; no answer is not calm weather",
            Self::Silent { .. } | Self::Failed { .. } => {
                "try again, or save the answer with a browser and give the file; no answer is not calm weather"
            }
            Self::LeftOut { .. } => {
                "save the answer with a browser and give the file; `cargo install --path cli` builds all of the program"
            }
            Self::StdinTwice => "give one - and files besides",
            Self::Places { .. } => "give each --forecast one --at PLACE, in the same order",
            Self::NoPlace { known, .. } => return Help::plain(format!("the book has {}", all(known))),
            Self::NoTime { .. } => "give a time an hour later",
        })
    }
}
