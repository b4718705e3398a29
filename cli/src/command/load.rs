//! `yardless load`: what is put on which truck, half-day by half-day.

use std::path::Path;

use yardless_edit::judged::judge;
use yardless_edit::trouble::{Noun, OfQuestion, Trouble};
use yardless_edit::{book_file, named, plan_file};
use yardless_plan::shop::{CrewId, Id};

use crate::answer::Answer;
use crate::args::LoadArgs;
use crate::exit::Exit;
use crate::listed::before;

/// Prints a week's lists; those of a plan that does not hold with a note, and exit 3.
pub fn run(book: &Path, args: &LoadArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let stored = plan_file::read(&args.plan)?;
    let shop = stored.shop(&file, None)?;
    let now = stored.now(&file, args.now)?;
    let asked = args.week.unwrap_or(now.date());
    let (first, last) = (shop.horizon.monday(), shop.horizon.last_date());
    let outside = || OfQuestion::WeekOutside { date: asked, first, last };
    let week = shop.horizon.index(yardless_book::half_day::HalfDay::am(asked)).ok_or_else(outside)? / 14;
    let all: Vec<(&str, &str)> = shop.crews.iter().map(|crew| (crew.id.as_str(), crew.name.as_str())).collect();
    let crew = args.crew.as_deref().map(|crew| named::position(Noun::Crew, crew, &all)).transpose()?;
    let verdict = judge(&file, &stored, None, args.now)?;
    let mut answer = Answer::new(if args.json {
        format!("{:#}\n", yardless_view::load_json(&shop, &stored.plan, week))
    } else {
        yardless_view::load_sheet(&shop, &stored.plan, week, crew.map(CrewId::from_index))
    });
    answer.notes.extend(stored.other_book(&args.plan, &file.written.digest));
    answer.notes.extend(before(&verdict, &args.plan));
    if !verdict.breaches.is_empty() {
        answer.notes.push("the plan does not hold by the book as it is now; `check` says why".to_owned());
        answer.exit = Exit::DoesNotHold;
    }
    Ok(answer)
}
