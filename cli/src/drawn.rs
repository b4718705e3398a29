//! What stopped a command, drawn with the lines of the book around each fault.

use std::sync::Arc;

use miette::{GraphicalReportHandler, LabeledSpan, MietteDiagnostic, Report};
use yardless_edit::lines::Lines;
use yardless_edit::spoken::place;
use yardless_edit::trouble::{Faulty, MOST_TOLD, Trouble, in_file, printable, tally};

use crate::excerpts::Excerpts;

/// As it is shown on a terminal.
pub fn drawn(trouble: &Trouble) -> String {
    match trouble.told() {
        Ok(of) => {
            let told = MietteDiagnostic::new(printable(&of.says())).with_code(of.code());
            draw(&told.with_help(printable(of.help().text())).into())
        }
        Err(faulty @ Faulty { file, bytes, faults }) => {
            let book = faulty.book();
            // Bytes that are no text cannot be drawn.
            let Ok(text) = std::str::from_utf8(bytes) else { return trouble.plain() };
            let source = Arc::new(Excerpts::new(file, text));
            let mut lines = Lines::new(bytes);
            let mut out = String::new();
            for all @ (fault, at) in faults.iter().take(MOST_TOLD) {
                // A line that fills the screen shows nothing.
                let Some(at) = source.short(at) else {
                    out.push_str(&in_file(file, &mut lines, &book, all));
                    continue;
                };
                let mut told = MietteDiagnostic::new(printable(&fault.says))
                    .with_code(fault.code.text())
                    .with_labels([LabeledSpan::at(at, printable(&place(&book, &fault.path)))]);
                told.help = fault.help.as_deref().map(printable);
                out.push_str(&draw(&Report::new(told).with_source_code(Arc::clone(&source))));
            }
            out + &tally(file, faults.len())
        }
    }
}

fn draw(report: &Report) -> String {
    let mut out = String::new();
    match GraphicalReportHandler::new().render_report(&mut out, report.as_ref()) {
        Ok(()) => out,
        Err(_) => format!("{report}\n"),
    }
}
