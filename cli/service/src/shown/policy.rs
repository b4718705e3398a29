//! What a page may load and do: a browser is told of it with every answer.

use axum::http::HeaderValue;
use axum::http::header::CONTENT_SECURITY_POLICY;
use axum::response::Response;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

/// Everything comes from here, nothing is drawn elsewhere.
const FIRST: &str = "default-src 'none'; style-src 'self'";
const REST: &str = "; script-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; form-action 'self'; \
    base-uri 'none'; frame-ancestors 'none'";

/// Of pages whose style is the service's alone.
pub fn usual() -> HeaderValue {
    HeaderValue::try_from(format!("{FIRST}{REST}")).unwrap_or(HeaderValue::from_static("default-src 'none'"))
}

/// A page with a style of its own, by which it is named.
pub fn with_style(style: &str, mut response: Response) -> Response {
    let digest = STANDARD.encode(Sha256::digest(style.as_bytes()));
    if let Ok(policy) = HeaderValue::try_from(format!("{FIRST} 'sha256-{digest}'{REST}")) {
        response.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    }
    response
}
