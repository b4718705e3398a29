//! Signing in: by name and password, or once by a link. Passwords are kept as argon2 hashes.

use std::sync::Arc;

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use askama::Template;
use axum::extract::{Path, Query, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use chrono::TimeDelta;
use serde::Deserialize;
use yardless_edit::trouble::Trouble;

use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::address::Address;
use crate::request::cookies;
use crate::request::sent::{Fields, Sent};
use crate::request::who::Signed;
use crate::shown::frame::{Frame, html, on_to, written};
use crate::store::{Role, Store, Token};

/// Fewest and most characters of a password.
pub const PASSWORD: std::ops::RangeInclusive<usize> = 10..=200;
/// Bytes of a password that is tried.
const PASSWORD_TRIED: std::ops::RangeInclusive<usize> = 0..=1_000;
/// Most characters of a name.
pub const LONGEST_NAME: usize = 60;
/// How long the first owner's link holds.
const FIRST: TimeDelta = TimeDelta::days(1);

/// A link with which an owner signs in once: the first of them, or where there is one, that one.
pub fn owner_link(store: &Store) -> Result<Token, Trouble> {
    let owner = store.accounts()?.into_iter().find(|of| of.role == Role::Owner && !of.closed);
    store.add_link(owner.map(|of| of.id), FIRST)
}

#[derive(Template)]
#[template(path = "sign-in.html")]
struct SignInPage {
    frame: Frame,
    name: String,
    then: String,
    wrong: bool,
}

#[derive(Template)]
#[template(path = "link.html")]
struct LinkPage {
    frame: Frame,
    /// The name that the account has; none: to be chosen.
    name: Option<String>,
    chosen: String,
    fault: String,
}

/// Where to go after signing in.
#[derive(Deserialize)]
pub struct Then {
    #[serde(default)]
    then: String,
}

/// Only a page of ours: `//elsewhere` would lead to another site.
fn safe(then: &str) -> &str {
    let plain = then.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    let ours = then.starts_with('/') && !then.starts_with("//") && plain;
    if ours { then } else { "/" }
}

/// The form.
pub async fn page(Query(Then { then }): Query<Then>) -> Result<Response, Refusal> {
    let then = safe(&then).to_owned();
    html(&SignInPage { frame: Frame::bare("Sign in"), name: String::new(), then, wrong: false })
}

/// Name and password.
pub async fn sign_in(
    State(desk): State<Arc<Desk>>,
    Address(from): Address,
    request: Request,
) -> Result<Response, Refusal> {
    let devices = cookies::devices(request.headers());
    let fields = Fields::read_few(request).await?;
    let (name, password) = (fields.get("name").to_owned(), fields.get("password").to_owned());
    let then = safe(fields.get("then")).to_owned();
    if name.chars().count() > LONGEST_NAME || !PASSWORD_TRIED.contains(&password.len()) {
        return Err(Refusal::input("web::name", "No name and no password is that long.", "Sign in with yours."));
    }
    let device = known(&desk, &name, devices).await?;
    match &device {
        Some(device) => desk.throttle.known(device)?,
        None => desk.throttle.password(from, &name)?,
    }
    let turn = Arc::clone(&desk.hashing).acquire_owned().await;
    let (found, guessed) = desk
        .work({
            let name = name.clone();
            move |desk| {
                // The turn goes with the work, also where whoever asked has gone away.
                let _turn = turn;
                let account = desk.store.to_sign_in(&name)?;
                // As long for a name that nobody has.
                let hash = account.as_ref().map_or(NOBODY, |(_, hash)| hash.as_str());
                let right = fits(&password, hash);
                Ok(match account {
                    found @ Some(_) if right => (found, None),
                    other => (None, other.map(|(account, _)| account.id)),
                })
            }
        })
        .await?;
    let entered = match found {
        Some((account, hash)) => {
            desk.change(move |desk| Ok(desk.store.sign_in(account.id, &hash, device.as_deref())?)).await?
        }
        None => None,
    };
    if let Some(entered) = entered {
        return Ok(cookies::entered(on_to(&then), &entered, desk.settings.proxied));
    }
    if let Some(account) = guessed {
        // Not waited for: the answer comes as soon as for a name that nobody has.
        let desk = Arc::clone(&desk);
        tokio::spawn(async move { desk.change(move |desk| Ok(desk.store.wrong_password(account)?)).await });
    }
    desk.measures.refused();
    tracing::warn!(%from, "a password was wrong");
    let page = SignInPage { frame: Frame::bare("Sign in"), name, then, wrong: true };
    Ok(written(StatusCode::FORBIDDEN, html(&page)?))
}

/// The device that the account with a name has signed in on before.
async fn known(desk: &Arc<Desk>, name: &str, devices: Vec<Token>) -> Result<Option<Token>, Refusal> {
    if devices.is_empty() {
        return Ok(None);
    }
    let name = name.to_owned();
    let find = move |desk: &Desk| {
        for device in devices {
            if desk.store.knows(&device, &name)? {
                return Ok(Some(device));
            }
        }
        Ok(None)
    };
    desk.work(find).await
}

/// Ends the session.
pub async fn sign_out(
    State(desk): State<Arc<Desk>>,
    Sent { who: Signed(who), .. }: Sent<Signed>,
) -> Result<Response, Refusal> {
    desk.change(move |desk| Ok(desk.store.sign_out(&who.token)?)).await?;
    Ok(cookies::signed_out(on_to("/sign-in"), desk.settings.proxied))
}

/// What a link leads to: a password to choose, and for the first owner a name.
pub async fn link_page(State(desk): State<Arc<Desk>>, Path(token): Path<String>) -> Result<Response, Refusal> {
    let link = desk.work(move |desk| Ok(desk.store.link(&token)?)).await?.ok_or_else(used_up)?;
    let frame = Frame::bare("Choose a password");
    html(&LinkPage { frame, name: link.map(|of| of.name), chosen: String::new(), fault: String::new() })
}

/// Uses the link: the password is set, and whoever holds it signed in.
pub async fn use_link(
    State(desk): State<Arc<Desk>>,
    Address(from): Address,
    Path(token): Path<String>,
    request: Request,
) -> Result<Response, Refusal> {
    desk.throttle.link(from)?;
    let fields = Fields::read_few(request).await?;
    let asked = token.clone();
    let link = desk.work(move |desk| Ok(desk.store.link(&asked)?)).await?.ok_or_else(used_up)?;
    let name = link.as_ref().map_or_else(|| fields.get("name").to_owned(), |of| of.name.clone());
    let password = fields.get("password").to_owned();
    let fault = name_fault(&name).or_else(|| password_fault(&password, fields.get("again")));
    if let Some(fault) = fault {
        let frame = Frame::bare("Choose a password");
        let page = LinkPage { frame, name: link.map(|of| of.name), chosen: name, fault };
        return Ok(written(StatusCode::UNPROCESSABLE_ENTITY, html(&page)?));
    }
    let turn = Arc::clone(&desk.hashing).acquire_owned().await;
    let hash = desk.work(move |_| {
        let _turn = turn;
        hashed(&password)
    });
    let hash = hash.await?;
    let entered =
        desk.change(move |desk| desk.store.enter(&token, link.map(|of| of.id), &name, &hash)?.ok_or_else(used_up));
    Ok(cookies::entered(on_to("/"), &entered.await?, desk.settings.proxied))
}

fn used_up() -> Refusal {
    let says = "This link was used already, has run out, or is of a sign-in that was closed.";
    Refusal::new(
        StatusCode::GONE,
        "web::link",
        says,
        "The owner can make another one; `yardless serve --link` prints one.",
    )
}

/// What is wrong with a name, if anything.
pub fn name_fault(name: &str) -> Option<String> {
    let plain = !name.is_empty() && name.chars().count() <= LONGEST_NAME && !name.chars().any(char::is_control);
    (!plain).then(|| format!("A name has 1 to {LONGEST_NAME} characters."))
}

/// What is wrong with a password that is chosen, if anything.
pub fn password_fault(password: &str, again: &str) -> Option<String> {
    if !PASSWORD.contains(&password.chars().count()) {
        return Some(format!("A password has {} to {} characters.", PASSWORD.start(), PASSWORD.end()));
    }
    (password != again).then(|| "The two passwords are not the same.".to_owned())
}

/// A password's hash, with a salt of its own.
pub fn hashed(password: &str) -> Result<String, Refusal> {
    let hash = Argon2::default().hash_password(password.as_bytes());
    hash.map(|hash| hash.to_string()).map_err(|e| Refusal::ours("web::hash", e))
}

/// Whether a password is that of a hash.
pub fn fits(password: &str, hash: &str) -> bool {
    let hash = PasswordHash::new(hash);
    hash.is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok())
}

/// A hash of nothing that anybody knows.
const NOBODY: &str = "$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5bm9ib2R5$DIJkZGQHZ6hOjGqUqtPmJMb7TqnBlWuGgYVKQnOQ5o4";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn password_fits_its_own_hash_only() {
        let hash = hashed("a long password").expect("a hash");
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$") && !hash.contains("password"));
        assert!(fits("a long password", &hash) && !fits("a long passworD", &hash) && !fits("a long password", "x"));
        assert_ne!(hashed("a long password").expect("a hash"), hash, "a salt of its own");
        assert!(PasswordHash::new(NOBODY).is_ok(), "nobody's hash takes as long as any");
        assert!(!fits("", NOBODY));
    }

    #[test]
    fn way_back_leads_to_pages_of_ours_only() {
        assert_eq!(
            ["/week/2026-12-07", "//evil.example/", "https://evil.example/", "", "/\\evil.example"].map(safe),
            ["/week/2026-12-07", "/", "/", "/", "/"]
        );
    }
}
