//! `yardless`: a book in, a checked calendar out.

mod answer;
mod args;
mod asked;
mod book_file;
mod command;
mod edit;
mod exit;
mod fetch;
mod named;
mod plan_file;
mod search;
mod trouble;
mod view;

use std::io::IsTerminal;
use std::process::ExitCode;

use clap::Parser;
use tracing_subscriber::EnvFilter;

use crate::args::Cli;
use crate::exit::Exit;

fn main() -> ExitCode {
    let cli = Cli::parse();
    log(cli.verbose);
    match command::run(&cli) {
        Ok(answer) => match answer.give() {
            Ok(()) => answer.exit.into(),
            Err(e) => {
                tracing::error!("the result could not be written: {e}");
                Exit::OurFailure.into()
            }
        },
        Err(trouble) => {
            trouble.tell();
            trouble.exit().into()
        }
    }
}

/// Logs go to stderr: `RUST_LOG` decides, else `-v`.
fn log(verbose: u8) {
    // HiGHS warns each time a slice of the search ends: no news to anyone who has not asked for it.
    let level = ["warn,highs=error", "info", "debug", "trace"][usize::from(verbose.min(3))];
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(level));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal())
        .without_time()
        .init();
}
