//! What is done and in progress (N1): crews, ways and units that are known, and that fit together and where units stand.

use std::collections::BTreeMap;

use super::super::fault::{Code, Fault, Path};
use super::super::near::shown;
use super::super::{Book, Job, Need, Step};
use super::names::Known;
use super::shared;
use super::{Judge, top};

/// Rule family: N1.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let crews = Known::of("crew", judge, "crews", book.crews.iter().map(|crew| crew.id.as_str()));
    let units = Known::of("unit", judge, "equipment", book.equipment.iter().map(|unit| unit.id.as_str()));
    // Who holds each unit now, and where that is written.
    let mut held: BTreeMap<&str, Path> = BTreeMap::new();
    for (number, job) in book.jobs.iter().enumerate() {
        let at = top("jobs").index(number);
        let steps = at.field("steps");
        for (index, step) in job.steps.iter().enumerate() {
            let at = steps.index(index);
            one_of_two(step, &at, judge);
            if let Some(done) = &step.done {
                let at = at.field("done");
                crews.expect(judge, at.field("crew"), &done.crew);
                way(step, done.way.as_deref(), &at, judge);
                if done.end < done.start {
                    let says = format!("the step `{}` ended on {}, before it started", shown(&step.id), done.end);
                    say(judge, &[at.field("start")], at.field("end"), says, "correct one of the two half-days");
                }
            }
            if let Some(progress) = &step.progress {
                let at = at.field("progress");
                crews.expect(judge, at.field("crew"), &progress.crew);
                let of = way(step, progress.way.as_deref(), &at, judge);
                for (nth, unit) in progress.units.iter().enumerate() {
                    units.expect(judge, at.field("units").index(nth), unit);
                }
                stand_there(book, job, (&progress.units, &at.field("units")), &units, &mut held, judge);
                if let Some(of) = of {
                    stop(step, of, &at, judge);
                    left(step, of, progress.left, &at, judge);
                    // Between its spans it holds nothing (W10).
                    if !(step.may_split && progress.units.is_empty()) {
                        let help = if step.may_split { NAME_ALL_OR_NONE } else { NAME_ALL };
                        serve(book, step.needs(of), (&progress.units, &at.field("units")), (&units, help), judge);
                    }
                }
            }
        }
        parked(book, job, &at.field("parked"), &units, &mut held, judge);
    }
}

fn say(judge: &mut Judge, relies_on: &[Path], path: Path, says: String, help: &str) {
    judge.fault(relies_on, Fault::new(Code::History, path, says).help(help));
}

fn one_of_two(step: &Step, at: &Path, judge: &mut Judge) {
    if step.done.is_some() && step.progress.is_some() {
        let says = format!("the step `{}` is done and in progress at once", shown(&step.id));
        say(judge, &[at.field("done")], at.field("progress"), says, "keep one of `done` and `progress`");
    }
}

/// The position of the way; a fault where it is none of the step's, or is not said and there are several.
fn way(step: &Step, given: Option<&str>, at: &Path, judge: &mut Judge) -> Option<usize> {
    let found = step.way(given);
    if found.is_none() {
        let ways: Vec<String> = step.ways.iter().flatten().map(|way| format!("`{}`", shown(&way.id))).collect();
        let ways = if ways.is_empty() { "`usual`".to_owned() } else { ways.join(", ") };
        let says = match given {
            Some(way) => format!("the step `{}` has no way `{}`", shown(&step.id), shown(way)),
            None => format!("it is not said in which way the step `{}` is done", shown(&step.id)),
        };
        let path = if given.is_some() { at.field("way") } else { at.clone() };
        say(judge, &[], path, says, &format!("`way` is one of {ways}"));
    }
    found
}

/// A stop is over in the half-day in which it begins (W16).
fn stop(step: &Step, way: usize, at: &Path, judge: &mut Judge) {
    let hours = step.ways.as_ref().map_or(step.hours, |ways| ways[way].hours);
    if hours.is_some() {
        let says = format!("the step `{}` is a stop, over in its half-day: it is never in progress", shown(&step.id));
        let help = "give `done` in place of `progress` where it was made, or take `progress` away where it was not";
        say(judge, &[], at.clone(), says, help);
    }
}

/// What is left is counted as the way is: whole half-days, or labor hours.
fn left(step: &Step, way: usize, left: f64, at: &Path, judge: &mut Judge) {
    let hours = match &step.ways {
        None => step.labor_hours.is_some(),
        Some(ways) => ways[way].labor_hours.is_some(),
    };
    if !hours && left.fract() != 0.0 {
        let says = format!("the step `{}` is counted in half-days, and {left} are left", shown(&step.id));
        say(judge, &[], at.field("left"), says, "give a whole number of half-days, 1 or more");
    }
}

