//! The words of the commands that write into the book.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use yardless_book::half_day::HalfDay;

use super::half_day;

const NOTE_FORMS: &str = "\
What can be said:
  JOB/STEP done             it is done: --crew, --with, --way, --start, --end where the plan is wrong
  JOB/STEP left N           it was begun, and N half-days (or labor hours) are left
  JOB/STEP again            it is to be planned again from the start
  UNIT at PLACE             where it stands
  THING at PLACE            where somebody saw it lie, or left it; --by NAME who
  THING in TRUCK            what it was in; a unit likewise
  UNIT out RANGE            in repair or lent; a truck likewise
  CREW away RANGE           all of it, or --people N of it
  UNIT back [HALF-DAY]      back from then on; a truck or a crew likewise
  --until HALF-DAY          all before then went as planned, where nobody said otherwise

A range is a date, a half-day, or two of them with a slash between: \"2026-12-09 pm/2026-12-11\".

Examples:
  yardless note birch-attic/seal left 4
  yardless note \"foam gun 1\" at elm --by Lee";

/// `note`.
#[derive(Args, Debug, Default)]
#[command(after_help = NOTE_FORMS, override_usage = "yardless note [OPTIONS] WHAT SAYS...\n       yardless note [OPTIONS] --until HALF-DAY")]
pub struct NoteArgs {
    /// A job's step, a unit, a crew, a truck or a thing by its id or name, then what is said of it.
    #[arg(value_name = "WHAT SAYS")]
    pub words: Vec<String>,
    /// Everything in the plan given out before this half-day went as planned, where nobody said otherwise.
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day, conflicts_with = "words")]
    pub until: Option<HalfDay>,
    /// Of this step, too, whatever was said of it; once for each step.
    #[arg(long, value_name = "JOB/STEP", requires = "until")]
    pub over: Vec<String>,
    /// The plan last given to the crews [default: plan.json beside the book].
    #[arg(long, value_name = "PLAN")]
    pub kept: Option<PathBuf>,
    /// The crew that did the step, or does it.
    #[arg(long, value_name = "CREW")]
    pub crew: Option<String>,
    /// The crews that help it; "" where nobody does.
    #[arg(long, value_name = "CREW,CREW", value_delimiter = ',')]
    pub with: Option<Vec<String>>,
    /// The way it is done, where the step has several.
    #[arg(long, value_name = "WAY")]
    pub way: Option<String>,
    /// The half-day in which it started.
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub start: Option<HalfDay>,
    /// The half-day in which it ended.
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub end: Option<HalfDay>,
    /// The units that a step in progress holds; "" where it holds none until its crew comes back to it.
    #[arg(long, value_name = "UNIT,UNIT", value_delimiter = ',')]
    pub units: Option<Vec<String>>,
    /// The units of a kind that are parked at the job; once for each kind.
    #[arg(long, value_name = "KIND=UNIT,UNIT")]
    pub parked: Vec<String>,
    /// How many people of the crew are away [default: all].
    #[arg(long, value_name = "N")]
    pub people: Option<u32>,
    /// Who saw the thing there.
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// The list that WHAT belongs to, where several have the id.
    #[arg(long = "as", value_name = "LIST")]
    pub list: Option<ListArg>,
    /// The half-day it is now [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Print what would be changed, and write nothing.
    #[arg(long)]
    pub dry_run: bool,
}

/// A list of the book whose members can be noted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ListArg {
    /// A unit of equipment.
    Unit,
    /// A crew.
    Crew,
    /// A truck.
    Truck,
    /// A thing.
    Thing,
}

/// `storm`.
#[allow(clippy::struct_excessive_bools)] // a flag each
#[derive(Args, Debug)]
pub struct StormArgs {
    /// When: a date, a half-day, or two of them with a slash between, as "2026-12-09 pm/2026-12-11".
    #[arg(value_name = "RANGE", required = true)]
    pub on: Vec<String>,
    /// Where, by the ids of places [default: everywhere].
    #[arg(long, value_name = "PLACE", num_args = 1..)]
    pub at: Vec<String>,
    /// Nobody travels: no work and no hauls.
    #[arg(long)]
    pub no_travel: bool,
    /// The roads are covered: closed to trailers, also where the storm is taken back by a later report.
    #[arg(long)]
    pub covered: bool,
    /// Gusts of so many miles per hour.
    #[arg(long, value_name = "MPH", value_parser = gust, allow_negative_numbers = true)]
    pub gust: Option<f64>,
    /// Take the storm of that range back, with what its reports said of travel, roads and gusts; other reports hold again.
    #[arg(long, conflicts_with_all = ["no_travel", "covered", "gust"])]
    pub clear: bool,
    /// The half-day it is now [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
    /// Print what would be changed, and write nothing.
    #[arg(long)]
    pub dry_run: bool,
}

fn gust(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|mph| mph.is_finite());
    number.ok_or_else(|| "write miles per hour as a number, as 45".to_owned())
}

/// `undo`.
#[derive(Args, Debug)]
pub struct UndoArgs {
    /// Print the changes that can be taken back, the last one first.
    #[arg(long)]
    pub list: bool,
    /// Print what would be taken back, and write nothing.
    #[arg(long)]
    pub dry_run: bool,
}
