//! Of a plan's file, and of the time that a plan covers.

use yardless_book::half_day::HalfDay;

use super::topic::{Cause, Help, Topic};
use super::words::Called;

/// Why a plan cannot be read, written or asked as of a half-day.
#[derive(Clone, Debug, PartialEq)]
pub enum OfPlan {
    /// It is not there.
    Missing {
        /// The file's name.
        name: String,
    },
    /// The machine does not give it.
    Unreadable {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// It has more bytes than a plan may have.
    TooLarge {
        /// What it is called.
        plan: Called,
        /// Most bytes.
        most: usize,
    },
    /// It has more rows than a plan may have.
    TooManyRows {
        /// What it is called.
        plan: Called,
        /// Its rows.
        rows: usize,
        /// Most rows.
        most: usize,
    },
    /// It is not JSON.
    NotJson {
        /// What it is called.
        plan: Called,
        /// What the reader says.
        why: String,
    },
    /// It is a book.
    IsABook {
        /// What it is called.
        plan: Called,
    },
    /// It has no field `plan`.
    NoField {
        /// What it is called.
        plan: Called,
    },
    /// It was written by another version.
    Format {
        /// What it is called.
        plan: Called,
        /// Its format, as far as it is shown.
        format: String,
    },
    /// A field of it is wrong.
    NotAPlan {
        /// What it is called.
        plan: Called,
        /// What the reader says.
        why: String,
    },
    /// Where it is to be stored there is a folder.
    OutIsFolder {
        /// The path.
        path: String,
    },
    /// What is to be replaced by it cannot be read.
    OutUnreadable {
        /// The path.
        path: String,
        /// What the machine says.
        why: String,
    },
    /// What is to be replaced by it is not a plan.
    OutIsNoPlan {
        /// The path.
        path: String,
    },
    /// There is no folder that it could be stored in.
    OutNoFolder {
        /// The path.
        path: String,
        /// The folder.
        folder: String,
    },
    /// The machine does not take it.
    Unwritten {
        /// The path.
        path: String,
        /// What the machine says.
        why: String,
    },
    /// The half-day asked about lies outside.
    Outside {
        /// The half-day.
        now: HalfDay,
        /// The plan's first.
        first: HalfDay,
        /// The plan's last.
        last: HalfDay,
    },
    /// The half-day asked about lies before.
    Before {
        /// The half-day.
        now: HalfDay,
        /// The plan's first.
        first: HalfDay,
    },
    /// No weeks can be planned from the half-day on.
    NoWeeks {
        /// What the calendar says.
        why: String,
    },
}

impl OfPlan {
    /// Of a plan that is not there, or cannot be read.
    pub fn unread(name: &str, e: &std::io::Error) -> Self {
        let name = name.to_owned();
        if e.kind() == std::io::ErrorKind::NotFound {
            Self::Missing { name }
        } else {
            Self::Unreadable { name, why: e.to_string() }
        }
    }
}

impl Topic for OfPlan {
    fn code(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "plan::missing",
            Self::Unreadable { .. } => "plan::unreadable",
            Self::TooLarge { .. } | Self::TooManyRows { .. } => "plan::too-large",
            Self::NotJson { .. } => "plan::not-json",
            Self::IsABook { .. } | Self::NoField { .. } | Self::NotAPlan { .. } => "plan::not-a-plan",
            Self::Format { .. } => "plan::format",
            Self::OutIsFolder { .. }
            | Self::OutNoFolder { .. }
            | Self::OutUnreadable { .. }
            | Self::OutIsNoPlan { .. } => "plan::out",
            Self::Unwritten { .. } => "plan::unwritten",
            Self::Outside { .. } | Self::Before { .. } | Self::NoWeeks { .. } => "usage::now",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::Unwritten { .. } => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        match self {
            Self::Missing { name } => format!("there is no plan `{name}`"),
            Self::Unreadable { name, why } => format!("the plan `{name}` cannot be read: {why}"),
            Self::TooLarge { plan, most } => {
                format!("{} has more than {} MB, the most that a plan may have", plan.quoted(), most / 1_000_000)
            }
            Self::TooManyRows { plan, rows, most } => {
                format!("{} has {rows} rows, and a plan may have {most}", plan.quoted())
            }
            Self::NotJson { plan, why } => format!("{} is not JSON: {why}", plan.quoted()),
            Self::IsABook { plan } => format!("{} is a book, not a plan", plan.quoted()),
            Self::NoField { plan } => format!("{} is not a plan: it has no field `plan`", plan.quoted()),
            Self::Format { plan, format } => {
                format!("{} is a plan of format {format}; this version reads format 1", plan.quoted())
            }
            Self::NotAPlan { plan, why } => format!("{} is not a plan: {why}", plan.quoted()),
            Self::OutIsFolder { path } => format!("`{path}` is a folder"),
            Self::OutUnreadable { path, why } => format!("`{path}` cannot be replaced: {why}"),
            Self::OutIsNoPlan { path } => format!("`{path}` is there already and is not a plan"),
            Self::OutNoFolder { path, folder } => {
                format!("there is no folder `{folder}` for `{path}`; nothing was planned")
            }
            Self::Unwritten { path, why } => format!("the plan could not be stored in `{path}`: {why}"),
            Self::Outside { now, first, last } => {
                format!("{now} is outside the plan, which covers {first} to {last}")
            }
            Self::Before { now, first } => format!("{now} is before the plan begins, {first}"),
            Self::NoWeeks { why } => why.clone(),
        }
    }

    fn help(&self) -> Help {
        Help::command(match self {
            Self::OutIsFolder { .. } | Self::OutUnreadable { .. } | Self::OutIsNoPlan { .. } => {
                "give --out the name of a new file, or of a plan"
            }
            Self::OutNoFolder { .. } => "make the folder first, or give --out a path in one that is there",
            Self::Unwritten { .. } => {
                "give --out a folder that exists and may be written to; `--json` prints the plan instead"
            }
            Self::Outside { .. } | Self::Before { .. } => "give --now a half-day of the plan, or leave it away",
            Self::NoWeeks { .. } => "give --now a half-day, as \"2026-12-09 am\"",
            _ => "`yardless plan --out PLAN` stores one",
        })
    }
}
