//! Where a request comes from.

use std::convert::Infallible;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::request::Parts;

use crate::desk::Desk;

/// Where a request comes from.
#[derive(Clone, Copy, Debug)]
pub struct Address(pub IpAddr);

impl FromRequestParts<Arc<Desk>> for Address {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Infallible> {
        Ok(address(&parts.headers, parts.extensions.get().copied(), desk.settings.proxied))
    }
}

/// The peer; where a server of ours stands in front, whom that names last.
pub fn address(headers: &HeaderMap, peer: Option<Address>, proxied: bool) -> Address {
    let named = headers.get_all("x-forwarded-for").iter().next_back().and_then(|value| value.to_str().ok());
    let named = named.and_then(|value| value.rsplit(',').next()).and_then(of_text);
    match named.filter(|_| proxied) {
        Some(named) => Address(named),
        None => peer.unwrap_or(Address(IpAddr::V4(Ipv4Addr::UNSPECIFIED))),
    }
}

/// An address as it is written in a head: of the newer sort in brackets or not, with a port or not.
fn of_text(text: &str) -> Option<IpAddr> {
    let text = text.trim().trim_matches('"');
    let bare = text.strip_prefix('[').and_then(|text| text.strip_suffix(']')).unwrap_or(text);
    bare.parse().ok().or_else(|| text.parse().ok().map(|at: SocketAddr| at.ip()))
}

#[cfg(test)]
mod tests {
    use axum::http::HeaderValue;

    use super::*;

    #[test]
    fn address_that_others_can_write_counts_only_behind_a_server_of_ours() {
        let peer = Some(Address(IpAddr::from([127, 0, 0, 1])));
        let mut headers = HeaderMap::new();
        headers.insert("x-forwarded-for", HeaderValue::from_static("192.0.2.7, 198.51.100.9"));
        assert_eq!(address(&headers, peer, false).0, IpAddr::from([127, 0, 0, 1]));
        assert_eq!(address(&headers, peer, true).0, IpAddr::from([198, 51, 100, 9]));
        for (named, expected) in [
            ("198.51.100.9:5678", "198.51.100.9"),
            ("192.0.2.7:1, [2001:db8::1]:443", "2001:db8::1"),
            ("[2001:db8::1]", "2001:db8::1"),
            ("2001:db8::1", "2001:db8::1"),
            ("nobody", "127.0.0.1"),
            ("198.51.100.9:99999", "127.0.0.1"),
        ] {
            headers.insert("x-forwarded-for", HeaderValue::from_static(named));
            assert_eq!(address(&headers, peer, true).0.to_string(), expected, "{named}");
        }
    }
}
