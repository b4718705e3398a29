//! Crews that help others (W11) and work on several steps at once (W13).

use super::super::fault::{Code, Fault, Path};
use super::super::near::shown;
use super::super::{Book, Crew, Step};
use super::names::Known;
use super::{Judge, top};

/// Most sets of helpers that one crew may have on one step: more are not worth the time of looking at them.
const MOST_SETS: u64 = 1_000;

/// Rule families: W11, W13, C11.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let crews = Known::of("crew", judge, "crews", book.crews.iter().map(|crew| crew.id.as_str()));
    for (number, crew) in book.crews.iter().enumerate() {
        let at = top("crews").index(number);
        at_once(crew, &at, judge);
        for (nth, other) in crew.usual_with.iter().enumerate() {
            let at = at.field("usual_with").index(nth);
            crews.expect(judge, at.clone(), other);
            if *other == crew.id {
                let says = format!("the crew `{}` cannot work with itself", shown(&crew.id));
                judge.fault(&[], Fault::new(Code::People, at, says).help("name other crews only"));
            }
        }
    }
    let own = book.crews.iter().filter(|crew| crew.own).count() as u64;
    for (number, job) in book.jobs.iter().enumerate() {
        for (index, step) in job.steps.iter().enumerate() {
            let at = top("jobs").index(number).field("steps").index(index);
            let ways = step.ways.iter().flatten().enumerate();
            let of_ways = ways.filter_map(|(nth, way)| Some((way.help?, at.field("ways").index(nth).field("help"))));
            for (help, path) in of_ways.chain([(step.help, at.field("help"))]) {
                too_many_sets(own, help, path, judge);
            }
            for (field, crew, with) in helped(step) {
                helpers(book, crew, (with, &at.field(field).field("with")), &crews, judge);
            }
        }
    }
}

/// Who did a step, or does it, with whom.
fn helped(step: &Step) -> impl Iterator<Item = (&'static str, &String, &Vec<String>)> {
    let done = step.done.iter().map(|done| ("done", &done.crew, &done.with));
    done.chain(step.progress.iter().map(|progress| ("progress", &progress.crew, &progress.with)))
}

fn at_once(crew: &Crew, at: &Path, judge: &mut Judge) {
    if crew.own && crew.at_once > 1 {
        let says = format!("the crew `{}` is the shop's own, and works on one step at a time", shown(&crew.id));
        let path = at.field("at_once");
        let help = "take `at_once` away, or say `own: false` where it is another firm or an inspector";
        judge.fault(&[path.clone(), at.field("own")], Fault::new(Code::People, path, says).help(help));
    }
}

fn too_many_sets(own: u64, help: u32, path: Path, judge: &mut Judge) {
    let others = own.saturating_sub(1);
    // Sets of at most so many of the others; the sums stay small, as help is at most 8.
    let (mut sets, mut of_size) = (1u64, 1u64);
    for size in 1..=u64::from(help).min(others) {
        of_size = of_size.saturating_mul(others - size + 1) / size;
        sets = sets.saturating_add(of_size);
    }
    if sets > MOST_SETS {
        let says =
            format!("with {own} crews of its own, {help} helpers can be chosen in {sets} ways: too many to look at");
        let fault = Fault::new(Code::People, path.clone(), says);
        judge.fault(&[path, top("crews")], fault.help("let fewer crews help: 2 or 3 are enough as a rule"));
    }
}

/// Helpers are other crews of the shop's own, each named once, and so is the crew that they help.
fn helpers(book: &Book, crew: &str, (with, at): (&[String], &Path), crews: &Known, judge: &mut Judge) {
    for (nth, helper) in with.iter().enumerate() {
        let at = at.index(nth);
        crews.expect(judge, at.clone(), helper);
        if helper == crew || with[..nth].contains(helper) {
            let says = format!("the crew `{}` is named twice for one step", shown(helper));
            judge.fault(&[], Fault::new(Code::People, at, says).help("name each crew once"));
        } else if let Some(number) = crews.index(helper).filter(|number| !book.crews[*number].own) {
            not_own(helper, number, at, judge);
        }
    }
    if let Some(number) = crews.index(crew).filter(|number| !with.is_empty() && !book.crews[*number].own) {
        not_own(crew, number, at.clone(), judge);
    }
}

fn not_own(crew: &str, number: usize, at: Path, judge: &mut Judge) {
    let says = format!("the crew `{}` is not the shop's own: it helps nobody, and nobody helps it", shown(crew));
    let fault = Fault::new(Code::People, at, says).help("take the crew out of `with`, or say that it is `own`");
    judge.fault(&[top("crews").index(number).field("own")], fault);
}
