//! `yardless plan`: a book in, a checked calendar out.

use std::path::Path;

use yardless_check::fact::Touched;
use yardless_edit::trouble::Trouble;
use yardless_edit::{book_file, plan_file};
use yardless_plan::read;

use crate::answer::Answer;
use crate::args::PlanArgs;
use crate::search;

/// Plans the book, stores the plan where asked to, and prints it.
pub fn run(book: &Path, args: &PlanArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let (horizon, next_week) = search::horizon(&file, &args.time)?;
    let shop = file.shop(horizon)?;
    if let Some(out) = &args.out {
        plan_file::may_replace(out)?;
    }
    let start = args.start.as_deref().map(plan_file::read).transpose()?;
    let start = start.map(|start| read(&shop, &start.plan));
    let plan = search::plan(&shop, &file.written.digest, start.as_ref(), &args.search)?;
    if let Some(out) = &args.out {
        plan_file::write(out, &plan)?;
    }
    let mut answer = Answer::new(if args.json {
        plan_file::json(&plan)
    } else {
        yardless_view::calendar(&shop, &plan, &Touched::default(), None)
    });
    answer.notes.extend(next_week);
    Ok(answer)
}
