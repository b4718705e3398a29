//! The words of the service: serving, its one file, and its sheets on paper.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use yardless_book::half_day::HalfDay;

use super::{LogForm, half_day};

/// The service's file.
#[derive(Args, Clone, Debug)]
pub struct DbArgs {
    /// The service's database: books, plans and who may sign in, in one file.
    #[arg(long, value_name = "FILE", env = "YARDLESS_DB", default_value = "yardless.db")]
    pub db: PathBuf,
}

/// `serve`.
#[derive(Args, Debug)]
pub struct ServeArgs {
    /// Database.
    #[command(flatten)]
    pub db: DbArgs,
    /// Where to listen. Anything but the loopback wants a server with TLS in front of it.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7380")]
    pub bind: SocketAddr,
    /// A server with TLS stands in front: cookies are sent over TLS only, and the last address of X-Forwarded-For counts.
    #[arg(long)]
    pub proxied: bool,
    /// Print a new link with which an owner signs in once, also where there is one already.
    #[arg(long)]
    pub link: bool,
    /// How logs are written.
    #[arg(long, value_name = "FORM", default_value = "text")]
    pub log: LogForm,
    /// The half-day it is taken to be [default: by the shop's clock].
    #[arg(long, value_name = "HALF-DAY", value_parser = half_day)]
    pub now: Option<HalfDay>,
}

/// `import`.
#[derive(Args, Debug)]
pub struct ImportArgs {
    /// Database.
    #[command(flatten)]
    pub db: DbArgs,
    /// The plan given out, to be put in as well; it must hold for the book.
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
}

/// `export`.
#[derive(Args, Debug)]
pub struct ExportArgs {
    /// Database.
    #[command(flatten)]
    pub db: DbArgs,
    /// The folder that book.json and plan.json are written into; neither may be there yet.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
}

/// `backup`.
#[derive(Args, Debug)]
pub struct BackupArgs {
    /// Database.
    #[command(flatten)]
    pub db: DbArgs,
    /// The file to write; it may not be there yet.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

/// The sheets on paper instead of text.
#[derive(Args, Debug)]
pub struct PaperArgs {
    /// Write the sheets, with the drawing, to this file instead of printing text: one HTML file that stands alone.
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// The same as a PDF, made by a browser that is installed here.
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
    /// The paper [default: letter for a PDF, whatever the printer holds for HTML].
    #[arg(long, value_name = "PAPER")]
    pub paper: Option<PaperArg>,
    /// The browser that makes the PDF [default: the first one found].
    #[arg(long, value_name = "PROGRAM", env = "YARDLESS_BROWSER")]
    pub browser: Option<PathBuf>,
}

/// A paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PaperArg {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 millimetres.
    A4,
}
