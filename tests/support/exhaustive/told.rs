//! The choices that the exhaustive search made, told as a plan.

use yardless_solver::plan::{Done, Draft, Haul};
use yardless_solver::shop::{CrewId, Id, JobId, PlaceId, StepId, Table, TruckId, UnitId};

use super::tables::Run;
use super::{Best, Choice, Search};

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
        let cents = self.seen[node].1;
        while node != usize::MAX {
            let (_, _, parent, choice) = &self.seen[node];
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
                    let Run { way, crew, start, end, .. } = t.steps[step].runs[run];
                    let done = Done { way, crew: CrewId::from_index(crew), start, end, units: ids(units) };
                    draft.steps[StepId::from_index(step)] = Some(done);
                    if parked != 0 {
                        draft.parked[JobId::from_index(t.steps[step].job)] = ids(parked);
                    }
                }
            }
            node = *parent;
        }
        for h in 0..t.len {
            let now = || draft.hauls.iter().filter(move |haul| haul.at == h);
            let units: Vec<usize> = now().map(|haul| haul.unit.index()).collect();
            let trucks = t.plain.trucks(h, &units).expect("enough trucks, as asked before");
            for (haul, truck) in draft.hauls.iter_mut().filter(|haul| haul.at == h).zip(trucks) {
                haul.truck = TruckId::from_index(truck);
            }
        }
        Best { cents, draft, looked_at: self.seen.len() }
    }
}
