//! The proof beside the search: relaxation, columns fixed by their reduced costs, then the whole program.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::mpsc::Sender;
use std::time::Duration;

use yardless_plan::Draft;
use yardless_plan::shop::{CrewId, Shop};

use super::adapter::{Asked, solve};
use super::effort::Effort;
use super::lagrange::{Excess, Mask, May, Relaxation, RunFacts};
use super::prices::{Priced, Shared};
use super::tree::Sketch;
use crate::encode::{Col, Encoding, Program, Row, States, encode};

/// What the best plan costs that anyone has found.
#[derive(Debug)]
pub(super) struct Incumbent(AtomicI64);

impl Incumbent {
    /// A first plan's cost.
    pub(super) fn new(cents: i64) -> Self {
        Self(AtomicI64::new(cents))
    }
    /// In cents.
    pub(super) fn cents(&self) -> i64 {
        self.0.load(Ordering::Relaxed)
    }
    /// A plan that may be better.
    pub(super) fn lower(&self, cents: i64) {
        self.0.fetch_min(cents, Ordering::Relaxed);
    }
}

/// What the prover tells.
#[derive(Debug)]
pub(super) enum Told {
    /// No plan costs less, in cents.
    Bound(i64),
    /// A plan.
    Plan(Draft),
    /// What a good plan may look like.
    Sketch(Sketch),
}

/// Columns above which the program is a relaxation with merged places, and above which there is none.
const MOST_HAUL_COLUMNS: usize = 40_000;
const MOST_COLUMNS: usize = 400_000;

/// The program of a shop: exact where that is small enough.
pub(super) fn program_of(shop: &Shop) -> Option<Encoding> {
    let works = shop.open.iter().filter(|works| **works).count();
    // Pools have at most as many places as the shop: an upper estimate of the haul columns.
    let hauls = shop.units.len() * shop.places.len() * shop.places.len() * works * 3 / 2;
    let runs: usize =
        shop.steps.ids().map(|step| shop.choices(step).map(|(_, _, runs)| runs.iter().count()).sum::<usize>()).sum();
    if runs > MOST_COLUMNS {
        return None;
    }
    let encoding = if hauls <= 4 * MOST_HAUL_COLUMNS { encode(shop, false) } else { None };
    let encoding = match encoding {
        Some(exact) if exact.haul_columns() <= MOST_HAUL_COLUMNS => Some(exact),
        _ => encode(shop, true),
    };
    encoding.filter(|encoding| encoding.program.columns() <= MOST_COLUMNS)
}

/// Proves until it is done or told to stop; in slices, each with the best plan known by then as the cost to beat.
pub(super) fn prove(shop: &Shop, incumbent: &Incumbent, shared: &Shared, priced: &Priced, tell: &Sender<Told>) {
    let Some(encoding) = shared.encoding(shop) else { return };
    let mut proof = Proof::new(shop, encoding, priced);
    proof.begin(Some(shared.left()), incumbent, tell);
    let effort = Effort::begin();
    while let Some(branch) = proof.next(incumbent) {
        // Where the parts are far ahead by then, the cores are better left to them.
        let halfway = branch.bound.midpoint(incumbent.cents());
        let ahead = effort.worked() > FIRST && shared.bound(incumbent).is_some_and(|bound| bound > halfway);
        if shared.left() < 0.05 || shared.over() || ahead {
            break;
        }
        // A slice begins anew, so that a short one is time lost: each is three times as long as the branch's last.
        let least = effort.by_clock(SHORTEST_SLICE).as_secs_f64();
        let seconds = least.max(3.0 * branch.last_slice).min(shared.left());
        proof.go_on(shop, incumbent, branch, Asked { seconds: Some(seconds), ..Asked::default() }, tell);
    }
}

