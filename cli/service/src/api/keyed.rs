//! What the API takes: who asks with their key, and bodies of JSON.

use std::sync::Arc;

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use schemars::JsonSchema;
use serde::de::DeserializeOwned;

use super::document::{Operation, Schemas, Takes};
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::sent::{body, may_come, most_bytes};
use crate::request::who::{Owns, Reads, Signed, Somebody};

/// Somebody whose request carries the key of their session: it may change something.
pub struct Keyed<W>(pub W);

impl<W: Somebody> FromRequestParts<Arc<Desk>> for Keyed<W> {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let who = W::from_request_parts(parts, desk).await?;
        let key = parts.headers.get("x-key").and_then(|key| key.to_str().ok()).unwrap_or_default();
        may_come(key, &who.who().key)?;
        parts.extensions.insert(MaySend(most_bytes(who.who())));
        Ok(Self(who))
    }
}

/// Left by [`Keyed`]: how many bytes this request's body may have. Without it no body is read.
#[derive(Clone, Copy)]
struct MaySend(usize);

/// A body of JSON, from somebody who is [`Keyed`]; what cannot be read is told as every refusal is.
pub struct Body<T>(pub T);

impl<T: DeserializeOwned + Send + 'static> FromRequest<Arc<Desk>> for Body<T> {
    type Rejection = Refusal;

    async fn from_request(request: Request, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or("");
        if !kind.starts_with("application/json") {
            let help = "Send application/json.";
            return Err(Refusal::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "web::media", "This is sent as JSON.", help));
        }
        let MaySend(most) = request
            .extensions()
            .get()
            .copied()
            .ok_or_else(|| Refusal::ours("web::unkeyed", "a body is read before the key"))?;
        let (parts, sent) = request.into_parts();
        let sent = desk.makes_room(&parts.headers, sent, most).await?;
        let bytes = body(Request::from_parts(parts, sent), most, None).await?;
        let help = "The OpenAPI document at /api/openapi.json says what is sent here.";
        let bytes_sent = bytes.len();
        // A list would be read as an object's fields in their order.
        if bytes.iter().find(|byte| !byte.is_ascii_whitespace()) != Some(&b'{') {
            return Err(Refusal::input("web::json", "The body is not what is sent here: no object.", help));
        }
        let read = move || {
            let wrong = |e| Refusal::input("web::json", format!("The body is not what is sent here: {e}."), help);
            serde_json::from_slice(&bytes).map(Self).map_err(wrong)
        };
        desk.read(bytes_sent, read).await
    }
}

impl<W> Takes for Keyed<W> {}
impl Takes for Signed {}
impl Takes for Reads {}
impl Takes for Owns {}

impl<T: JsonSchema> Takes for Body<T> {
    fn tell(schemas: &mut Schemas, operation: &mut Operation) {
        operation.body::<T>(schemas);
    }
}
