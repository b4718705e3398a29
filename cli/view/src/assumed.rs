//! That days which nobody noted are taken to have gone as planned, and how that is corrected.

use yardless_book::Book;
use yardless_plan::Assumed;

use super::words::{count, half, list};

/// Most steps that are named.
const NAMED: usize = 3;

/// In a line on a terminal. `plan`: the plan's file; `kept`: whether a note has to ask for it by that name.
pub fn assumed(of: &Assumed, plan: &str, kept: bool) -> String {
    let until = of.until;
    let kept = if kept { format!(" --kept {plan}") } else { String::new() };
    format!(
        "{}: `yardless note --until \"{until}\"{kept}` writes that down, `yardless note JOB/STEP left N` corrects it",
        says(of, plan, &until.to_string(), of.steps.clone())
    )
}

/// In a line on a page.
pub fn assumed_on_page(of: &Assumed, book: &Book) -> String {
    let names = of.steps.iter().map(|step| name(book, step)).collect();
    format!(
        "{}. A button under Plan again notes that; a crew's sheet corrects it.",
        says(of, "the plan given out", &half(of.until), names)
    )
}

fn says(of: &Assumed, plan: &str, until: &str, names: Vec<String>) -> String {
    let is = if of.steps.len() == 1 { "is" } else { "are" };
    let steps = count(of.steps.len(), "step", "steps");
    format!(
        "{steps} that {plan} has before {until} {is} not noted, and {is} taken to have gone as planned ({})",
        list(&some(names))
    )
}

/// As many as are named, and how many more there are.
fn some(mut names: Vec<String>) -> Vec<String> {
    if names.len() > NAMED {
        let more = names.len() + 1 - NAMED;
        names.truncate(NAMED - 1);
        names.push(format!("{more} more"));
    }
    names
}

/// `Hill dense pack: take down`.
fn name(book: &Book, of: &str) -> String {
    let steps = book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    let mut found = steps.filter(|(job, step)| of.strip_prefix(&job.id) == Some(&format!("/{}", step.id)));
    found.next().map_or_else(
        || of.to_owned(),
        |(job, step)| {
            let step = step.name.as_ref().unwrap_or(&step.id);
            format!("{}: {step}", job.name.as_ref().unwrap_or(&job.id))
        },
    )
}
