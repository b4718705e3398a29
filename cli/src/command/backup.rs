//! `yardless backup`: a copy of the service's database, also while it serves.

use yardless_edit::trouble::Trouble;
use yardless_service::store::Store;

use crate::answer::Answer;
use crate::args::BackupArgs;

/// Writes the copy, whole or not at all.
pub fn run(args: &BackupArgs) -> Result<Answer, Trouble> {
    Store::open_existing(&args.db.db)?.backup(&args.file)?;
    Ok(Answer::new(format!("Copied {} to {}.\n", args.db.db.display(), args.file.display())))
}
