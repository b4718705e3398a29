//! The units parked at a job that begins: which of them serves which need.

use yardless_book::{Book, Equipment, Job, Path};

use super::{NoteContext, Says};
use crate::Changes;
use crate::changes::BookChange;
use crate::trouble::{OfNote, Trouble};
use crate::{Edit, value};

/// Names the units parked at a job that has begun: those of `--parked`, else those of the kept plan where the book
/// names none yet. A job that is over needs none. Gives the units named.
pub fn name(context: &NoteContext, job: usize, over: bool, changes: &mut Changes) -> Result<Vec<String>, Trouble> {
    let of = &context.book.jobs[job];
    let mut given = given(context, of)?;
    let planned = context.kept.as_ref().and_then(|kept| share(context.book, of, kept.parked(&of.id)));
    let (mut named, mut missing) = (Vec::new(), Vec::new());
    for (n, need) in of.parked.iter().enumerate() {
        let asked = given.iter().position(|(kind, _)| *kind == need.kind).map(|at| given.remove(at).1);
        let from_plan = asked.is_none();
        if asked.is_none() && (over || !need.units.is_empty()) {
            continue;
        }
        let Some(units) = asked.or_else(|| planned.as_ref().map(|planned| planned[n].clone())) else {
            missing.push((need.kind.clone(), need.count));
            continue;
        };
        let at = Path::default().field("jobs").index(job).field("parked").index(n).field("units");
        changes.edits.push(Edit::Set(at, value(&units)));
        let by = context.kept.as_ref().filter(|_| from_plan).map(|kept| kept.name.clone());
        let (job, kind, was) = (of.id.clone(), need.kind.clone(), need.units.clone());
        changes.tell(BookChange::Parked { job, kind, was, is: units.clone(), by });
        named.extend(units);
    }
    if missing.is_empty() {
        return Ok(named);
    }
    let as_planned = matches!(context.request.says, Says::AsPlanned { .. });
    Err(OfNote::NotParked { job: of.id.clone(), kinds: missing, as_planned }.into())
}

/// What `--parked` says, by kind.
fn given<'d>(context: &'d NoteContext, job: &Job) -> Result<Vec<(&'d str, Vec<String>)>, Trouble> {
    let kinds: Vec<&str> = job.parked.iter().map(|need| need.kind.as_str()).collect();
    let read = |(kind, units): &'d (String, Vec<String>)| {
        if !kinds.contains(&kind.as_str()) || units.is_empty() {
            let kinds = kinds.iter().map(|kind| (*kind).to_owned()).collect();
            let given = (kind.clone(), units.clone());
            return Err(OfNote::ParkedOtherwise { job: job.id.clone(), given, kinds }.into());
        }
        Ok((kind.as_str(), units.iter().map(|unit| unit_id(context.book, unit)).collect()))
    };
    context.request.parked.iter().map(read).collect()
}

/// A unit's id, where its name is given; what is no unit stays, and the reader tells of it.
pub fn unit_id(book: &Book, given: &str) -> String {
    let same = |unit: &&Equipment| unit.name.as_ref().is_some_and(|name| name.to_lowercase() == given.to_lowercase());
    if book.equipment.iter().any(|unit| unit.id == given) {
        return given.to_owned();
    }
    book.equipment.iter().find(same).map_or_else(|| given.to_owned(), |unit| unit.id.clone())
}

/// The units shared among what the job has parked, each for a need that it can serve; nothing where they do not suffice.
pub fn share(book: &Book, job: &Job, units: &[String]) -> Option<Vec<Vec<String>>> {
    // One place for each unit wanted: its need.
    let places: Vec<usize> =
        job.parked.iter().enumerate().flat_map(|(n, need)| std::iter::repeat_n(n, need.count as usize)).collect();
    let units: Vec<&Equipment> =
        units.iter().filter_map(|id| book.equipment.iter().find(|unit| unit.id == *id)).collect();
    let serves = |unit: usize, place: usize| units[unit].kinds.contains(&job.parked[places[place]].kind);
    let mut holder: Vec<Option<usize>> = vec![None; places.len()];
    for place in 0..places.len() {
        let mut tried = vec![false; units.len()];
        if !seat(place, places.len(), units.len(), &serves, &mut holder, &mut tried) {
            return None;
        }
    }
    let mut shared = vec![Vec::new(); job.parked.len()];
    for (place, unit) in holder.iter().enumerate() {
        shared[places[place]].push(units[(*unit)?].id.clone());
    }
    Some(shared)
}

/// Finds a unit for a place, moving others on where need be (bipartite matching by augmenting paths).
fn seat(
    place: usize,
    places: usize,
    units: usize,
    serves: &impl Fn(usize, usize) -> bool,
    holder: &mut [Option<usize>],
    tried: &mut [bool],
) -> bool {
    for unit in 0..units {
        if tried[unit] || !serves(unit, place) {
            continue;
        }
        tried[unit] = true;
        let other = (0..places).find(|other| holder[*other] == Some(unit));
        if other.is_none_or(|other| seat(other, places, units, serves, holder, tried)) {
            holder[place] = Some(unit);
            return true;
        }
    }
    false
}
