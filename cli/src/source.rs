//! What a command reads besides the book: a file, stdin, or an address that the user has given.

use std::io::Read;
use std::path::Path;

use yardless_edit::trouble::Trouble;

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
            let help = "addresses begin with https://";
            return Err(Trouble::input("fetch::address", format!("`{source}` cannot be fetched"), help));
        } else {
            Box::new(std::fs::File::open(Path::new(source)).map_err(|e| unreadable(source, &e))?)
        };
        let mut bytes = Vec::new();
        // One byte more than is taken, so that what is too large can be told from what just fits.
        reader.take(self.most as u64 + 1).read_to_end(&mut bytes).map_err(|e| unreadable(source, &e))?;
        if bytes.len() > self.most { Err(too_large(source, self.most)) } else { Ok(bytes) }
    }

    #[cfg(feature = "fetch")]
    fn fetch(&self, url: &str) -> Result<Vec<u8>, Trouble> {
        self.fetcher.fetch(url)
    }

    #[cfg(not(feature = "fetch"))]
    #[allow(clippy::unused_self)] // as where it can be fetched
    fn fetch(&self, url: &str) -> Result<Vec<u8>, Trouble> {
        let help =
            "save the answer with a browser and give the file; `cargo install --path cli` builds all of the program";
        Err(Trouble::input("fetch::left-out", format!("{url}: this program was built without fetching"), help))
    }
}

fn unreadable(source: &str, e: &std::io::Error) -> Trouble {
    let help = "give a file, - for stdin, or an address that begins with https://";
    Trouble::input("fetch::unreadable", format!("`{source}` cannot be read: {e}"), help)
}

/// For what has more bytes than are taken.
pub fn too_large(source: &str, most: usize) -> Trouble {
    let says = format!("{source} has more than {} MB", most / 1_000_000);
    Trouble::input("fetch::too-large", says, "ask for fewer areas")
}
