//! Secrets, and the digests by which they are known again.

use std::fmt::Write;

use sha2::{Digest, Sha256};
use yardless_edit::trouble::{OfStore, Trouble};

/// A secret that only its holder and nobody here knows: 64 hexadecimal digits.
pub type Token = String;

/// A new secret.
pub fn token() -> Result<Token, Trouble> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|e| OfStore::NoChance { why: e.to_string() })?;
    Ok(hex(&bytes))
}

/// Bytes in hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What is stored of a secret.
pub(super) fn digest(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}
