//! How a plan stands to what has happened, in words.

use yardless_check::fact::OfHistory;
use yardless_plan::shop::Id;

use crate::names::Names;

pub(super) fn says(names: &Names, fact: &OfHistory) -> String {
    match fact {
        OfHistory::DoneOtherwise { job, done, crew, start, end } => {
            let step = names.shop.book.jobs[job.index()].steps.iter().find(|step| step.id == *done);
            let name = step.and_then(|step| step.name.as_ref()).unwrap_or(done);
            let (start, end) = (names.half(*start), names.half(*end));
            format!(
                "{name} at {} was done by {crew} from {start} to {end}, and the plan says otherwise",
                names.job(*job)
            )
        }
        OfHistory::OtherCrew { step, was, is } => {
            format!("{} is in progress by {was}, and goes on by {is}", names.step(*step))
        }
        OfHistory::OtherHelpers { step } => {
            format!("{} is in progress, and goes on with other helpers", names.step(*step))
        }
        OfHistory::OtherWay { step, was, is } => {
            format!("{} is in progress the way `{was}`, and goes on the way `{is}`", names.step(*step))
        }
        OfHistory::OtherStart { step, was, said } => {
            let (was, said) = (names.half(*was), names.half(*said));
            format!("{} started on {was}, and the plan says {said}", names.step(*step))
        }
        OfHistory::NotAfterDone { step, start, job, done, ends } => {
            let (start, ends, job) = (names.half(*start), names.half(*ends), &names.shop.jobs[*job].id);
            format!(
                "{} starts on {start}, too soon or too late after {done} of {job}, done on {ends}",
                names.step(*step)
            )
        }
        OfHistory::RestFits { job } => {
            format!("{} has begun and is left out, and the rest of it fits into this plan", names.job(*job))
        }
    }
}
