//! Which rows of a plan a fact is about: what is marked on a sheet of a plan that no longer holds.

use std::collections::BTreeSet;

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{CrewId, JobId, PlaceId, Shop};
use yardless_plan::{HaulRow, Plan, StepRow};

use super::{Fact, Field, Noun, OfPlan, OfUnit};

/// Rows of a plan, by what names them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Touched {
    /// Steps: the job's id, the step's, and which span of it.
    pub steps: BTreeSet<(String, String, u32)>,
    /// Hauls: the unit's id, when, and whether in the evening.
    pub hauls: BTreeSet<(String, HalfDay, bool)>,
}

impl Touched {
    /// All that any of some facts is about.
    pub fn by<'f>(facts: impl IntoIterator<Item = &'f Fact>, shop: &Shop, plan: &Plan) -> Self {
        let mut all = Self::default();
        for fact in facts {
            let of = fact.touches(shop, plan);
            all.steps.extend(of.steps);
            all.hauls.extend(of.hauls);
        }
        all
    }

    /// Whether it is about a row.
    pub fn has_step(&self, row: &StepRow) -> bool {
        self.steps.contains(&of_step(row))
    }

    /// Whether it is about a haul.
    pub fn has_haul(&self, row: &HaulRow) -> bool {
        self.hauls.contains(&of_haul(row))
    }

    fn steps<'p>(rows: impl Iterator<Item = &'p StepRow>) -> Self {
        Self { steps: rows.map(of_step).collect(), ..Self::default() }
    }

    fn hauls<'p>(rows: impl Iterator<Item = &'p HaulRow>) -> Self {
        Self { hauls: rows.map(of_haul).collect(), ..Self::default() }
    }
}

fn of_step(row: &StepRow) -> (String, String, u32) {
    (row.job.clone(), row.step.clone(), row.span)
}

fn of_haul(row: &HaulRow) -> (String, HalfDay, bool) {
    (row.unit.clone(), row.at, row.evening)
}

impl Fact {
    /// The rows of the plan that it is about; none where it is about the plan as a whole, or what that says it costs. The
    /// shop is the one by which the plan was judged.
    pub fn touches(&self, shop: &Shop, plan: &Plan) -> Touched {
        let at = half_days(self);
        match self {
            Self::Cost(_) => Touched::default(),
            Self::Plan(fact) => named(fact, shop, plan),
            Self::Haul(_) | Self::Drive(_) | Self::Route(_) | Self::Truck(_) => {
                Touched::hauls(plan.hauls.iter().filter(|row| at.contains(&row.at) && self.is_of(shop, row)))
            }
            Self::Unit(OfUnit::TooFewSpots { place, at, .. }) => at_place(shop, plan, *place, *at),
            Self::Unit(OfUnit::OnRoad { unit, at, .. }) => {
                let comes = |row: &&HaulRow| row.unit == shop.units[*unit].id && there_by(row) == *at;
                Touched { hauls: Touched::hauls(plan.hauls.iter().filter(comes)).hauls, ..self.of_steps(shop, plan) }
            }
            _ => self.of_steps(shop, plan),
        }
    }

    /// Whether it names the unit or the truck of a haul.
    fn is_of(&self, shop: &Shop, row: &HaulRow) -> bool {
        self.fields().iter().any(|(_, field)| match field {
            Field::Unit(unit) => shop.units[*unit].id == row.unit,
            Field::Truck(truck) if matches!(self, Self::Truck(_)) => shop.trucks[*truck].id == row.truck,
            _ => false,
        })
    }

