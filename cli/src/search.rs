//! Planning with the clock running: limits from the command line, Ctrl-C, progress, and the last check.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};
use yardless_book::half_day::Horizon;
use yardless_check::check;
use yardless_edit::book_file::BookFile;
use yardless_edit::trouble::{OfCommand, Trouble};
use yardless_engine::{Leaning, Limits, Progress};
use yardless_plan::shop::Shop;
use yardless_plan::{Draft, Plan};
use yardless_view::breach::{in_order, says};

use crate::args::{SECONDS, SearchArgs, TimeArgs};

/// The time to plan: from this week's Monday on the shop's clock unless told otherwise; on a weekend the week is over, and
/// the one that begins is planned, which the second says.
pub fn horizon(book: &BookFile, args: &TimeArgs) -> Result<(Horizon, Option<String>), Trouble> {
    let today = args.now.unwrap_or_else(|| book.half_day_now()).date();
    let monday = args.from.unwrap_or_else(|| Horizon::clean_from(today));
    let this_week = Horizon::monday_of(today);
    let says = (args.from.is_none() && monday != this_week).then(|| {
        let weekday = today.format("%A");
        format!(
            "it is {weekday}: planned is the week that begins on {monday}; `--from {this_week}` plans the one that ends"
        )
    });
    let horizon = Horizon::new(monday, args.weeks).map_err(|e| OfCommand::From { why: e.to_string() })?;
    Ok((horizon, says))
}

/// Plans the shop, from a plan to start with where there is one.
pub fn plan(shop: &Shop, digest: &str, start: Option<&Draft>, args: &SearchArgs) -> Result<Plan, Trouble> {
    run(shop, args, |limits, progress| yardless_engine::plan_from(shop, digest, start, limits, progress))
}

/// Plans again, close to the kept plan.
pub fn replan(shop: &Shop, digest: &str, kept: &Plan, args: &SearchArgs) -> Result<Plan, Trouble> {
    run(shop, args, |limits, progress| yardless_engine::replan(shop, digest, kept, limits, progress))
}

/// Up to so many plans to choose from, the balanced one first.
pub fn choices(
    shop: &Shop,
    digest: &str,
    kept: &Plan,
    most: usize,
    args: &SearchArgs,
) -> Result<Vec<(Leaning, Plan)>, Trouble> {
    let mut found = Vec::new();
    run(shop, args, |limits, progress| {
        found = yardless_engine::choices(shop, digest, kept, most, limits, progress);
        found.first().map_or_else(|| kept.clone(), |(_, plan)| plan.clone())
    })?;
    Ok(found)
}

/// Steps alone, or seconds, by default so many.
pub fn limits(seconds: Option<f64>, steps: Option<u64>, default: f64) -> Limits {
    match (seconds, steps) {
        (None, Some(steps)) => Limits::steps(steps),
        (seconds, steps) => Limits { steps, ..Limits::seconds(seconds.unwrap_or(default)) },
    }
}

/// Ctrl-C ends the search with the best plan so far; whatever comes is checked before anyone sees it.
fn run(
    shop: &Shop,
    args: &SearchArgs,
    search: impl FnOnce(&Limits, &mut dyn FnMut(Progress)) -> Plan,
) -> Result<Plan, Trouble> {
    let mut limits = limits(args.seconds, args.steps, SECONDS);
    limits.seed = args.seed;
    limits.gap = args.gap.unwrap_or(0.0);
    stop_on_interrupt(&limits.cancel);
    let bar = bar();
    tracing::info!(jobs = shop.jobs.len(), steps = shop.steps.len(), half_days = shop.len(), "planning");
    let plan = search(&limits, &mut |progress| {
        tracing::debug!(cost = %progress.cost, bound = ?progress.bound.map(|bound| bound.to_string()), "better");
        bar.set_message(told(progress));
    });
    bar.finish_and_clear();
    tracing::info!(cost = %plan.cost, stopped = plan.stopped, "planned");
    let breaches = check(shop, &plan).breaches;
    let breaches = in_order(shop, breaches);
    let breaches: Vec<String> =
        breaches.iter().map(|breach| format!("{} {}", breach.rule, says(shop, breach))).collect();
    if breaches.is_empty() { Ok(plan) } else { Err(OfCommand::FoundBreaks { breaches }.into()) }
}

/// Ctrl-C ends what is searched; asked a second time, the command.
pub fn stop_on_interrupt(cancel: &Arc<AtomicBool>) {
    let cancel = Arc::clone(cancel);
    let set = ctrlc::set_handler(move || {
        if cancel.swap(true, Ordering::Relaxed) {
            // Asked a second time: leave at once, with nothing to show.
            std::process::exit(1);
        }
    });
    if let Err(e) = set {
        tracing::warn!("Ctrl-C will not stop the search early: {e}");
    }
}

/// A line on stderr, only on a terminal.
fn bar() -> ProgressBar {
    let bar = ProgressBar::new_spinner().with_message("no plan yet");
    if let Ok(style) = ProgressStyle::with_template("{elapsed_precise}  {msg}  (Ctrl-C: the best so far)") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

fn told(progress: Progress) -> String {
    let Progress { cost, bound } = progress;
    match bound {
        None => format!("costs ${cost}; how much better it could be is not known yet"),
        Some(bound) if cost.0 > 0 => {
            format!(
                "costs ${cost}, no plan costs less than ${bound}: at most {:.1} % apart",
                (cost - bound).0 as f64 / cost.0 as f64 * 100.0
            )
        }
        Some(bound) => format!("costs ${cost}, no plan costs less than ${bound}"),
    }
}
