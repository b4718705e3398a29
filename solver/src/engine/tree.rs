//! Divides all plans by what jobs do when, as long as the prices leave room for a better plan.
//!
//! Each part of all plans has prices of its own, which begin with those of the part it came from. What no better plan
//! can use is taken out of it ([`super::lagrange`]). A part is divided by the question that the average schedule leaves
//! most open: whether a job is done, whether a step starts before a half-day, whether a crew does it; the best of a
//! few such questions is found by asking them (*strong branching*). The part with the least bound comes first, so that
//! the bound of all rises.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::lagrange::{Ascent, Mask, May, Relaxation, RunFacts};
use crate::shop::{CrewId, Id, JobId, StepId};

/// A question that divides a part.
#[derive(Clone, Copy, Debug)]
enum Question {
    /// Whether the job is done.
    Done(JobId),
    /// Whether the step starts before a half-day.
    Before(StepId, usize),
    /// Whether the crew does the step.
    By(StepId, CrewId),
}

impl Question {
    fn sort(self) -> usize {
        match self {
            Self::Done(_) => 0,
            Self::Before(..) => 1,
            Self::By(..) => 2,
        }
    }
}

/// A part of all plans.
#[derive(Clone, Debug)]
pub(super) struct Part {
    mask: Mask,
    prices: Arc<Vec<f64>>,
    /// No plan in it costs less, in cents.
    bound: f64,
    /// The most open first; none where nothing is left to ask.
    questions: Vec<Question>,
    /// Whether its prices have been looked for as closely as they are.
    fine: bool,
    /// When the average schedule does each job, and by which crew, in the order of their starts.
    sketch: Sketch,
}

/// Jobs with the half-day and the crew of their first steps, as an average schedule has them, in the order of starts.
pub(super) type Sketch = Vec<(JobId, usize, CrewId)>;

/// Rounds and paces (cents, first and last) of an ascent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    pub(super) rounds: u32,
    pub(super) first: f64,
    pub(super) last: f64,
}

impl Pace {
    pub(super) fn at(self, round: u32) -> f64 {
        self.first * (self.last / self.first).powf(f64::from(round) / f64::from(self.rounds))
    }
}

/// A part after it was divided, and a question after it was asked.
const SETTLE: Pace = Pace { rounds: 100, first: 30.0, last: 2.0 };
/// A part about which nothing is left to ask.
const SETTLE_FINELY: Pace = Pace { rounds: 400, first: 10.0, last: 0.1 };
const ASK: Pace = Pace { rounds: 25, first: 30.0, last: 2.0 };
/// Questions asked before one is taken, and one, of each sort.
const ASKED: [usize; 3] = [2, 2, 2];
/// Prices kept by all parts together, at most (8 bytes each): above, new parts begin with those of another part.
const MOST_PRICES: usize = 40_000_000;

/// The parts that may still hold a better plan.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    of: Arc<Relaxation>,
    facts: Arc<Vec<RunFacts>>,
    open: Vec<Part>,
    /// Bounds of parts under way elsewhere.
    away: Vec<f64>,
    /// Parts that no question divides any more, and the least bound of those that the program has not settled either.
    whole: Vec<Part>,
    stuck: f64,
}

impl Tree {
    /// All plans, at some prices.
    pub(super) fn new(of: Arc<Relaxation>, ascent: &Ascent, cents: i64, over: &dyn Fn() -> bool) -> Self {
        let facts = Arc::new(of.facts());
        let root = Part {
            mask: of.all(),
            prices: Arc::new(ascent.prices.clone()),
            bound: ascent.bound,
            questions: Vec::new(),
            fine: false,
            sketch: Sketch::new(),
        };
        let worker = Worker { of: &of, facts: &facts, cents, over };
        let open = worker.settle(root, SETTLE).into_iter().collect();
        Self { of, facts, open, away: Vec::new(), whole: Vec::new(), stuck: f64::INFINITY }
    }

    /// No plan costs less, in cents: none at all where nothing is left that could hold a better one.
    pub(super) fn bound(&self) -> f64 {
        let parts = self.open.iter().chain(&self.whole);
        parts.map(|part| part.bound).chain(self.away.iter().copied()).fold(self.stuck, f64::min)
    }

    /// Takes the part with the least bound out, to be divided.
    pub(super) fn take(&mut self, cents: i64) -> Option<Part> {
        self.open.retain(|part| part.bound <= (cents - 1) as f64);
        let least = (0..self.open.len()).min_by(|a, b| self.open[*a].bound.total_cmp(&self.open[*b].bound))?;
        let part = self.open.swap_remove(least);
        if part.questions.is_empty() && part.fine {
            self.whole.push(part);
            return self.take(cents);
        }
        self.away.push(part.bound);
        Some(part)
    }