    /// The rows of the steps and jobs that it names, those that lie in its half-days where any does; of a crew alone
    /// those of the date.
    fn of_steps(&self, shop: &Shop, plan: &Plan) -> Touched {
        let at = half_days(self);
        let mut touched = Touched::default();
        let fields = self.fields();
        // What is done has no id in the shop: it is told as the job has it.
        let done = fields.iter().find_map(|(name, field)| match field {
            Field::Text(id) if *name == "done" => Some(id.as_str()),
            _ => None,
        });
        let mut crew: Option<CrewId> = None;
        let mut names_work = false;
        for (_, field) in &fields {
            let (job, step): (JobId, Option<&str>) = match field {
                Field::Step(step) => (shop.steps[*step].job, Some(&shop.steps[*step].id)),
                Field::Job(job) => (*job, done),
                Field::Crew(of) => {
                    crew = Some(*of);
                    continue;
                }
                _ => continue,
            };
            names_work = true;
            let is = |row: &&StepRow| row.job == shop.jobs[job].id && step.is_none_or(|step| row.step == step);
            let lies = |row: &&StepRow| at.iter().any(|at| (row.start..=row.end).contains(at));
            let of = Touched::steps(plan.steps.iter().filter(is).filter(lies));
            let all = || Touched::steps(plan.steps.iter().filter(is));
            touched.steps.extend(if of.steps.is_empty() { all().steps } else { of.steps });
        }
        if let Some(crew) = crew.filter(|_| !names_work) {
            let id = &shop.crews[crew].id;
            let by = |row: &&StepRow| row.crew == *id || row.with.contains(id);
            let date =
                |row: &&StepRow| at.iter().any(|at| row.start.date() <= at.date() && at.date() <= row.end.date());
            return Touched::steps(plan.steps.iter().filter(by).filter(date));
        }
        touched
    }
}

/// The half-days that a fact says.
pub fn half_days(fact: &Fact) -> Vec<HalfDay> {
    let at = |(_, field)| if let Field::HalfDay(at) = field { Some(at) } else { None };
    fact.fields().into_iter().filter_map(at).collect()
}

/// The half-day from whose start on a hauled unit is there or on the road.
fn there_by(row: &HaulRow) -> HalfDay {
    if row.evening { row.at.following() } else { row.at }
}

/// What brings a unit to a place in a half-day; where nothing does, the work there.
fn at_place(shop: &Shop, plan: &Plan, place: PlaceId, at: HalfDay) -> Touched {
    let comes = |row: &&HaulRow| row.to == shop.places[place].id && there_by(row) == at;
    let hauls = Touched::hauls(plan.hauls.iter().filter(comes));
    if !hauls.hauls.is_empty() {
        return hauls;
    }
    let there = |row: &&StepRow| shop.find_job(&row.job).is_some_and(|job| shop.jobs[job].place == place);
    Touched::steps(plan.steps.iter().filter(there).filter(|row| (row.start..=row.end).contains(&at)))
}

/// The rows that name what the book does not have.
fn named(fact: &OfPlan, shop: &Shop, plan: &Plan) -> Touched {
    let (noun, id, of_job) = match fact {
        OfPlan::Unknown { noun, id } => (Some(*noun), id, None),
        OfPlan::NoStep { job, id } => (None, id, Some(&shop.jobs[*job].id)),
        OfPlan::Format { .. } | OfPlan::Weeks { .. } | OfPlan::Now { .. } => return Touched::default(),
    };
    let step = |row: &&StepRow| match noun {
        None => of_job == Some(&row.job) && row.step == *id,
        Some(Noun::Job) => row.job == *id,
        Some(Noun::Crew) => row.crew == *id || row.with.contains(id),
        Some(Noun::Unit) => row.units.contains(id),
        Some(Noun::Truck | Noun::Place) => false,
    };
    let haul = |row: &&HaulRow| match noun {
        Some(Noun::Unit) => row.unit == *id,
        Some(Noun::Truck) => row.truck == *id,
        Some(Noun::Place) => row.from == *id || row.to == *id,
        None | Some(Noun::Job | Noun::Crew) => false,
    };
    Touched {
        steps: Touched::steps(plan.steps.iter().filter(step)).steps,
        hauls: Touched::hauls(plan.hauls.iter().filter(haul)).hauls,
    }
}
