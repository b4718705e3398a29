//! Of what something is said: found by its id, else by its name, or refused with what was perhaps meant.

use yardless_book::Book;

use super::said::Said;
use crate::List;
use crate::trouble::words::near;
use crate::trouble::{OfName, Trouble};

/// A member of the book, by its position in its list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A step of a job.
    Step(StepAt),
    /// A unit of equipment.
    Unit(usize),
    /// A crew.
    Crew(usize),
    /// A truck.
    Truck(usize),
    /// A thing.
    Thing(usize),
}

/// Where a step stands: the job, and the step in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct StepAt {
    /// The job's position.
    pub job: usize,
    /// The step's position.
    pub step: usize,
}

impl List {
    fn subject(self, n: usize) -> Subject {
        match self {
            Self::Unit => Subject::Unit(n),
            Self::Crew => Subject::Crew(n),
            Self::Truck => Subject::Truck(n),
            Self::Thing => Subject::Thing(n),
        }
    }
    /// Ids and names of the members, in order.
    fn members(self, book: &Book) -> Vec<(&str, Option<&str>)> {
        match self {
            Self::Unit => book.equipment.iter().map(|unit| (unit.id.as_str(), unit.name.as_deref())).collect(),
            Self::Crew => book.crews.iter().map(|crew| (crew.id.as_str(), crew.name.as_deref())).collect(),
            Self::Truck => book.trucks.iter().map(|truck| (truck.id.as_str(), truck.name.as_deref())).collect(),
            Self::Thing => book.things.iter().map(|thing| (thing.id.as_str(), thing.name.as_deref())).collect(),
        }
    }
    /// The members that a word names: by its id, else by id or name with capitals aside.
    fn named(self, book: &Book, word: &str) -> Vec<usize> {
        let all = self.members(book);
        if let Some(n) = all.iter().position(|(id, _)| *id == word) {
            return vec![n];
        }
        let same = |name: &str| name.to_lowercase() == word.to_lowercase();
        let found = all.iter().enumerate().filter(|(_, (id, name))| same(id) || name.is_some_and(same));
        found.map(|(n, _)| n).collect()
    }
}

/// Finds what the word names and what can be said of.
pub fn find(book: &Book, word: &str, said: &Said, list: Option<List>) -> Result<Subject, Trouble> {
    if said.is_of_step() {
        return step(book, word).map(Subject::Step);
    }
    let all =
        [List::Unit, List::Crew, List::Truck, List::Thing].into_iter().filter(|of| list.is_none_or(|list| list == *of));
    let found: Vec<(List, usize)> =
        all.flat_map(|list| list.named(book, word).into_iter().map(move |n| (list, n))).collect();
    let exact: Vec<(List, usize)> =
        found.iter().copied().filter(|(list, n)| list.members(book)[*n].0 == word).collect();
    let found = if exact.is_empty() { found } else { exact };
    let fit: Vec<(List, usize)> = found.iter().copied().filter(|(list, _)| said.lists().contains(list)).collect();
    match (fit.as_slice(), found.first()) {
        ([(list, n)], _) => Ok(list.subject(*n)),
        ([], Some((list, _))) => Err(OfName::NotOfThat { word: word.to_owned(), list: *list }.into()),
        ([], None) => Err(unknown(book, word, said)),
        (several, _) => {
            let id = |(list, n): &(List, usize)| (*list, list.members(book)[*n].0.to_owned());
            Err(OfName::Several { word: word.to_owned(), found: several.iter().map(id).collect() }.into())
        }
    }
}

fn unknown(book: &Book, word: &str, said: &Said) -> Trouble {
    // Of lists that the book has nothing in nobody need hear.
    let full: Vec<List> = said.lists().iter().copied().filter(|list| !list.members(book).is_empty()).collect();
    let lists = if full.is_empty() { said.lists().to_vec() } else { full };
    let known: Vec<(&str, Option<&str>)> = lists.iter().flat_map(|list| list.members(book)).collect();
    let names = known.iter().flat_map(|(id, name)| [Some(*id), *name]).flatten();
    let near = near(word, names);
    let known = known.iter().map(|(id, _)| (*id).to_owned()).collect();
    OfName::Unknown { lists, word: word.to_owned(), near, known }.into()
}

/// A step by `job/step`, in ids or in names.
pub fn step(book: &Book, word: &str) -> Result<StepAt, Trouble> {
    let all = || {
        book.jobs
            .iter()
            .enumerate()
            .flat_map(|(job, of)| of.steps.iter().enumerate().map(move |(step, at)| (StepAt { job, step }, of, at)))
    };
    let ids = || all().map(|(at, job, step)| (at, format!("{}/{}", job.id, step.id)));
    if let Some((at, _)) = ids().find(|(_, id)| id == word) {
        return Ok(at);
    }
    let wanted = word.to_lowercase();
    let found: Vec<StepAt> = all()
        .filter(|(_, job, step)| {
            let names =
                |id: &str, name: &Option<String>| [Some(id.to_lowercase()), name.as_ref().map(|n| n.to_lowercase())];
            let (jobs, steps) = (names(&job.id, &job.name), names(&step.id, &step.name));
            jobs.iter().flatten().any(|job| steps.iter().flatten().any(|step| format!("{job}/{step}") == wanted))
        })
        .map(|(at, _, _)| at)
        .collect();
    let named = |at: &StepAt| format!("{}/{}", book.jobs[at.job].id, book.jobs[at.job].steps[at.step].id);
    match found.as_slice() {
        [at] => return Ok(*at),
        [_, ..] => {
            let found = found.iter().map(named).collect();
            return Err(OfName::SeveralSteps { word: word.to_owned(), found }.into());
        }
        [] => {}
    }
    let job = word.split('/').next().unwrap_or_default();
    if let Some(job) = book.jobs.iter().find(|of| of.id == job) {
        let steps: Vec<String> = job.steps.iter().map(|step| format!("{}/{}", job.id, step.id)).collect();
        let (near, word) = (near(word, steps.iter().map(String::as_str)), word.to_owned());
        let of_step = word.contains('/');
        return Err(
            if of_step { OfName::NoStepOfJob { word, near, steps } } else { OfName::IsAJob { word, steps } }.into()
        );
    }
    let known: Vec<String> = ids().map(|(_, id)| id).collect();
    let near = near(word, known.iter().map(String::as_str));
    Err(OfName::NoStep { word: word.to_owned(), near, jobs: book.jobs.iter().map(|job| job.id.clone()).collect() }
        .into())
}