    /// Takes a part out about which nothing is left to ask.
    pub(super) fn take_whole(&mut self, cents: i64) -> Option<Part> {
        self.whole.retain(|part| part.bound <= (cents - 1) as f64);
        let part = self.whole.pop()?;
        self.away.push(part.bound);
        Some(part)
    }

    /// Whether no part is left, here or with those who divide them.
    pub(super) fn is_done(&self) -> bool {
        self.open.is_empty() && self.whole.is_empty() && self.away.is_empty()
    }

    /// Says that a part taken out holds no plan below a bound.
    pub(super) fn settled(&mut self, part: &Part, bound: f64) {
        self.give(part.bound, Vec::new());
        self.stuck = self.stuck.min(bound);
    }

    /// Puts back what has become of a part.
    pub(super) fn give(&mut self, bound: f64, parts: Vec<Part>) {
        if let Some(i) = self.away.iter().position(|away| away.total_cmp(&bound).is_eq()) {
            self.away.swap_remove(i);
        }
        let many = self.open.len() * self.of.rows() > MOST_PRICES;
        for mut part in parts {
            if many && let Some(other) = self.open.first() {
                part.prices = Arc::clone(&other.prices);
            }
            self.open.push(part);
        }
    }

    /// What dividing takes.
    pub(super) fn tools(&self) -> (Arc<Relaxation>, Arc<Vec<RunFacts>>) {
        (Arc::clone(&self.of), Arc::clone(&self.facts))
    }
}

/// Divides parts.
pub(super) struct Worker<'w> {
    pub(super) of: &'w Relaxation,
    pub(super) facts: &'w [RunFacts],
    /// The cost of the best plan.
    pub(super) cents: i64,
    /// Whether to stop at once.
    pub(super) over: &'w dyn Fn() -> bool,
}

impl Part {
    /// No plan in it costs less, in cents.
    pub(super) fn bound(&self) -> f64 {
        self.bound
    }

    /// What its average schedule looks like.
    pub(super) fn sketch(&self) -> &Sketch {
        &self.sketch
    }

    /// Its prices, and what may be done in it.
    pub(super) fn terms(&self) -> (&[f64], &Mask) {
        (&self.prices, &self.mask)
    }
}

