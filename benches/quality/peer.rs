//! The solvers of `benches/peer` on one book: what they print, and which of their plans hold.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use serde::Deserialize;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_plan::Plan;

use crate::args::Books;
use crate::python::Python;
use crate::run::{BenchRun, Sample};
use crate::subject::Subject;
use yardless_support::memory::peak_mb;

/// Seconds besides its own, and as much again as those, after which a solver that does not end is ended.
const GRACE: f64 = 60.0;
/// How often its memory is looked at.
const LOOK: Duration = Duration::from_millis(200);

pub struct Peer<'a> {
    pub name: &'static str,
    /// In `benches/peer`.
    script: &'static str,
    /// What the script is told besides, behind [`Subject::words`].
    solver: Option<&'static str>,
    python: &'a Python,
}

/// Full books are for the solvers on the model of `tests/reference`, which knows every rule.
pub fn all(python: &Python, books: Books) -> Vec<Peer<'_>> {
    let script = |name: &'static str| {
        let (script, solver) = if books.full { ("modelled", Some(name)) } else { (name, None) };
        Peer { name, script, solver, python }
    };
    ["cpsat", "highs"].map(script).into()
}

/// A line that a peer prints.
#[derive(Deserialize)]
struct PeerLine {
    seconds: f64,
    bound: Option<Cents>,
    plan: Option<serde_json::Value>,
    stopped: Option<String>,
}

impl Peer<'_> {
    pub fn run(&self, subject: &Subject, seconds: f64) -> BenchRun {
        let script = format!("{}/../benches/peer/{}.py", env!("CARGO_MANIFEST_DIR"), self.script);
        let mut command = self.python.command();
        command.arg(script).args(subject.words(seconds)).args(self.solver);
        match listen(&mut command, Duration::from_secs_f64(2.0 * seconds + GRACE)) {
            Ok(heard) => judge(subject, &heard),
            Err(e) => BenchRun { stopped: format!("it did not start: {e}"), ..BenchRun::default() },
        }
    }
}

struct Heard {
    lines: Vec<String>,
    /// Seconds since it was started: told where it does not tell itself.
    ended: f64,
    mb: Option<u64>,
    status: String,
}

/// Runs it to its end. Nothing is judged meanwhile: the cores are the solver's.
fn listen(command: &mut Command, patience: Duration) -> std::io::Result<Heard> {
    let began = Instant::now();
    let mut child = command.stdout(Stdio::piped()).spawn()?;
    let output = BufReader::new(child.stdout.take().expect("a pipe"));
    let (tell, told) = channel();
    std::thread::spawn(move || output.lines().map_while(Result::ok).try_for_each(|line| tell.send(line)));
    let (mut lines, mut mb) = (Vec::new(), None);
    let mut killed = false;
    loop {
        match told.recv_timeout(LOOK) {
            Ok(line) => lines.push(line),
            Err(RecvTimeoutError::Timeout) if began.elapsed() > patience => {
                child.kill()?;
                killed = true;
                break;
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        mb = peak_mb(&child.id().to_string()).or(mb);
    }
    let status = child.wait()?;
    let status = if killed { "ended by force".to_owned() } else { format!("broke down: {status}") };
    Ok(Heard { lines, ended: began.elapsed().as_secs_f64(), mb, status })
}

/// The peer's own clock counts: it leaves out the start of Python.
fn judge(subject: &Subject, heard: &Heard) -> BenchRun {
    let mut run = BenchRun { ended: heard.ended, mb: heard.mb, stopped: heard.status.clone(), ..BenchRun::default() };
    for line in &heard.lines {
        let line: PeerLine = match serde_json::from_str(line) {
            Ok(line) => line,
            Err(e) => {
                run.breaches.push(format!("a line that is not understood: {e}"));
                continue;
            }
        };
        let bound = line.bound.map(|bound| bound.0).max(run.end().and_then(|end| end.bound));
        let mut cost = run.end().map(|end| end.cost);
        if let Some(plan) = line.plan {
            match held(subject, plan) {
                Ok(plan) => {
                    cost = Some(cost.map_or(plan.cost.0, |best| best.min(plan.cost.0)));
                    run.first = run.first.or((!plan.steps.is_empty()).then_some(line.seconds));
                }
                Err(says) => run.breaches.push(says),
            }
        }
        if let Some(cost) = cost {
            run.samples.push(Sample { seconds: line.seconds, cost, bound });
        }
        if let Some(stopped) = line.stopped {
            (run.stopped, run.ended) = (stopped, line.seconds);
        }
    }
    run
}

/// The plan, where it holds; else what is wrong with it.
fn held(subject: &Subject, plan: serde_json::Value) -> Result<Plan, String> {
    let mut plan: Plan = serde_json::from_value(plan).map_err(|e| format!("not a plan: {e}"))?;
    if plan.book_digest != subject.digest {
        return Err("a plan of another book".to_owned());
    }
    // A model may pay too much in a plan that is not its best: that is not held against the plan.
    let costs = check(&subject.shop, &plan).costs;
    if costs.total() < plan.cost {
        (plan.costs, plan.cost) = (costs, costs.total());
    }
    check(&subject.shop, &plan).breaches.first().map_or(Ok(plan), |breach| Err(format!("{breach:?}")))
}
