//! The style, the scripts and the fonts: part of the program, named by what they hold, so that a browser keeps them for good.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use yardless_book::digest;

use crate::refusal::Refusal;

/// A file that pages ask for.
pub struct Asset {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

macro_rules! asset {
    ($name:literal, $kind:literal) => {
        Asset { name: $name, kind: $kind, bytes: include_bytes!(concat!("../static/", $name)) }
    };
    (font $name:literal) => {
        Asset { name: $name, kind: "font/woff2", bytes: include_bytes!(concat!("../static/fonts/", $name)) }
    };
}

/// How pages look.
pub const STYLE: Asset = asset!("yardless.css", "text/css; charset=utf-8");
/// What moves on them; every page does without.
pub const SCRIPT: Asset = asset!("yardless.js", "text/javascript; charset=utf-8");
/// The sign in a browser's tab.
pub const SIGN: Asset = asset!("sign.svg", "image/svg+xml");
/// What the style sets its words in, named there without a folder.
const FONTS: [Asset; 3] = [asset!(font "sans.woff2"), asset!(font "sans-bold.woff2"), asset!(font "serif.woff2")];

/// One version for all, so that the style finds its fonts beside it.
static VERSION: LazyLock<String> = LazyLock::new(|| {
    let all: Vec<&[u8]> = [STYLE, SCRIPT, SIGN].into_iter().chain(FONTS).map(|asset| asset.bytes).collect();
    digest(&all.concat()).chars().take(12).collect()
});

impl Asset {
    /// Its address.
    pub fn path(&self) -> String {
        format!("/static/{}/{}", *VERSION, self.name)
    }
}

/// The style for a file that stands alone, with the fonts in it.
pub fn style_alone() -> String {
    let mut style = String::from_utf8_lossy(STYLE.bytes).into_owned();
    for font in FONTS {
        let within = format!("url(data:{};base64,{})", font.kind, STANDARD.encode(font.bytes));
        style = style.replace(&format!("url({})", font.name), &within);
    }
    style
}

/// Gives a file; one of another version of the program is not here.
pub async fn file(Path((version, name)): Path<(String, String)>) -> Result<Response, Refusal> {
    let mut all = [STYLE, SCRIPT, SIGN].into_iter().chain(FONTS);
    let asset = all.find(|asset| asset.name == name && *VERSION == version);
    let asset = asset.ok_or_else(|| Refusal::missing("There is no such file."))?;
    let head = [(CONTENT_TYPE, asset.kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")];
    Ok((head, asset.bytes).into_response())
}
