//! Answers kept in the user's cache folder, so that a server need not send again what has not changed.
//! A server is asked every time; what is kept is used only when it says that nothing has changed.

use std::path::PathBuf;

use etcetera::{BaseStrategy, choose_base_strategy};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use yardless_edit::whole::{May, replace};

/// An answer and how the server knows it again.
pub struct Cached {
    /// Its tag.
    pub etag: Option<String>,
    /// When it was changed last.
    pub last_modified: Option<String>,
    /// What it says.
    pub body: Vec<u8>,
}

/// The folder.
pub struct Cache(PathBuf);

/// The first line of a kept file; the body follows.
#[derive(Serialize, Deserialize)]
struct Head {
    url: String,
    etag: Option<String>,
    last_modified: Option<String>,
    /// SHA-256 of the body: a file that was cut off is not used.
    sha256: String,
}

impl Cache {
    /// The user's cache folder, where there is one.
    pub fn find() -> Option<Self> {
        choose_base_strategy().ok().map(|folders| Self(folders.cache_dir().join("yardless").join("reports")))
    }

    fn file(&self, url: &str) -> PathBuf {
        self.0.join(hex(url.as_bytes()))
    }

    /// What is kept of an address, if it is whole.
    pub fn get(&self, url: &str) -> Option<Cached> {
        let mut bytes = std::fs::read(self.file(url)).ok()?;
        let line = bytes.iter().position(|byte| *byte == b'\n')?;
        let head: Head = serde_json::from_slice(bytes.get(..line)?).ok()?;
        let body = bytes.split_off(line + 1);
        (head.url == url && head.sha256 == hex(&body)).then_some(Cached {
            etag: head.etag,
            last_modified: head.last_modified,
            body,
        })
    }

    /// Keeps an answer that the server can know again; that it could not be kept is no failure.
    pub fn put(&self, url: &str, kept: &Cached) {
        if kept.etag.is_none() && kept.last_modified.is_none() {
            return;
        }
        let head = Head {
            url: url.to_owned(),
            etag: kept.etag.clone(),
            last_modified: kept.last_modified.clone(),
            sha256: hex(&kept.body),
        };
        let stored = std::fs::create_dir_all(&self.0).and_then(|()| {
            let mut bytes = serde_json::to_vec(&head)?;
            bytes.push(b'\n');
            bytes.extend_from_slice(&kept.body);
            replace(&self.file(url), &bytes, May::Private)
        });
        if let Err(e) = stored {
            tracing::info!("what {url} answered could not be kept in {}: {e}", self.0.display());
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .filter_map(|half| char::from_digit(half.into(), 16))
        .collect()
}
