//! Finds plans and proves how good they are, within limits.
//!
//! A search over the builder always has a plan and makes it better; beside it, on the other core, the prover solves
//! the relaxation and then the whole program through good_lp. They tell each other what they find. No clock is read
//! and nothing is written but through [`Limits`] and the progress told.

mod adapter;
mod bounds;
mod builder;
mod lagrange;
mod prover;
mod reason;
mod search;
mod tables;
mod trucks;
mod walk;
mod yard;

pub use reason::impossible;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use adapter::Asked;
use prover::{Incumbent, Proof, Told};
use search::Search;
use tables::Tables;

use crate::money::Cents;
use crate::plan::{Draft, Plan, check, write};
use crate::shop::{Id, Shop};

/// How long and how hard to search: the engine's only clock, and its only way to be stopped.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Stop by then. `None`: no deadline.
    pub deadline: Option<Instant>,
    /// A budget of work instead of time, in rounds of the search: same book, seed and steps give the same plan.
    /// `None`: no budget.
    pub steps: Option<u64>,
    /// The seed of the search.
    pub seed: u64,
    /// Set it to stop with the best plan so far.
    pub cancel: Arc<AtomicBool>,
}

impl Limits {
    /// Seconds from now.
    pub fn seconds(seconds: f64) -> Self {
        let deadline =
            Duration::try_from_secs_f64(seconds).ok().and_then(|seconds| Instant::now().checked_add(seconds));
        Self { deadline, steps: None, seed: 1, cancel: Arc::default() }
    }
    /// A budget of work.
    pub fn steps(steps: u64) -> Self {
        Self { deadline: None, steps: Some(steps), seed: 1, cancel: Arc::default() }
    }
    /// What stops the search now, if anything does.
    fn over(&self) -> Option<&'static str> {
        if self.cancel.load(Ordering::Relaxed) {
            Some(CANCELLED)
        } else {
            self.deadline.is_some_and(|deadline| Instant::now() >= deadline).then_some(OUT_OF_TIME)
        }
    }
    fn deadline(&self) -> Instant {
        self.deadline.unwrap_or_else(|| Instant::now() + Duration::from_secs(3600))
    }
}

/// Why a search ended.
const PROVEN: &str = "proven best";
const OUT_OF_TIME: &str = "out of time";
const OUT_OF_STEPS: &str = "out of steps";
const CANCELLED: &str = "stopped by hand";

/// What is known so far, told each time it changes.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The cost of the best plan.
    pub cost: Cents,
    /// The best bound.
    pub bound: Option<Cents>,
}

/// What no plan at all is taken to cost: above any plan, and far enough from the largest number to reckon with.
const NO_PLAN: i64 = i64::MAX / 4;

/// The best of what search and prover have found.
struct Best {
    draft: Draft,
    cents: i64,
    bound: i64,
}

impl Best {
    fn proven(&self) -> bool {
        self.bound >= self.cents
    }
    fn progress(&self) -> Progress {
        Progress { cost: Cents(self.cents), bound: Some(Cents(self.bound.min(self.cents))) }
    }
    /// Takes a plan that is better and that the checker passes.
    fn offer(&mut self, shop: &Shop, draft: Draft) -> bool {
        match judged(shop, &draft) {
            Some(cents) if cents < self.cents => {
                (self.draft, self.cents) = (draft, cents);
                true
            }
            Some(_) => false,
            None => {
                tracing::error!("a plan was found that does not hold; it is not used");
                false
            }
        }
    }
}

/// The cost of a draft, where the checker passes it.
fn judged(shop: &Shop, draft: &Draft) -> Option<i64> {
    let mut plan = write(shop, "", draft, |_| String::new());
    let costs = check(shop, &plan).costs;
    (plan.costs, plan.cost) = (costs, costs.total());
    let verdict = check(shop, &plan);
    for breach in &verdict.breaches {
        tracing::error!(%breach);
    }
    verdict.holds().then_some(plan.cost.0)
}

