//! `yardless why`: what holds a job.

use std::path::Path;

use chrono::NaiveDate;
use yardless_solver::answer::why::{chain, rests_on};
use yardless_solver::engine::Limits;

use crate::answer::Answer;
use crate::args::WhyArgs;
use crate::trouble::Trouble;
use crate::{asked, view};

/// The chain from the plan, then the facts on which it rests.
pub fn run(book: &Path, args: &WhyArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, &args.ask)?;
    let job = asked.job(&args.job)?;
    let given = asked.given()?;
    let ends = given.ends(&job.id);
    // The date before the one on which it ends; of one left out the last of all.
    let before = ends.map_or_else(
        || Some(asked.shop.horizon.last_date()),
        |ends| {
            std::iter::successors(ends.pred_opt(), NaiveDate::pred_opt)
                .take_while(|date| *date >= given.now().date())
                .find(|date| asked.shop.works_date(*date))
        },
    );
    let by = args.sooner.or(before);
    let links = chain(&given, &job.id);
    let rests = by.map(|by| rests_on(&given, &job.id, by, &Limits::steps(args.steps)));
    let text = if args.ask.json {
        view::why_json(&given, job, &links, rests.as_ref())
    } else {
        view::why(&given, job, &links, rests.as_ref())
    };
    Ok(Answer::new(text))
}
