//! The order of steps (W6): each predecessor is known, and no step waits for itself around a ring.

use std::collections::BTreeMap;

use super::super::Book;
use super::super::fault::{Code, Fault, Path};
use super::super::near::{did_you_mean, nearest, shown};
use super::{Judge, top};

/// Most steps of a ring that are named.
const NAMED: usize = 8;

/// All steps of all jobs in the order of the book, and what each comes after.
struct Order<'b> {
    book: &'b Book,
    /// Job and index in it, by number.
    steps: Vec<(usize, usize)>,
    /// The steps that each comes after, with the index in its `after` where it is written.
    before: Vec<Vec<(usize, Option<usize>)>>,
}

/// The jobs by their id, each with its steps by theirs, as numbers in the order of the book.
type Numbers<'b> = BTreeMap<&'b str, (usize, BTreeMap<&'b str, usize>)>;

/// Rule family: W6's predecessors.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let mut steps = vec![];
    let mut per_job: Vec<BTreeMap<&str, usize>> = vec![];
    for (job_number, job) in book.jobs.iter().enumerate() {
        let mut of_job = BTreeMap::new();
        for (index, step) in job.steps.iter().enumerate() {
            of_job.entry(step.id.as_str()).or_insert(steps.len());
            steps.push((job_number, index));
        }
        per_job.push(of_job);
    }
    let mut numbers: Numbers = BTreeMap::new();
    for (job_number, job) in book.jobs.iter().enumerate() {
        numbers.entry(&job.id).or_insert_with(|| (job_number, per_job[job_number].clone()));
    }
    let before = steps.iter().enumerate().map(|(number, &(job, index))| {
        let step = &book.jobs[job].steps[index];
        let at = path(job, index);
        match &step.after {
            None if index > 0 && judge.is_sure(&at.field("after")) => vec![(number - 1, None)],
            None => vec![],
            Some(list) => {
                let mut found = vec![];
                for (nth, after) in list.iter().enumerate() {
                    let at = at.field("after").index(nth);
                    let link = after.link();
                    let known = match link.job {
                        None => one(book, job, &per_job[job], link.step, &numbers, &at, judge),
                        Some(other) => other_job(book, other, link.step, &numbers, &at, judge),
                    };
                    found.extend(known.map(|before| (before, Some(nth))));
                }
                found
            }
        }
    });
    let before = before.collect();
    Order { book, steps, before }.rings(judge);
}

fn path(job: usize, index: usize) -> Path {
    top("jobs").index(job).field("steps").index(index)
}

/// A step of the same job.
fn one<'b>(
    book: &Book,
    job: usize,
    known: &BTreeMap<&'b str, usize>,
    step: &str,
    all: &Numbers<'b>,
    at: &Path,
    judge: &mut Judge,
) -> Option<usize> {
    if let Some(&number) = known.get(step) {
        return Some(number);
    }
    let list = top("jobs").index(job).field("steps");
    let meant = nearest(step, known.keys().copied()).map(str::to_owned).or_else(|| {
        let (other, _) = all.iter().find(|(_, (_, steps))| steps.contains_key(step))?;
        Some(format!("{other}/{step}"))
    });
    let meant = meant.map_or_else(String::new, |meant| format!("; did you mean `{}`?", shown(&meant)));
    let says = format!("no step `{}` in the job `{}`{meant}", shown(step), shown(&book.jobs[job].id));
    unknown(at, says, judge.is_whole(&list, "id"), judge);
    None
}

/// A step of the job that is named before the slash.
fn other_job(book: &Book, other: &str, step: &str, all: &Numbers, at: &Path, judge: &mut Judge) -> Option<usize> {
    let Some((job, steps)) = all.get(other) else {
        let says = format!("no job `{}`{}", shown(other), did_you_mean(other, all.keys().copied()));
        unknown(at, says, judge.is_whole(&top("jobs"), "id"), judge);
        return None;
    };
    let found = steps.get(step).copied();
    if found.is_none() {
        let meant = did_you_mean(step, steps.keys().copied());
        let says = format!("no step `{}` in the job `{}`{meant}", shown(step), shown(&book.jobs[*job].id));
        unknown(at, says, judge.is_whole(&top("jobs").index(*job).field("steps"), "id"), judge);
    }
    found
}

fn unknown(at: &Path, says: String, whole: bool, judge: &mut Judge) {
    if whole {
        let help = "name a step of the same job, or `job/step` for one of another job";
        judge.fault(&[at.clone()], Fault::new(Code::UnknownId, at.clone(), says).help(help));
    }
}

impl Order<'_> {
    /// Walks from every step to what it comes after; whoever meets a step of the way just walked has closed a ring.
    fn rings(&self, judge: &mut Judge) {
        /// Where a step stands in the walk.
        #[derive(Clone, Copy, PartialEq)]
        enum Mark {
            New,
            OnTheWay(usize),
            Done,
        }
        let mut marks = vec![Mark::New; self.steps.len()];
        for start in 0..self.steps.len() {
            if marks[start] != Mark::New {
                continue;
            }
            marks[start] = Mark::OnTheWay(0);
            // The way walked: each step, with how many of its predecessors were followed. A list, not calls: it may be long.
            let mut way = vec![(start, 0_usize)];
            while let Some((step, followed)) = way.last_mut() {
                let Some(&(next, _)) = self.before[*step].get(*followed) else {
                    marks[*step] = Mark::Done;
                    way.pop();
                    continue;
                };
                *followed += 1;
                match marks[next] {
                    Mark::New => {
                        marks[next] = Mark::OnTheWay(way.len());
                        way.push((next, 0));
                    }
                    Mark::OnTheWay(from) => self.ring(&way[from..], judge),
                    Mark::Done => {}
                }
            }
        }
    }

    /// A fault for a ring, at its last `after` that is written: the steps' own order alone makes no ring.
    fn ring(&self, ring: &[(usize, usize)], judge: &mut Judge) {
        let written = ring.iter().rev().find_map(|&(step, followed)| {
            let (_, nth) = self.before[step][followed - 1];
            nth.map(|nth| self.path(step).field("after").index(nth))
        });
        let Some(at) = written else { return };
        let name = |step: usize| {
            let (job, index) = self.steps[step];
            let job = &self.book.jobs[job];
            format!("`{}/{}`", shown(&job.id), shown(&job.steps[index].id))
        };
        let first = ring[0].0;
        let says = if ring.len() == 1 {
            format!("the step {} comes after itself", name(first))
        } else {
            let mut says = format!("these steps wait for one another: {}", name(first));
            for (step, _) in &ring[1..ring.len().min(NAMED)] {
                says.push_str(&format!(" after {}", name(*step)));
            }
            if ring.len() > NAMED {
                says.push_str(&format!(" and so on over {} steps,", ring.len() - NAMED));
            }
            says.push_str(&format!(" after {}", name(first)));
            says
        };
        let help = "take one of them out of the ring; without `after` a step comes after the one listed before it";
        judge.fault(&[at.clone()], Fault::new(Code::Cycle, at, says).help(help));
    }

    fn path(&self, step: usize) -> Path {
        let (job, index) = self.steps[step];
        path(job, index)
    }
}