/// The work after which the program goes on only where the parts have not closed half of what it leaves open: it closes
/// the last of some job shops, whose parts come further at first.
const FIRST: Duration = Duration::from_secs(5);
/// The work that the solver has at a branch, at least, where there is time for as much.
const SHORTEST_SLICE: Duration = Duration::from_secs(8);
/// Left-out jobs decided before a branch is handed to the solver whole.
const MOST_DECIDED: usize = 6;

/// A relaxation that did not end in time.
struct Unfinished;

/// One decision of a branch.
#[derive(Clone, Copy)]
enum Choice {
    /// Whether a job is left out.
    LeftOut(Col, bool),
    /// Whether some job has an own crew beyond its first (C4).
    ExtraCrew(bool),
}

/// What a branch is to be divided by.
#[derive(Clone, Copy)]
enum Torn {
    /// A job that the relaxation leaves out by a fraction.
    LeftOut(Col),
    /// Jobs with one own crew each, or some with more.
    ExtraCrew,
}

/// A part of all plans: those with or without an extra crew that leave some jobs out and do some others.
pub(super) struct Branch {
    /// What tells it from the other parts.
    decided: Vec<Choice>,
    /// No plan of the branch costs less.
    bound: i64,
    /// The bound of its relaxation, and by how much each column lifts it.
    relaxed: i64,
    reduced_costs: Vec<f64>,
    /// What it is to be divided by.
    torn: Option<Torn>,
    /// Seconds of the solver's last slice at it.
    last_slice: f64,
}

/// What has been proven so far: branches that together hold every plan, less those that cannot hold a better one.
///
/// What a job left out costs dwarfs all else, and the relaxation leaves out fractions. So these are decided first, each
/// branch by its own relaxation, whose reduced costs then fix far more columns than the whole program's could. Before
/// that, plans with an extra crew on some job are told from those without: the first cost its price, which the
/// relaxation never sees, and the others allow much tighter rows.
pub(super) struct Proof<'e> {
    encoding: &'e Encoding,
    /// What no better plan can use, as prices tell.
    priced: &'e Priced,
    /// The rows of plans without an extra crew.
    one_crew: Vec<Row>,
    branches: Vec<Branch>,
    told: i64,
}

impl<'e> Proof<'e> {
    pub(super) fn new(shop: &Shop, encoding: &'e Encoding, priced: &'e Priced) -> Self {
        Self { encoding, priced, one_crew: encoding.one_crew(shop), branches: Vec::new(), told: i64::MIN }
    }

    /// The relaxation of all plans. Without it, or where it does not end in time, the proof is over.
    pub(super) fn begin(&mut self, seconds: Option<f64>, incumbent: &Incumbent, tell: &Sender<Told>) {
        let Ok(all) = self.relax(Vec::new(), incumbent.cents(), seconds) else { return };
        self.branches.extend(all);
        self.tell(incumbent.cents(), tell);
    }

    /// A branch's relaxation: `None` where no plan is in the branch.
    fn relax(&self, decided: Vec<Choice>, cents: i64, seconds: Option<f64>) -> Result<Option<Branch>, Unfinished> {
        let mut program = self.encoding.program.clone();
        without_dear(self.encoding, &mut program, &self.priced.of, &self.priced.excess, cents);
        self.decide(&mut program, &decided);
        let answer = solve(&program, Asked { relaxed: true, seconds, ..Asked::default() });
        if answer.infeasible {
            return Ok(None);
        }
        let bound = answer.bound.ok_or(Unfinished)?;
        let half = |col: &Col| answer.fractions.get(col.index()).map_or(0.0, |y| (y - 0.5).abs());
        let by_crews = decided.is_empty() && !self.encoding.extra_crews().is_empty();
        let left_out = self
            .encoding
            .left_out_columns()
            .filter(|col| half(col) < 0.499 && decided.len() < MOST_DECIDED)
            .min_by(|a, b| half(a).total_cmp(&half(b)));
        let torn = if by_crews { Some(Torn::ExtraCrew) } else { left_out.map(Torn::LeftOut) };
        let reduced_costs = answer.reduced_costs;
        Ok(Some(Branch { decided, bound, relaxed: bound, reduced_costs, torn, last_slice: 0.0 }))
    }

