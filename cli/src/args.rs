//! The words of the command line; parsing does no work.

mod edits;
mod examples;
mod questions;
#[cfg(feature = "service")]
mod service;
mod weather;

pub use questions::{AskArgs, ChanceArgs, FreeArgs, MattersArgs, OfferArgs, WhyArgs, WorthArgs};
#[cfg(feature = "service")]
pub use service::{BackupArgs, ExportArgs, ImportArgs, PaperArg, PaperArgs, ServeArgs};
pub use weather::WeatherArgs;

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{ArgAction, Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use yardless_book::half_day::{HalfDay, MOST_WEEKS, parse_date};

use crate::exit;

pub use edits::{ListArg, NoteArgs, StormArgs, UndoArgs};

/// The book where none is named.
pub const DEFAULT_BOOK: &str = "book.json";

/// Plans the week of a small contractor whose whole shop is on wheels: a book in, a checked calendar out.
#[derive(Debug, Parser)]
#[command(version, after_help = exit::TABLE, arg_required_else_help = true)]
pub struct Cli {
    /// The book: places, crews, trucks, equipment, jobs, weather, prices.
    #[arg(long, global = true, value_name = "FILE", env = "YARDLESS_BOOK", default_value = DEFAULT_BOOK)]
    pub book: PathBuf,
    /// More of what happens, on stderr; twice for still more. `RUST_LOG` says it finer.
    #[arg(short, long, global = true, action = ArgAction::Count)]
    pub verbose: u8,
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Plan the book and print the calendar.
    #[command(after_help = examples::PLAN)]
    Plan(PlanArgs),
    /// Plan again from a half-day on, close to what the crews were told; say what changes, why, and who must know.
    #[command(after_help = examples::REPLAN)]
    Replan(ReplanArgs),
    /// Print a stored plan, or one crew's week as a message.
    #[command(after_help = examples::WEEK)]
    Week(WeekArgs),
    /// Say what each crew puts on which truck, hitches, drops and brings back, half-day by half-day, with boxes to tick; what
    /// is missing, what material is short, what goes inside at night, what lies about at the week's end.
    #[command(after_help = examples::LOAD)]
    Load(LoadArgs),
    /// Say where a thing is, now or in any half-day.
    #[command(name = "where", after_help = examples::WHERE)]
    Where(WhereArgs),
    /// Check a plan from any source against the book, and list every rule that it breaks.
    #[command(after_help = examples::CHECK)]
    Check(CheckArgs),
    /// Say when units of a kind are free together and can be at a place, and how much sooner if other work moves; without
    /// a plan the book is planned afresh.
    #[command(after_help = examples::FREE)]
    Free(FreeArgs),
    /// List the dates by which a job can be finished, and what each does to the others.
    #[command(after_help = examples::OFFER)]
    Offer(OfferArgs),
    /// Say what holds a job, link by link, and on which facts of the book it rests that it is not done sooner.
    #[command(after_help = examples::WHY)]
    Why(WhyArgs),
    /// Say what one more would save: a machine, a crew, a truck, a Saturday, a road without its season.
    #[command(after_help = examples::WORTH)]
    Worth(WorthArgs),
    /// Run a plan through many seasons and say how likely each date is to be kept.
    #[command(after_help = examples::CHANCE)]
    Chance(ChanceArgs),
    /// Ask a few choices between two plans, and set the prices that nobody can name by them.
    #[command(after_help = examples::MATTERS)]
    Matters(MattersArgs),
    /// Write into the book what happened: a step done, a unit moved, a crew away.
    Note(NoteArgs),
    /// Write a storm into the book's weather, or take one back.
    #[command(after_help = examples::STORM)]
    Storm(StormArgs),
    /// Take back the last change that `note`, `storm` or another command made to the book.
    #[command(after_help = examples::UNDO)]
    Undo(UndoArgs),
    /// Turn published alerts and forecasts into weather entries of the book, and show or add them.
    #[command(after_help = examples::WEATHER)]
    Weather(WeatherArgs),
    /// Serve the sheets, the forms and the questions to a browser, from one file.
    #[cfg(feature = "service")]
    #[command(after_help = examples::SERVE)]
    Serve(ServeArgs),
    /// Put the book, and a plan of it, into the service's database as new revisions.
    #[cfg(feature = "service")]
    #[command(after_help = examples::IMPORT)]
    Import(ImportArgs),
    /// Write the service's book and plan to files.
    #[cfg(feature = "service")]
    #[command(after_help = examples::EXPORT)]
    Export(ExportArgs),
    /// Copy the service's database to a new file, also while it serves.
    #[cfg(feature = "service")]
    #[command(after_help = examples::BACKUP)]
    Backup(BackupArgs),
    /// Write a small starter book to a file that does not exist yet.
    #[command(after_help = examples::NEW)]
    New {
        /// The file to write.
        file: PathBuf,
    },
    /// Print the JSON Schema of the book, so that an editor completes and checks it.
    #[command(after_help = examples::SCHEMA)]
    Schema,
    /// Print completions for a shell.
    #[command(after_help = examples::COMPLETIONS)]
    Completions {
        /// The shell.
        shell: Shell,
    },
}

impl Verb {
    /// Whether it serves, and then how its logs are written.
    pub fn serves(&self) -> Option<LogForm> {
        match self {
            #[cfg(feature = "service")]
            Self::Serve(args) => Some(args.log),
            _ => None,
        }
    }
}

/// How logs are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum LogForm {
    /// A line of words.
    Text,
    /// A line of JSON.
    Json,
}

