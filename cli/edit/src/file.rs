//! A file that the user named, read whole where it is a file and not too large.

use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;

/// The bytes of a file, of one with more than `most` only the first `most` and one: whoever reads them refuses those. A
/// folder, a pipe or a device is refused before it is opened, as either may never end.
pub fn read(path: &Path, most: usize) -> io::Result<Vec<u8>> {
    let metadata = std::fs::metadata(path)?;
    if metadata.is_dir() {
        return Err(io::Error::new(ErrorKind::IsADirectory, "it is a folder"));
    }
    if !metadata.is_file() {
        return Err(io::Error::other("it is a pipe or a device, not a file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(most as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
