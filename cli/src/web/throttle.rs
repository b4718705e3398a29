//! Who asks too much: by address before anybody is signed in, by account after, and by both for passwords.

use std::net::IpAddr;
use std::num::NonZeroU32;

use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};

use super::refusal::Refusal;

/// Requests a second that an address may make, and an account.
const REQUESTS: u32 = 400;
/// Passwords a minute that may be tried from an address, and for an account.
const FROM_AN_ADDRESS: u32 = 20;
const FOR_A_NAME: u32 = 10;
/// Addresses and names that are kept track of, before those that ask no more are forgotten.
const MOST_KEPT: usize = 10_000;

/// What each has left.
pub struct Throttle {
    clock: DefaultClock,
    addresses: DefaultKeyedRateLimiter<IpAddr>,
    accounts: DefaultKeyedRateLimiter<i64>,
    passwords: DefaultKeyedRateLimiter<IpAddr>,
    names: DefaultKeyedRateLimiter<String>,
}

impl Default for Throttle {
    fn default() -> Self {
        let some = |n: u32| NonZeroU32::new(n).unwrap_or(NonZeroU32::MIN);
        Self {
            clock: DefaultClock::default(),
            addresses: RateLimiter::keyed(Quota::per_second(some(REQUESTS))),
            accounts: RateLimiter::keyed(Quota::per_second(some(REQUESTS))),
            passwords: RateLimiter::keyed(Quota::per_minute(some(FROM_AN_ADDRESS))),
            names: RateLimiter::keyed(Quota::per_minute(some(FOR_A_NAME))),
        }
    }
}

impl Throttle {
    /// Any request from an address.
    pub fn address(&self, address: IpAddr) -> Result<(), Refusal> {
        self.may(&self.addresses, &address)
    }
    /// Any request of an account.
    pub fn account(&self, account: i64) -> Result<(), Refusal> {
        self.may(&self.accounts, &account)
    }
    /// A password tried.
    pub fn password(&self, address: IpAddr, name: &str) -> Result<(), Refusal> {
        self.may(&self.passwords, &address)?;
        self.may(&self.names, &name.to_lowercase())
    }

    /// A link tried: whoever holds one is kept from it by nobody else.
    pub fn link(&self, address: IpAddr) -> Result<(), Refusal> {
        self.may(&self.passwords, &address)
    }

    fn may<K: Clone + Eq + std::hash::Hash>(
        &self,
        limiter: &DefaultKeyedRateLimiter<K>,
        key: &K,
    ) -> Result<(), Refusal> {
        if limiter.len() > MOST_KEPT {
            limiter.retain_recent();
            limiter.shrink_to_fit();
        }
        limiter.check_key(key).map_err(|until| {
            let wait = until.wait_time_from(self.clock.now());
            Refusal::too_many(wait.as_secs() + 1)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn password_is_tried_so_often_from_an_address_and_for_a_name_whatever_its_capitals() {
        let address = |n: u8| IpAddr::from([127, 0, 0, n]);
        let throttle = Throttle::default();
        let names = (0..FROM_AN_ADDRESS).map(|n| format!("name {n}"));
        assert!(names.into_iter().all(|name| throttle.password(address(1), &name).is_ok()));
        let refused = throttle.password(address(1), "another").expect_err("from there no more");
        assert!(refused.status == 429 && refused.wait.is_some_and(|wait| (1..=4).contains(&wait)), "{refused:?}");
        for n in 0..FOR_A_NAME {
            let name = if n % 2 == 0 { "owner" } else { "OWNER" };
            assert!(throttle.password(address(10 + n as u8), name).is_ok());
        }
        assert!(throttle.password(address(99), "Owner").is_err(), "for that name no more");
    }
}