/// What time to plan.
#[derive(Args, Debug)]
pub struct TimeArgs {
    /// The Monday on which the plan begins [default: this week's, on a Saturday or Sunday the next].
    #[arg(long, value_name = "MONDAY", value_parser = date)]
    pub from: Option<NaiveDate>,
    /// The half-day it is now [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day, conflicts_with = "from")]
    pub now: Option<HalfDay>,
    /// How many weeks [range: 1 to 104].
    #[arg(long, value_name = "N", default_value_t = 6, value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_WEEKS)))]
    pub weeks: u32,
}

/// How hard to search.
#[derive(Args, Debug)]
pub struct SearchArgs {
    /// How long to search [default: 20, none with --steps] [range: above 0 to 604800].
    #[arg(long, value_name = "S", value_parser = seconds, allow_negative_numbers = true)]
    pub seconds: Option<f64>,
    /// So many rounds of search instead of seconds: the same book, seed and rounds give the same plan.
    #[arg(long, value_name = "N")]
    pub steps: Option<u64>,
    /// Stop when no plan can be cheaper by more than this share of what the jobs cost that can be done [default: 0%].
    #[arg(long, value_name = "PERCENT", value_parser = percent, allow_hyphen_values = true)]
    pub gap: Option<f64>,
    /// Another number searches in another order.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

/// `plan`.
#[derive(Args, Debug)]
pub struct PlanArgs {
    /// Time.
    #[command(flatten)]
    pub time: TimeArgs,
    /// Effort.
    #[command(flatten)]
    pub search: SearchArgs,
    /// Begin the search with this plan, as far as it still holds.
    #[arg(long, value_name = "PLAN")]
    pub start: Option<PathBuf>,
    /// Print the plan as JSON instead of the calendar.
    #[arg(long)]
    pub json: bool,
    /// Also store the plan here; a plan that is there already is replaced in one piece.
    #[arg(long, value_name = "PLAN")]
    pub out: Option<PathBuf>,
}

/// `replan`.
#[derive(Args, Debug)]
pub struct ReplanArgs {
    /// The plan given out [default: plan.json beside the book].
    #[arg(long, value_name = "PLAN")]
    pub kept: Option<PathBuf>,
    /// Plan from this half-day on; what lies before it is history [default: now by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// How many weeks from the Monday before it [default: as many as the plan given out] [range: 1 to 104].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_WEEKS)))]
    pub weeks: Option<u32>,
    /// Effort.
    #[command(flatten)]
    pub search: SearchArgs,
    /// Look for up to so many really different plans, between least cost and least upset, and list them first.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub choices: Option<u8>,
    /// Which of them to print and store.
    #[arg(long, value_name = "N", default_value_t = 1, requires = "choices")]
    pub choice: usize,
    /// Print the plan as JSON instead of what changed and the calendar.
    #[arg(long)]
    pub json: bool,
    /// Also store the plan here: the one to give out next.
    #[arg(long, value_name = "PLAN")]
    pub out: Option<PathBuf>,
}

/// `week`.
#[derive(Args, Debug)]
pub struct WeekArgs {
    /// The stored plan.
    pub plan: PathBuf,
    /// Only the week that holds this date.
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub week: Option<NaiveDate>,
    /// The half-day it is now; what lies before is history [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Only this crew (its id or name), as short plain text to paste into a message.
    #[arg(long, value_name = "CREW")]
    pub crew: Option<String>,
    /// On paper.
    #[cfg(feature = "service")]
    #[command(flatten)]
    pub paper: PaperArgs,
}

/// `load`.
#[derive(Args, Debug)]
pub struct LoadArgs {
    /// The stored plan.
    pub plan: PathBuf,
    /// The week that holds this date [default: this week's, as far as the plan has it].
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub week: Option<NaiveDate>,
    /// The half-day it is now [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Only this crew (its id or name).
    #[arg(long, value_name = "CREW")]
    pub crew: Option<String>,
    /// Print the lists of all, from now to the week's end, as JSON.
    #[arg(long, conflicts_with = "crew")]
    pub json: bool,
}

/// `where`.
#[derive(Args, Debug)]
pub struct WhereArgs {
    /// The thing, by its id or name.
    pub thing: String,
    /// In this half-day [default: now by the shop's clock, or the plan's first half-day when now is outside the plan].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub at: Option<HalfDay>,
    /// The plan given out [default: plan.json beside the book].
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// Print it as JSON.
    #[arg(long)]
    pub json: bool,
}

/// `check`.
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// The plan.
    pub plan: PathBuf,
    /// The plan given out before it: what changes cost is judged by it (C7), and else taken from the plan.
    #[arg(long, value_name = "PLAN")]
    pub kept: Option<PathBuf>,
    /// The half-day it is now; what lies before is history [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Print what was found as JSON.
    #[arg(long)]
    pub json: bool,
}

