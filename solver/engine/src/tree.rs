//! Divides all plans by what jobs do when, as long as the prices leave room for a better plan.
//!
//! Each part of all plans has prices of its own, which begin with those of the part it came from. What no better plan
//! can use is taken out of it ([`super::lagrange`]). A part is divided by the question that the average schedule leaves
//! most open: whether a job is done, whether a step starts before a half-day, whether a crew does it; the best of a
//! few such questions is found by asking them (*strong branching*). The part with the least bound comes first, so that
//! the bound of all rises.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use yardless_plan::shop::{CrewId, JobId, StepId};

use super::builder::Wish;
use super::lagrange::{Ascent, Mask, May, Relaxation, RunFacts};

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
    /// How often the program has tried to settle it.
    tries: u32,
    /// What its average schedule looks like.
    sketch: Sketch,
}

/// How an average schedule mostly does the steps of the jobs that it mostly does.
pub(super) type Sketch = Vec<(StepId, Wish)>;

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

/// Rounds of an ascent within a part. Its paces go by what is at stake, the room that the part leaves for a better plan:
/// 4 % of it, within narrow bounds; large prices move faster ([`Ascent`]). See DEVELOPERS.md, "Which pace within a part?".
#[derive(Clone, Copy, Debug)]
struct Stride {
    rounds: u32,
    /// The last pace as a share of the first.
    slows_to: f64,
}

impl Stride {
    fn pace(self, room: f64) -> Pace {
        let first = (0.04 * room).clamp(SLOWEST, FASTEST);
        Pace { rounds: self.rounds, first, last: first * self.slows_to }
    }
}

/// A part after it was divided.
const SETTLE: Stride = Stride { rounds: 60, slows_to: 0.3 };
/// A part about which nothing is left to ask.
const SETTLE_FINELY: Stride = Stride { rounds: 400, slows_to: 0.05 };
/// A question asked.
const ASK: Stride = Stride { rounds: 25, slows_to: 0.8 };
/// First paces, cents.
const SLOWEST: f64 = 5.0;
const FASTEST: f64 = 20.0;
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
    /// Parts that no question divides any more.
    whole: Vec<Part>,
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
            tries: 0,
            sketch: Sketch::new(),
        };
        let worker = Worker { of: &of, facts: &facts, cents, over };
        let open = worker.settle(root, SETTLE).into_iter().collect();
        Self { of, facts, open, away: Vec::new(), whole: Vec::new() }
    }

    /// No plan costs less, in cents: none at all where nothing is left that could hold a better one.
    pub(super) fn bound(&self) -> f64 {
        let parts = self.open.iter().chain(&self.whole);
        parts.map(|part| part.bound).chain(self.away.iter().copied()).fold(f64::INFINITY, f64::min)
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

    /// Takes the part with the least bound out about which nothing is left to ask: one that the program has not tried
    /// yet, or any.
    pub(super) fn take_whole(&mut self, cents: i64, untried: bool) -> Option<Part> {
        self.whole.retain(|part| part.bound <= (cents - 1) as f64);
        let may = (0..self.whole.len()).filter(|i| !(untried && self.whole[*i].tries > 0));
        let least = may.min_by(|a, b| self.whole[*a].bound.total_cmp(&self.whole[*b].bound))?;
        let part = self.whole.swap_remove(least);
        self.away.push(part.bound);
        Some(part)
    }

    /// Whether no part is left, here or with those who divide them.
    pub(super) fn is_done(&self) -> bool {
        self.open.is_empty() && self.whole.is_empty() && self.away.is_empty()
    }

    /// Says that a part taken out holds no plan below a bound, if one was found; it may be tried again.
    pub(super) fn settled(&mut self, mut part: Part, bound: Option<f64>) {
        self.give(part.bound, Vec::new());
        part.bound = part.bound.max(bound.unwrap_or(part.bound));
        part.tries += 1;
        self.whole.push(part);
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

    /// How often the program has tried to settle it.
    pub(super) fn tries(&self) -> u32 {
        self.tries
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
        let Some(sides) = self.ask(&part) else { return vec![part] };
        let parts = sides.into_iter().filter_map(|side| self.settle(side, SETTLE)).collect();
        if (self.over)() { vec![part] } else { parts }
    }

    /// The sides of the question whose answers lift the bound most, both of them, those apart that hold no better
    /// plan. `None`: there was no time.
    fn ask(&self, part: &Part) -> Option<Vec<Part>> {
        let most = self.cents as f64 - part.bound;
        let mut best: Option<(f64, Vec<Part>)> = None;
        for question in &part.questions {
            let (mut gain, mut sides) = (1.0, Vec::new());
            for yes in [true, false] {
                let mut side = self.side(part, *question, yes);
                side.bound = f64::NEG_INFINITY;
                let may_be_better = self.ascend(&mut side, ASK.pace(most), None).is_some();
                let rise = if may_be_better { side.bound - part.bound } else { most };
                gain *= rise.clamp(0.01, most.max(0.01));
                side.bound = side.bound.max(part.bound);
                sides.extend(may_be_better.then_some(side));
            }
            if (self.over)() {
                return None;
            }
            if best.as_ref().is_none_or(|(least, _)| gain > *least) {
                best = Some((gain, sides));
            }
        }
        best.map(|(_, sides)| sides)
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
            // A second span starts whenever it may after the first (W10).
            Question::Before(step, start) => keep(step, &|facts| {
                if facts.part.starts() { facts.start < start } else { yes }
            }),
            Question::By(step, crew) => keep(step, &|facts| facts.crew == crew),
        }
        side
    }

    /// Better prices for a part, and what no better plan uses taken out of it. `None`: no better plan is in it.
    fn settle(&self, mut part: Part, stride: Stride) -> Option<Part> {
        let mut often = vec![0.0; self.facts.len()];
        let pace = stride.pace(self.cents as f64 - part.bound);
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
        let within = self.of.within(&part.mask);
        for round in 1..=pace.rounds {
            let solved = ascent.step(&within, pace.at(round));
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
        let starts_by = |(facts, _): &(&RunFacts, &f64)| facts.part.starts();
        for (facts, share) in self.facts.iter().zip(often).filter(starts_by).filter(|(_, share)| **share > 0.0) {
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
        let jobs: BTreeSet<JobId> = first.iter().filter(|(_, step)| whole(step) > 0.5).map(|(job, _)| *job).collect();
        let mut mostly: BTreeMap<StepId, (f64, Wish)> = BTreeMap::new();
        let drawn = self.facts.iter().zip(often).filter(starts_by);
        for (facts, share) in drawn.filter(|(facts, _)| jobs.contains(&facts.job)) {
            let wish = (*share, (facts.way, facts.crew, facts.start));
            let most = mostly.entry(facts.step).or_insert(wish);
            if *share > most.0 {
                *most = wish;
            }
        }
        part.sketch = mostly.into_iter().map(|(step, (_, wish))| (step, wish)).collect();
    }
}
