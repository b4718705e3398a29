//! Our planner on one book, in a process of its own.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use yardless_book::half_day::Horizon;
use yardless_check::check;
use yardless_engine::{Limits, impossible, plan};
use yardless_plan::shop::Shop;
use yardless_plan::{Draft, write};

use crate::run::{BenchRun, Sample};
use crate::subject::Subject;
use yardless_support::memory::peak_mb;

/// Said to the process that is to plan one book, before the words of [`Subject::words`].
pub const ALONE: &str = "alone";

/// Plans a book in a new process. One that breaks down leaves a run without samples, which does not hold.
pub fn run(subject: &Subject, seconds: f64) -> BenchRun {
    let planned = || -> Result<BenchRun, String> {
        let program = std::env::current_exe().map_err(|e| e.to_string())?;
        let mut command = Command::new(program);
        command.arg(ALONE).args(subject.words(seconds)).stderr(Stdio::inherit());
        let output = command.output().map_err(|e| e.to_string())?;
        // A solver inside may greet before.
        let last = output.stdout.trim_ascii().rsplit(|byte| *byte == b'\n').next().unwrap_or_default();
        serde_json::from_slice(last).map_err(|_| format!("it broke down: {}", output.status))
    };
    planned().unwrap_or_else(|stopped| BenchRun { stopped, ..BenchRun::default() })
}

/// What that process does: plans, and prints its run as JSON.
pub fn plan_alone(words: &[String]) {
    let [path, from, weeks, seconds] = words else { panic!("file, Monday, weeks, seconds") };
    let began = Instant::now();
    let deadline = began + Duration::from_secs_f64(seconds.parse().expect("seconds"));
    let written = yardless_book::read(&std::fs::read(path).expect("a book")).expect("a book without fault");
    let from: NaiveDate = from.parse().expect("a Monday");
    let horizon = Horizon::new(from, weeks.parse().expect("weeks")).expect("a horizon");
    let shop = Shop::new(&written.book, horizon).expect("a book without fault");
    let mut samples = Vec::new();
    let limits = Limits { deadline: Some(deadline), ..Limits::seconds(0.0) };
    let plan = plan(&shop, &written.digest, &limits, &mut |progress| {
        let (cost, bound) = (progress.cost.0, progress.bound.map(|bound| bound.0));
        samples.push(Sample { seconds: began.elapsed().as_secs_f64(), cost, bound });
    });
    let ended = began.elapsed().as_secs_f64();
    let mb = peak_mb("self");
    samples.push(Sample { seconds: ended, cost: plan.cost.0, bound: plan.bound.map(|bound| bound.0) });
    // A plan that does jobs for more than leaving all out costs is never the best so far.
    let nothing = check(&shop, &write(&shop, "", &Draft::empty(&shop), |_| String::new())).costs.total().0;
    let first = samples.iter().find(|sample| sample.cost < nothing).or(samples.first()).map(|sample| sample.seconds);
    let left_out = |id: &str| plan.left_out.iter().any(|row| row.job == id);
    let impossible = shop.jobs.ids().filter(|job| left_out(&shop.jobs[*job].id) && impossible(&shop, *job).is_some());
    let run = BenchRun {
        first,
        ended,
        impossible: impossible.map(|job| shop.jobs[job].left_out.0).sum(),
        mb,
        breaches: check(&shop, &plan).breaches.iter().map(|breach| format!("{breach:?}")).collect(),
        stopped: plan.stopped,
        samples,
    };
    println!("{}", serde_json::to_string(&run).expect("JSON"));
}
