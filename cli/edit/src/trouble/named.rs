//! Of what is named: something that the book does not have, or several things of one name.

use super::topic::{Help, Topic};
use super::words::{did_you_mean, some};
use crate::list::List;

/// Why a word names nothing of the book that something can be said of.
#[derive(Clone, Debug, PartialEq)]
pub enum OfName {
    /// A place is not in the book.
    Place {
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The places of the book.
        known: Vec<String>,
    },
    /// A truck or a unit is not in the book.
    Carrier {
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The trucks and units of the book.
        known: Vec<String>,
    },
    /// Something is not in the lists of which that can be said.
    Unknown {
        /// The lists.
        lists: Vec<List>,
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The members of the lists.
        known: Vec<String>,
    },
    /// A step is not in the book, nor its job.
    NoStep {
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The jobs of the book.
        jobs: Vec<String>,
    },
    /// A job has no such step.
    NoStepOfJob {
        /// The word for it.
        word: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The job's steps, `job/step`.
        steps: Vec<String>,
    },
    /// What is said of a step was said of a job.
    IsAJob {
        /// The word for it.
        word: String,
        /// The job's steps, `job/step`.
        steps: Vec<String>,
    },
    /// Of what was named that cannot be said.
    NotOfThat {
        /// The word for it.
        word: String,
        /// The list it is in.
        list: List,
    },
    /// Several have the name.
    Several {
        /// The name.
        word: String,
        /// They, by list and id.
        found: Vec<(List, String)>,
    },
    /// Several steps have the name.
    SeveralSteps {
        /// The name.
        word: String,
        /// They, `job/step`.
        found: Vec<String>,
    },
}

impl Topic for OfName {
    fn code(&self) -> &'static str {
        match self {
            Self::Place { .. } => "place::unknown",
            Self::Carrier { .. }
            | Self::Unknown { .. }
            | Self::NoStep { .. }
            | Self::NoStepOfJob { .. }
            | Self::IsAJob { .. } => "note::unknown",
            Self::NotOfThat { .. } => "note::subject",
            Self::Several { .. } | Self::SeveralSteps { .. } => "note::which",
        }
    }

    fn says(&self) -> String {
        match self {
            Self::Place { word, near, .. } => format!("no place `{word}`{}", did_you_mean(near.as_ref())),
            Self::Carrier { word, near, .. } => format!("no truck or unit `{word}`{}", did_you_mean(near.as_ref())),
            Self::Unknown { lists, word, near, .. } => {
                let lists: Vec<&str> = lists.iter().map(|list| list.word()).collect();
                format!("no {} `{word}`{}", lists.join(" or "), did_you_mean(near.as_ref()))
            }
            Self::NoStep { word, near, .. } | Self::NoStepOfJob { word, near, .. } => {
                format!("no step `{word}`{}", did_you_mean(near.as_ref()))
            }
            Self::IsAJob { word, .. } => format!("`{word}` is a job; it is said of a step"),
            Self::NotOfThat { word, list } => format!("`{word}` is a {}, of which that cannot be said", list.word()),
            Self::Several { word, found } => {
                let found: Vec<String> = found.iter().map(|(list, id)| format!("the {} `{id}`", list.word())).collect();
                format!("`{word}` names several: {}", found.join(", "))
            }
            Self::SeveralSteps { word, .. } => format!("`{word}` names several steps"),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Place { known, .. } | Self::Carrier { known, .. } => {
                Help::plain(format!("the book has {}", some(known)))
            }
            Self::Unknown { known, lists, .. } => {
                let said: Vec<String> =
                    lists.iter().map(|list| format!("of a {} it can be said: {}", list.word(), list.says())).collect();
                Help::plain(format!("the book has {}; {}", some(known), said.join("; ")))
            }
            Self::NoStep { jobs, .. } => Help::plain(format!("a step is named JOB/STEP; the jobs are {}", some(jobs))),
            Self::NoStepOfJob { steps, .. } | Self::IsAJob { steps, .. } => {
                Help::plain(format!("its steps are {}", some(steps)))
            }
            Self::NotOfThat { list, .. } => {
                Help::plain(format!("of a {} it can be said: {}", list.word(), list.says()))
            }
            Self::Several { found, .. } => which(found),
            Self::SeveralSteps { found, .. } => Help::plain(format!("say which: {}", found.join(" or "))),
        }
    }
}

/// Members of several lists are told apart by their list, else by their ids.
fn which(found: &[(List, String)]) -> Help {
    let several = found.iter().any(|(list, _)| *list != found[0].0);
    if several {
        let ways: Vec<String> = found.iter().map(|(list, _)| format!("--as {}", list.word())).collect();
        return Help::command(format!("say which: {}", ways.join(" or ")));
    }
    let ways: Vec<String> = found.iter().map(|(_, id)| format!("`{id}`")).collect();
    Help::plain(format!("say which: {}", ways.join(" or ")))
}