/// Plans the book. Always returns a plan that the checker passes, within the limits, at worst with jobs left out.
/// With neither deadline nor steps it stops when the plan is proven best, or after an hour.
pub fn plan(shop: &Shop, digest: &str, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    let tables = Tables::new(shop);
    let mut search = Search::new(shop, &tables, limits.seed);
    let mut best = Best { draft: Draft::empty(shop), cents: NO_PLAN, bound: bounds::alone(shop, &tables) };
    if let Some(cents) = judged(shop, &best.draft) {
        best.cents = cents;
    }
    if let Some(draft) = search.best().draft() {
        best.offer(shop, draft);
    }
    progress(best.progress());
    let stopped = if best.proven() {
        PROVEN
    } else if let Some(steps) = limits.steps {
        by_steps(shop, limits, steps, &mut search, &mut best, progress)
    } else {
        side_by_side(shop, limits, &mut search, &mut best, progress)
    };
    finish(shop, digest, &tables, &best, stopped)
}

/// Search first, then the proof with as many nodes as the budget gives: no clock, one thread, always the same.
fn by_steps(
    shop: &Shop,
    limits: &Limits,
    steps: u64,
    search: &mut Search<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    for _ in 0..steps {
        if let Some(stopped) = limits.over() {
            return stopped;
        }
        if search.step() {
            offer_search(shop, search, best, progress);
        }
    }
    if steps < STEPS_A_NODE {
        return OUT_OF_STEPS;
    }
    let Some(encoding) = prover::program_of(shop) else { return OUT_OF_STEPS };
    let (tell, told) = channel();
    let incumbent = Incumbent::new(best.cents);
    let mut proof = Proof::new(shop, &encoding);
    proof.begin(None, &tell);
    let mut nodes = steps / STEPS_A_NODE;
    if encoding.program.columns() > MOST_COLUMNS_BY_STEPS {
        nodes = 0;
    }
    while nodes > 0
        && limits.over().is_none()
        && let Some(branch) = proof.next(&incumbent)
    {
        // A round for each branch in turn, a third of what is left at a time.
        let share = nodes.div_ceil(3);
        nodes -= share;
        proof.go_on(shop, &incumbent, branch, Asked { nodes: Some(share), ..Asked::default() }, &tell);
    }
    drop(tell);
    for news in told {
        hear(shop, news, best);
    }
    progress(best.progress());
    if best.proven() { PROVEN } else { OUT_OF_STEPS }
}

/// Rounds of the search that are worth about one node of the proof; a smaller budget is for the search alone.
const STEPS_A_NODE: u64 = 100;
/// The first node has no budget of its own: above so many columns only the relaxation is solved.
const MOST_COLUMNS_BY_STEPS: usize = 12_000;

/// Search here, proof on a thread of its own that nobody waits for: it ends by itself at the deadline.
fn side_by_side(
    shop: &Shop,
    limits: &Limits,
    search: &mut Search<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    // A moment for the search alone: a good plan makes the proof shorter.
    let head_start = Instant::now() + HEAD_START;
    while Instant::now() < head_start && limits.over().is_none() && search.rounds() < HEAD_START_ROUNDS {
        search.step();
    }
    offer_search(shop, search, best, progress);
    let incumbent = Arc::new(Incumbent::new(best.cents));
    let told = start_prover(shop, limits, &incumbent);
    let mut proving = true;
    loop {
        if best.proven() {
            return PROVEN;
        }
        if let Some(stopped) = limits.over() {
            return stopped;
        }
        if search.step() {
            offer_search(shop, search, best, progress);
            incumbent.lower(best.cents);
        }
        loop {
            match told.try_recv() {
                Ok(Told::Done) | Err(TryRecvError::Disconnected) => {
                    proving = false;
                    break;
                }
                Ok(news) => {
                    if hear(shop, news, best) {
                        incumbent.lower(best.cents);
                        progress(best.progress());
                    }
                }
                Err(TryRecvError::Empty) => break,
            }
        }
        if !proving && limits.deadline.is_none() {
            return OUT_OF_TIME;
        }
    }
}

const HEAD_START: Duration = Duration::from_millis(300);
const HEAD_START_ROUNDS: u64 = 300;

fn start_prover(shop: &Shop, limits: &Limits, incumbent: &Arc<Incumbent>) -> Receiver<Told> {
    let (tell, told) = channel();
    let (shop, incumbent, deadline) = (shop.clone(), Arc::clone(incumbent), limits.deadline());
    let started = std::thread::Builder::new()
        .name("prover".to_owned())
        .spawn(move || prover::prove(&shop, &incumbent, deadline, &tell));
    if let Err(error) = started {
        tracing::warn!(%error, "no thread for the proof: the search goes on alone");
    }
    told
}

