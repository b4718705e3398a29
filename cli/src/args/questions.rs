//! The words of the commands that ask a plan.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;
use yardless_book::half_day::HalfDay;

use super::{date, half_day, seconds};

/// What all questions share.
#[derive(Args, Debug)]
pub struct AskArgs {
    /// The plan given out [default: plan.json beside the book].
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// As of this half-day [default: now by the shop's clock, or the plan's first half-day when now is outside the plan].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Print the answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// How hard to search for an answer.
#[derive(Args, Debug)]
pub struct EffortArgs {
    /// How long to search [default: 5 for offer, 20 for worth, none with --steps].
    #[arg(long, value_name = "S", value_parser = seconds, allow_negative_numbers = true)]
    pub seconds: Option<f64>,
    /// So many rounds of search instead of seconds: the same question and rounds give the same answer.
    #[arg(long, value_name = "N")]
    pub steps: Option<u64>,
}

/// `free`.
#[derive(Args, Debug)]
pub struct FreeArgs {
    /// The kind of equipment, by its id or name.
    pub kind: String,
    /// How many together.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1_000))]
    pub count: u32,
    /// For how many half-days that the shop works.
    #[arg(long = "for", value_name = "HALF-DAYS", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1_000))]
    pub half_days: u32,
    /// Where they must be by then, hauls included: a place by its id or name [default: wherever they stand].
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}

/// `offer`.
#[derive(Args, Debug)]
pub struct OfferArgs {
    /// A job of the book, by its id or name.
    #[arg(required_unless_present = "file")]
    pub job: Option<String>,
    /// A job that is not in the book yet: a file with one as the book would have it.
    #[arg(long = "job", value_name = "FILE", conflicts_with = "job")]
    pub file: Option<PathBuf>,
    /// How many dates at most.
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u8).range(1..=20))]
    pub rows: u8,
    /// Effort.
    #[command(flatten)]
    pub effort: EffortArgs,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}

/// `why`.
#[derive(Args, Debug)]
pub struct WhyArgs {
    /// A job of the book, by its id or name.
    pub job: String,
    /// Why it is not done by the end of this date [default: the date before that on which the plan ends it].
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub sooner: Option<NaiveDate>,
    /// Rounds of search for each plan that is asked for; from 100 on what has no plan may be proven.
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..))]
    pub steps: u64,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}

/// `worth`.
#[derive(Args, Debug)]
pub struct WorthArgs {
    /// How many rows at most.
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u8).range(1..=50))]
    pub rows: u8,
    /// Effort.
    #[command(flatten)]
    pub effort: EffortArgs,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}

/// `chance`.
#[derive(Args, Debug)]
pub struct ChanceArgs {
    /// How often the plan is played through.
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
    pub seasons: u32,
    /// The same number gives the same weather and delays.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}

/// `matters`.
#[derive(Args, Debug)]
pub struct MattersArgs {
    /// Rounds of search for each plan that is looked for [default: 30].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub steps: Option<u64>,
    /// Put the prices into the book; `undo` takes them back.
    #[arg(long)]
    pub write: bool,
    /// Question.
    #[command(flatten)]
    pub ask: AskArgs,
}
