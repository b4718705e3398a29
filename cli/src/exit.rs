//! How a run ends: the one table of exit codes.

use std::process::ExitCode;

use yardless_edit::trouble::Cause;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// What was asked for is done.
    Done = 0,
    /// The program's own failure, or the machine's: the input was right.
    OurFailure = 1,
    /// The command, the book or another file given is wrong.
    BadInput = 2,
    /// The plan given does not hold by its book.
    DoesNotHold = 3,
}

/// The table as printed under `--help`; the README carries the same four lines.
pub const TABLE: &str = "\
Exit codes:
  0  done
  1  our failure
  2  usage or bad input
  3  the plan does not hold";

impl From<Cause> for Exit {
    fn from(cause: Cause) -> Self {
        match cause {
            Cause::OurFailure => Self::OurFailure,
            Cause::BadInput => Self::BadInput,
            Cause::DoesNotHold => Self::DoesNotHold,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
