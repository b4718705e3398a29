//! `yardless free`: when units of a kind are free together.

use std::path::Path;

use yardless_ask::Wanted;
use yardless_edit::trouble::Trouble;
use yardless_edit::trouble::words::Called;
use yardless_edit::{book_file, plan_file};

use crate::answer::Answer;
use crate::args::{FreeArgs, SearchArgs, TimeArgs};
use crate::search;

/// Answers from a stored plan; where there is none, from a fresh one.
pub fn run(book: &Path, args: &FreeArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let beside = book.with_file_name("plan.json");
    let path = args.ask.plan.clone().or_else(|| beside.exists().then_some(beside));
    let called = |path: &Path| Called::File(path.display().to_string());
    let stored = path.map(|path| plan_file::read(&path).map(|stored| (stored, called(&path)))).transpose()?;
    let mut notes = Vec::new();
    let mut now = args.ask.now;
    let shop = if let Some((stored, _)) = &stored {
        stored.shop(&file, None)?
    } else {
        let (horizon, next_week) = search::horizon(&file, &TimeArgs { from: None, now, weeks: 6 })?;
        notes.extend(next_week);
        now = now.map(|now| now.max(horizon.half_day(0)));
        file.shop(horizon)?
    };
    let wanted =
        Wanted { kind: args.kind.clone(), count: args.count, half_days: args.half_days, at: args.at.clone(), now };
    yardless_ask::may_be_asked(&shop, &wanted)?;
    let plan = if let Some((stored, _)) = &stored {
        stored.plan.clone()
    } else {
        notes.push("no stored plan: the book was planned afresh (--plan PLAN asks a stored one)".to_owned());
        let fresh = SearchArgs { seconds: None, steps: None, gap: None, seed: 1 };
        search::plan(&shop, &file.written.digest, None, &fresh)?
    };
    let mut answer = Answer::of(&yardless_ask::free(&file, &shop, &plan, stored, &wanted)?, &args.ask);
    answer.notes.extend(notes);
    Ok(answer)
}
