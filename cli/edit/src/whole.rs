//! Replacing a file in one piece: whoever reads it, whenever the machine stops, finds the old or the new one.

use std::fs::{File, Metadata};
use std::io::{self, Write};
use std::path::Path;

use crate::left_over::{PREFIX, sweep};

/// What may be done with the new file.
#[derive(Clone, Copy, Debug)]
pub enum May<'a> {
    /// The same as with the old one, by the same owner.
    AsBefore(&'a Metadata),
    /// What its maker lets be done with new files.
    AsUsual,
    /// Nothing, but by its maker.
    Private,
}

/// Puts the bytes into a new file beside the old one, which takes its place when it is on the disk.
pub fn replace(to: &Path, bytes: &[u8], may: May) -> io::Result<()> {
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    sweep(folder);
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX);
    #[cfg(unix)]
    if let May::AsUsual = may {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut new = builder.tempfile_in(folder)?;
    new.write_all(bytes)?;
    if let May::AsBefore(old) = may {
        new.as_file().set_permissions(old.permissions())?;
        give_to_owner(new.path(), old);
    }
    new.as_file().sync_all()?;
    new.persist(to).map_err(|e| e.error)?;
    // Where a folder cannot be synced, the file is whole all the same.
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
    Ok(())
}

/// Whoever may not give files away keeps them.
#[cfg(unix)]
fn give_to_owner(new: &Path, old: &Metadata) {
    use std::os::unix::fs::MetadataExt;
    let _ = std::os::unix::fs::chown(new, Some(old.uid()), Some(old.gid()));
}
#[cfg(not(unix))]
fn give_to_owner(_: &Path, _: &Metadata) {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.json");
        replace(&path, b"first", May::AsUsual).expect("written");
        let metadata = std::fs::metadata(&path).expect("it is there");
        replace(&path, b"second", May::AsBefore(&metadata)).expect("replaced");
        assert_eq!(std::fs::read(&path).expect("it reads"), b"second");
        let names: Vec<_> =
            std::fs::read_dir(folder.path()).expect("a folder").flatten().map(|e| e.file_name()).collect();
        assert_eq!(names, ["a.json"]);
        assert!(replace(&folder.path().join("none/b.json"), b"x", May::Private).is_err());
    }
}
