//! The choices that the exhaustive search made, told as a plan.

use serde_json::{Value, json};
use yardless_plan::shop::{Id, JobId, PlaceId, StepId, Table, TeamId, TruckId, UnitId};
use yardless_plan::{Done, Draft, Haul, ParkedUnit};

use super::begin::NO_END;
use super::runs::{Run, RunPart};
use super::tables::Tables;
use super::{Best, Choice, Search, SearchState, StepState};
use crate::plain::way_position;

/// What the choices that led to a state come to, put together from the last to the first.
struct ChoicesMade<'t> {
    tables: &'t Tables<'t>,
    draft: Draft,
    /// Step, run and units of each span.
    spans: Vec<(usize, usize, u64)>,
    /// The units parked at each job, by need.
    parked: Vec<Vec<u64>>,
    /// The crews that work in overtime, by half-day.
    in_overtime: Vec<u64>,
}

impl<'t> ChoicesMade<'t> {
    fn nothing(tables: &'t Tables<'t>) -> Self {
        let draft = Draft {
            steps: Table::filled(tables.steps.len(), None),
            parked: Table::filled(tables.jobs.len(), Vec::new()),
            hauls: Vec::new(),
        };
        let named = |job: &super::tables::JobTable| job.parked.iter().map(|parked| parked.named.unwrap_or(0)).collect();
        let parked = tables.jobs.iter().map(named).collect();
        Self { tables, draft, spans: Vec::new(), parked, in_overtime: vec![0; tables.len] }
    }

    fn span(&mut self, step: usize, run: usize, units: u64) {
        let of = &self.tables.steps[step].runs[run];
        for (h, crews) in of.works.iter().zip(&of.at_work).filter(|_| of.overtime) {
            self.in_overtime[*h] |= crews;
        }
        self.spans.push((step, run, units));
    }

    /// What is in progress where all begins.
    fn goes_on(&mut self, beginning: &SearchState) {
        for (step, work) in beginning.steps.iter().enumerate() {
            if let StepState::Runs { run, units } = *work {
                self.span(step, run, units);
            }
        }
    }

    fn add(&mut self, choice: Choice) {
        match choice {
            Choice::Nothing => {}
            Choice::Haul { unit, from, to, h, evening } => self.draft.hauls.push(Haul {
                unit: UnitId::from_index(unit),
                from: PlaceId::from_index(from),
                to: PlaceId::from_index(to),
                at: h,
                evening,
                truck: TruckId::from_index(0),
            }),
            Choice::Start { step, run, units, parked } => {
                self.span(step, run, units);
                let table = &self.tables.steps[step];
                let Run { way, start, end, .. } = table.runs[run];
                // Its crew alone has the same number as the crew; who helps is told in the plan only.
                let team = TeamId::from_index(table.runs[run].team.crew);
                let done = Done { way, team, start, end, units: ids(units), returns: None };
                self.draft.steps[StepId::from_index(step)] = Some(done);
                for (need, units) in parked {
                    self.parked[table.job][need] = units;
                    let held = ids(units).into_iter().map(|unit| ParkedUnit { need, unit });
                    self.draft.parked[JobId::from_index(table.job)].extend(held);
                }
            }
        }
    }

    /// Gives each haul its truck.
    fn hitch(&mut self) {
        for (h, crews) in self.in_overtime.iter().enumerate() {
            let plain = &self.tables.plain;
            let hauls: Vec<(usize, Option<u32>)> = (self.draft.hauls.iter().filter(|haul| haul.at == h))
                .map(|haul| (haul.unit.index(), plain.posted(haul.from.index(), haul.to.index(), h)))
                .collect();
            let trucks = plain.trucks(h, &hauls, *crews).expect("enough trucks, as asked before");
            for (haul, truck) in self.draft.hauls.iter_mut().filter(|haul| haul.at == h).zip(trucks) {
                haul.truck = TruckId::from_index(truck);
            }
        }
    }
}

fn ids(units: u64) -> Vec<UnitId> {
    (0..64).filter(|unit| units >> unit & 1 == 1).map(UnitId::from_index).collect()
}