fn offer_search(shop: &Shop, search: &Search<'_>, best: &mut Best, progress: &mut dyn FnMut(Progress)) {
    if search.best().cost() < best.cents
        && let Some(draft) = search.best().draft()
        && best.offer(shop, draft)
    {
        progress(best.progress());
    }
}

/// Takes the prover's news in: whether they change what is known.
fn hear(shop: &Shop, news: Told, best: &mut Best) -> bool {
    match news {
        Told::Bound(bound) if bound > best.bound => {
            best.bound = bound;
            true
        }
        Told::Plan(draft) => best.offer(shop, draft),
        _ => false,
    }
}

fn finish(shop: &Shop, digest: &str, tables: &Tables, best: &Best, stopped: &'static str) -> Plan {
    let proven = best.proven();
    let mut plan = write(shop, digest, &best.draft, |job| reason::left_out(shop, tables, &best.draft, job, proven));
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    plan.bound = Some(Cents(best.bound.min(best.cents)));
    plan.proven = proven;
    stopped.clone_into(&mut plan.stopped);
    plan
}

/// Scratch.
pub fn experiment(shop: &Shop, target: f64, rounds: usize) {
    let began = Instant::now();
    let of = lagrange::Relaxation::new(shop);
    let all = of.all();
    let mut ascent = lagrange::Ascent::new(&of, None);
    let (hi, lo) = (1000.0f64, 0.3f64);
    for round in 1..=rounds {
        ascent.step(&of, &all, hi * (lo / hi).powf(round as f64 / rounds as f64));
    }
    eprintln!("{rounds} {:.2} at {:.2}", ascent.bound / 100.0, began.elapsed().as_secs_f64());
    let cents = target.round() as i64;
    if std::env::var("PARTS").is_ok() {
        let e = crate::encode::encode(shop, false).unwrap();
        let lp = adapter::solve(&e.program, Asked { relaxed: true, ..Asked::default() });
        let x = &lp.fractions;
        let cost = |c: crate::encode::Col| e.program.cost[c.index()] as f64 * x[c.index()];
        let hauls: f64 = e.hauls().map(|h| cost(h.0)).sum();
        let n: f64 = e.hauls().map(|h| x[h.0.index()]).sum();
        let work: f64 = e.work().map(|h| cost(h.0)).sum();
        eprintln!("lp {:?} hauls {hauls:.0} n {n:.2} work {work:.0} constant {}", lp.bound, e.program.constant);
        for (c, units, from, to, h, ev) in e.hauls() { if x[c.index()] > 1e-6 { eprintln!("  haul {:?} {} -> {} h{h} {ev} {:.3} cost {}", units.iter().map(|u| shop.units[*u].id.clone()).collect::<Vec<_>>(), shop.places[from].id, shop.places[to].id, x[c.index()], e.program.cost[c.index()]); } }
        for (c, step, way, crews, start) in e.work() { if x[c.index()] > 1e-6 { eprintln!("  work {}/{} way {way} {} h{start} {:.3}", shop.jobs[shop.steps[step].job].id, shop.steps[step].id, shop.crews[crews[0]].id, x[c.index()]); } }
    }
    if std::env::var("TREE").is_ok() {
        tree(shop, &of, &ascent, cents, began);
    }
}

struct Node { mask: lagrange::Mask, prices: Vec<f64>, bound: f64, depth: usize, freq: Vec<f64>, out: std::collections::BTreeMap<crate::shop::JobId, f64> }

fn env(name: &str, default: f64) -> f64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(default)
}

