//! `yardless free`: when units of a kind are free together, where each is, and how much sooner if other work moves.

use std::path::Path;

use yardless_solver::answer::{Ask, Given, sooner, together};
use yardless_solver::engine::Limits;
use yardless_solver::half_day::HalfDay;
use yardless_solver::plan::{Plan, check};
use yardless_solver::shop::{KindId, PlaceId, Shop};

use crate::answer::Answer;
use crate::args::{FreeArgs, SearchArgs, TimeArgs};
use crate::book_file::{self, BookFile};
use crate::exit::Exit;
use crate::plan_file::{self, PlanFile};
use crate::trouble::{Trouble, did_you_mean};
use crate::view::FreeUnits;
use crate::{asked, search};

/// Answers from a stored plan; where there is none, from a fresh one.
pub fn run(book: &Path, args: &FreeArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let beside = book.with_file_name("plan.json");
    let path = args.ask.plan.clone().or_else(|| beside.exists().then_some(beside));
    let stored = path.as_deref().map(plan_file::read).transpose()?;
    let fresh = SearchArgs { seconds: None, steps: None, gap: None, seed: 1 };
    let shop = match &stored {
        Some(stored) => stored.shop(&file, None)?,
        None => file.shop(search::horizon(&file, &TimeArgs { from: None, weeks: 6 })?)?,
    };
    let kind = kind(&shop, &args.kind)?;
    enough(&shop, kind, args.count as usize)?;
    let at = as_of(&file, &shop, args.ask.now)?;
    let mut notes = Vec::new();
    let plan = if let (Some(PlanFile { plan, .. }), Some(path)) = (stored, path) {
        holds(&shop, &plan, &path)?;
        plan
    } else {
        notes.push("no stored plan: the book was planned afresh (--plan PLAN asks a stored one)".to_owned());
        search::plan(&shop, &file.written.digest, None, &fresh)?
    };
    let place = args.at.as_deref().map(|asked| place(&shop, asked)).transpose()?;
    let ask = Ask { kind, count: args.count as usize, half_days: args.half_days as usize, place, from: at };
    let given = given(&shop, &file.written.digest, &plan)?;
    let found = together(&given, &ask);
    // Sooner, if other work moves: only where the plan given out still holds from now on can that be told.
    let sooner = match asked::of(file, book, &args.ask) {
        Ok(now) => now.given().ok().and_then(|given| {
            let at = place
                .or_else(|| found.as_ref().and_then(|found| now.shop.places.find(|of| of.id == found.units[0].1)))?;
            let from = ask.from.max(now.shop.now);
            let before = found.as_ref().map_or(now.shop.horizon.half_day(now.shop.len() - 1), |found| found.first);
            let same = now.shop.horizon == shop.horizon;
            let worth_asking = same && before > now.shop.horizon.half_day(from);
            worth_asking.then(|| sooner(&given, &Ask { from, ..ask }, at, before, &Limits::steps(ROUNDS)))?
        }),
        Err(_) => None,
    };
    let units = FreeUnits::new(&shop, &plan, &ask);
    let mut answer = Answer::new(if args.ask.json {
        units.json(found.as_ref(), sooner.as_ref())
    } else {
        units.text(found.as_ref(), sooner.as_ref())
    });
    answer.notes = notes;
    Ok(answer)
}

/// Rounds of search for each plan in which other work moves.
const ROUNDS: u64 = 120;

/// The plan as a question takes it; it holds, as has been looked at.
fn given<'a>(shop: &'a Shop, digest: &'a str, plan: &Plan) -> Result<Given<'a>, Trouble> {
    Given::new(shop, digest, plan).map_err(|breaches| {
        let says = breaches.first().map_or(String::new(), |breach| breach.says.clone());
        Trouble::input(
            "plan::breach",
            format!("the plan does not hold: {says}"),
            "plan again with `yardless plan --out PLAN`",
        )
    })
}

/// A count above what the shop owns is no question of time.
fn enough(shop: &Shop, kind: KindId, count: usize) -> Result<(), Trouble> {
    let owned: Vec<&str> =
        shop.units.iter().filter(|unit| unit.kinds.contains(&kind)).map(|unit| unit.name.as_str()).collect();
    if count <= owned.len() {
        return Ok(());
    }
    let name = &shop.kinds[kind].name;
    Err(Trouble::input(
        "free::count",
        format!("{count} units of `{name}` are never free together: the book has {}", owned.len()),
        format!("ask for up to {}: {}", owned.len(), owned.join(", ")),
    ))
}

/// The place by its id or name.
fn place(shop: &Shop, asked: &str) -> Result<PlaceId, Trouble> {
    let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
    shop.places.find(|place| same(&place.id) || same(&place.name)).ok_or_else(|| {
        let names = || shop.places.iter().flat_map(|place| [place.id.as_str(), place.name.as_str()]);
        let all: Vec<String> = shop.places.iter().map(|place| format!("`{}`", place.id)).collect();
        let says = format!("no place `{asked}`{}", did_you_mean(asked, names()));
        Trouble::input(
            "free::unknown-place",
            says,
            format!("the book has {}; --now gives the half-day", all.join(", ")),
        )
    })
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
        Trouble::input("free::now", format!("{at} is outside the plan"), covered)
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
