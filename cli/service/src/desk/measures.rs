//! What is counted.

use std::sync::atomic::AtomicU64;
use std::time::Duration;

use axum::http::StatusCode;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::{Histogram, exponential_buckets};
use prometheus_client::registry::{Registry, Unit};

/// A route and how its requests ended.
#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Ended {
    route: String,
    status: u16,
}

/// Counters and their register.
pub struct Measures {
    register: Registry,
    requests: Family<Ended, Counter>,
    took: Histogram,
    refused: Counter,
    revisions: Gauge<i64, std::sync::atomic::AtomicI64>,
    /// Seconds of planning, in thousandths.
    planning: Counter<u64, AtomicU64>,
}

impl Default for Measures {
    fn default() -> Self {
        let mut register = Registry::with_prefix("yardless");
        let requests = Family::<Ended, Counter>::default();
        let took = Histogram::new(exponential_buckets(0.001, 2.0, 14));
        let (refused, planning) = (Counter::default(), Counter::default());
        let revisions = Gauge::default();
        register.register("requests", "Requests by route and status", requests.clone());
        register.register_with_unit("request", "How long requests took", Unit::Seconds, took.clone());
        register.register("sign_ins_refused", "Passwords that were wrong", refused.clone());
        register.register("book_revisions", "Revisions of the book", revisions.clone());
        register.register("planning_milliseconds", "How long was planned in all", planning.clone());
        Self { register, requests, took, refused, revisions, planning }
    }
}

impl Measures {
    /// A request that ended.
    pub fn ended(&self, route: &str, status: StatusCode, took: Duration) {
        self.requests.get_or_create(&Ended { route: route.to_owned(), status: status.as_u16() }).inc();
        self.took.observe(took.as_secs_f64());
    }
    /// A password that was wrong.
    pub fn refused(&self) {
        self.refused.inc();
    }
    /// A planning that ended.
    pub fn planned(&self, took: Duration) {
        self.planning.inc_by(took.as_millis() as u64);
    }
    /// All counters in the Prometheus text format, with the number of the book's revisions.
    pub fn text(&self, revisions: i64) -> Result<String, std::fmt::Error> {
        self.revisions.set(revisions);
        let mut text = String::new();
        encode(&mut text, &self.register)?;
        Ok(text)
    }
}
