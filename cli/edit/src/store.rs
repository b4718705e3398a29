//! The book's file, held while it is changed: read, protected by its owner or not, and replaced with its journal.

use std::ffi::OsString;
use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Path, PathBuf};

use crate::file;
use crate::trouble::{OfBook, OfUndo, Trouble};
use crate::whole::{May, replace};

/// The file that a book's path leads to, kept from other commands of ours until it is dropped.
pub struct LockedFile {
    /// The name that the user gave.
    name: String,
    /// The file itself, where the name is a link to it.
    file: PathBuf,
    folder: PathBuf,
    metadata: Metadata,
    /// The open folder carries the lock.
    _lock: Option<File>,
}

impl LockedFile {
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
        Ok(replace(&self.file, bytes, May::AsBefore(&self.metadata)).map_err(failed)?)
    }

    /// Replaces the journal.
    pub fn replace_journal(&self, bytes: &[u8]) -> Result<(), Trouble> {
        let to = self.journal();
        let failed = |e: io::Error| OfUndo::Unwritten { to: to.display().to_string(), why: e.to_string() };
        Ok(replace(&to, bytes, May::AsBefore(&self.metadata)).map_err(failed)?)
    }
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
