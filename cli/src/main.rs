//! `yardless`: a book in, a checked calendar out.

mod answer;
mod args;
mod command;
mod excerpts;
mod exit;
mod fetch;
mod listed;
mod search;
mod told;
mod written;

use std::io::IsTerminal;
use std::process::ExitCode;

use clap::Parser;
use tracing_subscriber::EnvFilter;

use crate::args::{Cli, LogForm, Verb};
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
    let serves = match &cli.verb {
        Verb::Serve(args) => Some(args.log),
        _ => None,
    };
    // HiGHS warns each time a slice of the search ends: no news to anyone who has not asked for it.
    let levels = ["warn,highs=error", "info,highs=error", "debug", "trace"];
    let level = levels[(usize::from(cli.verbose) + usize::from(serves.is_some())).min(3)];
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(level));
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    match serves {
        Some(LogForm::Json) => log.json().flatten_event(true).init(),
        Some(LogForm::Text) => log.with_ansi(std::io::stderr().is_terminal()).init(),
        None => log.with_ansi(std::io::stderr().is_terminal()).without_time().init(),
    }
}
