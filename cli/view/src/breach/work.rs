//! Whether a job is done, and how a step is, in words.

use yardless_book::visible;
use yardless_check::fact::{OfJob, OfLater, OfWork};

use crate::names::Names;

pub(super) fn of_job(names: &Names, fact: &OfJob) -> String {
    let (job, says) = match *fact {
        OfJob::ListedTwice { job } => (job, "is listed more than once as left out or later"),
        OfJob::NotListedLater { job } => (job, "cannot begin within the horizon and is not listed as later"),
        OfJob::ListedLater { job } => (job, "is listed as later and could begin within the horizon"),
        OfJob::ListedAndOver { job } => (job, "is listed as not done, and all its steps are"),
        OfJob::ListedAndPlanned { job } => (job, "is listed as not done and has steps in the plan"),
        OfJob::LaterAndPlanned { job } => (job, "cannot begin within the horizon and has steps in the plan"),
        OfJob::Neither { job } => (job, "is neither done nor left out"),
        OfJob::WithoutStep { step } => {
            let facts = &names.shop.steps[step];
            return format!("{} is done without its step {}", names.job(facts.job), facts.name);
        }
    };
    format!("{} {says}", names.job(job))
}

pub(super) fn of_later(names: &Names, fact: &OfLater) -> String {
    let (step, says) = match fact {
        OfLater::Planned { step } => (step, "is planned and comes later: it cannot end within the horizon"),
        OfLater::Listed { step } => (step, "is listed as later and is not, or its job is not done"),
        OfLater::NotListed { step } => (step, "comes later and is not listed so"),
        OfLater::ListedDone { job, done } => {
            return format!("`{}` of {} is listed as later and is done", visible(done), names.job(*job));
        }
    };
    format!("{} {says}", names.step(*step))
}

pub(super) fn of_step(names: &Names, fact: &OfWork) -> String {
    match fact {
        OfWork::Twice { step } => format!("{} is planned more than once", names.step(*step)),
        OfWork::NoWay { step, way } => format!("{} has no way `{way}`", names.step(*step)),
        OfWork::NoOvertime { step } => {
            format!("{} is done in overtime, and no half-day may be", names.step(*step))
        }
        OfWork::NoSkill { step, crew } => {
            let skill = &names.shop.steps[*step].skill;
            format!("{} does {}, which takes `{skill}`, and has not that skill", names.crew(*crew), names.step(*step))
        }
        OfWork::FixedCrew { step, fixed, crew } => {
            format!("{} is fixed for {}, not {}", names.step(*step), names.crew(*fixed), names.crew(*crew))
        }
        OfWork::FixedWay { step, fixed, way } => {
            format!("{} is fixed to be done the way `{fixed}`, not `{way}`", names.step(*step))
        }
        OfWork::FixedStart { step, fixed, start } => {
            format!("{} is fixed to start on {}, not {}", names.step(*step), names.half(*fixed), names.half(*start))
        }
        OfWork::TwoAtOnce { crew, step, other, at } => {
            let (step, other) = (names.step(*step), names.step(*other));
            format!("{} works on {step} and on {other} on {}", names.crew(*crew), names.half(*at))
        }
        OfWork::TooManyAtOnce { crew, step, at, most } => {
            let (crew, at) = (names.crew(*crew), names.half(*at));
            format!("{crew} works on {most} steps in a half-day at most, and on {at} on {} besides", names.step(*step))
        }
        OfWork::StopsTooLong { crew, step, at, minutes } => {
            let (crew, at) = (names.crew(*crew), names.half(*at));
            format!(
                "the stops of {crew} on {at} take {minutes} minutes with {}: more than a half-day",
                names.step(*step)
            )
        }
        OfWork::TooFarAtNoon { crew, at } => {
            let (crew, date) = (names.crew(*crew), names.date(at.date()));
            format!("the drive of {crew} at noon on {date} is longer than the shop allows")
        }
        OfWork::CannotDrive { crew, at } => {
            let (crew, date) = (names.crew(*crew), names.date(at.date()));
            format!("{crew} cannot drive its round on {date}: a drive of it is not known")
        }
        OfWork::TooManyHelpers { step, most, are } => {
            format!("{are} crews help with {}, and at most {most} may", names.step(*step))
        }
        OfWork::HelperTwice { step, crew } => format!("{} is named twice for {}", names.crew(*crew), names.step(*step)),
        OfWork::HelperNotOwn { step, crew } => {
            format!("{} is not our own: it neither helps with {} nor is helped", names.crew(*crew), names.step(*step))
        }
        OfWork::HelperNeverThere { step, crew } => {
            format!(
                "{} helps with {}, and has nobody there while it is worked on",
                names.crew(*crew),
                names.step(*step)
            )
        }
        OfWork::OtherHelpers { step } => {
            format!("{} is begun with some helpers, and come back to with others", names.step(*step))
        }
        OfWork::BeforeExpected { step, start, what, expected } => format!(
            "{} starts on {}, and {} that it waits on is expected on {}",
            names.step(*step),
            names.half(*start),
            visible(what),
            names.date(expected.date())
        ),
        OfWork::Undated { step, what } => {
            format!("{} waits on {}, for which no date is known", names.step(*step), visible(what))
        }
        OfWork::BeforeNotDone { step, before } => {
            format!("{} comes after {}, which is not done", names.step(*step), names.step(*before))
        }
        OfWork::TooSoon { step, start, before, ends, wait } => {
            let wait = if *wait == 0 { String::new() } else { format!(" by {wait} half-days") };
            let (start, ends) = (names.half(*start), names.half(*ends));
            format!("{} starts on {start}, not after {} ends on {ends}{wait}", names.step(*step), names.step(*before))
        }
        OfWork::TooLate { step, start, before, ends, within } => format!(
            "{} starts on {}, more than {within} half-days after {} ends on {}",
            names.step(*step),
            names.half(*start),
            names.step(*before),
            names.half(*ends)
        ),
    }
}