/// Each unit held now stands at the job's place, and is held once; of a shared kind once by each that holds it (E8).
fn stand_there<'b>(
    book: &'b Book,
    job: &Job,
    (units, at): (&'b [String], &Path),
    known: &Known,
    held: &mut BTreeMap<&'b str, Path>,
    judge: &mut Judge,
) {
    for (nth, id) in units.iter().enumerate() {
        let path = at.index(nth);
        let Some(index) = known.index(id) else { continue };
        let place = &book.equipment[index].place;
        if *place != job.place {
            let says = format!(
                "the unit `{}` is held at `{}`, and its `place` says that it stands at `{}`",
                shown(id),
                shown(&job.place),
                shown(place)
            );
            let relies_on = [top("equipment").index(index).field("place")];
            say(judge, &relies_on, path.clone(), says, "correct the unit's `place`, or take it off this list");
        }
        if shared::is_shared_unit(book, index) {
            if units[..nth].contains(id) {
                let says = format!("the unit `{}` is named twice", shown(id));
                say(judge, &[], path, says, "one unit serves any number of needs of its kind: name it once");
            }
            continue;
        }
        if let Some(other) = held.insert(id, path.clone()) {
            let says = format!("the unit `{}` is held in {other} already", shown(id));
            say(judge, &[], path, says, "a unit serves one need at a time: name it once");
        }
    }
}

const NAME_ALL: &str = "name every unit that stands there for this work";
const NAME_ALL_OR_NONE: &str =
    "name every unit that stands there for this work, or none where its crew has left it and comes back";

/// The units must serve all needs; power may be given by one more. `help`: what to do where they do not.
fn serve(
    book: &Book,
    needs: &[Need],
    (units, at): (&[String], &Path),
    (known, help): (&Known, &str),
    judge: &mut Judge,
) {
    let named: Vec<usize> = units.iter().filter_map(|id| known.index(id)).collect();
    let one_each = needs.iter().filter(|need| !shared::is_shared(book, &need.kind));
    let mut wanted: Vec<&str> =
        one_each.flat_map(|need| std::iter::repeat_n(need.kind.as_str(), need.count as usize)).collect();
    // One kind a unit as a rule: taken in order, the units of fewest kinds first, this serves all that can be served.
    let mut kinds: Vec<&Vec<String>> = named.iter().map(|index| &book.equipment[*index].kinds).collect();
    kinds.sort_by_key(|kinds| kinds.len());
    for kinds in kinds {
        if let Some(i) = wanted.iter().position(|kind| kinds.iter().any(|of| of == kind)) {
            wanted.remove(i);
        }
    }
    let too_few = shared::unserved(book, needs, &named).map(|need| need.kind.as_str());
    if let Some(kind) = wanted.first().copied().or(too_few) {
        let says = format!("no unit of `{}` is named for a need of it", shown(kind));
        say(judge, &[], at.clone(), says, help);
    }
}

/// `units` of what is parked: just when the job has begun and is not over, and `from` and `to` likewise (E7).
fn parked<'b>(
    book: &'b Book,
    job: &'b Job,
    at: &Path,
    units: &Known,
    held: &mut BTreeMap<&'b str, Path>,
    judge: &mut Judge,
) {
    let started = job.steps.iter().any(Step::started);
    let over = job.steps.iter().all(|step| step.done.is_some());
    for (nth, need) in job.parked.iter().enumerate() {
        let at = at.index(nth);
        if !started {
            if !need.units.is_empty() {
                let says = format!("no step of the job `{}` is done or in progress yet", shown(&job.id));
                say(judge, &[], at.field("units"), says, "the plan chooses the units: leave `units` out until then");
            }
            continue;
        }
        for (u, unit) in need.units.iter().enumerate() {
            units.expect(judge, at.field("units").index(u), unit);
        }
        let begins = need.from.as_ref().and_then(|from| job.steps.iter().find(|step| step.id == *from));
        if let Some(from) = begins.filter(|from| !from.started()) {
            if !need.units.is_empty() {
                let says = format!("the step `{}`, with which it is first held, has not begun", shown(&from.id));
                say(judge, &[], at.field("units"), says, "the plan chooses the units: leave `units` out until then");
            }
            continue;
        }
        if over || !job.holds_now(need) {
            continue;
        }
        if need.units.len() != need.count as usize {
            let says = format!(
                "the job `{}` has begun with {} of `{}` parked, and {} named",
                shown(&job.id),
                need.count,
                shown(&need.kind),
                match need.units.len() {
                    0 => "none is".to_owned(),
                    1 => "1 is".to_owned(),
                    n => format!("{n} are"),
                }
            );
            let relies_on = [at.field("units"), at.field("count")];
            say(judge, &relies_on, at.clone(), says, "name the units that stand there in `units`");
            continue;
        }
        let one = Need { kind: need.kind.clone(), count: need.count, extra: super::super::Extra::new() };
        serve(book, std::slice::from_ref(&one), (&need.units, &at.field("units")), (units, NAME_ALL), judge);
        stand_there(book, job, (&need.units, &at.field("units")), units, held, judge);
    }
}
