//! What a form sends: its fields and files, from somebody who is signed in, with the key of their session.

use std::fmt::Write;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, FromRequest, Multipart, Request};
use axum::http::{StatusCode, header};

use sha2::{Digest, Sha256};
use tokio::time::timeout;
use tokio_stream::StreamExt;

use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::who::{Somebody, Who, is_signed_in};

/// Most bytes of a body.
const MOST_BYTES: usize = 8_000_000;
/// Most bytes of a body from somebody who is not signed in.
const FEW_BYTES: usize = 16_000;
/// How long that may take to come.
const FEW_TIME: Duration = Duration::from_secs(10);
/// Most fields of a form.
const MOST_FIELDS: usize = 20_000;
/// Most bytes of the first field, before it is known to be the key.
const LONGEST_KEY: usize = 200;
/// The field that carries the session's key; it comes first.
pub const KEY: &str = "key";
/// The field that names the form, so that it is taken once.
pub const FORM: &str = "form";

/// The fields of a form, in their order.
#[derive(Clone, Debug, Default)]
pub struct Fields {
    all: Vec<(String, String)>,
    files: Vec<File>,
    form: String,
}

/// A file that was sent along.
#[derive(Clone, Debug)]
pub struct File {
    /// The field.
    pub field: String,
    /// Its name there.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
}

impl Fields {
    /// The first value of a field, without blanks around it; empty where there is none.
    pub fn get(&self, name: &str) -> &str {
        self.all.iter().find(|(field, _)| field == name).map_or("", |(_, value)| value.trim())
    }
    /// Every value of a field.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.all.iter().filter(move |(field, _)| field == name).map(|(_, value)| value.trim())
    }
    /// Whether a box is ticked.
    pub fn ticked(&self, name: &str) -> bool {
        self.all.iter().any(|(field, _)| field == name)
    }
    /// The names of the fields.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.all.iter().map(|(field, _)| field.as_str())
    }
    /// The files of a field, empty ones left out: a browser sends one where none was chosen.
    pub fn files<'a>(&'a self, field: &'a str) -> impl Iterator<Item = &'a File> {
        self.files.iter().filter(move |file| file.field == field && !file.bytes.is_empty())
    }
    /// What names this form with just this in it: sent again it is taken once, with something else in it anew.
    /// `None`: it has no name.
    pub fn form(&self) -> Option<&str> {
        Some(self.form.as_str()).filter(|form| !form.is_empty())
    }

    fn named(mut self) -> Self {
        let name = self.get(FORM);
        if !name.is_empty() {
            let mut all = Sha256::new();
            for (field, value) in &self.all {
                all.update((field.len() as u64).to_le_bytes());
                all.update(field);
                all.update((value.len() as u64).to_le_bytes());
                all.update(value);
            }
            self.files.iter().for_each(|file| all.update(&file.bytes));
            self.form = all.finalize().iter().fold(String::new(), |mut text, byte| {
                let _ = write!(text, "{byte:02x}");
                text
            });
        }
        self
    }
    /// Fields by themselves, of a form without a name.
    pub fn of(all: Vec<(String, String)>) -> Self {
        Self { all, ..Self::default() }
    }
    /// Their names and values.
    pub fn own(&self) -> Vec<(String, String)> {
        self.all.clone()
    }
    /// The same form with other fields.
    pub fn rewritten(&self, with: impl FnOnce(Vec<(String, String)>) -> Vec<(String, String)>) -> Self {
        Self { all: with(self.all.clone()), ..self.clone() }
    }

    /// A number that the form carries for us.
    pub fn number(&self, name: &str) -> Result<i64, Refusal> {
        self.get(name).parse().map_err(|_| broken(&format!("`{name}` is no number")))
    }

    /// The revision of the book that the form was made from.
    pub fn base(&self) -> Result<i64, Refusal> {
        self.number("base")
    }

    /// Reads the small body of a request from somebody who is not signed in yet.
    pub async fn read_few(request: Request) -> Result<Self, Refusal> {
        timeout(FEW_TIME, Self::read(request, FEW_BYTES, None)).await.unwrap_or_else(|_| Err(too_slow()))
    }

    /// Reads the body of a request, whichever of the two ways a browser sends forms. `key`: what the first field must
    /// be, before any other is read.
    async fn read(request: Request, most: usize, key: Option<&str>) -> Result<Self, Refusal> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or("");
        if kind.starts_with("multipart/form-data") {
            return Self::multipart(request, most, key).await;
        }
        if !kind.starts_with("application/x-www-form-urlencoded") {
            let says = "This is sent as a form.";
            let help = "Send application/x-www-form-urlencoded or multipart/form-data.";
            return Err(Refusal::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "web::media", says, help));
        }
        let bytes = body(request, most, key).await?;
        let all: Vec<(String, String)> = form_urlencoded::parse(&bytes).into_owned().take(MOST_FIELDS + 1).collect();
        if all.len() > MOST_FIELDS { Err(too_large()) } else { Ok(Self { all, ..Self::default() }.named()) }
    }

    async fn multipart(mut request: Request, most: usize, mut key: Option<&str>) -> Result<Self, Refusal> {
        let mut fields = Self::default();
        DefaultBodyLimit::max(most).apply(&mut request);
        let mut parts = Multipart::from_request(request, &()).await.map_err(|e| broken(&e.to_string()))?;
        while let Some(mut part) = parts.next_field().await.map_err(|e| unread(&e))? {
            let field = part.name().unwrap_or_default().to_owned();
            let file = part.file_name().map(str::to_owned);
            let first = key.take();
            if first.is_some() && field != KEY {
                return Err(not_from_here());
            }
            let mut bytes = Vec::new();
            while let Some(chunk) = part.chunk().await.map_err(|e| unread(&e))? {
                bytes.extend_from_slice(&chunk);
                if first.is_some() && bytes.len() > LONGEST_KEY {
                    return Err(not_from_here());
                }
            }
            let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            if let Some(key) = first {
                may_come(text(&bytes).trim(), key)?;
            }
            match file {
                Some(name) => fields.files.push(File { field, name, bytes }),
                None => fields.all.push((field, text(&bytes))),
            }
            if fields.all.len() + fields.files.len() > MOST_FIELDS {
                return Err(too_large());
            }
        }
        match key {
            Some(_) => Err(not_from_here()),
            None => Ok(fields.named()),
        }
    }
}

