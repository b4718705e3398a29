//! The state of a plan under construction, and what it costs.

use std::sync::Arc;

use yardless_plan::shop::{CrewId, JobFacts, JobId, Shop, StepId, Table};
use yardless_plan::{Done, Draft, Haul, ParkedUnit, UnhitchedHaul, hitch};

use crate::model::Hint;
use crate::primal::route::RouteHaul;
use crate::primal::tables::Tables;
use crate::primal::timetable::Timetable;

/// A plan under construction that always holds, and its cost.
#[derive(Clone)]
pub(crate) struct PartialPlan<'s> {
    pub(super) timetable: Timetable<'s>,
    pub(super) tables: &'s Tables,
    pub(super) steps: Table<StepId, Option<Arc<Done>>>,
    pub(super) parked: Table<JobId, Vec<ParkedUnit>>,
    pub(super) done: Table<JobId, bool>,
    /// Cost of the jobs done (late, crews, waiting, ways, open) and left out; hauls and standing apart.
    pub(super) cents: i64,
    /// How each step is done in a plan from elsewhere.
    pub(super) hints: Arc<Table<StepId, Option<Hint>>>,
    /// Jobs in progress for which no way to an end was found (N1).
    pub(super) unended: Arc<Vec<JobId>>,
}

/// What a job in progress costs besides while it is not ended: more than any plan (N1).
const UNENDED: i64 = 1 << 44;

/// What it costs that a job is out of the plan, as long as some way to its end may be found.
fn out_cents(facts: &JobFacts) -> i64 {
    facts.left_out.0 + if facts.started { UNENDED } else { 0 }
}

impl<'s> PartialPlan<'s> {
    /// Every job left out.
    pub(crate) fn new(shop: &'s Shop, tables: &'s Tables) -> Self {
        let cents = shop.jobs.iter().filter(|job| job.planned()).map(out_cents).sum::<i64>() + shop.history.0;
        let mut timetable = Timetable::new(shop, tables);
        let keeps = |job: &JobId| shop.jobs[*job].rests() || shop.jobs[*job].started && shop.jobs[*job].planned();
        for job in shop.jobs.ids().filter(keeps) {
            timetable.keep(job);
        }
        Self {
            timetable,
            tables,
            steps: Table::filled(shop.steps.len(), None),
            parked: Table::filled(shop.jobs.len(), Vec::new()),
            done: Table::filled(shop.jobs.len(), false),
            cents,
            hints: Arc::new(Table::filled(shop.steps.len(), None)),
            unended: Arc::default(),
        }
    }

