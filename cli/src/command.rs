//! The verbs of the command line, a file each.

#[cfg(feature = "service")]
mod backup;
mod chance;
mod check;
mod completions;
#[cfg(feature = "service")]
mod export;
mod free;
#[cfg(feature = "service")]
mod import;
mod load;
mod matters;
mod new;
mod note;
mod offer;
#[cfg(feature = "service")]
mod paper;
mod plan;
mod replan;
mod schema;
#[cfg(feature = "service")]
mod serve;
mod storm;
mod undo;
mod weather;
mod week;
mod where_is;
mod why;
mod worth;

use yardless_edit::trouble::Trouble;

use crate::answer::Answer;
use crate::args::{Cli, Verb};

/// Does what was asked for.
pub fn run(cli: &Cli) -> Result<Answer, Trouble> {
    match &cli.verb {
        Verb::Plan(args) => plan::run(&cli.book, args),
        Verb::Replan(args) => replan::run(&cli.book, args),
        Verb::Week(args) => week::run(&cli.book, args),
        Verb::Load(args) => load::run(&cli.book, args),
        Verb::Where(args) => where_is::run(&cli.book, args),
        Verb::Check(args) => check::run(&cli.book, args),
        Verb::Free(args) => free::run(&cli.book, args),
        Verb::Offer(args) => offer::run(&cli.book, args),
        Verb::Why(args) => why::run(&cli.book, args),
        Verb::Worth(args) => worth::run(&cli.book, args),
        Verb::Chance(args) => chance::run(&cli.book, args),
        Verb::Matters(args) => matters::run(&cli.book, args),
        Verb::Note(args) => note::run(&cli.book, args),
        Verb::Storm(args) => storm::run(&cli.book, args),
        Verb::Undo(args) => undo::run(&cli.book, args),
        Verb::Weather(args) => weather::run(&cli.book, args),
        #[cfg(feature = "service")]
        Verb::Serve(args) => serve::run(&cli.book, args),
        #[cfg(feature = "service")]
        Verb::Import(args) => import::run(&cli.book, args),
        #[cfg(feature = "service")]
        Verb::Export(args) => export::run(args),
        #[cfg(feature = "service")]
        Verb::Backup(args) => backup::run(args),
        Verb::New { file } => new::run(file),
        Verb::Schema => Ok(schema::run()),
        Verb::Completions { shell } => Ok(completions::run(*shell)),
    }
}
