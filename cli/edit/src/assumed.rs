//! The one place where a day that nobody noted is taken to have gone as planned.

use yardless_book::Path;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::{Fact, OfDrive, OfSpan, half_days};
use yardless_check::{Breach, check};
use yardless_plan::shop::{Closure, Shop};
use yardless_plan::{Assumed, HaulRow, Plan, StepRow};

use crate::book_file::BookFile;
use crate::note;
use crate::plan_file::PlanFile;
use crate::trouble::Trouble;
use crate::{Edit, edited};

/// Most plans in a row of which each takes the one before to have gone as planned.
const MOST: usize = 30;

/// The book as of a half-day.
pub struct Then {
    /// It, with what is assumed.
    pub book: BookFile,
    /// What is assumed; `None`: it says how all went, or as much as anybody knows.
    pub assumed: Option<Assumed>,
    /// The steps that cannot have gone as planned, `job/step`: they have not begun.
    not_begun: Vec<String>,
    /// The first haul of each unit that was not made.
    not_made: Vec<HaulRow>,
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
/// noted (`note --until`). Not begun are those that cannot have gone so: their crew was heard of since ([`passed_over`]), or
/// the plan breaks a rule by the book as it is now when they were to begin. One that began before that and was stopped has to be
/// noted. Nothing is written.
pub fn assumed(file: &BookFile, stored: &PlanFile, until: HalfDay) -> Result<Then, NotAsPlanned> {
    let refused = |steps: &[String], why| NotAsPlanned { steps: steps.to_vec(), why: Why::Refused(why) };
    let mut not_begun = passed_over(file, stored, until);
    let mut known = with_not_begun(file, stored, &not_begun, until).map_err(|why| refused(&not_begun, why))?;
    loop {
        let mut changes = note::as_planned(&known, stored, until).map_err(|why| refused(&[], why))?;
        let steps: Vec<String> = changes.steps().cloned().collect();
        if steps.is_empty() {
            // Where every step is known, so is where the units stand.
            return Ok(Then { book: known.as_if(file), assumed: None, not_begun, not_made: Vec::new() });
        }
        let plans = stored.plan.and_so_far().count();
        if plans > MOST {
            return Err(NotAsPlanned { steps, why: Why::TooOften(plans) });
        }
        let by = stored.shop(file, None).map_err(|why| refused(&steps, why))?;
        let broken = Broken::of(&by, &stored.plan, until, &steps);
        if broken.steps.iter().any(|step| !not_begun.contains(step)) {
            known = with_not_begun(&known, stored, &broken.steps, until).map_err(|why| refused(&steps, why))?;
            not_begun.extend(broken.steps);
            continue;
        }
        if !broken.breaches.is_empty() {
            let steps = if broken.stopped.is_empty() { steps } else { broken.stopped };
            return Err(NotAsPlanned { steps, why: Why::Breaks(Box::new(by), broken.breaches) });
        }
        for (n, unit) in known.written.book.equipment.iter().enumerate() {
            let Some(haul) = broken.not_made.iter().find(|haul| haul.unit == unit.id) else { continue };
            let at = Path::default().field("equipment").index(n).field("place");
            changes.edits.retain(|edit| *edit.path() != at);
            changes.edits.push(Edit::Set(at, haul.from.as_str().into()));
        }
        let then = edited(known.name(), known.text(), &changes.edits).map_err(|why| refused(&steps, why))?;
        let book = then.unwrap_or(known).as_if(file);
        return Ok(Then { book, assumed: Some(Assumed { until, steps }), not_begun, not_made: broken.not_made });
    }
}

/// The steps that the plan has begun before a half-day and that were passed over: the book says of their crew that it ended
/// something later, so that this one would have been noted too.
fn passed_over(file: &BookFile, stored: &PlanFile, until: HalfDay) -> Vec<String> {
    let steps = || file.written.book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    let heard = |crew: &str| {
        let done = steps().filter_map(|(_, step)| step.done.as_ref());
        done.filter(|done| done.crew == crew || done.with.iter().any(|with| with == crew)).map(|done| done.end).max()
    };
    let is_open = |row: &StepRow| {
        let is = |(job, step): (&yardless_book::Job, &yardless_book::Step)| job.id == row.job && step.id == row.step;
        steps().any(|of| is(of) && !of.1.started() && !note::is_said(&of.1.extra))
    };
    let rows = stored.plan.steps.iter().filter(|row| row.start < until && row.span == 1 && is_open(row));
    let passed = rows.filter(|row| heard(&row.crew).is_some_and(|heard| row.start <= heard));
    passed.map(|row| format!("{}/{}", row.job, row.step)).collect()
}

/// The book in which steps are said not to have begun.
fn with_not_begun(file: &BookFile, stored: &PlanFile, steps: &[String], until: HalfDay) -> Result<BookFile, Trouble> {
    let mut book = file.clone();
    for step in steps {
        let changes = note::not_begun(&book, stored, step, until)?;
        book = edited(book.name(), book.text(), &changes.edits)?.unwrap_or(book);
    }
    Ok(book)
}

impl Then {
    /// What a plan that is made of it keeps of the plan given out: what was assumed of that.
    pub fn so_far(&self, stored: &PlanFile) -> Option<Box<Plan>> {
        let assumed = self.assumed.as_ref()?;
        let mut plan = stored.plan.up_to(assumed.until);
        plan.steps.retain(|row| !self.not_begun.contains(&format!("{}/{}", row.job, row.step)));
        plan.parked.retain(|row| plan.steps.iter().any(|of| of.job == row.job));
        let after = |haul: &HaulRow, of: &HaulRow| (haul.at, haul.evening) >= (of.at, of.evening);
        plan.hauls.retain(|haul| !self.not_made.iter().any(|of| of.unit == haul.unit && after(haul, of)));
        Some(Box::new(plan))
    }
}

/// What of a plan breaks before a half-day.
struct Broken {
    /// Whatever is about a step that is assumed, or about a haul of a unit that one of them needs.
    breaches: Vec<Breach>,
    /// The steps that by it cannot have begun, `job/step`.
    steps: Vec<String>,
    /// Those that began before it, and were stopped: how far they are nobody knows.
    stopped: Vec<String>,
    /// Hauls that break and bring nothing that one of them needs: they were not made. Of each unit the first.
    not_made: Vec<HaulRow>,
}

impl Broken {
    fn of(by: &Shop, plan: &Plan, until: HalfDay, steps: &[String]) -> Self {
        let mut found = Self { breaches: Vec::new(), steps: Vec::new(), stopped: Vec::new(), not_made: Vec::new() };
        let name = |job: &str, step: &str| format!("{job}/{step}");
        let assumed: Vec<&StepRow> =
            plan.steps.iter().filter(|row| steps.contains(&name(&row.job, &row.step))).collect();
        let mut not_made: Vec<&HaulRow> = Vec::new();
        for breach in check(by, plan).breaches.into_iter().filter(|breach| is_over(&breach.fact, until)) {
            let touched = breach.fact.touches(by, plan);
            let rows: Vec<&&StepRow> = assumed.iter().filter(|row| touched.has_step(row)).collect();
            let times = half_days(&breach.fact);
            // One that only takes longer was begun.
            let longer = matches!(breach.fact, Fact::Span(OfSpan::OtherEnd { .. }));
            let begun = |row: &StepRow| longer || (!times.is_empty() && times.iter().all(|at| *at > row.start));
            let hauls = plan.hauls.iter().filter(|haul| touched.has_haul(haul));
            let (needed, others): (Vec<&HaulRow>, Vec<&HaulRow>) =
                hauls.partition(|haul| assumed.iter().any(|row| brings(by, plan, haul, row)));
            not_made.extend(others);
            for row in &rows {
                let of = if begun(row) { &mut found.stopped } else { &mut found.steps };
                of.push(name(&row.job, &row.step));
            }
            if !rows.is_empty() || !needed.is_empty() {
                found.breaches.push(breach);
            }
        }
        for of in [&mut found.steps, &mut found.stopped] {
            of.sort();
            of.dedup();
        }
        not_made.sort_by_key(|haul| (haul.at, haul.evening));
        for haul in not_made {
            if found.not_made.iter().all(|of| of.unit != haul.unit) {
                found.not_made.push(haul.clone());
            }
        }
        found
    }
}

/// Whether a haul brings what a step needs, or what is parked at its job.
fn brings(by: &Shop, plan: &Plan, haul: &HaulRow, row: &StepRow) -> bool {
    let parks = plan.parked.iter().any(|parked| parked.job == row.job && parked.units.contains(&haul.unit));
    let there = by.book.jobs.iter().any(|job| job.id == row.job && job.place == haul.to);
    there && haul.at <= row.end && (parks || row.units.contains(&haul.unit))
}

/// Whether a fact is about the time before a half-day, and of what was done then: not of what the plan says of it.
fn is_over(fact: &Fact, until: HalfDay) -> bool {
    use OfDrive::{MarkedClear, MarkedEstimate, Minutes, NotMarkedClear, NotMarkedEstimate, RoadClosed};
    match fact {
        // One that takes longer is in progress until its planned end.
        Fact::Span(OfSpan::OtherEnd { said, .. }) => *said < until,
        // A road in its season was expected clear: that nobody has reported it says nothing.
        Fact::Drive(
            RoadClosed { why: Closure::Season, .. }
            | NotMarkedClear { .. }
            | MarkedClear { .. }
            | Minutes { .. }
            | NotMarkedEstimate { .. }
            | MarkedEstimate { .. },
        )
        | Fact::Cost(_) => false,
        fact => half_days(fact).iter().any(|at| *at < until),
    }
}
