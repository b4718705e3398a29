//! The one place where a day that nobody noted is taken to have gone as planned.

use std::collections::BTreeSet;

use yardless_book::half_day::HalfDay;
use yardless_check::fact::{Fact, OfSpan, Touched, half_days};
use yardless_check::{Breach, check};
use yardless_plan::shop::Shop;
use yardless_plan::{Assumed, Plan};

use crate::book_file::BookFile;
use crate::changes::BookChange;
use crate::edited;
use crate::note;
use crate::plan_file::PlanFile;
use crate::trouble::Trouble;

/// Most plans in a row of which each takes the one before to have gone as planned.
const MOST: usize = 30;

/// The book as of a half-day.
pub struct Then {
    /// It, with what is assumed.
    pub book: BookFile,
    /// What is assumed; `None`: it says how all went, or as much as anybody knows.
    pub assumed: Option<Assumed>,
}

/// Why what nobody noted cannot have gone as planned.
pub struct NotAsPlanned {
    /// The steps, `job/step`; none where it is not known which.
    pub steps: Vec<String>,
    /// The cause.
    pub why: Why,
}

/// The cause.
pub enum Why {
    /// The book would have a fault, or the plan's rows cannot be read against it.
    Refused(Trouble),
    /// The plan breaks rules there by the book as it is now: a storm came, a crew was away.
    Breaks(Box<Shop>, Vec<Breach>),
    /// So many plans in a row were made without a note.
    TooOften(usize),
}

/// A book as of a half-day, where the plan given out has steps before it of which the book does not say how they went: these
/// are done, or as far as the plan has them, and the units stand where the plan's hauls have left them, as if it had been
/// noted (`note --until`). Nothing is written.
pub fn assumed(file: &BookFile, stored: &PlanFile, until: HalfDay) -> Result<Then, NotAsPlanned> {
    let refused = |steps: &[String], why| NotAsPlanned { steps: steps.to_vec(), why: Why::Refused(why) };
    let changes = note::as_planned(file, stored, until).map_err(|why| refused(&[], why))?;
    let steps: Vec<String> = changes.steps().cloned().collect();
    if steps.is_empty() {
        // Where every step is known, so is where the units stand.
        return Ok(Then { book: file.clone(), assumed: None });
    }
    let then = edited(file.name(), file.text(), &changes.edits).map_err(|why| refused(&steps, why))?;
    let book = then.map_or_else(|| file.clone(), |then| then.as_if(file));
    let plans = stored.plan.and_so_far().count();
    if plans > MOST {
        return Err(NotAsPlanned { steps, why: Why::TooOften(plans) });
    }
    let hauled = changes.changed.iter().filter_map(|change| match change {
        BookChange::Place { unit, .. } => Some(unit.as_str()),
        _ => None,
    });
    let by = stored.shop(file, None).map_err(|why| refused(&steps, why))?;
    let breaches = broken(&by, &stored.plan, until, &steps, &hauled.collect());
    if breaches.is_empty() {
        return Ok(Then { book, assumed: Some(Assumed { until, steps }) });
    }
    Err(NotAsPlanned { steps, why: Why::Breaks(Box::new(by), breaches) })
}

impl Then {
    /// What a plan that is made of it keeps of the plan given out: what was assumed of that.
    pub fn so_far(&self, stored: &PlanFile) -> Option<Box<Plan>> {
        self.assumed.as_ref().map(|assumed| Box::new(stored.plan.up_to(assumed.until)))
    }
}

/// What of the plan breaks before a half-day, in the steps that are assumed and the hauls of units that are.
fn broken(by: &Shop, plan: &Plan, until: HalfDay, steps: &[String], hauled: &BTreeSet<&str>) -> Vec<Breach> {
    let touches = |fact: &Fact| {
        let Touched { steps: rows, hauls } = fact.touches(by, plan);
        rows.iter().any(|(job, step, _)| steps.contains(&format!("{job}/{step}")))
            || hauls.iter().any(|(unit, _, _)| hauled.contains(unit.as_str()))
    };
    let over = |fact: &Fact| match fact {
        // One that takes longer is in progress until its planned end.
        Fact::Span(OfSpan::OtherEnd { said, .. }) => *said < until,
        Fact::Cost(_) => false,
        fact => half_days(fact).iter().any(|at| *at < until),
    };
    let all = check(by, plan).breaches.into_iter();
    all.filter(|breach| over(&breach.fact) && touches(&breach.fact)).collect()
}