    /// The branch with the least bound, unless bound and best plan have met.
    pub(super) fn next(&mut self, incumbent: &Incumbent) -> Option<Branch> {
        let cents = incumbent.cents();
        self.branches.retain(|branch| branch.bound < cents);
        let least = (0..self.branches.len()).min_by_key(|i| (self.branches[*i].bound, *i))?;
        Some(self.branches.swap_remove(least))
    }

    /// Divides a branch, or has the solver go on with it for a while.
    pub(super) fn go_on(
        &mut self,
        shop: &Shop,
        incumbent: &Incumbent,
        branch: Branch,
        asked: Asked,
        tell: &Sender<Told>,
    ) {
        match branch.torn {
            Some(torn) => self.divide(branch, torn, incumbent.cents(), asked.seconds),
            None => self.slice(shop, incumbent, branch, asked, tell),
        }
        self.tell(incumbent.cents(), tell);
    }

    fn divide(&mut self, branch: Branch, torn: Torn, cents: i64, seconds: Option<f64>) {
        let mut parts = Vec::new();
        for value in [false, true] {
            let mut decided = branch.decided.clone();
            decided.push(match torn {
                Torn::LeftOut(col) => Choice::LeftOut(col, value),
                Torn::ExtraCrew => Choice::ExtraCrew(value),
            });
            let Ok(part) = self.relax(decided, cents, seconds) else {
                // It stays whole, for the solver.
                self.branches.push(Branch { torn: None, ..branch });
                return;
            };
            parts.extend(part);
        }
        for part in &mut parts {
            part.bound = part.bound.max(branch.bound);
        }
        self.branches.extend(parts);
    }

    /// The program of a branch for a while, without the columns that no better plan can use.
    fn slice(&mut self, shop: &Shop, incumbent: &Incumbent, mut branch: Branch, asked: Asked, tell: &Sender<Told>) {
        let cents = incumbent.cents();
        let mut program = self.encoding.program.clone();
        self.decide(&mut program, &branch.decided);
        without_dear(self.encoding, &mut program, &self.priced.of, &self.priced.excess, cents);
        without_dear_columns(&mut program, &branch, cents);
        let answer = solve(&program, Asked { below: Some(cents), ..asked });
        tracing::debug!(cents, bound = answer.bound, infeasible = answer.infeasible, "slice");
        if let Some(draft) = better(shop, self.encoding, answer.values.as_ref(), cents) {
            incumbent.lower(answer.values.map_or(cents, |(_, cost)| cost));
            let _ = tell.send(Told::Plan(draft));
        }
        if answer.infeasible {
            return; // nothing in it is better than the best plan
        }
        branch.bound = branch.bound.max(answer.bound.unwrap_or(i64::MIN).min(cents));
        branch.last_slice = asked.seconds.unwrap_or(0.0);
        self.branches.push(branch);
    }

    fn decide(&self, program: &mut Program, decided: &[Choice]) {
        for choice in decided {
            match choice {
                Choice::LeftOut(col, left_out) => decide_left_out(program, *col, *left_out),
                Choice::ExtraCrew(true) => {
                    let terms = self.encoding.extra_crews().iter().map(|(col, n)| (*col, -n)).collect();
                    program.at_most(States::Branch, terms, -1);
                }
                Choice::ExtraCrew(false) => program.rows.extend(self.one_crew.iter().cloned()),
            }
        }
    }

    /// Tells the bound where it rose: the least of all branches, or the best plan's cost where none is left.
    fn tell(&mut self, cents: i64, tell: &Sender<Told>) {
        let bound = self.branches.iter().map(|branch| branch.bound).min().unwrap_or(cents).min(cents);
        if bound > self.told && bound < i64::MAX {
            self.told = bound;
            let _ = tell.send(Told::Bound(bound));
        }
    }
}

