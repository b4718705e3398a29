//! `yardless replan`: a new plan close to the one given out, what it changes, why, and who must know.

use std::path::Path;

use yardless_ask::then;
use yardless_book::half_day::Horizon;
use yardless_edit::book_file::{self, BookFile};
use yardless_edit::plan_file;
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{OfCommand, OfPlan, Trouble};
use yardless_engine::Leaning;
use yardless_view::ReadOn;

use crate::answer::{Answer, assumed};
use crate::args::ReplanArgs;
use crate::search;

/// Plans again from now on, stores the plan where asked to, and prints what changed and the calendar.
pub fn run(book: &Path, args: &ReplanArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let path = args.kept.clone().unwrap_or_else(|| book.with_file_name("plan.json"));
    let kept = plan_file::read(&path)?;
    if let Some(out) = &args.out {
        plan_file::may_replace(out)?;
    }
    let (horizon, now) = from_now(&file, args, kept.plan.weeks)?;
    let called = Called::File(path.display().to_string());
    let then = then(&file, &kept, &called, horizon.half_day(now))?;
    let shop = then.book.shop_from(horizon, now, Some(&kept.plan.kept()))?;
    let digest = &file.written.digest;
    let mut plans = match args.choices {
        None => vec![(Leaning::Balanced, search::replan(&shop, digest, &kept.plan, &args.search)?)],
        Some(most) => search::choices(&shop, digest, &kept.plan, usize::from(most), &args.search)?,
    };
    for (_, plan) in &mut plans {
        plan.so_far = then.so_far(&kept);
    }
    let Some((_, plan)) = args.choice.checked_sub(1).and_then(|n| plans.get(n)) else {
        return Err(OfCommand::NoChoice { choice: args.choice, found: plans.len() }.into());
    };
    if let Some(out) = &args.out {
        plan_file::write(out, plan)?;
    }
    let text = if args.json {
        plan_file::json(plan)
    } else {
        let list =
            args.choices.map(|_| yardless_view::choices(&shop, &kept.plan, &plans).text() + "\n").unwrap_or_default();
        list + &yardless_view::changed(&shop, &kept.plan, plan, ReadOn::Terminal).text()
            + "\n"
            + &yardless_view::calendar_beside(&shop, plan, &kept.plan)
    };
    let mut answer = Answer::new(text);
    answer.notes.extend(then.assumed.as_ref().map(|of| assumed(of, args.kept.as_deref())));
    if kept.plan.book_digest != file.written.digest {
        let says = "the book has changed since that plan was made: what of it still holds stays";
        answer.notes.push(says.to_owned());
    }
    Ok(answer)
}

/// The weeks planned, and the index from which on.
fn from_now(file: &BookFile, args: &ReplanArgs, weeks: u32) -> Result<(Horizon, usize), Trouble> {
    let now = args.now.unwrap_or_else(|| file.half_day_now());
    let monday = Horizon::monday_of(now.date());
    let horizon =
        Horizon::new(monday, args.weeks.unwrap_or(weeks)).map_err(|e| OfPlan::NoWeeks { why: e.to_string() })?;
    // A horizon begins on the Monday before: now lies in its first week.
    Ok((horizon, horizon.index(now).unwrap_or(0)))
}
