//! `yardless completions`: what a shell needs to complete the commands.

use clap::CommandFactory;
use clap_complete::Shell;

use crate::answer::Answer;
use crate::args::Cli;

/// Prints the completions.
pub fn run(shell: Shell) -> Answer {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "yardless", &mut text);
    Answer::new(String::from_utf8_lossy(&text))
}
