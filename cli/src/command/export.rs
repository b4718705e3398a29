//! `yardless export`: the service's book and plan as files that every other command reads.

use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};

use yardless_edit::trouble::Trouble;
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
                let _ = writeln!(text, "Wrote {name}: revision {} of the {}.", revision.number, kind.name());
            }
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {
                let says = format!("`{name}` is there already; it was left as it is");
                return Err(Trouble::input("export::exists", says, "name a folder without it"));
            }
            Err(e) => {
                let says = format!("`{name}` could not be written: {e}");
                return Err(Trouble::input(
                    "export::unwritten",
                    says,
                    "name a folder that exists and may be written to",
                ));
            }
        }
    }
    if text.is_empty() {
        let says = format!("`{}` holds no book yet", args.db.db.display());
        return Err(Trouble::input("export::nothing", says, "`yardless import` puts one in"));
    }
    Ok(Answer::new(text))
}
