//! `yardless week --html FILE`, `--pdf FILE`: the sheets on paper.

use std::io::{ErrorKind, Read};
use std::path::Path;

use yardless_check::fact::Touched;
use yardless_edit::judged::Judged;
use yardless_edit::trouble::{OfCommand, Trouble};
use yardless_edit::whole::{May, replace};
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Shop};
use yardless_service::Paper;
use yardless_service::file::{FileOf, file};
use yardless_view::breach::on_sheet;

use crate::args::{PaperArg, WeekArgs};
use crate::browser;
use crate::listed::listed;

/// What is asked for.
pub struct Sheets<'a> {
    /// The book made ready.
    pub shop: &'a Shop,
    /// The plan.
    pub plan: &'a Plan,
    /// Whether it holds.
    pub verdict: &'a Judged,
    /// The rows that do not.
    pub broken: &'a Touched,
    /// A week by its position; `None`: all.
    pub week: Option<usize>,
    /// A crew alone.
    pub crew: Option<CrewId>,
}

/// Writes the files asked for, and says so; `None`: none is.
pub fn write(of: &Sheets, args: &WeekArgs) -> Result<Option<String>, Trouble> {
    let asked = &args.paper;
    let files = [asked.html.as_deref().map(|path| (path, HTML)), asked.pdf.as_deref().map(|path| (path, PDF))];
    for (path, (sort, begins)) in files.into_iter().flatten() {
        may_replace(path, sort, begins)?;
    }
    let mut says = Vec::new();
    if let Some(path) = &asked.html {
        let html = written_out(of, args, asked.paper.map_or(Paper::Any, paper), path)?;
        put(path, html.as_bytes())?;
        says.push(format!("Written to {}.\n", path.display()));
    }
    if let Some(path) = &asked.pdf {
        let html = written_out(of, args, asked.paper.map_or(Paper::Letter, paper), path)?;
        put(path, &browser::pdf(&html, asked.browser.as_deref())?)?;
        says.push(format!("Written to {}.\n", path.display()));
    }
    Ok((!says.is_empty()).then(|| says.concat()))
}

/// How files of a sort begin.
const HTML: (&str, &[u8]) = ("HTML", b"<!doctype html>");
const PDF: (&str, &[u8]) = ("PDF", b"%PDF-");

fn paper(asked: PaperArg) -> Paper {
    match asked {
        PaperArg::Letter => Paper::Letter,
        PaperArg::A4 => Paper::A4,
    }
}

fn written_out(of: &Sheets, args: &WeekArgs, paper: Paper, to: &Path) -> Result<String, Trouble> {
    let name = args.plan.file_name().unwrap_or(args.plan.as_os_str()).to_string_lossy();
    let weeks = of.week.map_or(0..of.shop.horizon.weeks() as usize, |week| week..week + 1);
    let breaches = listed(of.verdict).iter().map(|breach| on_sheet(&of.verdict.by, breach)).collect();
    let Sheets { shop, plan, broken, crew, .. } = *of;
    let of = FileOf { shop, plan, name: &name, weeks, crew, breaches, broken, paper };
    file(&of).map_err(|e| unwritten(to, &e))
}

/// Refuses, before any work, to write over what is no such file.
fn may_replace(path: &Path, sort: &'static str, begins: &[u8]) -> Result<(), Trouble> {
    let mut start = vec![0; begins.len()];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut start));
    match read {
        Ok(()) if start.eq_ignore_ascii_case(begins) => Ok(()),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
        Ok(()) | Err(_) => Err(OfCommand::SheetsOverOther { name: path.display().to_string(), sort }.into()),
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    replace(path, bytes, May::AsUsual).map_err(|e| unwritten(path, &e))
}

fn unwritten(path: &Path, why: &dyn std::fmt::Display) -> Trouble {
    OfCommand::SheetsUnwritten { name: path.display().to_string(), why: why.to_string() }.into()
}
