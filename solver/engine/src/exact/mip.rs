//! The whole program by branch and bound of its own: linear relaxation, columns fixed by reduced costs, then the back end.

use std::sync::mpsc::Sender;
use std::time::Duration;

use yardless_plan::Draft;
use yardless_plan::shop::Shop;

use super::back_end::{MipAnswer, MipRequest, solve};
use super::encode::{Col, Encoding, Program, Row, States};
use super::fixing;
use super::nodes::Node;
use super::shared::SharedProof;
use crate::dual::{JobDomain, Relaxation, RootBound};
use crate::effort::Effort;
use crate::incumbent::{Cutoff, News};

/// Proves until it is done or told to stop; in slices, each with the best plan known by then as the cost to beat.
pub(super) fn prove(shared: &SharedProof, root: &RootBound, tell: &Sender<News>) {
    let Some(encoding) = shared.encoding() else { return };
    let mut proof = MipProof::new(&shared.shop, encoding, root);
    proof.begin(Some(shared.left()), &shared.cutoff, tell);
    let effort = Effort::begin();
    while let Some(branch) = proof.next(&shared.cutoff) {
        // Where the nodes are far ahead by then, the cores are better left to them.
        let halfway = branch.bound.midpoint(shared.cutoff.cents());
        let ahead = effort.worked() > FIRST && shared.bound().is_some_and(|bound| bound > halfway);
        if shared.left() < 0.05 || shared.over() || ahead {
            break;
        }
        // A slice begins anew, so that a short one is time lost: each is three times as long as the branch's last.
        let least = effort.by_clock(SHORTEST_SLICE).as_secs_f64();
        let seconds = least.max(3.0 * branch.last_slice).min(shared.left());
        proof.go_on(&shared.cutoff, branch, MipRequest { seconds: Some(seconds), ..MipRequest::default() }, tell);
    }
}

/// The work after which the program goes on only where the nodes have not closed half of what it leaves open: it closes
/// the last of some job shops, whose nodes come further at first.
const FIRST: Duration = Duration::from_secs(5);
/// The work that the solver has at a branch, at least, where there is time for as much.
const SHORTEST_SLICE: Duration = Duration::from_secs(8);
/// Left-out jobs decided before a branch is handed to the solver whole.
const MOST_DECIDED: usize = 6;

/// A relaxation that did not end in time.
struct Unfinished;

/// One decision of a branch.
#[derive(Clone, Copy)]
enum Decision {
    /// Whether a job is left out.
    LeftOut(Col, bool),
    /// Whether some job has an own crew beyond its first (C4).
    ExtraCrew(bool),
}

/// What a branch is to be divided by.
#[derive(Clone, Copy)]
enum Fractional {
    /// A job that the relaxation leaves out by a fraction.
    LeftOut(Col),
    /// Jobs with one own crew each, or some with more.
    ExtraCrew,
}

/// A branch of all plans: those with or without an extra crew that leave some jobs out and do some others.
pub(super) struct Branch {
    /// What tells it from the others.
    decided: Vec<Decision>,
    /// No plan of the branch costs less.
    bound: i64,
    /// The bound of its relaxation, and by how much each column lifts it.
    relaxed: i64,
    reduced_costs: Vec<f64>,
    /// What it is to be divided by.
    fractional: Option<Fractional>,
    /// Seconds of the solver's last slice at it.
    last_slice: f64,
}

/// What has been proven so far: branches that together hold every plan, less those that cannot hold a better one.
///
/// What a job left out costs dwarfs all else, and the relaxation leaves out fractions. So these are decided first, each
/// branch by its own relaxation, whose reduced costs then fix far more columns than the whole program's could. Before
/// that, plans with an extra crew on some job are told from those without: the first cost its price, which the
/// relaxation never sees, and the others allow much tighter rows.
pub(super) struct MipProof<'e> {
    shop: &'e Shop,
    encoding: &'e Encoding,
    /// What no better plan can use, as prices tell.
    root: &'e RootBound,
    /// The rows of plans without an extra crew.
    one_crew: Vec<Row>,
    branches: Vec<Branch>,
    told: i64,
}

impl<'e> MipProof<'e> {
    pub(super) fn new(shop: &'e Shop, encoding: &'e Encoding, root: &'e RootBound) -> Self {
        Self { shop, encoding, root, one_crew: encoding.one_crew(shop), branches: Vec::new(), told: i64::MIN }
    }

    /// The relaxation of all plans. Without it, or where it does not end in time, the proof is over.
    pub(super) fn begin(&mut self, seconds: Option<f64>, cutoff: &Cutoff, tell: &Sender<News>) {
        let Ok(all) = self.relax(Vec::new(), cutoff.cents(), seconds) else { return };
        self.branches.extend(all);
        self.tell(cutoff.cents(), tell);
    }

    /// A branch's relaxation: `None` where no plan is in the branch.
    fn relax(&self, decided: Vec<Decision>, cents: i64, seconds: Option<f64>) -> Result<Option<Branch>, Unfinished> {
        let mut program = self.encoding.program.clone();
        self.fix_by_prices(&mut program, cents);
        self.decide(&mut program, &decided);
        let answer = solve(&program, MipRequest { relaxed: true, seconds, ..MipRequest::default() });
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
        let fractional = if by_crews { Some(Fractional::ExtraCrew) } else { left_out.map(Fractional::LeftOut) };
        let reduced_costs = answer.reduced_costs;
        Ok(Some(Branch { decided, bound, relaxed: bound, reduced_costs, fractional, last_slice: 0.0 }))
    }

