//! What is waited on, and what others were told: dates that must fit together.

use super::super::fault::{Code, Fault, Path};
use super::super::half_day::HalfDay;
use super::super::near::shown;
use super::super::{Book, Job, Step, WaitsOn};
use super::{Judge, top};

/// Rule families: W14, C10's windows.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    for (number, job) in book.jobs.iter().enumerate() {
        let at = top("jobs").index(number);
        confirmed(&job.waits_on, &at, judge);
        for (index, step) in job.steps.iter().enumerate() {
            let at = at.field("steps").index(index);
            confirmed(&step.waits_on, &at, judge);
            told(step, &at, judge);
            fixed(job, step, number, &at, judge);
        }
    }
}

/// What is confirmed has a date.
fn confirmed(waits: &[WaitsOn], at: &Path, judge: &mut Judge) {
    for (nth, wait) in waits.iter().enumerate() {
        if wait.confirmed && wait.expected.is_none() {
            let at = at.field("waits_on").index(nth);
            let says = format!("`{}` is confirmed, and no date is given for it", shown(&wait.what));
            let fault = Fault::new(Code::Waits, at.field("confirmed"), says)
                .help("give the date in `expected`, or take `confirmed` away");
            judge.fault(&[at.field("expected")], fault);
        }
    }
}

fn told(step: &Step, at: &Path, judge: &mut Judge) {
    let Some(told) = step.told.as_ref().filter(|told| told.to < told.from) else { return };
    let path = at.field("told");
    let says = format!(
        "somebody was told that the step `{}` starts from {} to {}, which is before that",
        shown(&step.id),
        told.from,
        told.to
    );
    let fault = Fault::new(Code::WrongTime, path.field("to"), says).help("`to` must not be before `from`");
    judge.fault(&[path.field("from"), path.field("to")], fault);
}

/// W14: a start that is fixed before a date that is waited for.
fn fixed(job: &Job, step: &Step, number: usize, at: &Path, judge: &mut Judge) {
    let Some(start) = step.fixed.as_ref().and_then(|fixed| fixed.start).filter(|_| !step.started()) else { return };
    let of = |waits: &'_ [WaitsOn], at: Path| -> Vec<(Path, chrono::NaiveDate, String)> {
        let dated = waits.iter().enumerate().filter_map(|(nth, wait)| Some((nth, wait.expected?, &wait.what)));
        dated.map(|(nth, date, what)| (at.field("waits_on").index(nth), date, what.clone())).collect()
    };
    let ordered = step.material.iter().enumerate();
    let ordered = ordered.filter_map(|(nth, of)| Some((at.field("material").index(nth), of.expected?, of.called())));
    let all = of(&step.waits_on, at.clone()).into_iter().chain(ordered);
    let all = all.chain(of(&job.waits_on, top("jobs").index(number)));
    let Some((wait, date, what)) = all.max_by_key(|(_, date, _)| *date) else { return };
    if start < HalfDay::am(date) {
        let path = at.field("fixed").field("start");
        let says = format!(
            "the step `{}` is fixed to {start}, and `{}` that it waits on is expected on {date}",
            shown(&step.id),
            shown(&what)
        );
        let help = "fix a later start, or correct the date that is expected";
        judge.fault(&[path.clone(), wait.field("expected")], Fault::new(Code::FixedStart, path, says).help(help));
    }
}
