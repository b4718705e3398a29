//! The service's one file: books and plans as revisions, and who may sign in.
//!
//! SQLite with a write-ahead log, every write on the disk before it is acknowledged. Nothing is overwritten: a change is
//! a new revision. One connection writes, another reads; both are used by one thread at a time.

mod accounts;
mod devices;
mod file;
mod revisions;
mod role;
mod schema;
mod sessions;
mod token;
mod told;

pub use accounts::Account;
pub use devices::{KNOWN, Wrong};
pub use revisions::{Added, Kind, NewText, Revision};
pub use role::Role;
pub use sessions::{Entered, SIGNED_IN};
pub use token::{Token, token};
pub use told::{Told, Waiting};

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use chrono::{DateTime, SubsecRound, Utc};
use rusqlite::{Connection, ErrorCode, OpenFlags};
use tokio::sync::watch;
use yardless_edit::clock;
use yardless_edit::left_over::{PREFIX, sweep};
use yardless_edit::trouble::{OfStore, Trouble};

/// The open file.
pub struct Store {
    path: PathBuf,
    writer: Mutex<Connection>,
    reader: Mutex<Connection>,
    /// Told whenever somebody is signed out.
    pub signed_out: watch::Sender<()>,
}

/// How long one waits for another program that writes; and for one that keeps others from reading, which is rare.
const PATIENCE: Duration = Duration::from_secs(5);
const TO_READ: Duration = Duration::from_secs(1);

impl Store {
    /// Opens the file, made where there is none, brought up to the newest schema.
    pub fn open(path: &Path) -> Result<Self, Trouble> {
        let failed = |e: rusqlite::Error| unopened(path, &e);
        sweep(path.parent().unwrap_or(Path::new(".")));
        file::ready(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut writer = Connection::open_with_flags(path, flags).map_err(failed)?;
        writer.busy_timeout(PATIENCE).map_err(failed)?;
        schema::is_ours(&writer, path)?;
        file::keep_private(path);
        writer
            .execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;")
            .map_err(failed)?;
        schema::bring_up(&mut writer, path)?;
        let reader = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(failed)?;
        reader.busy_timeout(TO_READ).map_err(failed)?;
        Ok(Self {
            path: path.to_owned(),
            writer: Mutex::new(writer),
            reader: Mutex::new(reader),
            signed_out: watch::Sender::new(()),
        })
    }

    /// The same, of a file that must be there.
    pub fn open_existing(path: &Path) -> Result<Self, Trouble> {
        if path.exists() {
            return Self::open(path);
        }
        Err(OfStore::Missing { path: path.display().to_string() }.into())
    }

    /// Writes a copy of the whole file, as of now, whatever is written meanwhile.
    pub fn backup(&self, to: &Path) -> Result<(), Trouble> {
        let name = || to.display().to_string();
        let unwritten = |why: String| OfStore::BackupUnwritten { to: name(), why };
        if to.exists() {
            return Err(OfStore::BackupExists { to: name() }.into());
        }
        let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let new = tempfile::Builder::new().prefix(PREFIX).tempdir_in(folder).map_err(|e| unwritten(e.to_string()))?;
        let copy = new.path().join("copy");
        self.reader().execute("VACUUM INTO ?1", [copy.to_string_lossy()]).map_err(|e| unwritten(e.to_string()))?;
        file::private(&copy)
            .and_then(|()| std::fs::File::open(&copy))
            .and_then(|file| file.sync_all())
            .and_then(|()| std::fs::rename(&copy, to))
            .map_err(|e| unwritten(e.to_string()).into())
    }

    fn writer(&self) -> MutexGuard<'_, Connection> {
        // A panic within a transaction rolls it back: the connection is as good as before.
        self.writer.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn reader(&self) -> MutexGuard<'_, Connection> {
        self.reader.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn failed(&self, e: &rusqlite::Error) -> Trouble {
        let path = self.path.display().to_string();
        if matches!(e.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked)) {
            return OfStore::Busy { path }.into();
        }
        OfStore::Failed { path, why: e.to_string() }.into()
    }
}

fn unopened(path: &Path, e: &rusqlite::Error) -> Trouble {
    OfStore::Unreadable { path: path.display().to_string(), why: e.to_string() }.into()
}

/// Now, to the second: what is stored is what is shown.
fn now() -> DateTime<Utc> {
    clock::now().trunc_subsecs(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn backup_is_whole_and_never_replaces_anything() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        store.add(Kind::Book, None, "a test", "a book", "{}", None).expect("added");
        let copy = folder.path().join("copy.db");
        store.backup(&copy).expect("copied");
        assert!(store.backup(&copy).is_err(), "a second time");
        let of_copy = Store::open(&copy).expect("the copy");
        assert_eq!(of_copy.latest(Kind::Book).expect("read").map(|(_, text)| text).as_deref(), Some("{}"));
        assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").filter(is_left_over).count(), 0);
    }

    fn is_left_over(entry: &std::io::Result<std::fs::DirEntry>) -> bool {
        entry.as_ref().is_ok_and(|entry| entry.file_name().to_string_lossy().starts_with(".yardless-"))
    }

    #[test]
    fn file_of_another_program_is_refused_and_left_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        let other = folder.path().join("other.db");
        Connection::open(&other).and_then(|c| c.execute_batch("CREATE TABLE t (a)")).expect("made");
        let before = std::fs::read(&other).expect("bytes");
        let refused = Store::open(&other).err().expect("refused");
        assert!(matches!(refused, Trouble::Store(OfStore::Other { .. })), "{refused:?}");
        assert_eq!(std::fs::read(&other).expect("bytes"), before);
        std::fs::write(
            &other,
            "not a database at all, but longer than a header of one hundred bytes, to be sure of it: xxxxx",
        )
        .expect("written");
        assert!(Store::open(&other).is_err());
        assert!(Store::open_existing(&folder.path().join("none.db")).is_err());
    }
}