/// Ascends at a node; false: nothing in it is better.
fn ascend(of: &lagrange::Relaxation, node: &mut Node, cents: i64, rounds: usize, hi: f64, lo: f64, fix: bool) -> bool {
    let limit = (cents - 1) as f64;
    let mut ascent = lagrange::Ascent::new(of, Some(&node.prices));
    let mut freq = vec![0.0; node.mask.runs.len()];
    let mut total = 0.0;
    for round in 1..=rounds {
        let solved = ascent.step(of, &node.mask, hi * (lo / hi).powf(round as f64 / rounds as f64));
        if solved.bound > limit { return false; }
        if round * 2 > rounds { total += 1.0; for r in &solved.chosen { freq[*r] += 1.0; } }
    }
    for f in &mut freq { *f /= total; }
    node.freq = freq;
    if ascent.bound > node.bound { node.bound = ascent.bound; }
    node.prices = ascent.prices;
    if fix {
        let excess = of.excess(&node.prices, &node.mask, false);
        let room = limit - ascent.bound;
        for (r, x) in excess.flat.iter().enumerate() { if *x > room { node.mask.runs[r] = false; } }
        for (job, x) in &excess.left_out { if *x > room && node.mask.may(*job) == lagrange::May::Any { node.mask.jobs.insert(*job, lagrange::May::Do); } }
    }
    true
}

