//! A step that is done, in progress, or to be planned again.

use serde_json::Value;
use yardless_solver::book::{Book, DoneStep, Extra, Need, Path, Progress, Step, USUAL};
use yardless_solver::half_day::HalfDay;
use yardless_solver::plan::StepRow;

use super::subject::StepAt;
use super::{Desk, parked};
use crate::command::changes::Changes;
use crate::edit::{Edit, value};
use crate::trouble::Trouble;

/// The step's path in the book.
pub fn path(at: StepAt) -> Path {
    Path::default().field("jobs").index(at.job).field("steps").index(at.step)
}

/// The step and its name, `job/step`.
pub fn step(book: &Book, at: StepAt) -> (&Step, String) {
    let job = &book.jobs[at.job];
    let step = &job.steps[at.step];
    (step, format!("{}/{}", job.id, step.id))
}

/// How far the step is, in words.
pub fn state(step: &Step) -> String {
    let way = |way: &Option<String>| way.as_ref().map_or(String::new(), |way| format!(" ({way})"));
    match (&step.done, &step.progress) {
        (Some(done), _) => {
            let to = if done.end == done.start { String::new() } else { format!(" to {}", done.end) };
            format!("done by {}{}, {}{to}", done.crew, way(&done.way), done.start)
        }
        (None, Some(progress)) => {
            let Progress { crew, start, left, .. } = progress;
            let one = (*left - 1.0).abs() < 1e-9;
            let what = match (in_hours(step, progress.way.as_deref()), one) {
                (true, true) => "labor hour",
                (true, false) => "labor hours",
                (false, true) => "half-day",
                (false, false) => "half-days",
            };
            let with =
                if progress.units.is_empty() { String::new() } else { format!(", with {}", progress.units.join(", ")) };
            format!("in progress by {crew}{} since {start}, {left} {what} left{with}", way(&progress.way))
        }
        (None, None) => "not started".to_owned(),
    }
}

/// Whether the way is counted in labor hours.
fn in_hours(step: &Step, way: Option<&str>) -> bool {
    match &step.ways {
        None => step.labor_hours.is_some(),
        Some(ways) => step.way(way).is_some_and(|way| ways[way].labor_hours.is_some()),
    }
}

/// Writes that the step is done.
pub fn set_done(changes: &mut Changes, at: StepAt, step: &Step, name: &str, done: DoneStep, source: &str) {
    if step.progress.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("progress")));
    }
    changes.edits.push(Edit::Set(path(at).field("done"), value(&done)));
    let now = Step { done: Some(done), progress: None, ..step.clone() };
    changes.tell(name, &state(step), &format!("{}{source}", state(&now)));
}

/// Writes that the step is in progress.
pub fn set_progress(changes: &mut Changes, at: StepAt, step: &Step, name: &str, progress: Progress, source: &str) {
    if step.done.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("done")));
    }
    changes.edits.push(Edit::Set(path(at).field("progress"), value(&progress)));
    let now = Step { done: None, progress: Some(progress), ..step.clone() };
    changes.tell(name, &state(step), &format!("{}{source}", state(&now)));
}

/// `JOB/STEP done`.
pub fn done(desk: &Desk, at: StepAt) -> Result<Changes, Trouble> {
    let (step, name) = step(desk.book, at);
    let mut fill = Fill::new(desk, at);
    let (crew, way, start, end) = (fill.crew(), fill.way(), fill.start(), fill.end());
    let source = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(end)) = (crew, start, end) else { return Ok(Changes::default()) };
    if end < start {
        return Err(Trouble::input(
            "note::order",
            format!("`{name}` would have ended on {end}, before it started on {start}"),
            "give --start HALF-DAY and --end HALF-DAY",
        ));
    }
    let mut changes = Changes::default();
    let extra = step.done.as_ref().map_or_else(Extra::new, |done| done.extra.clone());
    let done = DoneStep { crew, way, start, end, extra };
    set_done(&mut changes, at, step, &name, done, &source);
    let steps = &desk.book.jobs[at.job].steps;
    let over = steps.iter().enumerate().all(|(n, other)| n == at.step || other.done.is_some());
    let units = parked::name(desk, at.job, over, &mut changes)?;
    stand(desk, at, &units, &mut changes);
    Ok(changes)
}

