//! The file itself: made whole or not at all, never taken for a new one where it is damaged, and its owner's alone.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use yardless_edit::left_over::PREFIX;
use yardless_edit::trouble::{OfStore, Trouble};

use super::{schema, unopened};

/// How every file of SQLite begins, and how long the shortest is.
const HEAD: &[u8; 16] = b"SQLite format 3\0";
const SHORTEST: u64 = 512;

/// Makes the file where there is none; refuses one that cannot be a database, which SQLite would begin anew.
pub fn ready(path: &Path) -> Result<(), Trouble> {
    let metadata = match fs::metadata(path) {
        Ok(metadata) => metadata,
        Err(e) if e.kind() == ErrorKind::NotFound => return make(path),
        Err(e) => return Err(unreadable(path, &e)),
    };
    if metadata.len() == 0 {
        return Err(OfStore::Empty { path: path.display().to_string() }.into());
    }
    let mut head = [0; HEAD.len()];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut head));
    match read {
        Ok(()) if head == *HEAD && metadata.len() >= SHORTEST => Ok(()),
        Err(e) if e.kind() != ErrorKind::UnexpectedEof => Err(unreadable(path, &e)),
        _ => Err(OfStore::NoDatabase { path: path.display().to_string() }.into()),
    }
}

/// The new file takes its place when it is whole: stopped before, it leaves nothing there.
fn make(path: &Path) -> Result<(), Trouble> {
    let log = beside(path, "-wal");
    if fs::metadata(&log).is_ok_and(|log| log.len() > 0) {
        return Err(OfStore::Lost { path: path.display().to_string(), log: log.display().to_string() }.into());
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let failed = |e: io::Error| unreadable(path, &e);
    let within = tempfile::Builder::new().prefix(PREFIX).tempdir_in(folder).map_err(failed)?;
    let new = tempfile::Builder::new().tempfile_in(within.path()).map_err(failed)?.into_temp_path();
    let mut connection = Connection::open(&new).map_err(|e| unopened(path, &e))?;
    schema::bring_up(&mut connection, path)?;
    connection.close().map_err(|(_, e)| unopened(path, &e))?;
    File::open(&new).and_then(|file| file.sync_all()).map_err(failed)?;
    match new.persist_noclobber(path) {
        Ok(()) => {}
        // Another program was quicker.
        Err(e) if e.error.kind() == ErrorKind::AlreadyExists => {}
        Err(e) => return Err(failed(e.error)),
    }
    // Where a folder cannot be synced, the file is whole all the same.
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
    Ok(())
}

/// Nobody but its owner reads the database, nor what stands beside it.
pub fn keep_private(path: &Path) {
    for end in ["", "-wal", "-shm"] {
        let file = beside(path, end);
        if let Err(e) = private(&file)
            && e.kind() != ErrorKind::NotFound
        {
            tracing::warn!("others may read {}: {e}", file.display());
        }
    }
}

/// Takes from everybody but its owner what they may do with a file.
#[cfg(unix)]
pub fn private(file: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = fs::metadata(file)?.permissions().mode();
    let own = mode & 0o700;
    if mode & 0o777 == own { Ok(()) } else { fs::set_permissions(file, fs::Permissions::from_mode(own)) }
}
#[cfg(not(unix))]
pub fn private(_: &Path) -> io::Result<()> {
    Ok(())
}

fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    name.into()
}

fn unreadable(path: &Path, e: &io::Error) -> Trouble {
    OfStore::Unreadable { path: path.display().to_string(), why: e.to_string() }.into()
}

#[cfg(test)]
mod tests {
    use super::super::Store;
    use super::*;

    #[test]
    fn damaged_file_is_never_taken_for_a_new_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.db");
        drop(Store::open(&path).expect("a store"));
        let whole = fs::read(&path).expect("bytes");
        for (bytes, says) in [
            (&whole[..0], "is empty"),
            (&whole[..1], "only the beginning"),
            (&whole[..100], "only the beginning"),
            (&[0; 4096][..], "only the beginning"),
        ] {
            fs::write(&path, bytes).expect("written");
            let refused = Store::open(&path).err().expect("refused").in_one_line();
            assert!(refused.contains(says), "{refused}");
            assert_eq!(fs::read(&path).expect("bytes"), bytes, "it is left as it is");
        }
        fs::remove_file(&path).expect("gone");
        fs::write(beside(&path, "-wal"), "changes").expect("written");
        let refused = Store::open(&path).err().expect("refused").in_one_line();
        assert!(refused.contains("is not there") && !path.exists(), "{refused}");
    }

    #[cfg(unix)]
    #[test]
    fn database_and_what_stands_beside_it_are_their_owners_alone() {
        use std::os::unix::fs::PermissionsExt;

        use super::super::Kind;
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.db");
        let copy = folder.path().join("copy.db");
        let modes = || -> Vec<u32> {
            let files = [path.clone(), beside(&path, "-wal"), beside(&path, "-shm"), copy.clone()];
            files.iter().map(|file| fs::metadata(file).expect("a file").permissions().mode() & 0o777).collect()
        };
        let store = Store::open(&path).expect("a store");
        store.add(Kind::Book, None, "a test", "a book", "{}", None).expect("added");
        store.backup(&copy).expect("copied");
        assert_eq!(modes(), [0o600; 4]);
        // One that others could read so far.
        for end in ["", "-wal", "-shm"] {
            fs::set_permissions(beside(&path, end), fs::Permissions::from_mode(0o644)).expect("set");
        }
        let _again = Store::open(&path).expect("a store");
        assert_eq!(modes(), [0o600; 4]);
    }
}
