//! `yardless free`: where the units of a kind are, and when the second one comes free.

use std::path::Path;

use yardless_solver::half_day::HalfDay;
use yardless_solver::plan::{Plan, check};
use yardless_solver::shop::{KindId, Shop};

use crate::answer::Answer;
use crate::args::{FreeArgs, SearchArgs, TimeArgs};
use crate::book_file::{self, BookFile};
use crate::exit::Exit;
use crate::plan_file::{self, PlanFile};
use crate::search;
use crate::trouble::{Trouble, did_you_mean};
use crate::view::FreeUnits;

/// Answers from a stored plan; where there is none, from a fresh one.
pub fn run(book: &Path, args: &FreeArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let beside = book.with_file_name("plan.json");
    let path = args.plan.clone().or_else(|| beside.exists().then_some(beside));
    let stored = path.as_deref().map(plan_file::read).transpose()?;
    let fresh = SearchArgs { seconds: None, steps: None, gap: None, seed: 1 };
    let shop = match &stored {
        Some(stored) => stored.shop(&file, None)?,
        None => file.shop(search::horizon(&file, &TimeArgs { from: None, weeks: 6 })?)?,
    };
    let kind = kind(&shop, &args.kind)?;
    let at = as_of(&file, &shop, args.at)?;
    let mut notes = Vec::new();
    let plan = if let (Some(PlanFile { plan, .. }), Some(path)) = (stored, path) {
        holds(&shop, &plan, &path)?;
        plan
    } else {
        notes.push("no stored plan: the book was planned afresh (--plan PLAN asks a stored one)".to_owned());
        search::plan(&shop, &file.written.digest, None, &fresh)?
    };
    let units = FreeUnits::new(&shop, &plan, kind, at);
    let mut answer = Answer::new(if args.json { units.json() } else { units.text() });
    answer.notes = notes;
    Ok(answer)
}

/// The kind by its id or name.
fn kind(shop: &Shop, asked: &str) -> Result<KindId, Trouble> {
    let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
    if let Some(kind) = shop.kinds.find(|kind| same(&kind.id) || same(&kind.name)) {
        return Ok(kind);
    }
    let known: Vec<&str> = shop.kinds.iter().flat_map(|kind| [kind.id.as_str(), kind.name.as_str()]).collect();
    let meant = did_you_mean(asked, known);
    let all: Vec<String> = shop.kinds.iter().map(|kind| format!("`{}`", kind.id)).collect();
    Err(Trouble::input(
        "free::unknown-kind",
        format!("no kind `{asked}`{meant}"),
        if all.is_empty() {
            "the book has no equipment".to_owned()
        } else {
            format!("the book has {}", all.join(", "))
        },
    ))
}

/// The half-day asked about: as given, else now, else the plan's first.
fn as_of(file: &BookFile, shop: &Shop, asked: Option<HalfDay>) -> Result<usize, Trouble> {
    let horizon = shop.horizon;
    let Some(at) = asked else {
        return Ok(horizon.index(file.half_day_now()).unwrap_or(0));
    };
    horizon.index(at).ok_or_else(|| {
        let covered = format!("the plan covers {} to {}", horizon.monday(), horizon.last_date());
        Trouble::input("free::at", format!("{at} is outside the plan"), covered)
    })
}

/// Where a plan does not hold, what it says of equipment is not to be relied on.
fn holds(shop: &Shop, plan: &Plan, path: &Path) -> Result<(), Trouble> {
    let breaches = check(shop, plan).breaches.len();
    if breaches == 0 {
        return Ok(());
    }
    Err(Trouble::One {
        exit: Exit::DoesNotHold,
        code: "plan::breach",
        says: format!(
            "the plan `{}` does not hold by the book as it is now, so nothing is answered from it",
            path.display()
        ),
        help: format!(
            "`yardless check {}` lists what breaks; plan again with `yardless plan --out {0}`",
            path.display()
        ),
    })
}
