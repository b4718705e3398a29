//! Who may sign in: a list, links to hand on, and one's own password.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::http::header::HOST;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use chrono::TimeDelta;

use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::cookies;
use crate::request::sent::Sent;
use crate::request::who::{Owns, Signed, Who};
use crate::shown::frame::{Frame, html, on_to, written};
use crate::sign_in::{fits, hashed, name_fault, password_fault};
use crate::store::{Account, Role, Token};

/// How long a link for somebody else holds.
const HOLDS: TimeDelta = TimeDelta::days(7);

#[derive(Template)]
#[template(path = "sign-ins.html")]
struct SignIns {
    frame: Frame,
    accounts: Vec<Account>,
    own: i64,
    /// Crews that have a sheet: id and name.
    crews: Vec<(String, String)>,
    /// A link just made: whose, and its address.
    link: Option<(String, String)>,
    fault: String,
    /// What was typed of one more, where it was refused.
    name: String,
    role: String,
}

fn shown(desk: &Desk, who: &Who, link: Option<(String, String)>, fault: &str) -> Result<SignIns, Refusal> {
    let standing = desk.standing_if_any();
    let crews = standing.as_ref().map_or_else(Vec::new, |of| {
        let crews = of.book.written.book.crews.iter();
        crews.map(|crew| (crew.id.clone(), crew.name.clone().unwrap_or_else(|| crew.id.clone()))).collect()
    });
    let frame = Frame::new("Sign-ins", "/sign-ins", who, standing.as_deref());
    let accounts = desk.store.accounts()?;
    Ok(SignIns {
        frame,
        accounts,
        own: who.account.id,
        crews,
        link,
        fault: fault.to_owned(),
        name: String::new(),
        role: String::new(),
    })
}

/// The address under which this service was asked, for links to hand on.
fn here(headers: &HeaderMap, proxied: bool) -> String {
    let named = headers.get("x-forwarded-host").filter(|_| proxied).or(headers.get(HOST));
    let host = named.and_then(|host| host.to_str().ok()).unwrap_or_default();
    format!("http{}://{host}", if proxied { "s" } else { "" })
}

/// The list.
pub async fn page(State(desk): State<Arc<Desk>>, Owns(who): Owns) -> Result<Response, Refusal> {
    html(&desk.work(move |desk| shown(desk, &who, None, "")).await?)
}

/// One more, with a link for whoever it is.
pub async fn add(State(desk): State<Arc<Desk>>, headers: HeaderMap, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let here = here(&headers, desk.settings.proxied);
    let added = desk.change(move |desk| {
        let name = fields.get("name").to_owned();
        let role = match fields.get("role") {
            "owner" => Role::Owner,
            "reader" => Role::Reader,
            crew => Role::Crew(crew.strip_prefix("crew ").unwrap_or(crew).to_owned()),
        };
        let again = |fault: &str| {
            let role = fields.get("role").to_owned();
            Ok::<_, Refusal>(SignIns { name: name.clone(), role, ..shown(desk, &who, None, fault)? })
        };
        if let Some(fault) = name_fault(&name) {
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, again(&fault)?));
        }
        if let Role::Crew(crew) = &role
            && !desk.book()?.book.written.book.crews.iter().any(|of| of.id == *crew)
        {
            let fault = format!("There is no crew “{crew}”: choose one of the list.");
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, again(&fault)?));
        }
        let Some(id) = desk.store.add_account(&name, &role)? else {
            let fault = format!("“{name}” is taken: give another name.");
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, again(&fault)?));
        };
        let link = format!("{here}/link/{}", desk.store.add_link(Some(id), HOLDS)?);
        Ok((StatusCode::OK, shown(desk, &who, Some((name, link)), "")?))
    });
    let (status, page) = added.await?;
    Ok(written(status, html(&page)?))
}

/// A new link for somebody who has lost the password.
pub async fn link(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<i64>,
    headers: HeaderMap,
    Sent { who: Owns(who), .. }: Sent<Owns>,
) -> Result<Response, Refusal> {
    let here = here(&headers, desk.settings.proxied);
    let page = desk.change(move |desk| {
        let account = account(desk, id)?;
        let link = format!("{here}/link/{}", desk.store.add_link(Some(id), HOLDS)?);
        shown(desk, &who, Some((account.name, link)), "")
    });
    html(&page.await?)
}

/// Closes an account, or opens it again.
pub async fn close(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<i64>,
    Sent { who: Owns(who), .. }: Sent<Owns>,
) -> Result<Response, Refusal> {
    let done = desk.change(move |desk| {
        let account = account(desk, id)?;
        if account.id == who.account.id {
            let help = "Another owner can.";
            return Err(Refusal::input("web::own-account", "You cannot close your own sign-in.", help));
        }
        Ok(desk.store.close_account(id, !account.closed)?)
    });
    done.await?;
    Ok(on_to("/sign-ins"))
}

fn account(desk: &Desk, id: i64) -> Result<Account, Refusal> {
    let found = desk.store.accounts()?.into_iter().find(|account| account.id == id);
    found.ok_or_else(|| Refusal::missing("There is no such sign-in."))
}

#[derive(Template)]
#[template(path = "me.html")]
struct MePage {
    frame: Frame,
    fault: String,
}

/// One's own page.
pub async fn me(State(desk): State<Arc<Desk>>, Signed(who): Signed) -> Result<Response, Refusal> {
    let standing = desk.work(|desk| Ok(desk.standing_if_any())).await?;
    html(&MePage { frame: Frame::new("Your sign-in", "/me", &who, standing.as_deref()), fault: String::new() })
}

/// Its holder has seen that wrong passwords were given.
pub async fn seen(
    State(desk): State<Arc<Desk>>,
    Sent { who: Signed(who), .. }: Sent<Signed>,
) -> Result<Response, Refusal> {
    desk.change(move |desk| Ok(desk.store.wrong_seen(who.account.id)?)).await?;
    Ok(on_to("/me"))
}

/// What comes of another password.
enum Changed {
    /// It was taken, on a device that stays known.
    On(Token),
    /// It was not, and the page says why.
    Not(Box<MePage>),
}

/// Another password; all sessions end, and of all devices this one alone stays known.
pub async fn password(State(desk): State<Arc<Desk>>, sent: Sent<Signed>) -> Result<Response, Refusal> {
    let Sent { who: Signed(who), fields } = sent;
    desk.throttle.known(&who.token)?;
    let account = who.account.id;
    let turn = Arc::clone(&desk.hashing).acquire_owned().await;
    let changed = desk.change(move |desk| {
        let _turn = turn;
        let password = fields.get("password");
        let fault = match desk.store.to_sign_in(&who.account.name)? {
            Some((_, hash)) if fits(fields.get("old"), &hash) => password_fault(password, fields.get("again")),
            _ => {
                desk.store.wrong_password(account)?;
                Some("The password so far is another one.".to_owned())
            }
        };
        if let Some(fault) = fault {
            let standing = desk.standing_if_any();
            let frame = Frame::new("Your sign-in", "/me", &who, standing.as_deref());
            return Ok(Changed::Not(Box::new(MePage { frame, fault })));
        }
        desk.store.set_password(account, &hashed(password)?)?;
        Ok(Changed::On(desk.store.add_device(account)?))
    });
    match changed.await? {
        Changed::Not(page) => Ok(written(StatusCode::UNPROCESSABLE_ENTITY, html(&*page)?)),
        Changed::On(device) => Ok(cookies::known(on_to("/sign-in"), account, &device, desk.settings.proxied)),
    }
}
