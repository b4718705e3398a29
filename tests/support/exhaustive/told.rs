//! The choices that the exhaustive search made, told as a plan.

use serde_json::{Value, json};
use yardless_plan::shop::{CrewId, Id, JobId, PlaceId, StepId, Table, TruckId, UnitId};
use yardless_plan::{Done, Draft, Haul};

use super::begin::NO_END;
use super::runs::{Part, Run};
use super::{Best, Choice, Search, State, Work};
use crate::support::plain::way_position;

impl Search<'_> {
    /// The choices that led to a state, as a plan.
    pub(super) fn told(self, mut node: usize) -> Best {
        let t = &self.tables;
        let mut draft = Draft {
            steps: Table::filled(t.steps.len(), None),
            parked: Table::filled(t.jobs.len(), Vec::new()),
            hauls: Vec::new(),
        };
        let ids =
            |units: u64| (0..64).filter(|unit| units >> unit & 1 == 1).map(UnitId::from_index).collect::<Vec<_>>();
        let cents = self.seen[node].1 % NO_END;
        let last = self.seen[node].0.clone();
        let mut in_overtime = vec![0_u64; t.len];
        let mut works = |run: &Run| {
            for h in run.works.iter().filter(|_| run.overtime) {
                in_overtime[*h] |= 1 << run.crew;
            }
        };
        let mut spans = Vec::new();
        let mut parked_at: Vec<u64> = t.jobs.iter().map(|job| job.holds).collect();
        while node != usize::MAX {
            let (state, _, parent, choice) = &self.seen[node];
            if *parent == usize::MAX {
                for (step, work) in state.steps.iter().enumerate() {
                    if let Work::Runs { run, units } = *work {
                        works(&t.steps[step].runs[run]);
                        spans.push((step, run, units));
                    }
                }
            }
            match *choice {
                Choice::Nothing => {}
                Choice::Haul { unit, from, to, h, evening } => draft.hauls.push(Haul {
                    unit: UnitId::from_index(unit),
                    from: PlaceId::from_index(from),
                    to: PlaceId::from_index(to),
                    at: h,
                    evening,
                    truck: TruckId::from_index(0),
                }),
                Choice::Start { step, run, units, parked } => {
                    works(&t.steps[step].runs[run]);
                    spans.push((step, run, units));
                    let Run { way, crew, start, end, .. } = t.steps[step].runs[run];
                    let done =
                        Done { way, crew: CrewId::from_index(crew), start, end, units: ids(units), returns: None };
                    draft.steps[StepId::from_index(step)] = Some(done);
                    parked_at[t.steps[step].job] |= parked;
                    if parked != 0 {
                        draft.parked[JobId::from_index(t.steps[step].job)] = ids(parked);
                    }
                }
            }
            node = *parent;
        }
        for (h, crews) in in_overtime.into_iter().enumerate() {
            let now = || draft.hauls.iter().filter(move |haul| haul.at == h);
            let units: Vec<usize> = now().map(|haul| haul.unit.index()).collect();
            let trucks = t.plain.trucks(h, &units, crews).expect("enough trucks, as asked before");
            for (haul, truck) in draft.hauls.iter_mut().filter(|haul| haul.at == h).zip(trucks) {
                haul.truck = TruckId::from_index(truck);
            }
        }
        let plan = self.written(cents, &last, &spans, &parked_at, &draft.hauls);
        let left_out = self.left_out(&last);
        Best { cents, draft, plan, left_out, looked_at: self.seen.len() }
    }

    /// Jobs that the plan does not end.
    fn left_out(&self, last: &State) -> Vec<String> {
        let t = &self.tables;
        let ends = |job: usize| t.steps_of(job).all(|step| last.steps[step] != Work::LeftOut);
        let out = t.jobs.iter().enumerate().filter(|(j, job)| !job.later && !ends(*j));
        out.map(|(j, _)| t.plain.book.jobs[j].id.clone()).collect()
    }

    /// The plan as it is stored.
    fn written(
        &self,
        cents: i64,
        last: &State,
        spans: &[(usize, usize, u64)],
        parked: &[u64],
        hauls: &[Haul],
    ) -> Value {
        let (t, book) = (&self.tables, self.tables.plain.book);
        let at = |h: usize| t.plain.at(h).to_string();
        let units = |set: u64| -> Vec<&str> {
            (0..book.equipment.len()).filter(|u| set >> u & 1 == 1).map(|u| book.equipment[u].id.as_str()).collect()
        };
        let left_out = self.left_out(last);
        let mut steps = Vec::new();
        for (s, table) in t.steps.iter().enumerate() {
            let job = &book.jobs[table.job];
            let step = &job.steps[s - t.steps_of(table.job).start];
            let way_id = |way: usize| step.ways.as_ref().map_or("usual", |ways| &ways[way].id);
            let begun = step.progress.as_ref().map(|progress| progress.start.to_string());
            let row = |way: &str, crew: &str, start: String, end: String, units: Vec<&str>| json!({ "job": job.id, "step": step.id, "way": way, "crew": crew, "start": start, "end": end, "units": units });
            if let Some(done) = &step.done {
                let way = way_id(way_position(step, done.way.as_deref()));
                steps.push(row(way, &done.crew, done.start.to_string(), done.end.to_string(), vec![]));
            }
            let mut mine: Vec<_> = spans.iter().filter(|span| span.0 == s).collect();
            mine.sort_by_key(|span| table.runs[span.1].start);
            for (_, run, held) in mine {
                let run = &table.runs[*run];
                let second = run.part == Part::Second;
                let start = begun.clone().filter(|_| !second).unwrap_or_else(|| at(run.start));
                let mut row = row(way_id(run.way), &book.crews[run.crew].id, start, at(run.end), units(*held));
                row["overtime"] = json!(run.overtime);
                row["span"] = json!(if second { 2 } else { 1 });
                steps.push(row);
            }
        }
        let hauls = hauls.iter().map(|haul| {
            let (unit, from, to) = (haul.unit.index(), haul.from.index(), haul.to.index());
            json!({
                "unit": book.equipment[unit].id, "from": book.places[from].id, "to": book.places[to].id, "at": at(haul.at),
                "evening": haul.evening, "truck": book.trucks[haul.truck.index()].id, "minutes": t.plain.minutes(unit, from, to)
            })
        });
        let done = |j: &usize| parked[*j] != 0 && !left_out.contains(&book.jobs[*j].id);
        let parked: Vec<Value> = (0..t.jobs.len())
            .filter(done)
            .map(|j| json!({ "job": book.jobs[j].id, "units": units(parked[j]) }))
            .collect();
        let later = t.jobs.iter().enumerate().filter(|(_, job)| job.later);
        json!({
            "plan": 1, "from": t.plain.horizon.monday(), "weeks": t.plain.horizon.weeks(), "now": at(t.now),
            "cost": cents as f64 / 100.0, "steps": steps, "parked": parked, "hauls": hauls.rev().collect::<Vec<_>>(),
            "left_out": left_out.iter().map(|job| json!({ "job": job, "why": "" })).collect::<Vec<_>>(),
            "later": later.map(|(j, _)| json!({ "job": book.jobs[j].id })).collect::<Vec<_>>()
        })
    }
}