fn tree(shop: &Shop, of: &lagrange::Relaxation, ascent: &lagrange::Ascent, cents: i64, began: Instant) {
    use std::collections::BTreeMap;
    use crate::shop::{JobId, StepId};
    let mut info: Vec<(JobId, StepId, usize, bool, usize)> = vec![];
    of.describe(|job, n, step, crew, own, start| { if info.len() <= n { info.resize(n + 1, (job, step, 0, false, 0)); } info[n] = (job, step, crew, own, start); });
    let mut root = Node { mask: of.all(), prices: ascent.prices.clone(), bound: ascent.bound, depth: 0, freq: vec![], out: BTreeMap::new() };
    let (rounds, hi, lo) = (env("R", 100.0) as usize, env("RHI", 30.0), env("RLO", 2.0));
    let strong = env("STRONG", 4.0) as usize;
    let short = env("SHORT", 25.0) as usize;
    ascend(of, &mut root, cents, rounds, hi, lo, true);
    let mut open = vec![root];
    let mut n = 0;
    let mut said = 0.0;
    while !open.is_empty() {
        let i = (0..open.len()).min_by(|a, b| open[*a].bound.total_cmp(&open[*b].bound)).unwrap();
        let node = open.swap_remove(i);
        n += 1;
        let t = began.elapsed().as_secs_f64();
        if t - said > 2.0 { said = t; eprintln!("{n} open {} bound {:.2} depth {} runs {} at {t:.1}", open.len(), node.bound / 100.0, node.depth, node.mask.runs.iter().filter(|x| **x).count()); }
        if t > env("MOST", 60.0) { break; }
        if open.len() as f64 >= env("LEAVES", 1e9) {
            open.push(node);
            open.sort_by(|a, b| a.bound.total_cmp(&b.bound));
            let e = crate::encode::encode(shop, false).unwrap();
            let mut most = 0.0f64; let mut sum = 0.0;
            for leaf in &open {
                let t0 = Instant::now();
                let excess = of.excess(&leaf.prices, &leaf.mask, true);
                let room = (cents - 1) as f64 - leaf.bound;
                let mut program = e.program.clone();
                let mut runs = 0; let mut hauls = 0;
                for (col, step, way, crews, start) in e.work() {
                    if crews.iter().all(|crew| excess.runs.get(&(step, way, *crew, start)).is_none_or(|x| *x > room)) { program.upper[col.index()] = 0; } else { runs += 1; }
                }
                for (col, units, from, to, h, evening) in e.hauls() {
                    if of.haul_excess(&excess, (units, from, to, h, evening)) > room { program.upper[col.index()] = 0; } else { hauls += 1; }
                }
                for (job, x) in &excess.left_out {
                    let col = e.left_out(*job).unwrap();
                    match leaf.mask.may(*job) {
                        lagrange::May::Do => program.upper[col.index()] = 0,
                        lagrange::May::LeaveOut => program.equal(crate::encode::Rule::Branch, vec![(col, 1)], 1),
                        lagrange::May::Any => if *x > room { program.upper[col.index()] = 0 },
                    }
                }
                let t1 = t0.elapsed().as_secs_f64();
                let mip = adapter::solve(&program, Asked { below: Some(cents), seconds: Some(30.0), ..Asked::default() });
                let took = t0.elapsed().as_secs_f64(); most = most.max(took); sum += took;
                eprintln!("leaf bound {:.2} depth {} runs {runs} hauls {hauls} -> bound {:?} infeasible {} plan {:?} in {t1:.2} {took:.2}", leaf.bound / 100.0, leaf.depth, mip.bound, mip.infeasible, mip.values.map(|v| v.1));
            }
            eprintln!("leaves {} most {most:.2} sum {sum:.2} at {:.2}", open.len(), began.elapsed().as_secs_f64());
            return;
        }
        // candidates
        let mut done: BTreeMap<JobId, f64> = BTreeMap::new();
        let mut by_step: BTreeMap<StepId, BTreeMap<usize, f64>> = BTreeMap::new();
        let mut by_crew: BTreeMap<(StepId, usize), f64> = BTreeMap::new();
        for (r, f) in node.freq.iter().enumerate().filter(|(_, f)| **f > 0.0) {
            let (job, step, crew, _, start) = info[r];
            if step == StepId::from_index(shop.jobs[job].steps.start) { *done.entry(job).or_default() += f; }
            *by_step.entry(step).or_default().entry(start).or_default() += f;
            *by_crew.entry((step, crew)).or_default() += f;
        }
        enum By { Out(JobId), Start(StepId, usize), Crew(StepId, usize) }
        let mut cands: Vec<(f64, By)> = vec![];
        for job in of.jobs() {
            let f = done.get(&job).copied().unwrap_or(0.0);
            if node.mask.may(job) == lagrange::May::Any && f < 0.98 && f > 0.02 { cands.push((f.min(1.0 - f) * 100.0, By::Out(job))); }
        }
        for (step, starts) in &by_step {
            let total: f64 = starts.values().sum();
            let mean: f64 = starts.iter().map(|(s, f)| *s as f64 * f).sum::<f64>() / total;
            let spread: f64 = starts.iter().map(|(s, f)| (*s as f64 - mean).abs() * f).sum::<f64>();
            if spread > 0.05 { cands.push((spread, By::Start(*step, mean.floor() as usize + 1))); }
        }
        for ((step, crew), f) in &by_crew {
            let total: f64 = by_step[step].values().sum();
            let f = f / total;
            if f > 0.05 && f < 0.95 { cands.push((f.min(1.0 - f) * env("CREW", 10.0), By::Crew(*step, *crew))); }
        }
        cands.sort_by(|a, b| b.0.total_cmp(&a.0));
        cands.truncate(strong.max(1));
        let child = |by: &By, value: bool| {
            let mut mask = node.mask.clone();
            match by {
                By::Out(job) => { mask.jobs.insert(*job, if value { lagrange::May::Do } else { lagrange::May::LeaveOut }); }
                By::Start(step, t) => for (r, i) in info.iter().enumerate() { if i.1 == *step && (i.4 < *t) != value { mask.runs[r] = false; } },
                By::Crew(step, c) => for (r, i) in info.iter().enumerate() { if i.1 == *step && (i.2 == *c) != value { mask.runs[r] = false; } },
            }
            Node { mask, prices: node.prices.clone(), bound: node.bound, depth: node.depth + 1, freq: vec![], out: BTreeMap::new() }
        };
        let mut best: Option<(f64, usize)> = None;
        if cands.is_empty() { eprintln!("whole node bound {:.2} depth {}", node.bound / 100.0, node.depth); break; }
        if cands.len() > 1 {
            for (c, (_, by)) in cands.iter().enumerate() {
                let mut gains = vec![];
                for value in [false, true] {
                    let mut kid = child(by, value);
                    kid.bound = f64::NEG_INFINITY;
                    let alive = ascend(of, &mut kid, cents, short, hi, lo, false);
                    gains.push(if alive { (kid.bound - node.bound).max(0.01).min(cents as f64 - node.bound) } else { cents as f64 - node.bound });
                }
                let score = gains[0] * gains[1];
                if best.is_none_or(|(s, _)| score > s) { best = Some((score, c)); }
            }
        } else { best = Some((0.0, 0)); }
        let (_, c) = best.unwrap();
        for value in [false, true] {
            let mut kid = child(&cands[c].1, value);
            if ascend(of, &mut kid, cents, rounds, hi, lo, true) { open.push(kid); }
        }
    }
    eprintln!("nodes {n} open {} bound {:.2} at {:.2}", open.len(), open.iter().map(|n| n.bound).fold(f64::INFINITY, f64::min) / 100.0, began.elapsed().as_secs_f64());
}
