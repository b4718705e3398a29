//! `yardless export`: the service's book and plan as files that every other command reads.

use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};

use yardless_edit::trouble::{OfCommand, OfStore, Trouble};
use yardless_service::store::{Kind, Store};

use crate::answer::Answer;
use crate::args::ExportArgs;

/// Writes what there is, never over anything.
pub fn run(args: &ExportArgs) -> Result<Answer, Trouble> {
    let store = Store::open_existing(&args.db.db)?;
    let mut text = String::new();
    for kind in [Kind::Book, Kind::Plan] {
        let Some((revision, of)) = store.latest(kind)? else { continue };
        let path = args.folder.join(format!("{}.json", kind.name()));
        let name = path.display();
        let written = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&path)
            .and_then(|mut file| file.write_all(of.as_bytes()).and_then(|()| file.sync_all()));
        match written {
            Ok(()) => {
                let _ = writeln!(text, "Wrote {name}: state {} of the {}.", revision.number, kind.name());
            }
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {
                return Err(OfCommand::CopyExists { name: name.to_string() }.into());
            }
            Err(e) => {
                return Err(OfCommand::CopyUnwritten { name: name.to_string(), why: e.to_string() }.into());
            }
        }
    }
    if text.is_empty() {
        return Err(OfStore::NoBook { path: args.db.db.display().to_string() }.into());
    }
    Ok(Answer::new(text))
}