fn date(text: &str) -> Result<NaiveDate, String> {
    parse_date(text).map_err(|e| e.to_string())
}

/// Seconds of search where nothing else is asked for.
pub const SECONDS: f64 = 20.0;

/// A half-day; a date alone is its morning.
pub fn half_day(text: &str) -> Result<HalfDay, String> {
    parse_date(text).map(HalfDay::am).or_else(|_| text.parse::<HalfDay>()).map_err(|e| e.to_string())
}

fn seconds(text: &str) -> Result<f64, String> {
    let most = 604_800.0;
    text.parse::<f64>()
        .ok()
        .filter(|s| *s > 0.0 && *s <= most)
        .ok_or_else(|| "write a number of seconds above 0 and up to 604800 (a week)".to_owned())
}

/// A percentage, with its sign or without, as a share of 1.
fn percent(text: &str) -> Result<f64, String> {
    text.trim_end_matches('%')
        .trim_end()
        .parse::<f64>()
        .ok()
        .filter(|percent| (0.0..100.0).contains(percent))
        .map(|percent| percent / 100.0)
        .ok_or_else(|| "write a percentage from 0 up and below 100, as 2%".to_owned())
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;
    #[test]
    fn percent_is_a_share_of_one() {
        assert_eq!(["2%", "2 %", "2", "0.5%"].map(percent), [0.02, 0.02, 0.02, 0.005].map(Ok));
        assert!(["-1%", "100%", "two", "%", "nan"].into_iter().all(|text| percent(text).is_err()));
    }

    #[test]
    fn every_command_has_two_examples_that_it_takes() {
        let mut command = Cli::command();
        command.build();
        for verb in command.get_subcommands().filter(|verb| verb.get_name() != "help") {
            let help = verb.get_after_help().map(ToString::to_string).unwrap_or_default();
            let (_, examples) = help.split_once("Examples:\n").unwrap_or_else(|| panic!("{}: {help}", verb.get_name()));
            let lines: Vec<&str> = examples.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
            assert_eq!(lines.len(), 2, "{}", verb.get_name());
            for line in lines {
                // What is quoted is one word.
                let pieces = line.split('"').enumerate();
                let words: Vec<String> = pieces
                    .flat_map(|(n, piece)| match n % 2 {
                        1 => vec![piece.to_owned()],
                        _ => piece.split_whitespace().map(str::to_owned).collect(),
                    })
                    .collect();
                assert_eq!(words[1], verb.get_name(), "{line}");
                if let Err(e) = Cli::try_parse_from(&words) {
                    panic!("{line}: {e}");
                }
            }
        }
    }

    #[test]
    fn help_tells_the_defaults_and_ranges_that_hold() {
        let mut command = Cli::command();
        command.build();
        let plan = command.find_subcommand("plan").expect("plan");
        let help = |id: &str| {
            let arg = plan.get_arguments().find(|arg| arg.get_id() == id).expect("the option");
            arg.get_help().expect("help").to_string()
        };
        assert!(help("seconds").contains(&format!("[default: {SECONDS}, none with --steps]")));
        assert!(help("weeks").contains(&format!("[range: 1 to {MOST_WEEKS}]")));
        assert!(seconds("604800").is_ok() && seconds("604801").is_err() && help("seconds").contains("to 604800]"));
    }
}