impl Search<'_> {
    /// The choices that led to a state, as a plan.
    pub(super) fn told(self, mut node: usize) -> Best {
        let cents = self.seen[node].1 % NO_END;
        let last = self.seen[node].0.clone();
        let mut chosen = ChoicesMade::nothing(&self.tables);
        while node != usize::MAX {
            let (state, _, parent, choice) = &self.seen[node];
            if *parent == usize::MAX {
                chosen.goes_on(state);
            }
            chosen.add(choice.clone());
            node = *parent;
        }
        chosen.hitch();
        let plan = self.written(cents, &last, &chosen);
        let left_out = self.left_out(&last);
        Best { cents, draft: chosen.draft, plan, left_out, looked_at: self.seen.len() }
    }

    /// Jobs that the plan does not end.
    fn left_out(&self, last: &SearchState) -> Vec<String> {
        let t = &self.tables;
        let ends = |job: usize| t.steps_of(job).all(|step| last.steps[step] != StepState::LeftOut);
        let out = t.jobs.iter().enumerate().filter(|(j, job)| !job.later && !ends(*j));
        out.map(|(j, _)| t.plain.book.jobs[j].id.clone()).collect()
    }

    /// The plan as it is stored.
    fn written(&self, cents: i64, last: &SearchState, chosen: &ChoicesMade) -> Value {
        let (t, book) = (&self.tables, self.tables.plain.book);
        let left_out = self.left_out(last);
        let steps: Vec<Value> = (0..t.steps.len()).flat_map(|step| self.step_rows(step, &chosen.spans)).collect();
        let hauls: Vec<Value> = chosen.draft.hauls.iter().rev().map(|haul| self.haul_row(haul)).collect();
        let done = |j: &usize| !left_out.contains(&book.jobs[*j].id);
        // A row a job, or a row for each need that is held where some need is not held all the time (E7).
        let rows = |j: usize| -> Vec<u64> {
            let apart = t.jobs[j].parked.iter().any(|parked| parked.from.is_some() || parked.to.is_some());
            let all = &chosen.parked[j];
            if apart { all.clone() } else { vec![all.iter().fold(0, |all, units| all | units)] }
        };
        let held = (0..t.jobs.len()).filter(done).flat_map(|j| rows(j).into_iter().map(move |units| (j, units)));
        let held = held.filter(|(_, units)| *units != 0);
        let parked: Vec<Value> =
            held.map(|(j, units)| json!({ "job": book.jobs[j].id, "units": self.unit_names(units) })).collect();
        let part = |j: usize| t.in_part(j) && !left_out.contains(&book.jobs[j].id);
        let later = t.jobs.iter().enumerate().filter(|(j, job)| job.later || part(*j));
        json!({
            "plan": 1, "from": t.plain.horizon.monday(), "weeks": t.plain.horizon.weeks(), "now": self.at(t.now),
            "cost": cents as f64 / 100.0, "steps": steps, "parked": parked, "hauls": hauls,
            "left_out": left_out.iter().map(|job| json!({ "job": job, "why": "" })).collect::<Vec<_>>(),
            "later": later.map(|(j, _)| self.later_row(j)).collect::<Vec<_>>()
        })
    }

    /// A later job, or the later steps of one done in part.
    fn later_row(&self, j: usize) -> Value {
        let (t, job) = (&self.tables, &self.tables.plain.book.jobs[j]);
        let later: Vec<&String> = (t.steps_of(j).zip(&job.steps))
            .filter(|(step, _)| t.steps[*step].later)
            .map(|(_, step)| &step.id)
            .collect();
        if later.is_empty() { json!({ "job": job.id }) } else { json!({ "job": job.id, "steps": later }) }
    }

    /// The rows of a step: what was done of it before, then its spans.
    fn step_rows(&self, s: usize, spans: &[(usize, usize, u64)]) -> Vec<Value> {
        let (t, book) = (&self.tables, self.tables.plain.book);
        let table = &t.steps[s];
        let job = &book.jobs[table.job];
        let step = &job.steps[s - t.steps_of(table.job).start];
        let way_id = |way: usize| step.ways.as_ref().map_or("usual", |ways| &ways[way].id);
        let row = |way: usize, (crew, with): (&str, &[String]), (start, end): (String, String), units: Vec<&str>| {
            let mut row = json!({ "job": job.id, "step": step.id, "way": way_id(way), "crew": crew, "start": start, "end": end, "units": units });
            if !with.is_empty() {
                row["with"] = json!(with);
            }
            row
        };
        let mut rows = Vec::new();
        if let Some(done) = &step.done {
            let way = way_position(step, done.way.as_deref());
            rows.push(row(way, (&done.crew, &done.with), (done.start.to_string(), done.end.to_string()), vec![]));
        }
        let begun = step.progress.as_ref().map(|progress| progress.start.to_string());
        let mut mine: Vec<_> = spans.iter().filter(|span| span.0 == s).collect();
        mine.sort_by_key(|span| table.runs[span.1].start);
        for (_, run, held) in mine {
            let run = &table.runs[*run];
            let second = run.part == RunPart::Second;
            let start = begun.clone().filter(|_| !second).unwrap_or_else(|| self.at(run.start));
            let by = (book.crews[run.team.crew].id.as_str(), &t.plain.with(&run.team)[..]);
            let mut row = row(run.way, by, (start, self.at(run.end)), self.unit_names(*held));
            row["overtime"] = json!(run.overtime);
            row["span"] = json!(if second { 2 } else { 1 });
            rows.push(row);
        }
        rows
    }

    fn haul_row(&self, haul: &Haul) -> Value {
        let (plain, book) = (&self.tables.plain, self.tables.plain.book);
        let (unit, from, to) = (haul.unit.index(), haul.from.index(), haul.to.index());
        json!({
            "unit": book.equipment[unit].id, "from": book.places[from].id, "to": book.places[to].id, "at": self.at(haul.at),
            "evening": haul.evening, "truck": book.trucks[haul.truck.index()].id, "minutes": plain.minutes(unit, from, to)
        })
    }

    fn at(&self, h: usize) -> String {
        self.tables.plain.at(h).to_string()
    }

    fn unit_names(&self, set: u64) -> Vec<&str> {
        let units = self.tables.plain.book.equipment.iter().enumerate();
        units.filter(|(u, _)| set >> u & 1 == 1).map(|(_, unit)| unit.id.as_str()).collect()
    }
}