/// Leaves a job out, or does it.
fn decide_left_out(program: &mut Program, col: Col, left_out: bool) {
    if left_out {
        program.equal(States::Branch, vec![(col, 1)], 1);
    } else {
        program.upper[col.index()] = 0;
    }
}

/// Takes out runs, hauls and jobs left out that lift the bound of the prices above any plan cheaper than the best.
fn without_dear(encoding: &Encoding, program: &mut Program, of: &Relaxation, excess: &Excess, cents: i64) {
    let dearer = &excess.dearer;
    let room = (cents - 1) as f64 - dearer.bound;
    let facts = of.facts();
    let name = |run: &RunFacts| (run.step, run.part, run.rest, run.way, run.crew, run.start);
    let runs: BTreeMap<_, f64> = facts.iter().map(name).zip(dearer.runs.iter().copied()).collect();
    let mut never = |col: Col| program.upper[col.index()] = 0;
    for (mode, run, crews) in encoding.work() {
        let name = |crew: CrewId| (mode.step, mode.part, run.rest, mode.way, crew, run.start);
        if crews.iter().all(|crew| runs.get(&name(*crew)).is_none_or(|dearer| *dearer > room)) {
            never(run.col);
        }
    }
    for (col, units, from, to, h, evening) in encoding.hauls() {
        if of.haul_excess(excess, (units, from, to, h, evening)) > room {
            never(col);
        }
    }
    for (job, dearer) in &dearer.left_out {
        if *dearer > room
            && let Some(col) = encoding.left_out(*job)
        {
            never(col);
        }
    }
}

/// The program of a part, at its prices and with what may be done in it: no plan in it costs less, in cents. `None`
/// where that is not known.
pub(super) fn settle(
    shop: &Shop,
    encoding: &Encoding,
    of: &Relaxation,
    (prices, mask): (&[f64], &Mask),
    incumbent: &Incumbent,
    seconds: f64,
    tell: &Sender<Told>,
) -> Option<f64> {
    let cents = incumbent.cents();
    let excess = of.excess(prices, mask);
    let mut program = encoding.program.clone();
    without_dear(encoding, &mut program, of, &excess, cents);
    for (job, may) in mask.jobs.iter().filter(|(_, may)| **may != May::Any) {
        if let Some(col) = encoding.left_out(*job) {
            decide_left_out(&mut program, col, *may == May::LeaveOut);
        }
    }
    let answer =
        solve(&program, Asked { below: Some(cents), seconds: Some(seconds), unreduced: true, ..Asked::default() });
    if let Some(draft) = better(shop, encoding, answer.values.as_ref(), cents) {
        let _ = tell.send(Told::Plan(draft));
    }
    if answer.infeasible {
        Some(f64::INFINITY)
    } else {
        answer.bound.map(|bound| (bound.min(cents) as f64).max(excess.dearer.bound))
    }
}

/// The plan that the values stand for, where it is one that costs less.
fn better(shop: &Shop, encoding: &Encoding, values: Option<&(Vec<i64>, i64)>, cents: i64) -> Option<Draft> {
    let (values, _) = values.filter(|(_, cost)| *cost < cents && encoding.exact)?;
    encoding.decode(shop, values)
}

/// A column whose reduced cost lifts the relaxation's bound above the best plan is 0 in every plan that is as good:
/// `bound + reduced cost > cost of the best plan`. A cent each side is left to the solver's arithmetic.
fn without_dear_columns(program: &mut Program, branch: &Branch, cents: i64) {
    for (i, reduced) in branch.reduced_costs.iter().enumerate() {
        if program.whole[i] && (branch.relaxed - 1) as f64 + reduced > (cents + 1) as f64 {
            program.upper[i] = 0;
        }
    }
}
