//! What a command reads besides the book: a file, stdin, or an address that the user has given.

use std::io::Read;
use std::path::Path;

use yardless_edit::trouble::{OfSource, Trouble};

use crate::args::WeatherArgs;
#[cfg(feature = "fetch")]
use crate::fetch::Fetcher;

/// How sources are read.
pub struct Sources {
    #[cfg(feature = "fetch")]
    fetcher: Fetcher,
    /// Most bytes of an answer or a file.
    most: usize,
}

impl Sources {
    /// As the command says, so many bytes at most.
    #[cfg(feature = "fetch")]
    pub fn new(args: &WeatherArgs, most: usize) -> Self {
        Self { fetcher: Fetcher::new(args.timeout, most, args.contact.as_deref(), !args.no_cache), most }
    }

    /// As the command says, so many bytes at most.
    #[cfg(not(feature = "fetch"))]
    pub fn new(_: &WeatherArgs, most: usize) -> Self {
        Self { most }
    }

    /// Reads a file, stdin (`-`) or an address.
    pub fn read(&self, source: &str) -> Result<Vec<u8>, Trouble> {
        let lower = source.to_lowercase();
        if lower.starts_with("http://") || lower.starts_with("https://") {
            return self.fetch(source);
        }
        let reader: Box<dyn Read> = if source == "-" {
            Box::new(std::io::stdin())
        } else if lower.contains("://") {
            return Err(OfSource::NotFetched { source: source.to_owned() }.into());
        } else {
            Box::new(std::fs::File::open(Path::new(source)).map_err(|e| unreadable(source, &e))?)
        };
        let mut bytes = Vec::new();
        // One byte more than is taken, so that what is too large can be told from what just fits.
        reader.take(self.most as u64 + 1).read_to_end(&mut bytes).map_err(|e| unreadable(source, &e))?;
        if bytes.len() > self.most {
            Err(OfSource::TooLarge { source: source.to_owned(), most: self.most }.into())
        } else {
            Ok(bytes)
        }
    }

    #[cfg(feature = "fetch")]
    fn fetch(&self, url: &str) -> Result<Vec<u8>, Trouble> {
        self.fetcher.fetch(url)
    }

    #[cfg(not(feature = "fetch"))]
    #[allow(clippy::unused_self)] // as where it can be fetched
    fn fetch(&self, url: &str) -> Result<Vec<u8>, Trouble> {
        Err(OfSource::LeftOut { url: url.to_owned() }.into())
    }
}

fn unreadable(source: &str, e: &std::io::Error) -> Trouble {
    OfSource::Unreadable { source: source.to_owned(), why: e.to_string() }.into()
}
