//! What a command that was killed has left behind: files and folders of ours that were to take another one's place.

use std::fs::{self, Metadata};
use std::path::Path;
use std::time::{Duration, SystemTime};

/// How the names of all such files begin.
pub const PREFIX: &str = ".yardless-";
/// Random letters and digits that follow.
const RANDOM: usize = 6;
/// A command that still runs writes to its own file again long before that.
const OLD: Duration = Duration::from_secs(3600);

/// Takes out of a folder what no running command can still be writing. What cannot be taken out stays.
pub fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }) else { return };
    for entry in entries.filter_map(Result::ok).filter(|entry| entry.file_name().to_str().is_some_and(is_ours)) {
        let (path, Ok(metadata)) = (entry.path(), entry.metadata()) else { continue };
        let gone = if metadata.is_dir() {
            let within = fs::read_dir(&path).into_iter().flatten().filter_map(Result::ok);
            let old = is_old(&metadata) && within.filter_map(|of| of.metadata().ok()).all(|of| is_old(&of));
            old.then(|| fs::remove_dir_all(&path))
        } else {
            (metadata.is_file() && is_old(&metadata)).then(|| fs::remove_file(&path))
        };
        if let Some(Ok(())) = gone {
            tracing::info!("took {} away, which a command that was stopped has left", path.display());
        }
    }
}

fn is_ours(name: &str) -> bool {
    name.strip_prefix(PREFIX)
        .is_some_and(|rest| rest.len() == RANDOM && rest.bytes().all(|byte| byte.is_ascii_alphanumeric()))
}

fn is_old(metadata: &Metadata) -> bool {
    let changed = metadata.modified().ok();
    changed.is_some_and(|at| SystemTime::now().duration_since(at).is_ok_and(|since| since >= OLD))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_ours_and_old_is_taken_away() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        let old = SystemTime::now() - 2 * OLD;
        let put = |name: &str, since: SystemTime| {
            fs::write(at(name), "x").expect("written");
            fs::File::open(at(name)).and_then(|file| file.set_modified(since)).expect("dated");
        };
        let new = SystemTime::now();
        for name in [".yardless-aB3dE6", ".yardless-mine", ".yardless-aB3dE6.txt", ".other-aB3dE6", "book.json"] {
            put(name, old);
        }
        put(".yardless-new123", new);
        for (name, since) in [(".yardless-olddir", old), (".yardless-newdir", new)] {
            fs::create_dir(at(name)).expect("made");
            put(&format!("{name}/copy"), since);
            fs::File::open(at(name)).and_then(|file| file.set_modified(old)).expect("dated");
        }
        sweep(folder.path());
        let mut left: Vec<String> = fs::read_dir(folder.path())
            .expect("a folder")
            .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        left.sort();
        let kept = [".other-aB3dE6", ".yardless-aB3dE6.txt", ".yardless-mine", ".yardless-new123", ".yardless-newdir"];
        assert_eq!(left, [&kept[..], &["book.json"]].concat());
    }
}
