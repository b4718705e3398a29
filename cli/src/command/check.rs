//! `yardless check`: a plan from any source, judged by the book.

use std::fmt::Write;
use std::path::Path;

use serde_json::json;
use yardless_edit::judged::{Judged, judge};
use yardless_edit::trouble::Trouble;
use yardless_edit::{book_file, plan_file};
use yardless_view::breach::{fact, says};

use crate::answer::Answer;
use crate::args::CheckArgs;
use crate::exit::Exit;
use crate::listed::{before, listed};

/// Checks the plan; exit 3 where it does not hold.
pub fn run(book: &Path, args: &CheckArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let stored = plan_file::read(&args.plan)?;
    let kept = args.kept.as_deref().map(plan_file::read).transpose()?;
    let kept = kept.map(|kept| kept.plan.kept());
    let verdict = judge(&file, &stored, kept.as_deref(), args.now)?;
    let mut answer = Answer::new(if args.json { as_json(&verdict) } else { as_text(&verdict) });
    answer.notes.extend(stored.other_book(&args.plan, &file.written.digest));
    answer.notes.extend(before(&verdict, &args.plan));
    if !verdict.breaches.is_empty() {
        answer.exit = Exit::DoesNotHold;
    }
    Ok(answer)
}

fn as_text(verdict: &Judged) -> String {
    let from = verdict.then.as_ref().map_or(String::new(), |_| format!(" from {} on", verdict.now));
    let cost = verdict.costs.total();
    if verdict.breaches.is_empty() {
        return format!("The plan holds{from}. It costs ${cost}.\n");
    }
    let n = verdict.breaches.len();
    let mut text = format!("The plan does not hold{from}: {n} rule{} broken.\n", if n == 1 { " is" } else { "s are" });
    for breach in listed(verdict) {
        let _ = writeln!(text, "{:4} {}", breach.rule, says(&verdict.by, &breach));
    }
    text
}

fn as_json(verdict: &Judged) -> String {
    let by = &verdict.by;
    let breaches: Vec<_> = listed(verdict)
        .iter()
        .map(|of| json!({ "rule": of.rule.text(), "says": says(by, of), "fact": fact(by, &of.fact) }))
        .collect();
    let found = json!({
        "holds": verdict.breaches.is_empty(), "breaches": breaches,
        "cost": verdict.costs.total(), "costs": verdict.costs, "now": verdict.now, "assumed": verdict.assumed,
    });
    format!("{found:#}\n")
}
