//! The style and the scripts: part of the program, named by what they hold, so that a browser keeps them for good.

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use yardless_book::digest;

use crate::refusal::Refusal;

/// A file that pages ask for.
pub struct Asset {
    name: &'static str,
    kind: &'static str,
    text: &'static str,
}

/// How pages look.
pub const STYLE: Asset =
    Asset { name: "yardless.css", kind: "text/css; charset=utf-8", text: include_str!("../static/yardless.css") };
/// What moves on them; every page does without.
pub const SCRIPT: Asset =
    Asset { name: "yardless.js", kind: "text/javascript; charset=utf-8", text: include_str!("../static/yardless.js") };
/// The sign in a browser's tab.
pub const SIGN: Asset = Asset { name: "sign.svg", kind: "image/svg+xml", text: include_str!("../static/sign.svg") };

impl Asset {
    /// Its address.
    pub fn path(&self) -> String {
        format!("/static/{}/{}", self.version(), self.name)
    }
    fn version(&self) -> String {
        digest(self.text.as_bytes()).chars().take(12).collect()
    }
}

/// The style for a file that stands alone.
pub fn style_alone() -> String {
    STYLE.text.to_owned()
}

/// Gives a file; one of another version of the program is not here.
pub async fn file(Path((version, name)): Path<(String, String)>) -> Result<Response, Refusal> {
    let asset = [STYLE, SCRIPT, SIGN].into_iter().find(|asset| asset.name == name && asset.version() == version);
    let asset = asset.ok_or_else(|| Refusal::missing("There is no such file."))?;
    let head = [(CONTENT_TYPE, asset.kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")];
    Ok((head, asset.text).into_response())
}
