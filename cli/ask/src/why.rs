//! What holds a job.

use chrono::NaiveDate;
use yardless_answer::why::{chain, rests_on};
use yardless_edit::trouble::{OfQuestion, Trouble};
use yardless_engine::Limits;
use yardless_view::ReadOn;

use super::Answered;
use crate::asked::Asked;

/// The chain from the plan, then the facts on which it rests that the job is not done by the end of a date; `None`: the
/// date before the one on which it ends. `limits`: of the search for each plan that is asked for.
pub fn why(
    asked: &Asked,
    job: &str,
    sooner: Option<NaiveDate>,
    limits: &Limits,
    on: ReadOn,
) -> Result<Answered, Trouble> {
    let job = asked.job(job)?;
    if job.steps.iter().all(|step| step.done.is_some()) {
        return Err(OfQuestion::WhyDone { job: job.id.clone() }.into());
    }
    let given = asked.given()?;
    let ends = given.ends(&job.id);
    // Of a job left out the last date of all.
    let before = ends.map_or_else(
        || Some(asked.shop.horizon.last_date()),
        |ends| {
            std::iter::successors(ends.pred_opt(), NaiveDate::pred_opt)
                .take_while(|date| *date >= given.now().date())
                .find(|date| asked.shop.works_date(*date))
        },
    );
    let by = sooner.or(before);
    let links = chain(&given, &job.id);
    let rests = by.map(|by| rests_on(&given, &job.id, by, limits));
    Ok(Answered::new(
        yardless_view::why(&given, job, &links, rests.as_ref(), on),
        yardless_view::why_json(&given, job, &links, rests.as_ref()),
        asked.assumed.as_ref(),
    ))
}
