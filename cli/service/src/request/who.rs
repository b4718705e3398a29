//! Who asks: read from the cookie, once a request, as what the handler's own signature asks for.

use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use crate::desk::Desk;
use crate::gate::room::Place;
use crate::refusal::Refusal;
use crate::request::cookies;
use crate::store::{Account, Role, Token};

/// Somebody who is signed in.
#[derive(Clone, Debug)]
pub struct Who {
    /// The account.
    pub account: Account,
    /// What every form of this session carries.
    pub key: String,
    /// The session itself.
    pub token: Token,
}

impl Who {
    /// The owner tells of everybody's work, a crew of its own.
    pub fn may_tell_of(&self, crew: &str) -> Result<(), Refusal> {
        if self.owns() || self.crew() == Some(crew) {
            return Ok(());
        }
        Err(Refusal::not_allowed("A crew tells of its own work."))
    }

    /// Whether it may change everything.
    pub fn owns(&self) -> bool {
        self.account.role == Role::Owner
    }
    /// The crew whose sheet is all it sees.
    pub fn crew(&self) -> Option<&str> {
        match &self.account.role {
            Role::Crew(crew) => Some(crew),
            Role::Owner | Role::Reader => None,
        }
    }
}

/// Anybody who is signed in.
#[derive(Clone, Debug)]
pub struct Signed(pub Who);
/// Owners and readers: who sees every sheet.
#[derive(Clone, Debug)]
pub struct Reads(pub Who);
/// Owners.
#[derive(Clone, Debug)]
pub struct Owns(pub Who);

/// What an extractor of this module gives.
pub trait Somebody: FromRequestParts<Arc<Desk>, Rejection = Refusal> + Send {
    /// Who.
    fn who(&self) -> &Who;
}

/// Whether a request is from somebody who is signed in.
pub async fn is_signed_in(parts: &Parts, desk: &Arc<Desk>) -> bool {
    match cookies::session(&parts.headers) {
        Some(token) => desk.work(move |desk| Ok(desk.store.session(&token)?.is_some())).await.unwrap_or(false),
        None => false,
    }
}

impl FromRequestParts<Arc<Desk>> for Signed {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let token = cookies::session(&parts.headers).ok_or_else(Refusal::not_signed_in)?;
        let asked = token.clone();
        let session = desk.work(move |desk| Ok(desk.store.session(&asked)?)).await?;
        let session = session.ok_or_else(Refusal::not_signed_in)?;
        desk.throttle.account(session.account.id)?;
        if let Some(place) = parts.extensions.get::<Place>() {
            place.is_known();
        }
        Ok(Self(Who { account: session.account, key: session.form, token }))
    }
}

impl FromRequestParts<Arc<Desk>> for Reads {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let Signed(who) = Signed::from_request_parts(parts, desk).await?;
        if who.crew().is_some() {
            return Err(Refusal::not_allowed("A crew sees its own sheet."));
        }
        Ok(Self(who))
    }
}

impl FromRequestParts<Arc<Desk>> for Owns {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Refusal> {
        let Signed(who) = Signed::from_request_parts(parts, desk).await?;
        if who.owns() { Ok(Self(who)) } else { Err(Refusal::not_allowed("Only the owner may do this.")) }
    }
}

impl Somebody for Signed {
    fn who(&self) -> &Who {
        &self.0
    }
}
impl Somebody for Reads {
    fn who(&self) -> &Who {
        &self.0
    }
}
impl Somebody for Owns {
    fn who(&self) -> &Who {
        &self.0
    }
}