/// `JOB/STEP left N`.
pub fn left(desk: &Desk, at: StepAt, left: f64) -> Result<Changes, Trouble> {
    let (step, name) = step(desk.book, at);
    let mut fill = Fill::new(desk, at);
    let (crew, way, start, mut units) = (fill.crew(), fill.way(), fill.start(), fill.units());
    let source = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(held)) = (crew, start, &mut units) else { return Ok(Changes::default()) };
    let mut changes = Changes::default();
    let extra = step.progress.as_ref().map_or_else(Extra::new, |progress| progress.extra.clone());
    let progress = Progress { crew, way, start, left, units: held.clone(), extra };
    set_progress(&mut changes, at, step, &name, progress, &source);
    held.extend(parked::name(desk, at.job, false, &mut changes)?);
    stand(desk, at, held, &mut changes);
    Ok(changes)
}

/// `JOB/STEP again`.
pub fn again(desk: &Desk, at: StepAt) -> Changes {
    let (step, name) = step(desk.book, at);
    let mut changes = Changes::default();
    changes.edits.push(Edit::Remove(path(at).field("done")));
    changes.edits.push(Edit::Remove(path(at).field("progress")));
    changes.tell(&name, &state(step), "not started");
    let job = &desk.book.jobs[at.job];
    if job.steps.iter().enumerate().all(|(n, other)| n == at.step || !other.started()) {
        for (n, need) in job.parked.iter().enumerate().filter(|(_, need)| !need.units.is_empty()) {
            let at = Path::default().field("jobs").index(at.job).field("parked").index(n).field("units");
            changes.edits.push(Edit::Remove(at));
            changes.tell(&format!("parked at {}, {}", job.id, need.kind), &need.units.join(", "), "not named");
        }
    }
    changes
}

