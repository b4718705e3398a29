//! What a form sends: its fields and files, from somebody who is signed in, with the key of their session.

use std::fmt::Write;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{FromRequest, Multipart, Request};
use axum::http::{StatusCode, header};

use sha2::{Digest, Sha256};
use tokio::time::timeout;

use super::desk::Desk;
use super::refusal::Refusal;
use super::who::Somebody;

/// Most bytes of a body.
pub const MOST_BYTES: usize = 8_000_000;
/// Most bytes of a body from somebody who is not signed in.
const FEW_BYTES: usize = 16_000;
/// How long it may take to come.
const FEW_TIME: Duration = Duration::from_secs(10);
/// Most fields of a form.
const MOST_FIELDS: usize = 20_000;
/// The field that carries the session's key.
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
    /// A number that the form carries for us.
    pub fn number(&self, name: &str) -> Result<i64, Refusal> {
        self.get(name).parse().map_err(|_| broken(&format!("`{name}` is no number")))
    }

    /// Reads the small body of a request from somebody who is not signed in yet.
    pub async fn read_few(request: Request) -> Result<Self, Refusal> {
        let (parts, body) = request.into_parts();
        let read = timeout(FEW_TIME, axum::body::to_bytes(body, FEW_BYTES)).await;
        let bytes = read.map_err(|_| too_slow())?.map_err(|_| too_large())?;
        Self::read(Request::from_parts(parts, bytes.into())).await
    }

    /// Reads the body of a request, whichever of the two ways a browser sends forms.
    pub async fn read(request: Request) -> Result<Self, Refusal> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or("");
        if kind.starts_with("multipart/form-data") {
            return Self::multipart(request).await;
        }
        if !kind.starts_with("application/x-www-form-urlencoded") {
            let says = "This is sent as a form.";
            let help = "Send application/x-www-form-urlencoded or multipart/form-data.";
            return Err(Refusal::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "web::media", says, help));
        }
        let bytes = axum::body::to_bytes(request.into_body(), MOST_BYTES).await.map_err(|_| too_large())?;
        let all: Vec<(String, String)> = form_urlencoded::parse(&bytes).into_owned().take(MOST_FIELDS + 1).collect();
        if all.len() > MOST_FIELDS { Err(too_large()) } else { Ok(Self { all, ..Self::default() }.named()) }
    }

    async fn multipart(request: Request) -> Result<Self, Refusal> {
        let mut fields = Self::default();
        let mut parts = Multipart::from_request(request, &()).await.map_err(|e| broken(&e.to_string()))?;
        let mut left = MOST_BYTES;
        while let Some(mut part) = parts.next_field().await.map_err(|e| unread(&e))? {
            let field = part.name().unwrap_or_default().to_owned();
            let file = part.file_name().map(str::to_owned);
            let mut bytes = Vec::new();
            while let Some(chunk) = part.chunk().await.map_err(|e| unread(&e))? {
                left = left.checked_sub(chunk.len()).ok_or_else(too_large)?;
                bytes.extend_from_slice(&chunk);
            }
            match file {
                Some(name) => fields.files.push(File { field, name, bytes }),
                None => fields.all.push((field, String::from_utf8_lossy(&bytes).into_owned())),
            }
            if fields.all.len() + fields.files.len() > MOST_FIELDS {
                return Err(too_large());
            }
        }
        Ok(fields.named())
    }
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

/// A form from somebody, with the key of their session.
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
        let body = desk.makes_room(&parts.headers, body).await?;
        let fields = Fields::read(Request::from_parts(parts, body)).await?;
        may_come(fields.get(KEY), &who.who().key)?;
        Ok(Self { who, fields })
    }
}

/// Refuses what was not sent from a page of this session.
pub fn may_come(key: &str, of_session: &str) -> Result<(), Refusal> {
    if key == of_session {
        return Ok(());
    }
    let says = "This form is not from a page of yours.";
    Err(Refusal::new(StatusCode::FORBIDDEN, "web::key", says, "Open the page again and send the form from there."))
}

#[cfg(test)]
impl Fields {
    /// Fields as a test gives them.
    pub fn of(all: Vec<(String, String)>) -> Self {
        Self { all, ..Self::default() }
    }
}