    pub(super) fn shop(&self) -> &'s Shop {
        self.timetable.shop
    }

    /// What the plan costs now, in cents.
    pub(crate) fn cost(&self) -> i64 {
        self.cents + self.timetable.cents
    }

    /// Whether the job is in the plan.
    pub(crate) fn does(&self, job: JobId) -> bool {
        self.done[job]
    }

    /// Whether the job comes after another that has come in.
    pub(crate) fn waits(&self, job: JobId) -> bool {
        !self.done[job] && self.tables.leaders[job].iter().any(|leader| self.done[*leader])
    }

    /// When a step starts, where it is in the plan.
    pub(crate) fn start_of(&self, step: StepId) -> Option<usize> {
        self.steps[step].as_ref().map(|done| done.start)
    }

    /// When the job starts, where it is in the plan.
    pub(crate) fn starts(&self, job: JobId) -> Option<usize> {
        self.shop().jobs[job].step_ids().filter_map(|step| self.steps[step].as_ref()).map(|done| done.start).min()
    }

    /// The own crews that may do some step of a job, if another one on it costs.
    pub(crate) fn crews_to_try(&self, job: JobId) -> &'s [CrewId] {
        &self.tables.crews[job]
    }

    /// Has idle units hauled to where they stand cheaper, until the next job comes or goes.
    pub(crate) fn settle(&mut self) {
        self.charge();
        self.timetable.settle();
    }

    /// Counts what it costs that sites are not cleared where the work is over (C18), until the next job comes or goes.
    pub(crate) fn charge(&mut self) {
        let (shop, done, steps) = (self.shop(), &self.done, &self.steps);
        let last = |step: StepId| steps[step].as_ref().map(|done| done.end);
        self.timetable.charge(|job| shop.jobs[job].step_ids().filter_map(last).max().filter(|_| done[job]));
    }

    /// Takes a job out, with those that follow it, and those whose units only its crew's trucks could haul (W9).
    pub(crate) fn remove(&mut self, job: JobId) {
        let tables = self.tables;
        self.timetable.unsettle();
        for follower in tables.followers[job].iter().filter(|follower| !self.timetable.shop.jobs[**follower].started) {
            self.remove(*follower);
        }
        if !self.done[job] {
            return;
        }
        self.cents += self.out_cents(job) - self.job_cents(job);
        for step in self.shop().jobs[job].step_ids() {
            self.take_back(step);
        }
        self.timetable.remove_stops(job);
        self.parked[job].clear();
        self.done[job] = false;
        while let Some(other) = self.timetable.stranded().filter(|other| self.done[*other]) {
            self.remove(other);
        }
    }

    /// Whether every haul has its truck and every trailer a spot. All else holds whatever is put in or taken out.
    pub(crate) fn holds(&self) -> bool {
        self.timetable.hitched() && self.timetable.has_room()
    }

    /// Takes a step out.
    pub(super) fn take_back(&mut self, step: StepId) {
        if let Some(done) = self.steps[step].take() {
            self.mark(step, &done, false);
        }
    }

    /// Marks the crews of a step busy while it is worked on, or free again.
    pub(super) fn mark(&mut self, step: StepId, done: &Done, busy: bool) {
        let shop = self.shop();
        for held in done.spans() {
            let works = shop.span_works(step, done.team, held.span);
            self.timetable.mark((step, held.span.way, done.team), &works, busy);
        }
    }

    /// Whether crews' time costs by the date and the week as well (C14, C15).
    pub(crate) fn crews_time_costs(&self) -> bool {
        self.timetable.time_costs()
    }

    /// C1, C4 to C11, C16 of a done job, hauls apart.
    pub(super) fn job_cents(&self, job: JobId) -> i64 {
        let (steps, end) = self.so_far(job);
        steps + end
    }

    /// What the steps placed so far cost: by themselves and by when the job can end, hauls apart.
    pub(super) fn so_far(&self, job: JobId) -> (i64, i64) {
        let shop = self.shop();
        let facts = &shop.jobs[job];
        let (mut cents, mut last, mut crews) = (facts.past_cost.0, 0, facts.crews_before.clone());
        let mut first = None;
        for step in facts.step_ids() {
            let Some(done) = self.steps[step].as_ref() else { continue };
            cents += done.end as i64 + done.cost(shop, step).0;
            last = last.max((done.end + self.tables.tail[step]).min(shop.len() - 1));
            first = Some(first.map_or(done.start, |first: usize| first.min(done.start)));
            let crew = shop.teams[done.team].crew;
            if shop.crews[crew].own && !crews.contains(&crew) {
                crews.push(crew);
            }
        }
        // Beyond those that the done steps have paid for.
        let extra_crews = shop.extra_crew().0 * crews.len().saturating_sub(facts.crews_before.len().max(1)) as i64;
        let open = first.map_or(0, |first| shop.open_cost(job, first, last).0);
        (cents + extra_crews, shop.jobs[job].late[last].0 + shop.wait_half_day().0 * last as i64 + open)
    }

    /// What it costs that the job is out of the plan.
    pub(super) fn out_cents(&self, job: JobId) -> i64 {
        let facts = &self.shop().jobs[job];
        if self.unended.contains(&job) { facts.left_out.0 } else { out_cents(facts) }
    }

    /// The plan so far. `None` where the trucks cannot be told apart after all, which the timetable rules out.
    pub(crate) fn draft(&self) -> Option<Draft> {
        let shop = self.shop();
        let mut draft = Draft {
            steps: self.steps.iter().map(|done| done.as_deref().cloned()).collect(),
            parked: self.parked.clone(),
            hauls: Vec::new(),
        };
        let mut trips: Vec<(usize, bool, UnhitchedHaul)> = Vec::new();
        for (unit, route) in shop.units.ids().zip(&self.timetable.routes) {
            let wanted = |trip: &RouteHaul| UnhitchedHaul { unit, from: trip.from, to: trip.to };
            trips.extend(route.trips.iter().map(|trip| (trip.at, trip.evening, wanted(trip))));
        }
        trips.sort_by_key(|(at, evening, wanted)| (*at, *evening, wanted.unit));
        for same in trips.chunk_by(|a, b| a.0 == b.0) {
            let h = same[0].0;
            let wanted: Vec<UnhitchedHaul> = same.iter().map(|trip| trip.2).collect();
            let trucks = hitch(shop, h, &wanted, |crew| draft.works_at(shop, crew, h))?;
            for ((_, evening, UnhitchedHaul { unit, from, to }), truck) in same.iter().zip(trucks) {
                draft.hauls.push(Haul { unit: *unit, from: *from, to: *to, at: h, evening: *evening, truck });
            }
        }
        Some(draft)
    }
}