/// Units that are held at a job stand at its place.
fn stand(desk: &Desk, at: StepAt, units: &[String], changes: &mut Changes) {
    let place = &desk.book.jobs[at.job].place;
    for (n, unit) in desk.book.equipment.iter().enumerate().filter(|(_, unit)| units.contains(&unit.id)) {
        if unit.place != *place {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}

/// Writes where a unit stands.
pub fn set_place(changes: &mut Changes, unit: usize, id: &str, was: &str, place: &str) {
    let at = Path::default().field("equipment").index(unit).field("place");
    changes.edits.push(Edit::Set(at, Value::from(place)));
    changes.tell(id, &format!("at {was}"), &format!("at {place}"));
}

/// What a note leaves unsaid: from the book's own record of the step, else from the kept plan.
struct Fill<'d> {
    desk: &'d Desk<'d>,
    step: &'d Step,
    rows: Vec<&'d StepRow>,
    /// The way's position, once it is known.
    way: Option<usize>,
    from_plan: Vec<&'static str>,
    missing: Vec<&'static str>,
    /// Half-days of the kept plan that are still to come.
    ahead: Vec<(&'static str, HalfDay)>,
}

impl<'d> Fill<'d> {
    fn new(desk: &'d Desk<'d>, at: StepAt) -> Self {
        let job = &desk.book.jobs[at.job];
        let step = &job.steps[at.step];
        let rows = desk.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(&job.id, &step.id));
        Self { desk, step, rows, way: None, from_plan: vec![], missing: vec![], ahead: vec![] }
    }

    /// As given, as the book has it, or as the plan has it.
    fn one<T>(&mut self, what: &'static str, known: Option<T>, planned: impl FnOnce(&Self) -> Option<T>) -> Option<T> {
        if known.is_some() {
            return known;
        }
        let planned = planned(self);
        if planned.is_some() {
            self.from_plan.push(what);
        } else {
            self.missing.push(what);
        }
        planned
    }

    fn crew(&mut self) -> Option<String> {
        let step = self.step;
        let recorded = || step.progress.as_ref().map(|p| &p.crew).or(step.done.as_ref().map(|d| &d.crew)).cloned();
        let given = self.desk.args.crew.as_ref().map(|crew| crew_id(self.desk.book, crew));
        self.one("crew", given.or_else(recorded), |fill| fill.rows.first().map(|row| row.crew.clone()))
    }

    /// Nothing where the step has only one way; then none need be written.
    fn way(&mut self) -> Option<String> {
        let step = self.step;
        let recorded =
            || step.progress.as_ref().map(|p| &p.way).or(step.done.as_ref().map(|d| &d.way)).cloned().flatten();
        let given = self.desk.args.way.clone().or_else(recorded);
        let way = if step.ways.is_none() {
            given.filter(|way| way != USUAL)
        } else if given.is_none() && step.way(None).is_some() {
            None
        } else {
            self.one("way", given, |fill| fill.rows.first().map(|row| row.way.clone()))
        };
        self.way = step.way(way.as_deref());
        way
    }

    fn start(&mut self) -> Option<HalfDay> {
        let step = self.step;
        let recorded = step.progress.as_ref().map(|p| p.start).or(step.done.as_ref().map(|d| d.start));
        let given = self.desk.args.start.or(recorded);
        self.half_day("start", given, self.rows.first().map(|row| row.start))
    }

    fn end(&mut self) -> Option<HalfDay> {
        let given = self.desk.args.end.or(self.step.done.as_ref().map(|done| done.end));
        self.half_day("end", given, self.rows.last().map(|row| row.end))
    }

    /// What the plan has still to come did not happen as planned.
    fn half_day(&mut self, what: &'static str, known: Option<HalfDay>, planned: Option<HalfDay>) -> Option<HalfDay> {
        if let (None, Some(planned)) = (known, planned.filter(|planned| *planned > self.desk.now)) {
            self.ahead.push((what, planned));
        }
        self.one(what, known, |_| planned)
    }

    fn units(&mut self) -> Option<Vec<String>> {
        let book = self.desk.book;
        let given = self.desk.args.units.as_ref();
        let given = given.map(|units| units.iter().map(|unit| parked::unit_id(book, unit.trim())).collect());
        let known = given.or_else(|| self.step.progress.as_ref().map(|progress| progress.units.clone()));
        let now = self.desk.now;
        let planned = |fill: &Self| {
            let row = fill.rows.iter().rev().find(|row| row.start <= now).or(fill.rows.first());
            row.map(|row| row.units.clone())
        };
        let none = self.way.is_some_and(|way| needs(self.step, way).is_empty()) && !self.step.needs_power;
        if known.is_none() && none && self.rows.is_empty() {
            return Some(Vec::new());
        }
        self.one("units", known, planned)
    }

    /// Where what was filled in comes from, in words; or what has to be given, as it is known nowhere.
    fn settled(self, name: &str) -> Result<String, Trouble> {
        let options = |what: &[&str]| {
            let form = |what: &&str| match *what {
                "crew" => "--crew CREW".to_owned(),
                "way" => "--way WAY".to_owned(),
                "units" => "--units UNIT,UNIT".to_owned(),
                half_day => format!("--{half_day} HALF-DAY"),
            };
            what.iter().map(form).collect::<Vec<_>>().join(" ")
        };
        let kept = self.desk.kept.as_ref();
        if !self.missing.is_empty() {
            let given = options(&self.missing);
            let help = match kept {
                Some(kept) => format!("the plan `{}` does not have it: give {given}", kept.name),
                None => format!("there is no kept plan (plan.json beside the book, or --kept PLAN): give {given}"),
            };
            let says = format!("of `{name}` it is not known: {}", self.missing.join(", "));
            return Err(Trouble::input("note::missing", says, help));
        }
        let plan = kept.map_or("", |kept| kept.name.as_str());
        if !self.ahead.is_empty() {
            let what: Vec<&str> = self.ahead.iter().map(|(what, _)| *what).collect();
            let all: Vec<String> = self.ahead.iter().map(|(what, at)| format!("{what} {at}")).collect();
            return Err(Trouble::input(
                "note::ahead",
                format!(
                    "the plan `{plan}` has `{name}` otherwise: {}, and it is {} now",
                    all.join(", "),
                    self.desk.now
                ),
                format!("say when it was: {}", options(&what)),
            ));
        }
        Ok(if self.from_plan.is_empty() {
            String::new()
        } else {
            format!(" ({} by {plan})", self.from_plan.join(", "))
        })
    }
}

fn needs(step: &Step, way: usize) -> &[Need] {
    step.ways.as_ref().map_or(&step.needs, |ways| &ways[way].needs)
}

/// A crew's id, where its name is given; what is no crew stays, and the reader tells of it.
fn crew_id(book: &Book, given: &str) -> String {
    if book.crews.iter().any(|crew| crew.id == given) {
        return given.to_owned();
    }
    let named = |name: &String| name.to_lowercase() == given.to_lowercase();
    let found = book.crews.iter().find(|crew| named(&crew.id) || crew.name.as_ref().is_some_and(named));
    found.map_or_else(|| given.to_owned(), |crew| crew.id.clone())
}
