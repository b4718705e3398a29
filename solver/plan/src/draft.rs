//! A plan by ids and indices, as the engines build it.

use yardless_book::money::Cents;

use crate::shop::{CrewId, JobId, ParkedUnit, Part, PlaceId, Shop, Span, StepId, Table, TeamId, TruckId, UnitId};

/// A plan by ids: which steps are done how, which units are parked, which hauls are made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// How each step is done; `None`: its job is left out or later.
    pub steps: Table<StepId, Option<Done>>,
    /// The units parked at each job, each for one of its needs; a shared one may serve several (E8).
    pub parked: Table<JobId, Vec<ParkedUnit>>,
    /// The hauls, in any order.
    pub hauls: Vec<Haul>,
}

/// How a step is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Done {
    /// The way, by its position.
    pub way: usize,
    /// The crew and those that help it.
    pub team: TeamId,
    /// Index of the first worked half-day.
    pub start: usize,
    /// Index of the last worked half-day.
    pub end: usize,
    /// The units held; where it is left and come back to, those of its first span.
    pub units: Vec<UnitId>,
    /// Where it is left and come back to (W10).
    pub returns: Option<Return>,
}

/// How a step is left and come back to: its second span, which ends the step (W10).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Return {
    /// Index of the last half-day worked before; `None`: in progress, it is left at once.
    pub after: Option<usize>,
    /// The way, by its position: the same as before, in overtime or not.
    pub way: usize,
    /// Index of the first half-day worked again.
    pub start: usize,
    /// The units held from then on.
    pub units: Vec<UnitId>,
}

/// A span of a step with the units that it holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stint<'d> {
    /// What part of the step it is.
    pub span: Span,
    /// The units.
    pub units: &'d [UnitId],
}

impl Done {
    /// Its spans, one or two.
    pub fn spans(&self) -> impl Iterator<Item = Stint<'_>> {
        let Self { way, start, end, ref units, ref returns, .. } = *self;
        let first = match returns {
            None => Span { part: Part::Whole, way, start, end },
            Some(Return { after: Some(last), .. }) => Span { part: Part::First, way, start, end: *last },
            Some(_) => Span { part: Part::LetGo, way, start, end: start },
        };
        let second = returns.iter().map(move |back| {
            let span = Span { part: Part::Second, way: back.way, start: back.start, end };
            Stint { span, units: &back.units }
        });
        std::iter::once(Stint { span: first, units }).chain(second)
    }

    /// What it costs beside its crew and the job's end: C1 of its own, C6 to C11.
    pub fn cost(&self, shop: &Shop, step: StepId) -> Cents {
        self.spans().map(|held| shop.span_cost(step, self.team, held.span)).sum()
    }

    /// The half-days worked.
    pub fn works(&self, shop: &Shop, step: StepId) -> impl Iterator<Item = usize> {
        self.spans().flat_map(move |held| shop.span_works(step, self.team, held.span))
    }
}

/// One haul.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Haul {
    /// The unit.
    pub unit: UnitId,
    /// The place it leaves.
    pub from: PlaceId,
    /// The place it goes to.
    pub to: PlaceId,
    /// Index of the half-day.
    pub at: usize,
    /// At its end instead of its start.
    pub evening: bool,
    /// The truck.
    pub truck: TruckId,
}

impl Draft {
    /// The plan that does nothing: every job left out, no unit moved.
    pub fn empty(shop: &Shop) -> Self {
        Self {
            steps: Table::filled(shop.steps.len(), None),
            parked: Table::filled(shop.jobs.len(), Vec::new()),
            hauls: Vec::new(),
        }
    }

    /// Whether the job is done: all its steps are.
    pub fn does(&self, shop: &Shop, job: JobId) -> bool {
        shop.jobs[job].step_ids().all(|step| self.steps[step].is_some())
    }

    /// The first and last half-day of a job that is done: from its earliest start, or from now where it has begun.
    pub fn span(&self, shop: &Shop, job: JobId) -> Option<(usize, usize)> {
        let facts = &shop.jobs[job];
        let rows = || facts.step_ids().filter_map(|step| self.steps[step].as_ref());
        let now = facts.started.then_some(shop.now);
        Some((now.or_else(|| rows().map(|row| row.start).min())?, rows().map(|row| row.end).max()?))
    }

    /// From when to when a job that is done holds what serves one of its parked needs (E3, E7).
    pub fn parked_span(&self, shop: &Shop, job: JobId, need: usize) -> Option<(usize, usize)> {
        let of = |step: StepId| self.steps[step].as_ref().map(|done| (done.start, done.end));
        shop.jobs[job].parked.get(need)?.span(self.span(shop, job)?, of)
    }

    /// The place where a crew works in a half-day, on its own step or another's.
    pub fn works_at(&self, shop: &Shop, crew: CrewId, h: usize) -> Option<PlaceId> {
        self.steps.pairs().find_map(|(step, done)| {
            let done = done.as_ref()?;
            let within = |held: &Stint<'_>| {
                let Span { part, way, start, end } = held.span;
                part != Part::LetGo
                    && (start..=end).contains(&h)
                    && shop.runs(step, way, done.team).is_some_and(|runs| runs.workable[h])
            };
            let works =
                shop.working(&shop.teams[done.team], h).any(|of| of == crew) && done.spans().any(|held| within(&held));
            works.then(|| shop.jobs[shop.steps[step].job].place)
        })
    }
}
