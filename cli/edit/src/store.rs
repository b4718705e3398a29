//! Replacing the book's file in one piece: whoever reads it, whenever the machine stops, finds the old or the new one.

use std::ffi::OsString;
use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::file;
use crate::left_over::{PREFIX, sweep};
use crate::trouble::{OfBook, OfUndo, Trouble};

/// The file that a book's path leads to, kept from other commands of ours until it is dropped.
pub struct Held {
    /// The name that the user gave.
    name: String,
    /// The file itself, where the name is a link to it.
    file: PathBuf,
    folder: PathBuf,
    metadata: Metadata,
    /// The open folder carries the lock.
    _lock: Option<File>,
}

impl Held {
    /// Finds the file behind the path, and waits until no other command holds it.
    pub fn of(path: &Path) -> Result<Self, Trouble> {
        let name = path.display().to_string();
        let unreadable = |e: io::Error| OfBook::unread(&name, &e);
        let file = fs::canonicalize(path).map_err(unreadable)?;
        let metadata = fs::metadata(&file).map_err(unreadable)?;
        let folder = file.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
        Ok(Self { _lock: locked(&folder), name, file, folder, metadata })
    }

    /// Refuses a file that its owner has protected: replacing it in its folder would go round that.
    pub fn may_be_replaced(&self) -> Result<(), Trouble> {
        if self.metadata.permissions().readonly() {
            return Err(OfBook::WriteProtected { name: self.name.clone() }.into());
        }
        Ok(())
    }

    /// The name that the user gave.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The journal's path: beside the file, with `.undo` after its name.
    pub fn journal(&self) -> PathBuf {
        let mut name = self.file.file_name().map_or_else(OsString::new, OsString::from);
        name.push(".undo");
        self.folder.join(name)
    }

    /// The bytes that stand in the file now.
    pub fn bytes(&self) -> Result<Vec<u8>, Trouble> {
        Ok(file::read(&self.file, yardless_book::MOST_BYTES).map_err(|e| OfBook::unread(&self.name, &e))?)
    }

    /// Replaces the book.
    pub fn replace(&self, bytes: &[u8]) -> Result<(), Trouble> {
        let failed = |e: io::Error| OfBook::Unwritten { to: self.file.display().to_string(), why: e.to_string() };
        Ok(self.in_one_piece(&self.file, bytes).map_err(failed)?)
    }

    /// Replaces the journal.
    pub fn replace_journal(&self, bytes: &[u8]) -> Result<(), Trouble> {
        let to = self.journal();
        let failed = |e: io::Error| OfUndo::Unwritten { to: to.display().to_string(), why: e.to_string() };
        Ok(self.in_one_piece(&to, bytes).map_err(failed)?)
    }

    /// A new file beside the old one takes its place when it is on the disk, with the book's permissions and owner.
    fn in_one_piece(&self, to: &Path, bytes: &[u8]) -> io::Result<()> {
        sweep(&self.folder);
        let mut new = tempfile::Builder::new().prefix(PREFIX).tempfile_in(&self.folder)?;
        new.write_all(bytes)?;
        new.as_file().set_permissions(self.metadata.permissions())?;
        self.give_to_owner(new.path());
        new.as_file().sync_all()?;
        new.persist(to).map_err(|e| e.error)?;
        // Where a folder cannot be synced, the file is whole all the same.
        let _ = File::open(&self.folder).and_then(|folder| folder.sync_all());
        Ok(())
    }

    /// Whoever may not give files away keeps them.
    #[cfg(unix)]
    fn give_to_owner(&self, new: &Path) {
        use std::os::unix::fs::MetadataExt;
        let _ = std::os::unix::fs::chown(new, Some(self.metadata.uid()), Some(self.metadata.gid()));
    }
    #[cfg(not(unix))]
    fn give_to_owner(&self, _: &Path) {}
}

/// A lock on the folder, as the book's own file is replaced; where there is none to be had, commands go on without.
#[cfg(unix)]
fn locked(folder: &Path) -> Option<File> {
    let folder = File::open(folder).ok()?;
    rustix::fs::flock(&folder, rustix::fs::FlockOperation::LockExclusive).ok()?;
    Some(folder)
}
#[cfg(not(unix))]
fn locked(_: &Path) -> Option<File> {
    None
}