    /// The branch with the least bound, unless bound and best plan have met.
    pub(super) fn next(&mut self, cutoff: &Cutoff) -> Option<Branch> {
        let cents = cutoff.cents();
        self.branches.retain(|branch| branch.bound < cents);
        let least = (0..self.branches.len()).min_by_key(|i| (self.branches[*i].bound, *i))?;
        Some(self.branches.swap_remove(least))
    }

    /// Divides a branch, or has the solver go on with it for a while.
    pub(super) fn go_on(&mut self, cutoff: &Cutoff, branch: Branch, asked: MipRequest, tell: &Sender<News>) {
        match branch.fractional {
            Some(fractional) => self.divide(branch, fractional, cutoff.cents(), asked.seconds),
            None => self.slice(cutoff, branch, asked, tell),
        }
        self.tell(cutoff.cents(), tell);
    }

    fn fix_by_prices(&self, program: &mut Program, cents: i64) {
        fixing::by_prices(self.encoding, program, &self.root.of, &self.root.reduced_costs, cents);
    }

    fn divide(&mut self, branch: Branch, fractional: Fractional, cents: i64, seconds: Option<f64>) {
        let mut parts = Vec::new();
        for value in [false, true] {
            let mut decided = branch.decided.clone();
            decided.push(match fractional {
                Fractional::LeftOut(col) => Decision::LeftOut(col, value),
                Fractional::ExtraCrew => Decision::ExtraCrew(value),
            });
            let Ok(part) = self.relax(decided, cents, seconds) else {
                // It stays whole, for the solver.
                self.branches.push(Branch { fractional: None, ..branch });
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
    fn slice(&mut self, cutoff: &Cutoff, mut branch: Branch, asked: MipRequest, tell: &Sender<News>) {
        let cents = cutoff.cents();
        let mut program = self.encoding.program.clone();
        self.decide(&mut program, &branch.decided);
        self.fix_by_prices(&mut program, cents);
        fixing::by_linear_relaxation(&mut program, branch.relaxed, &branch.reduced_costs, cents);
        let answer = solve(&program, MipRequest { below: Some(cents), ..asked });
        tracing::debug!(cents, bound = answer.bound, infeasible = answer.infeasible, "slice");
        if let Some(draft) = improving(self.shop, self.encoding, &answer, cents) {
            cutoff.lower(answer.values.map_or(cents, |(_, cost)| cost));
            let _ = tell.send(News::Plan(draft));
        }
        if answer.infeasible {
            return; // nothing in it is better than the best plan
        }
        branch.bound = branch.bound.max(answer.bound.unwrap_or(i64::MIN).min(cents));
        branch.last_slice = asked.seconds.unwrap_or(0.0);
        self.branches.push(branch);
    }

    fn decide(&self, program: &mut Program, decided: &[Decision]) {
        for decision in decided {
            match decision {
                Decision::LeftOut(col, left_out) => fixing::left_out(program, *col, *left_out),
                Decision::ExtraCrew(true) => {
                    let terms = self.encoding.extra_crews().iter().map(|(col, n)| (*col, -n)).collect();
                    program.at_most(States::Branch, terms, -1);
                }
                Decision::ExtraCrew(false) => program.rows.extend(self.one_crew.iter().cloned()),
            }
        }
    }

    /// Tells the bound where it rose: the least of all branches, or the best plan's cost where none is left.
    fn tell(&mut self, cents: i64, tell: &Sender<News>) {
        let bound = self.branches.iter().map(|branch| branch.bound).min().unwrap_or(cents).min(cents);
        if bound > self.told && bound < i64::MAX {
            self.told = bound;
            let _ = tell.send(News::Bound(bound));
        }
    }
}

/// The program of a leaf, at its prices and within its domain: no plan in it costs less, in cents. `None` where that is
/// not known.
pub(super) fn solve_leaf(
    shared: &SharedProof,
    of: &Relaxation,
    node: &Node,
    seconds: f64,
    tell: &Sender<News>,
) -> Option<f64> {
    let encoding = shared.encoding()?;
    let cents = shared.cutoff.cents();
    let reduced = of.reduced_costs(&node.prices, &node.domain);
    let mut program = encoding.program.clone();
    fixing::by_prices(encoding, &mut program, of, &reduced, cents);
    for (job, may) in node.domain.jobs.iter().filter(|(_, may)| **may != JobDomain::Any) {
        if let Some(col) = encoding.left_out(*job) {
            fixing::left_out(&mut program, col, *may == JobDomain::LeaveOut);
        }
    }
    let asked = MipRequest { below: Some(cents), seconds: Some(seconds), ..MipRequest::default() }.unreduced();
    let answer = solve(&program, asked);
    if let Some(draft) = improving(&shared.shop, encoding, &answer, cents) {
        let _ = tell.send(News::Plan(draft));
    }
    if answer.infeasible {
        Some(f64::INFINITY)
    } else {
        answer.bound.map(|bound| (bound.min(cents) as f64).max(reduced.work.bound))
    }
}

/// The plan of an answer, where it is one that costs less.
fn improving(shop: &Shop, encoding: &Encoding, answer: &MipAnswer, cents: i64) -> Option<Draft> {
    let (values, _) = answer.values.as_ref().filter(|(_, cost)| *cost < cents && encoding.exact)?;
    encoding.decode(shop, values)
}
