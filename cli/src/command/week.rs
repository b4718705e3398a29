//! `yardless week`: a stored plan on paper, or one crew's week as a message.

use std::fmt::Write;
use std::path::Path;

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_check::fact::Touched;
use yardless_edit::judged::{Judged, judge};
use yardless_edit::trouble::{Noun, OfQuestion, Trouble};
use yardless_edit::{book_file, named, plan_file};
use yardless_plan::shop::{CrewId, Id, Shop};
use yardless_view::breach::says;

use crate::answer::Answer;
use crate::args::WeekArgs;
use crate::exit::Exit;
use crate::listed::{before, listed};

/// Prints the plan. One that does not hold is printed under a warning that lists its breaches, with exit 3.
pub fn run(book: &Path, args: &WeekArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let stored = plan_file::read(&args.plan)?;
    let shop = stored.shop(&file, None)?;
    let other_book = stored.other_book(&args.plan, &file.written.digest);
    let week = args.week.map(|date| position(&shop, HalfDay::am(date))).transpose()?;
    let crew = args.crew.as_deref().map(|crew| find_crew(&shop, crew)).transpose()?;
    let verdict = judge(&file, &stored, None, args.now)?;
    let broken = verdict.broken(&stored.plan);
    let mut plan = stored.plan;
    // What it really costs by this book; a bound proven for another text of the book proves nothing here.
    plan.costs = verdict.costs;
    plan.cost = verdict.costs.total();
    if other_book.is_some() {
        (plan.bound, plan.proven) = (None, false);
        plan.stopped.clear();
    }
    #[cfg(feature = "service")]
    let on_paper = super::paper::write(
        &super::paper::Sheets { shop: &shop, plan: &plan, verdict: &verdict, broken: &broken, week, crew },
        args,
    )?;
    #[cfg(not(feature = "service"))]
    let on_paper = None;
    let printed = || match crew {
        None => yardless_view::calendar(&shop, &plan, &broken, week.map(|week| week..week + 1)),
        Some(crew) => {
            let weeks = week.map_or(0..shop.horizon.weeks() as usize, |week| week..week + 1);
            let messages: Vec<String> =
                weeks.map(|week| yardless_view::crew_message(&shop, &plan, &broken, crew, week)).collect();
            messages.join("\n")
        }
    };
    let mut answer = Answer::new(on_paper.unwrap_or_else(|| warning(&verdict, &broken) + &printed()));
    answer.notes.extend(other_book);
    answer.notes.extend(before(&verdict, &args.plan));
    if !verdict.breaches.is_empty() {
        answer.exit = Exit::DoesNotHold;
    }
    Ok(answer)
}

fn warning(verdict: &Judged, broken: &Touched) -> String {
    if verdict.breaches.is_empty() {
        return String::new();
    }
    let none = *broken == Touched::default();
    let what = if none { "it" } else { "what has a ! before it" };
    let mut text = format!("THIS PLAN DOES NOT HOLD by the book as it is now. Do not work from {what}.\n");
    for breach in listed(verdict) {
        let _ = writeln!(text, "  {:4} {}", breach.rule, says(&verdict.by, &breach));
    }
    text + "\n"
}

fn position(shop: &Shop, half_day: HalfDay) -> Result<usize, Trouble> {
    let horizon: Horizon = shop.horizon;
    let (first, last) = (horizon.monday(), horizon.last_date());
    let outside = || OfQuestion::WeekOutside { date: half_day.date(), first, last };
    Ok(horizon.index(half_day).map(|h| h / 14).ok_or_else(outside)?)
}

/// The crew by its id or name.
fn find_crew(shop: &Shop, asked: &str) -> Result<CrewId, Trouble> {
    let all: Vec<(&str, &str)> = shop.crews.iter().map(|crew| (crew.id.as_str(), crew.name.as_str())).collect();
    Ok(named::position(Noun::Crew, asked, &all).map(CrewId::from_index)?)
}
