//! Addresses that the user has given, asked.

use std::time::Duration;

use ureq::http::Response;
use ureq::http::header::{ETAG, IF_MODIFIED_SINCE, IF_NONE_MATCH, LAST_MODIFIED};
use ureq::{Agent, Body};
use yardless_edit::trouble::{OfSource, Trouble};

use crate::cache::{Cache, Cached};

/// How to ask servers.
pub struct Fetcher {
    agent: Agent,
    cache: Option<Cache>,
    timeout: u64,
    /// Most bytes of an answer.
    most: usize,
}

impl Fetcher {
    /// One that waits so many seconds in all, reads so many bytes at most, and says whom to ask.
    pub fn new(timeout: u64, most: usize, contact: Option<&str>, use_cache: bool) -> Self {
        let contact = contact.map_or(String::new(), |contact| format!(" (+{contact})"));
        let agent = Agent::config_builder()
            .timeout_global(Some(Duration::from_secs(timeout)))
            .user_agent(format!("yardless/{}{contact}", env!("CARGO_PKG_VERSION")))
            .max_redirects(5)
            .http_status_as_error(false)
            .build()
            .into();
        Self { agent, cache: if use_cache { Cache::find() } else { None }, timeout, most }
    }

    /// What an address answers.
    pub fn fetch(&self, url: &str) -> Result<Vec<u8>, Trouble> {
        let kept = self.cache.as_ref().and_then(|cache| cache.get(url));
        let mut request = self
            .agent
            .get(url)
            .header("Accept", "application/geo+json, application/cap+xml, application/json;q=0.9, */*;q=0.5");
        if let Some(kept) = &kept {
            if let Some(etag) = &kept.etag {
                request = request.header(IF_NONE_MATCH, etag);
            }
            if let Some(modified) = &kept.last_modified {
                request = request.header(IF_MODIFIED_SINCE, modified);
            }
        }
        let mut answer = request.call().map_err(|e| self.failed(url, &e))?;
        let status = answer.status();
        if let (304, Some(kept)) = (status.as_u16(), kept) {
            tracing::info!("{url}: unchanged since it was fetched before");
            return Ok(kept.body);
        }
        if status.as_u16() != 200 {
            let (url, by_failure) = (url.to_owned(), status.is_server_error());
            return Err(OfSource::Refused { url, status: status.to_string(), by_failure }.into());
        }
        let body = self.body(url, &mut answer)?;
        if let Some(cache) = &self.cache {
            let header = |name| answer.headers().get(name).and_then(|value| value.to_str().ok()).map(str::to_owned);
            cache.put(url, &Cached { etag: header(ETAG), last_modified: header(LAST_MODIFIED), body: body.clone() });
        }
        Ok(body)
    }

    fn body(&self, url: &str, answer: &mut Response<Body>) -> Result<Vec<u8>, Trouble> {
        if answer.body().content_length().is_some_and(|length| length > self.most as u64) {
            return Err(self.too_large(url));
        }
        answer.body_mut().with_config().limit(self.most as u64).read_to_vec().map_err(|e| match e {
            ureq::Error::BodyExceedsLimit(_) => self.too_large(url),
            other => self.failed(url, &other),
        })
    }

    fn too_large(&self, url: &str) -> Trouble {
        OfSource::TooLarge { source: url.to_owned(), most: self.most }.into()
    }

    fn failed(&self, url: &str, e: &ureq::Error) -> Trouble {
        let url = url.to_owned();
        let of = match e {
            ureq::Error::Timeout(_) => OfSource::Silent { url, seconds: self.timeout },
            ureq::Error::BadUri(_) | ureq::Error::Http(_) => OfSource::NoAddress { url, why: e.to_string() },
            _ => OfSource::Failed { url, why: e.to_string() },
        };
        of.into()
    }
}
