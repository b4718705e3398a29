//! `yardless note`: what happened, written into the book.

use std::path::Path;

use yardless_book::half_day::HalfDay;
use yardless_edit::List;
use yardless_edit::book_file;
use yardless_edit::note::{Kept, Noted, Request, Said, Says, said};
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{OfNote, Trouble};

use crate::answer::Answer;
use crate::args::{ListArg, NoteArgs};
use crate::written::make;

/// Writes what is said into the book.
pub fn run(path: &Path, args: &NoteArgs) -> Result<Answer, Trouble> {
    let request = request(args)?;
    let file = book_file::read(path)?;
    let kept = if request.wants_plan() { Kept::find(path, args.kept.as_deref())? } else { None };
    let plan = kept.as_ref().map(|kept| (kept.name.clone(), kept.named));
    let noted = request.noted(&file, kept)?;
    let mut answer = make(&noted.changes, path, &file, args.dry_run)?;
    if let (Says::AsPlanned { until, .. }, Some((name, named))) = (&request.says, plan) {
        answer.notes.extend(otherwise(&noted, *until, named.then_some(&name)));
        if noted.changes.changed.is_empty() && noted.stands.is_empty() {
            answer.notes.push(format!("{} has nothing before {until} that the book does not have", name.plan()));
        }
    }
    Ok(answer)
}

/// What stands, with the command that takes the plan's word instead, and what cannot have begun. `plan`: where it was
/// asked for by its name.
fn otherwise(noted: &Noted, until: HalfDay, plan: Option<&Called>) -> Vec<String> {
    let kept = plan.map_or(String::new(), |plan| format!(" --kept {}", plan.bare()));
    let stands = noted.stands.iter().map(|stands| {
        format!(
            "{} stays as it was said, {}; by the plan: {} (`yardless note --until \"{until}\"{kept} --over {}` takes the plan's word)",
            stands.of,
            stands.said(|at| at.to_string()),
            stands.planned(|at| at.to_string()),
            stands.of
        )
    });
    let held_back = noted.held_back.iter();
    let held_back = held_back.map(|(of, why)| format!("{of} cannot have begun and is not noted: {}", why.says()));
    let agreed = noted.agreed.iter();
    let agreed = agreed.map(|of| format!("{of}: nothing was said of it that the plan has otherwise"));
    stands.chain(held_back).chain(agreed).collect()
}

/// What the words and options ask to be noted; refused where they say nothing that can be.
fn request(args: &NoteArgs) -> Result<Request, Trouble> {
    let says = if let Some(until) = args.until {
        Says::AsPlanned { until, over: args.over.clone() }
    } else {
        let (what, said) = said(&args.words)?;
        Says::Of(what.to_owned(), said)
    };
    fitting(args, &says)?;
    Ok(Request {
        crew: args.crew.clone(),
        with: args.with.clone(),
        way: args.way.clone(),
        start: args.start,
        end: args.end,
        units: args.units.clone(),
        parked: args.parked.iter().map(|text| parked(text)).collect(),
        people: args.people,
        by: args.by.clone(),
        list: args.list.map(List::from),
        ..Request::new(says, args.now)
    })
}

/// `KIND=UNIT,UNIT`; what has no `=` names no units, and is refused where it is asked for.
fn parked(text: &str) -> (String, Vec<String>) {
    let Some((kind, units)) = text.split_once('=') else { return (text.to_owned(), Vec::new()) };
    (kind.to_owned(), units.split(',').map(|unit| unit.trim().to_owned()).collect())
}

impl From<ListArg> for List {
    fn from(list: ListArg) -> Self {
        match list {
            ListArg::Unit => Self::Unit,
            ListArg::Crew => Self::Crew,
            ListArg::Truck => Self::Truck,
            ListArg::Thing => Self::Thing,
        }
    }
}

/// The word for it.
fn verb(said: &Said) -> &'static str {
    match said {
        Said::Done => "done",
        Said::Left(_) => "left",
        Said::Again => "again",
        Said::At(_) => "at",
        Said::In(_) => "in",
        Said::Out(_) => "out",
        Said::Away(_) => "away",
        Said::Back(_) => "back",
    }
}

/// Refuses options that say nothing with what is said: none is passed over.
fn fitting(args: &NoteArgs, says: &Says) -> Result<(), Trouble> {
    let verb = match says {
        Says::Of(_, said) => verb(said),
        Says::AsPlanned { .. } => "--until",
    };
    let options: Vec<&'static str> = [
        ("--crew", args.crew.is_some(), &["done", "left"][..]),
        ("--with", args.with.is_some(), &["done", "left"]),
        ("--way", args.way.is_some(), &["done", "left"]),
        ("--start", args.start.is_some(), &["done", "left"]),
        ("--end", args.end.is_some(), &["done"]),
        ("--units", args.units.is_some(), &["left"]),
        ("--parked", !args.parked.is_empty(), &["done", "left"]),
        ("--kept", args.kept.is_some(), &["done", "left", "again", "--until"]),
        ("--over", !args.over.is_empty(), &["--until"]),
        ("--people", args.people.is_some(), &["away"]),
        ("--by", args.by.is_some(), &["at", "in"]),
        ("--as", args.list.is_some(), &["at", "in", "out", "away", "back"]),
    ]
    .into_iter()
    .filter(|(_, given, with)| *given && !with.contains(&verb))
    .map(|(option, _, _)| option)
    .collect();
    if options.is_empty() {
        return Ok(());
    }
    Err(OfNote::Options { options, verb }.into())
}
