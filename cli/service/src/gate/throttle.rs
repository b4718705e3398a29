//! Who asks too much: by address before anybody is signed in, by account after. Passwords by address, by address and
//! name, and by name from everywhere; a browser that is known counts by itself, whatever others try.

use std::hash::Hash;
use std::net::IpAddr;
use std::num::NonZeroU32;
use std::time::Duration;

use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};

use crate::gate::room::network;
use crate::refusal::Refusal;

/// Requests a second that an address may make, and an account.
const REQUESTS: u32 = 400;
/// Passwords a minute that may be tried from an address, and from a browser that is known.
const FROM_AN_ADDRESS: u32 = 20;
const FROM_ONE_KNOWN: u32 = 10;
/// Passwords that may be tried for a name from one address, then one a minute.
const FOR_A_NAME_FROM_THERE: u32 = 10;
/// Passwords that may be tried for a name from everywhere (NIST SP 800-63B, 5.2.2: no more than 100), then 100 an hour.
const FOR_A_NAME: u32 = 100;
const AN_HOUR_FOR_A_NAME: u32 = 100;
/// Reports that a crew's sign-in may send at once, then one in two seconds.
const REPORTS: u32 = 30;
/// Reports on one step that are kept at once, then one an hour: each of them is a revision of the book for good.
const REPORTS_ON_A_STEP: u32 = 12;
/// Addresses and names that are kept track of, before those that ask no more are forgotten.
const MOST_KEPT: usize = 10_000;

type Limiter<K> = DefaultKeyedRateLimiter<K>;

/// What each has left.
pub struct Throttle {
    clock: DefaultClock,
    addresses: Limiter<IpAddr>,
    accounts: Limiter<i64>,
    passwords: Limiter<IpAddr>,
    pairs: Limiter<(IpAddr, String)>,
    names: Limiter<String>,
    known: Limiter<String>,
    reports: Limiter<i64>,
    steps: Limiter<(i64, String)>,
}

impl Default for Throttle {
    fn default() -> Self {
        let some = |n: u32| NonZeroU32::new(n).unwrap_or(NonZeroU32::MIN);
        let second = |n: u32| Quota::per_second(some(n));
        let minute = |n: u32| Quota::per_minute(some(n));
        let each = |seconds: u64, at_once: u32| {
            Quota::with_period(Duration::from_secs(seconds))
                .map_or_else(|| minute(at_once), |of| of.allow_burst(some(at_once)))
        };
        Self {
            clock: DefaultClock::default(),
            addresses: RateLimiter::keyed(second(REQUESTS)),
            accounts: RateLimiter::keyed(second(REQUESTS)),
            passwords: RateLimiter::keyed(minute(FROM_AN_ADDRESS)),
            pairs: RateLimiter::keyed(each(60, FOR_A_NAME_FROM_THERE)),
            names: RateLimiter::keyed(Quota::per_hour(some(AN_HOUR_FOR_A_NAME)).allow_burst(some(FOR_A_NAME))),
            known: RateLimiter::keyed(minute(FROM_ONE_KNOWN)),
            reports: RateLimiter::keyed(each(2, REPORTS)),
            steps: RateLimiter::keyed(each(3600, REPORTS_ON_A_STEP)),
        }
    }
}

impl Throttle {
    /// Any request from an address.
    pub fn address(&self, address: IpAddr) -> Result<(), Refusal> {
        self.may(&self.addresses, &network(address)).map_err(Refusal::too_many)
    }
    /// Any request of an account.
    pub fn account(&self, account: i64) -> Result<(), Refusal> {
        self.may(&self.accounts, &account).map_err(Refusal::too_many)
    }
    /// A password tried for a name from somewhere that is not known. What is told is the same whether anybody has it.
    pub fn password(&self, address: IpAddr, name: &str) -> Result<(), Refusal> {
        let (from, name) = (network(address), name.to_lowercase());
        self.may(&self.passwords, &from)
            .and_then(|()| self.may(&self.pairs, &(from, name.clone())))
            .and_then(|()| self.may(&self.names, &name))
            .map_err(Refusal::too_many_passwords)
    }
    /// A password tried in a browser that is known by a token, where others keep nobody out.
    pub fn known(&self, token: &str) -> Result<(), Refusal> {
        self.may(&self.known, &token.to_owned()).map_err(Refusal::too_many_passwords)
    }
    /// A link tried: whoever holds one is kept from it by nobody else.
    pub fn link(&self, address: IpAddr) -> Result<(), Refusal> {
        self.may(&self.passwords, &network(address)).map_err(Refusal::too_many)
    }
    /// A crew's report on a step.
    pub fn report(&self, account: i64, step: &str) -> Result<(), Refusal> {
        self.may(&self.steps, &(account, step.to_owned())).map_err(Refusal::too_many_reports)?;
        self.may(&self.reports, &account).map_err(Refusal::too_many)
    }

    /// Else the seconds to wait.
    fn may<K: Clone + Eq + Hash>(&self, limiter: &Limiter<K>, key: &K) -> Result<(), u64> {
        if limiter.len() > MOST_KEPT {
            limiter.retain_recent();
            limiter.shrink_to_fit();
        }
        limiter.check_key(key).map_err(|until| until.wait_time_from(self.clock.now()).as_secs() + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(n: u8) -> IpAddr {
        IpAddr::from([127, 0, 0, n])
    }

    #[test]
    fn password_is_tried_so_often_from_an_address_and_for_a_name_whatever_its_capitals() {
        let throttle = Throttle::default();
        let names = (0..FROM_AN_ADDRESS).map(|n| format!("name {n}"));
        assert!(names.into_iter().all(|name| throttle.password(address(1), &name).is_ok()));
        let refused = throttle.password(address(1), "another").expect_err("from there no more");
        assert!(refused.status == 429 && refused.wait.is_some_and(|wait| (1..=4).contains(&wait)), "{refused:?}");
        for n in 0..FOR_A_NAME_FROM_THERE {
            let name = if n % 2 == 0 { "owner" } else { "OWNER" };
            assert!(throttle.password(address(2), name).is_ok());
        }
        let refused = throttle.password(address(2), "Owner").expect_err("for that name from there no more");
        assert!(refused.wait.is_some_and(|wait| (50..=61).contains(&wait)), "{refused:?}");
        assert!(throttle.password(address(2), "another").is_ok() && throttle.password(address(3), "owner").is_ok());
    }

    #[test]
    fn name_that_is_guessed_from_everywhere_keeps_out_nobody_who_is_known() {
        let throttle = Throttle::default();
        let tried = (0..200).filter(|n| throttle.password(address(*n), "owner").is_ok()).count();
        assert!((100..110).contains(&tried), "{tried}");
        assert!(throttle.password(address(250), "owner").is_err());
        assert!((0..FROM_ONE_KNOWN).all(|_| throttle.known("a device").is_ok()));
        assert!(throttle.known("a device").is_err() && throttle.known("another").is_ok());
    }

    #[test]
    fn reports_have_a_pace_by_crew_and_by_step() {
        let throttle = Throttle::default();
        assert!((0..REPORTS_ON_A_STEP).all(|_| throttle.report(1, "a/b").is_ok()));
        let refused = throttle.report(1, "a/b").expect_err("of that step no more");
        assert!(refused.wait.is_some_and(|wait| wait > 3_000), "{refused:?}");
        assert!(throttle.report(1, "a/c").is_ok() && throttle.report(2, "a/b").is_ok());
        let taken = (0..200).filter(|n| throttle.report(1, &format!("a/{n}")).is_ok()).count();
        assert!(taken < 100, "{taken}");
    }
}