/// Most bytes of a body from somebody: tables and books are the owner's.
pub fn most_bytes(who: &Who) -> usize {
    if who.owns() { MOST_BYTES } else { FEW_BYTES }
}

/// How long a body says that it is.
fn length(request: &Request) -> Option<u64> {
    request.headers().get(header::CONTENT_LENGTH)?.to_str().ok()?.parse().ok()
}

/// The request with its body at hand, if that is as small as anybody may send: a connection that ends before all of it has
/// come may take the refusal with it. Who is signed in may send it slowly.
pub async fn with_few(desk: &Arc<Desk>, request: Request) -> Result<Request, Refusal> {
    if length(&request).is_none_or(|length| length > FEW_BYTES as u64) {
        return Ok(request);
    }
    let (parts, body) = request.into_parts();
    let mut read = pin!(axum::body::to_bytes(body, FEW_BYTES));
    let bytes = match timeout(FEW_TIME, &mut read).await {
        Ok(bytes) => bytes,
        Err(_) if is_signed_in(&parts, desk).await => read.await,
        Err(_) => return Err(too_slow()),
    };
    let bytes = bytes.map_err(|e| broken(&e.to_string()))?;
    Ok(Request::from_parts(parts, bytes.into()))
}

/// The whole body, at most so many bytes of it. `key`: as of [`Fields::read`].
pub async fn body(request: Request, most: usize, mut key: Option<&str>) -> Result<Vec<u8>, Refusal> {
    if length(&request).is_some_and(|length| length > most as u64) {
        return Err(too_large());
    }
    let mut parts = request.into_body().into_data_stream();
    let mut bytes = Vec::new();
    while let Some(part) = parts.next().await {
        bytes.extend_from_slice(&part.map_err(|e| broken(&e.to_string()))?);
        if bytes.len() > most {
            return Err(too_large());
        }
        if bytes.contains(&b'&') || bytes.len() > LONGEST_KEY {
            key.take().map_or(Ok(()), |key| begins_with(&bytes, key))?;
        }
    }
    key.map_or(Ok(()), |key| begins_with(&bytes, key))?;
    Ok(bytes)
}

fn unread(e: &axum::extract::multipart::MultipartError) -> Refusal {
    if e.status() == StatusCode::PAYLOAD_TOO_LARGE { too_large() } else { broken(&e.body_text()) }
}

fn broken(says: &str) -> Refusal {
    let help = "Open the page again and send the form from there.";
    Refusal::new(StatusCode::BAD_REQUEST, "web::form", format!("The form could not be read: {says}."), help)
}

fn too_large() -> Refusal {
    let says = "More was sent than is taken.".to_owned();
    Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, "web::too-large", says, "Send less at once.")
}

fn too_slow() -> Refusal {
    let says = format!("What was sent took more than {} s.", FEW_TIME.as_secs());
    Refusal::new(StatusCode::REQUEST_TIMEOUT, "web::too-slow", says, "Send it again.")
}

/// A form from somebody, with the key of their session. Who, whether they may, and the key come before what is sent.
pub struct Sent<W> {
    /// Who.
    pub who: W,
    /// What.
    pub fields: Fields,
}

impl<W: Somebody> FromRequest<Arc<Desk>> for Sent<W> {
    type Rejection = Refusal;

    async fn from_request(request: Request, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let (mut parts, body) = request.into_parts();
        let who = W::from_request_parts(&mut parts, desk).await?;
        let (most, key) = (most_bytes(who.who()), who.who().key.clone());
        let body = desk.makes_room(&parts.headers, body, most).await?;
        let fields = Fields::read(Request::from_parts(parts, body), most, Some(&key)).await?;
        Ok(Self { who, fields })
    }
}

/// Refuses a form whose first field is not the session's key.
fn begins_with(bytes: &[u8], key: &str) -> Result<(), Refusal> {
    let first = bytes.split(|byte| *byte == b'&').next().unwrap_or_default();
    match form_urlencoded::parse(first).next() {
        Some((name, value)) if name == KEY => may_come(value.trim(), key),
        _ => Err(not_from_here()),
    }
}

/// Refuses what was not sent from a page of this session.
pub fn may_come(key: &str, of_session: &str) -> Result<(), Refusal> {
    if key == of_session { Ok(()) } else { Err(not_from_here()) }
}

fn not_from_here() -> Refusal {
    let says = "This form is not from a page of yours.";
    Refusal::new(StatusCode::FORBIDDEN, "web::key", says, "Open the page again and send the form from there.")
}

#[cfg(test)]
impl Fields {
    /// Names and values, for a test to look at.
    pub fn pairs(&self) -> Vec<(&str, &str)> {
        self.all.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect()
    }
}
