//! `yardless`: a book in, a checked calendar out.

mod answer;
mod args;
#[cfg(feature = "service")]
mod browser;
#[cfg(feature = "fetch")]
mod cache;
mod changed;
mod command;
#[cfg(feature = "drawn")]
mod drawn;
#[cfg(feature = "drawn")]
mod excerpts;
mod exit;
#[cfg(feature = "fetch")]
mod fetch;
mod listed;
mod search;
mod source;
mod told;
mod written;

use std::io::IsTerminal;
use std::process::ExitCode;

use clap::Parser;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

use crate::args::Cli;
use crate::exit::Exit;

fn main() -> ExitCode {
    let cli = Cli::parse();
    log(&cli);
    match command::run(&cli) {
        Ok(answer) => match answer.give() {
            Ok(()) => answer.exit.into(),
            Err(e) => {
                tracing::error!("the result could not be written: {e}");
                Exit::OurFailure.into()
            }
        },
        Err(trouble) => {
            told::tell(&trouble);
            Exit::from(trouble.cause()).into()
        }
    }
}

/// Logs go to stderr: `RUST_LOG` decides, else `-v`. The service tells each request.
fn log(cli: &Cli) {
    let serves = cli.verb.serves();
    // HiGHS warns each time a slice of the search ends: no news to anyone who has not asked for it.
    let levels = ["warn,highs=error", "info,highs=error", "debug", "trace"];
    let level = levels[(usize::from(cli.verbose) + usize::from(serves.is_some())).min(3)];
    let asked = std::env::var("RUST_LOG").ok().and_then(|levels| levels.parse::<Targets>().ok());
    let filter = asked.or_else(|| level.parse().ok()).unwrap_or_default();
    let lines = || tracing_subscriber::fmt::layer().with_writer(std::io::stderr);
    let coloured = std::io::stderr().is_terminal();
    let log = tracing_subscriber::registry().with(filter);
    match serves {
        #[cfg(feature = "service")]
        Some(args::LogForm::Json) => log.with(lines().json().flatten_event(true)).init(),
        Some(_) => log.with(lines().with_ansi(coloured)).init(),
        None => log.with(lines().with_ansi(coloured).without_time()).init(),
    }
}
