//! The order of steps (W6): each predecessor is known, and no step waits for itself around a ring; what is parked ends with
//! a step that comes after the one with which it begins (E7).

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::super::Book;
use super::super::fault::{Code, Fault, Path};
use super::super::near::{meant, shown};
use super::{Judge, top};

/// Most steps of a ring that are named.
const NAMED: usize = 8;

/// Most `after` entries for which a ring is looked for: enough to mend by, and a bound on the work.
const LOOKED_AT: usize = 200;

/// All steps of all jobs in the order of the book, and what each comes after.
struct Order<'b> {
    book: &'b Book,
    /// Job and index in it, by number.
    steps: Vec<(usize, usize)>,
    /// The steps that each comes after, with the index in its `after` where it is written.
    before: Vec<Vec<(usize, Option<usize>)>>,
    /// Whether every predecessor is known.
    whole: bool,
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
    // The first job in the order of ids that has a step of that name.
    let mut owners: BTreeMap<&str, &str> = BTreeMap::new();
    for (job, (_, steps)) in &numbers {
        for step in steps.keys() {
            owners.entry(step).or_insert(job);
        }
    }
    let mut whole = true;
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
                        None => one(book, job, &per_job[job], link.step, &owners, &at, judge),
                        Some(other) => other_job(book, other, link.step, &numbers, &at, judge),
                    };
                    whole &= known.is_some();
                    found.extend(known.map(|before| (before, Some(nth))));
                }
                found
            }
        }
    });
    let before = before.collect();
    let order = Order { book, steps, before, whole };
    order.rings(judge);
    order.parked(judge);
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
    owners: &BTreeMap<&'b str, &'b str>,
    at: &Path,
    judge: &mut Judge,
) -> Option<usize> {
    if let Some(&number) = known.get(step) {
        return Some(number);
    }
    let list = top("jobs").index(job).field("steps");
    let near = judge.suggest.nearest(step, known.keys().copied()).map(str::to_owned).or_else(|| {
        let other = owners.get(step)?;
        Some(format!("{other}/{step}"))
    });
    let says =
        format!("no step `{}` in the job `{}`{}", shown(step), shown(&book.jobs[job].id), meant(near.as_deref()));
    unknown(at, says, &list, judge);
    None
}

/// A step of the job that is named before the slash.
fn other_job(book: &Book, other: &str, step: &str, all: &Numbers, at: &Path, judge: &mut Judge) -> Option<usize> {
    let Some((job, steps)) = all.get(other) else {
        let says = format!("no job `{}`{}", shown(other), judge.suggest.did_you_mean(other, all.keys().copied()));
        unknown(at, says, &top("jobs"), judge);
        return None;
    };
    let found = steps.get(step).copied();
    if found.is_none() {
        let near = judge.suggest.did_you_mean(step, steps.keys().copied());
        let says = format!("no step `{}` in the job `{}`{near}", shown(step), shown(&book.jobs[*job].id));
        unknown(at, says, &top("jobs").index(*job).field("steps"), judge);
    }
    found
}

fn unknown_step(at: &Path, says: String, job: usize, judge: &mut Judge) {
    if judge.is_whole(&top("jobs").index(job).field("steps"), "id") {
        judge.fault(&[], Fault::new(Code::UnknownId, at.clone(), says).help("name a step of the same job"));
    }
}

fn unknown(at: &Path, says: String, list: &Path, judge: &mut Judge) {
    if judge.is_whole(list, "id") {
        let help = "name a step of the same job, or `job/step` for one of another job";
        judge.fault(&[], Fault::new(Code::UnknownId, at.clone(), says).help(help));
    }
}