impl Worker<'_> {
    /// The parts that a part falls into; the part itself where there was no time.
    pub(super) fn divide(&self, part: Part) -> Vec<Part> {
        if part.questions.is_empty() {
            return self.settle(Part { fine: true, ..part }, SETTLE_FINELY).into_iter().collect();
        }
        let question = if part.questions.len() < 2 { part.questions.first().copied() } else { self.ask(&part) };
        let Some(question) = question.filter(|_| !(self.over)()) else { return vec![part] };
        let mut parts = Vec::new();
        for yes in [true, false] {
            parts.extend(self.settle(self.side(&part, question, yes), SETTLE));
        }
        if (self.over)() { vec![part] } else { parts }
    }

    /// The question whose answers lift the bound most, both of them.
    fn ask(&self, part: &Part) -> Option<Question> {
        let most = self.cents as f64 - part.bound;
        let mut best: Option<(f64, Question)> = None;
        for question in &part.questions {
            let mut gain = 1.0;
            for yes in [true, false] {
                let mut side = self.side(part, *question, yes);
                side.bound = f64::NEG_INFINITY;
                let rise = self.ascend(&mut side, ASK, None).map_or(most, |()| side.bound - part.bound);
                gain *= rise.clamp(0.01, most.max(0.01));
            }
            if (self.over)() {
                return None;
            }
            if best.is_none_or(|(least, _)| gain > least) {
                best = Some((gain, *question));
            }
        }
        best.map(|(_, question)| question)
    }

    /// One side of a part.
    fn side(&self, part: &Part, question: Question, yes: bool) -> Part {
        let mut side = part.clone();
        let mut keep = |step: StepId, keeps: &dyn Fn(&RunFacts) -> bool| {
            for (may, facts) in side.mask.runs.iter_mut().zip(self.facts) {
                *may &= facts.step != step || keeps(facts) == yes;
            }
        };
        match question {
            Question::Done(job) => {
                side.mask.jobs.insert(job, if yes { May::Do } else { May::LeaveOut });
            }
            Question::Before(step, start) => keep(step, &|facts| facts.start < start),
            Question::By(step, crew) => keep(step, &|facts| facts.crew == crew),
        }
        side
    }

    /// Better prices for a part, and what no better plan uses taken out of it. `None`: no better plan is in it.
    fn settle(&self, mut part: Part, pace: Pace) -> Option<Part> {
        let mut often = vec![0.0; self.facts.len()];
        self.ascend(&mut part, pace, Some(&mut often))?;
        let dearer = self.of.dearer(&part.prices, &part.mask);
        let room = self.cents as f64 - 1.0 - dearer.bound;
        for (may, dearer) in part.mask.runs.iter_mut().zip(&dearer.runs) {
            *may &= *dearer <= room;
        }
        for (job, dearer) in &dearer.left_out {
            if *dearer > room && part.mask.may(*job) == May::Any {
                part.mask.jobs.insert(*job, May::Do);
            }
        }
        self.look(&mut part, &often);
        Some(part)
    }

    /// Steps up; counts how often each run is chosen in the second half. `None`: the bound has passed the best plan.
    fn ascend(&self, part: &mut Part, pace: Pace, mut often: Option<&mut Vec<f64>>) -> Option<()> {
        let mut ascent = Ascent::new(self.of, Some(&part.prices));
        for round in 1..=pace.rounds {
            let solved = ascent.step(self.of, &part.mask, pace.at(round));
            if solved.bound > (self.cents - 1) as f64 {
                return None;
            }
            if let Some(often) = &mut often
                && 2 * round > pace.rounds
            {
                for run in solved.chosen {
                    often[run] += 2.0 / f64::from(pace.rounds);
                }
            }
            if (self.over)() {
                break;
            }
        }
        part.bound = part.bound.max(ascent.bound);
        part.prices = Arc::new(ascent.prices);
        Some(())
    }

    /// What the average schedule looks like, and what it leaves open.
    fn look(&self, part: &mut Part, often: &[f64]) {
        let mut starts: BTreeMap<StepId, BTreeMap<usize, f64>> = BTreeMap::new();
        let mut crews: BTreeMap<(StepId, CrewId), f64> = BTreeMap::new();
        let mut first: BTreeMap<JobId, StepId> = BTreeMap::new();
        for (facts, share) in self.facts.iter().zip(often).filter(|(_, share)| **share > 0.0) {
            *starts.entry(facts.step).or_default().entry(facts.start).or_default() += share;
            *crews.entry((facts.step, facts.crew)).or_default() += share;
            first.entry(facts.job).or_insert(facts.step);
        }
        let whole = |step: &StepId| starts[step].values().sum::<f64>();
        let mean =
            |step: &StepId| starts[step].iter().map(|(start, share)| *start as f64 * share).sum::<f64>() / whole(step);
        let mut questions: Vec<(f64, Question)> = Vec::new();
        let open = if part.fine { 0.001 } else { 0.02 };
        for job in self.of.jobs().filter(|job| part.mask.may(*job) == May::Any) {
            let share = first.get(&job).map_or(0.0, whole);
            if (open..1.0 - open).contains(&share) {
                questions.push((100.0 * share.min(1.0 - share), Question::Done(job)));
            }
        }
        for (step, by_start) in &starts {
            let mean = mean(step);
            let spread: f64 = by_start.iter().map(|(start, share)| (*start as f64 - mean).abs() * share).sum();
            if spread > open {
                questions.push((spread, Question::Before(*step, mean.floor() as usize + 1)));
            }
        }
        for ((step, crew), share) in &crews {
            let share = share / whole(step);
            if (open..1.0 - open).contains(&share) {
                questions.push((10.0 * share.min(1.0 - share), Question::By(*step, *crew)));
            }
        }
        questions.sort_by(|a, b| b.0.total_cmp(&a.0));
        // Some of each sort: how open a question is says little about what its answer changes.
        let mut left = ASKED;
        questions.retain(|(_, question)| {
            let left = &mut left[question.sort()];
            *left = left.saturating_sub(1);
            *left > 0
        });
        part.questions = questions.into_iter().map(|(_, question)| question).collect();
        let mostly = |step: &StepId| {
            let by = crews.range((*step, CrewId::from_index(0))..).take_while(|((of, _), _)| of == step);
            by.max_by(|a, b| a.1.total_cmp(b.1)).map(|((_, crew), _)| *crew)
        };
        let jobs = first.iter().filter(|(_, step)| whole(step) > 0.5);
        part.sketch = jobs.filter_map(|(job, step)| Some((*job, mean(step).round() as usize, mostly(step)?))).collect();
        part.sketch.sort_by_key(|(job, start, _)| (*start, *job));
    }
}
