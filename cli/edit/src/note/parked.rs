//! The units parked at a job that begins: which of them serves which need.

use yardless_book::{Book, Equipment, Job, Parked, Path, Step};

use super::{NoteContext, Says};
use crate::Changes;
use crate::changes::BookChange;
use crate::trouble::{OfNote, Trouble};
use crate::{Edit, value};

/// How far the steps of a job are with what is noted, each by its position.
#[derive(Clone, Debug, Default)]
pub struct HowFar {
    /// Those that have begun.
    pub begun: Vec<usize>,
    /// Those of them that are done.
    pub done: Vec<usize>,
}

impl HowFar {
    /// As the book has it.
    pub fn of(job: &Job) -> Self {
        let which = |is: &dyn Fn(&Step) -> bool| -> Vec<usize> {
            job.steps.iter().enumerate().filter(|(_, step)| is(step)).map(|(n, _)| n).collect()
        };
        Self { begun: which(&Step::started), done: which(&|step| step.done.is_some()) }
    }

    /// Whether what a need takes is held now (E7): the step with which it is first held has begun, and the one with which it is
    /// held last is not done.
    pub fn holds(&self, job: &Job, need: &Parked) -> bool {
        let place = |id: &Option<String>| job.steps.iter().position(|step| Some(&step.id) == id.as_ref());
        let begun = place(&need.from).is_none_or(|from| self.begun.contains(&from));
        begun && place(&need.to).is_none_or(|to| !self.done.contains(&to))
    }

    fn over(&self, job: &Job) -> bool {
        self.done.len() == job.steps.len()
    }
}

/// Names the units parked at a job that has begun: those of `--parked`, else those of the kept plan where the book
/// names none yet. A job that is over needs none. Gives the units named.
pub fn name(context: &NoteContext, job: usize, far: &HowFar, changes: &mut Changes) -> Result<Vec<String>, Trouble> {
    let of = &context.book.jobs[job];
    let over = far.over(of);
    let mut given = given(context, of)?;
    let planned = context.kept.as_ref().and_then(|kept| planned(context.book, of, &kept.parked(&of.id)));
    let (mut named, mut missing) = (Vec::new(), Vec::new());
    for (n, need) in of.parked.iter().enumerate().filter(|(_, need)| over || far.holds(of, need)) {
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

/// The units of a plan's rows for each need of the job: a row a need, or one for all.
pub fn planned(book: &Book, job: &Job, rows: &[&[String]]) -> Option<Vec<Vec<String>>> {
    if job.parks_apart() && rows.len() == job.parked.len() {
        return Some(rows.iter().map(|units| units.to_vec()).collect());
    }
    share(book, job, &rows.concat())
}

/// The units shared among what the job has parked, each for a need that it can serve; nothing where they do not suffice.
/// One of a shared kind serves each need of its kind (E8).
fn share(book: &Book, job: &Job, units: &[String]) -> Option<Vec<Vec<String>>> {
    let is_shared = |need: &Parked| book.kinds.iter().any(|kind| kind.shared && kind.id == need.kind);
    // One place for each unit wanted: its need.
    let one_each = job.parked.iter().enumerate().filter(|(_, need)| !is_shared(need));
    let places: Vec<usize> = one_each.flat_map(|(n, need)| std::iter::repeat_n(n, need.count as usize)).collect();
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
    for (n, need) in job.parked.iter().enumerate().filter(|(_, need)| is_shared(need)) {
        let of = units.iter().filter(|unit| unit.kinds.contains(&need.kind)).map(|unit| unit.id.clone());
        shared[n] = of.take(need.count as usize).collect();
        if shared[n].len() < need.count as usize {
            return None;
        }
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
