//! One step by itself: how long it takes, how that spreads, how many people do it, how long it waits.

use super::super::fault::{Code, Fault, Path};
use super::super::near::shown;
use super::super::{After, Book, Step};
use super::{Judge, top};

/// Rule families: W3's durations, W2's people, W6's waits.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    for (number, job) in book.jobs.iter().enumerate() {
        for (index, step) in job.steps.iter().enumerate() {
            let at = top("jobs").index(number).field("steps").index(index);
            durations(step, book.shop.half_day_hours, &at, judge);
            spread(step, &at, judge);
            people(step, &at, judge);
            waits(step, &at, judge);
        }
    }
}

fn durations(step: &Step, half_day_hours: f64, at: &Path, judge: &mut Judge) {
    let own = DURATIONS.map(|field| at.field(field));
    let Some(ways) = &step.ways else {
        let what = format!("the step `{}`", shown(&step.id));
        let relies_on = [&own[..], &[at.field("needs"), at.field("ways")]].concat();
        stop(&what, step.hours, half_day_hours, at, judge);
        return one_duration(&what, given(step.half_days, step.labor_hours, step.hours), at, &relies_on, judge);
    };
    for (given, field) in [
        (step.half_days.is_some(), "half_days"),
        (step.labor_hours.is_some(), "labor_hours"),
        (step.hours.is_some(), "hours"),
        (!step.needs.is_empty(), "needs"),
    ] {
        if given {
            let path = at.field(field);
            let says = format!("the step `{}` gives `ways` and `{field}` beside them", shown(&step.id));
            let fault = Fault::new(Code::Duration, path.clone(), says)
                .help(format!("each way gives its own `{field}`: move it there"));
            judge.fault(&[path, at.field("ways")], fault);
        }
    }
    for (nth, way) in ways.iter().enumerate() {
        let at = at.field("ways").index(nth);
        let what = format!("the way `{}`", shown(&way.id));
        stop(&what, way.hours, half_day_hours, &at, judge);
        let own = DURATIONS.map(|field| at.field(field));
        one_duration(&what, given(way.half_days, way.labor_hours, way.hours), &at, &own, judge);
    }
}

/// The fields that say how long work takes.
const DURATIONS: [&str; 3] = ["half_days", "labor_hours", "hours"];

/// Which of them are given.
fn given(half_days: Option<u32>, labor_hours: Option<f64>, hours: Option<f64>) -> [bool; 3] {
    [half_days.is_some(), labor_hours.is_some(), hours.is_some()]
}

/// A stop is over within its half-day (W16).
fn stop(what: &str, hours: Option<f64>, half_day_hours: f64, at: &Path, judge: &mut Judge) {
    if let Some(hours) = hours.filter(|hours| *hours > half_day_hours) {
        let path = at.field("hours");
        let says = format!("{what} is a stop of {hours} hours, and a half-day has {half_day_hours}");
        let fault = Fault::new(Code::Duration, path.clone(), says)
            .help("a stop fits in one half-day; give `half_days` or `labor_hours` for longer work");
        judge.fault(&[path, top("shop").field("half_day_hours")], fault);
    }
}

fn one_duration(what: &str, given: [bool; 3], at: &Path, relies_on: &[Path], judge: &mut Judge) {
    let fields: Vec<&str> =
        DURATIONS.into_iter().zip(given).filter_map(|(field, given)| given.then_some(field)).collect();
    match fields[..] {
        [] => {
            let fault = Fault::new(Code::Duration, at.clone(), format!("{what} does not say how long it takes"));
            judge.fault(relies_on, fault.help("give `half_days`, `labor_hours` or `hours`"));
        }
        [_] => {}
        [first, second, ..] => {
            let says = format!("{what} gives both `{first}` and `{second}`");
            let fault = Fault::new(Code::Duration, at.field(second), says).help("keep one of the two");
            judge.fault(relies_on, fault);
        }
    }
}

fn spread(step: &Step, at: &Path, judge: &mut Judge) {
    let Some(spread) = &step.spread else { return };
    if spread.low <= spread.likely && spread.likely <= spread.high {
        return;
    }
    let path = at.field("spread");
    let says = format!(
        "the spread of the step `{}` is {}, {}, {}: not from low over likely to high",
        shown(&step.id),
        spread.low,
        spread.likely,
        spread.high
    );
    let help = "put them in order; they are factors of what the step takes, and `likely` is 1 where it is not given";
    judge.fault(
        &[path.field("low"), path.field("likely"), path.field("high")],
        Fault::new(Code::Spread, path, says).help(help),
    );
}

fn people(step: &Step, at: &Path, judge: &mut Judge) {
    let Some(most) = step.max_people else { return };
    let of_ways = step.ways.iter().flatten().enumerate();
    let of_ways = of_ways.map(|(nth, way)| (way.min_people, at.field("ways").index(nth).field("min_people")));
    for (least, path) in of_ways.chain([(step.min_people, at.field("min_people"))]) {
        if let Some(least) = least.filter(|least| *least > most) {
            let says = format!("at least {least} people, but the step `{}` takes at most {most}", shown(&step.id));
            let fault =
                Fault::new(Code::People, path.clone(), says).help("`max_people` must not be below `min_people`");
            judge.fault(&[path, at.field("max_people")], fault);
        }
    }
}

fn waits(step: &Step, at: &Path, judge: &mut Judge) {
    for (nth, after) in step.after.iter().flatten().enumerate() {
        let After::Waits(after) = after else { continue };
        if let Some(within) = after.within_half_days.filter(|within| *within < after.wait_half_days) {
            let at = at.field("after").index(nth);
            let says = format!(
                "within {within} half-days after `{}`, but only after waiting {}: that is never",
                shown(&after.step),
                after.wait_half_days
            );
            let fault = Fault::new(Code::Waits, at.field("within_half_days"), says)
                .help("`within_half_days` must not be below `wait_half_days`");
            judge.fault(&[at.field("within_half_days"), at.field("wait_half_days")], fault);
        }
    }
}
