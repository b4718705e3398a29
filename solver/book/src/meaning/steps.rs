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
            durations(step, &at, judge);
            spread(step, &at, judge);
            people(step, &at, judge);
            waits(step, &at, judge);
        }
    }
}

fn durations(step: &Step, at: &Path, judge: &mut Judge) {
    let own = [at.field("half_days"), at.field("labor_hours"), at.field("needs"), at.field("ways")];
    let Some(ways) = &step.ways else {
        let what = format!("the step `{}`", shown(&step.id));
        return one_duration(&what, step.half_days.is_some(), step.labor_hours.is_some(), at, &own, judge);
    };
    for (given, field) in [
        (step.half_days.is_some(), "half_days"),
        (step.labor_hours.is_some(), "labor_hours"),
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
        let own = [at.field("half_days"), at.field("labor_hours")];
        one_duration(&what, way.half_days.is_some(), way.labor_hours.is_some(), &at, &own, judge);
    }
}

fn one_duration(what: &str, half_days: bool, labor_hours: bool, at: &Path, relies_on: &[Path], judge: &mut Judge) {
    match (half_days, labor_hours) {
        (false, false) => {
            let fault = Fault::new(Code::Duration, at.clone(), format!("{what} does not say how long it takes"));
            judge.fault(relies_on, fault.help("give `half_days` or `labor_hours`"));
        }
        (true, true) => {
            let says = format!("{what} gives both `half_days` and `labor_hours`");
            let fault = Fault::new(Code::Duration, at.field("labor_hours"), says).help("keep one of the two");
            judge.fault(relies_on, fault);
        }
        _ => {}
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
