//! What a browser keeps for us: the session, and by what a device is known on which somebody has signed in before. The
//! latter goes with signing in only, and gets nobody in by itself.

use axum::http::header::{COOKIE, SET_COOKIE};
use axum::http::{HeaderMap, HeaderValue};
use axum::response::Response;
use chrono::TimeDelta;

use crate::store::{Entered, KNOWN, SIGNED_IN, Token};

/// The session's cookie.
pub const SESSION: &str = "yardless";
/// The device's, with the number of the account after it.
const DEVICE: &str = "yardless_device_";
/// Accounts that one device is known to.
const MOST_DEVICES: usize = 8;

fn all(headers: &HeaderMap) -> impl Iterator<Item = (&str, &str)> {
    let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    let pairs = cookies.flat_map(|value| value.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.filter(|(_, token)| token.len() == 64 && token.bytes().all(|byte| byte.is_ascii_hexdigit()))
}

/// The session's token.
pub fn session(headers: &HeaderMap) -> Option<Token> {
    all(headers).find(|(name, _)| *name == SESSION).map(|(_, token)| token.to_owned())
}

/// By what this device is known, an account each.
pub fn devices(headers: &HeaderMap) -> Vec<Token> {
    let known = all(headers).filter(|(name, _)| name.starts_with(DEVICE)).take(MOST_DEVICES);
    known.map(|(_, token)| token.to_owned()).collect()
}

/// Has the browser keep both. `secure`: to be sent over TLS only.
pub fn entered(response: Response, of: &Entered, secure: bool) -> Response {
    let response = set(response, SESSION, &of.session, "Path=/; SameSite=Lax", SIGNED_IN, secure);
    known(response, of.account, &of.device, secure)
}

/// Has it keep by what the device is known.
pub fn known(response: Response, account: i64, device: &str, secure: bool) -> Response {
    set(response, &format!("{DEVICE}{account}"), device, "Path=/sign-in; SameSite=Strict", KNOWN, secure)
}

/// Has it forget the session.
pub fn signed_out(response: Response, secure: bool) -> Response {
    set(response, SESSION, "", "Path=/; SameSite=Lax", TimeDelta::zero(), secure)
}

fn set(mut response: Response, name: &str, value: &str, goes: &str, age: TimeDelta, secure: bool) -> Response {
    let (age, secure) = (age.num_seconds(), if secure { "; Secure" } else { "" });
    let cookie = format!("{name}={value}; {goes}; HttpOnly; Max-Age={age}{secure}");
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        response.headers_mut().append(SET_COOKIE, cookie);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cookies_are_read_by_their_whole_name() {
        let (a, b) = ("a".repeat(64), "b".repeat(64));
        let mut headers = HeaderMap::new();
        let text = format!("other={a}; yardless_device_2={b}; yardless_device_3=short; yardlessx={b}; yardless={a}");
        headers.insert(COOKIE, text.parse().expect("a head"));
        assert_eq!((session(&headers), devices(&headers)), (Some(a), vec![b]));
        headers.insert(COOKIE, HeaderValue::from_static("yardless=0"));
        assert_eq!((session(&headers), devices(&headers)), (None, vec![]));
    }
}
