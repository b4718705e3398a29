//! `yardless storm`: a storm written into the book's weather, or taken back.

use std::path::Path;

use crate::answer::Answer;
use crate::args::StormArgs;
use crate::trouble::Trouble;
use crate::{book_file, storm};

/// Appends the report, or takes one back.
pub fn run(path: &Path, args: &StormArgs) -> Result<Answer, Trouble> {
    let on = storm::range(&args.on)?;
    let file = book_file::read(path)?;
    storm::changes(&file, on, args)?.make(path, &file, args.dry_run)
}
