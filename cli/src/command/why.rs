//! `yardless why`: what holds a job.

use std::path::Path;

use yardless_ask::asked;
use yardless_edit::trouble::Trouble;
use yardless_engine::Limits;
use yardless_view::ReadOn;

use crate::answer::Answer;
use crate::args::WhyArgs;

/// The chain from the plan, then the facts on which it rests.
pub fn run(book: &Path, args: &WhyArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, args.ask.plan.as_deref(), args.ask.now)?;
    let limits = Limits::steps(args.steps);
    Ok(Answer::of(&yardless_ask::why(&asked, &args.job, args.sooner, &limits, ReadOn::Terminal)?, &args.ask))
}