impl Order<'_> {
    /// E7: `from` and `to` of what is parked are steps of the job, and `to` is `from` or comes after it.
    fn parked(&self, judge: &mut Judge) {
        let mut first = 0;
        for (number, job) in self.book.jobs.iter().enumerate() {
            let at = top("jobs").index(number);
            let step = |id: &str| job.steps.iter().position(|step| step.id == id).map(|index| first + index);
            for (nth, need) in job.parked.iter().enumerate() {
                let at = at.field("parked").index(nth);
                let known = [("from", &need.from), ("to", &need.to)].map(|(field, id)| {
                    let id = id.as_ref()?;
                    let found = step(id);
                    if found.is_none() {
                        let near = judge.suggest.did_you_mean(id, job.steps.iter().map(|step| step.id.as_str()));
                        let says = format!("no step `{}` in the job `{}`{near}", shown(id), shown(&job.id));
                        unknown_step(&at.field(field), says, number, judge);
                    }
                    found
                });
                if let [Some(from), Some(to)] = known {
                    self.parked_between(from, to, &at, judge);
                }
            }
            first += job.steps.len();
        }
    }

    fn parked_between(&self, from: usize, to: usize, at: &Path, judge: &mut Judge) {
        // Where a predecessor is not known, nothing can be said of what comes after what.
        if from == to || !self.whole || self.comes_after(to, from) {
            return;
        }
        let id = |step: usize| shown(&self.book.jobs[self.steps[step].0].steps[self.steps[step].1].id);
        let says = format!("parked from `{}` to `{}`, which does not come after it", id(from), id(to));
        let help = "`to` is the step of `from`, or one that comes after it by `after`";
        let relies_on = [at.field("from"), top("jobs")];
        judge.fault(&relies_on, Fault::new(Code::Parked, at.field("to"), says).help(help));
    }

    /// Whether a step comes after another, directly or by way of others.
    fn comes_after(&self, step: usize, other: usize) -> bool {
        let (mut seen, mut queue) = (BTreeSet::from([step]), vec![step]);
        while let Some(step) = queue.pop() {
            for (before, _) in &self.before[step] {
                if *before == other {
                    return true;
                }
                if seen.insert(*before) {
                    queue.push(*before);
                }
            }
        }
        false
    }

    /// A fault for every `after` that lies on a ring not told yet: the shortest one through it.
    fn rings(&self, judge: &mut Judge) {
        let core = self.core();
        let on_rings = (0..self.steps.len()).filter(|step| core[*step]).flat_map(|step| {
            self.before[step]
                .iter()
                .filter(|(next, _)| core[*next])
                .filter_map(move |&(next, nth)| Some((step, next, nth?)))
        });
        let mut told = BTreeSet::new();
        for (step, next, nth) in on_rings.take(LOOKED_AT) {
            let Some(ring) = self.shortest(next, step, &core) else { continue };
            let mut members = ring.clone();
            members.sort_unstable();
            if told.insert(members) {
                self.tell(&ring, step, nth, judge);
            }
        }
    }

    /// What is left when steps that come after nothing, or that nothing comes after, are taken away again and again: the
    /// rings, and what lies between them. Nothing in a good book.
    fn core(&self) -> Vec<bool> {
        let mut after = vec![vec![]; self.steps.len()];
        for (step, before) in self.before.iter().enumerate() {
            for &(earlier, _) in before {
                after[earlier].push(step);
            }
        }
        let before: Vec<Vec<usize>> =
            self.before.iter().map(|list| list.iter().map(|&(earlier, _)| earlier).collect()).collect();
        let mut left = vec![true; self.steps.len()];
        for (toward, from) in [(&before, &after), (&after, &before)] {
            let mut open: Vec<usize> =
                toward.iter().map(|list| list.iter().filter(|other| left[**other]).count()).collect();
            let mut free: Vec<usize> = (0..open.len()).filter(|step| left[*step] && open[*step] == 0).collect();
            while let Some(step) = free.pop() {
                left[step] = false;
                for &other in from[step].iter().filter(|other| left[**other]) {
                    open[other] -= 1;
                    if open[other] == 0 {
                        free.push(other);
                    }
                }
            }
        }
        left
    }

    /// The shortest way from a step over what each comes after to another, both included.
    fn shortest(&self, from: usize, to: usize, core: &[bool]) -> Option<Vec<usize>> {
        let mut came_from = BTreeMap::from([(from, from)]);
        let mut queue = VecDeque::from([from]);
        while let Some(step) = queue.pop_front() {
            if step == to {
                let mut way = vec![to];
                while way[way.len() - 1] != from {
                    way.push(came_from[&way[way.len() - 1]]);
                }
                way.reverse();
                return Some(way);
            }
            for &(next, _) in self.before[step].iter().filter(|(next, _)| core[*next]) {
                came_from.entry(next).or_insert_with(|| {
                    queue.push_back(next);
                    step
                });
            }
        }
        None
    }

    /// The fault of a ring that ends with the step whose `after` is pointed at.
    fn tell(&self, ring: &[usize], step: usize, nth: usize, judge: &mut Judge) {
        let name = |step: usize| {
            let (job, index) = self.steps[step];
            let job = &self.book.jobs[job];
            format!("`{}/{}`", shown(&job.id), shown(&job.steps[index].id))
        };
        let says = if ring.len() == 1 {
            format!("the step {} comes after itself", name(step))
        } else {
            let mut names = vec![name(step)];
            names.extend(ring.iter().take(NAMED.min(ring.len() - 1)).map(|step| name(*step)));
            if ring.len() - 1 > NAMED {
                names.push(format!("{} more", ring.len() - 1 - NAMED));
            }
            names.push(name(step));
            format!("these steps wait for one another: {}", names.join(" after "))
        };
        let (job, index) = self.steps[step];
        let at = path(job, index).field("after").index(nth);
        let help = "take one of them out of the ring; without `after` a step comes after the one listed before it";
        judge.fault(&[], Fault::new(Code::Cycle, at, says).help(help));
    }
}
