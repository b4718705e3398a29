//! What a run holds, and whether the shop has it: rules E2 to E6, E8.

use std::collections::BTreeMap;

use super::Shop;
use super::hauling::UnitFacts;
use super::ids::{KindId, StepId};
use super::needs::{Need, Want};
use super::spans::Part;

impl Shop {
    /// What part of a step done in a way, from a start, holds: the way's needs, and power where there is none yet (E2,
    /// E5). One in progress goes on with just its units (N1), until it is left.
    pub fn needs(&self, step: StepId, part: Part, way: usize, start: usize) -> impl Iterator<Item = Need> + '_ {
        let facts = &self.steps[step];
        let goes_on = facts.goes_on() && part != Part::Second;
        let count = self.power(step, way, start);
        let power = (count > 0).then_some(Need { want: Want::Power, count });
        let held = facts.going.iter().flat_map(|going| &going.units).filter(move |_| goes_on && part != Part::LetGo);
        let wants = facts.ways[way].needs.iter().copied().chain(power).filter(move |_| !goes_on);
        wants.chain(held.map(|unit| Need { want: Want::Unit(*unit), count: 1 }))
    }

    /// Towed units that must stand at the step's place at once while part of it is worked on in a way, from a start: its
    /// own and those parked for its job (E2, E3, E5).
    pub fn trailers_at_once(&self, step: StepId, part: Part, way: usize, start: usize) -> usize {
        let parked = self.parked_during(step);
        let towed = |want| self.units.iter().filter(|unit| unit.serves(want)).all(UnitFacts::towed);
        self.units_at_once(self.needs(step, part, way, start).chain(parked).filter(|need| towed(need.want)))
    }

    /// What is parked at the step's job all the time that it is worked on, whatever the plan (E3, E7).
    fn parked_during(&self, step: StepId) -> impl Iterator<Item = Need> + '_ {
        let parked = self.jobs[self.steps[step].job].parked.iter();
        parked.filter(move |parked| parked.held_during(step)).map(|parked| parked.need)
    }

    /// How many units at least serve needs at one place at the same time: one a need, but of shared kinds and what else
    /// shared units can serve (power) as many as the largest need takes (E8).
    fn units_at_once(&self, needs: impl Iterator<Item = Need>) -> usize {
        let serving = |want| self.units.iter().filter(move |unit| unit.shared && unit.serves(want));
        let (mut one_each, mut power) = (0, 0);
        // Of each shared kind, by one of its units.
        let mut shared: BTreeMap<KindId, (usize, bool)> = BTreeMap::new();
        for need in needs {
            match (need.want, serving(need.want).next()) {
                (_, None) => one_each += need.count,
                (Want::Power, _) => power = power.max(need.count),
                (_, Some(unit)) => {
                    let (most, gives_power) = shared.entry(unit.kinds[0]).or_default();
                    (*most, *gives_power) = ((*most).max(need.count), unit.power);
                }
            }
        }
        let there: usize = shared.values().map(|(most, _)| most).sum();
        let give_power: usize = shared.values().filter(|(_, power)| *power).map(|(most, _)| most).sum();
        one_each + there + power.saturating_sub(give_power)
    }

    /// Whether those trailers fit on the place's spots (E6).
    pub fn trailers_fit(&self, step: StepId, part: Part, way: usize, start: usize) -> bool {
        let spots = self.places[self.jobs[self.steps[step].job].place].spots;
        spots.is_none_or(|spots| self.trailers_at_once(step, part, way, start) <= spots)
    }

    /// Whether the shop has what a run holds: of all that the step holds and its job has parked enough units that are
    /// not out in it (E4), and spots for the trailers among them (E6). Without, no plan has the run.
    pub fn equipped(&self, step: StepId, part: Part, way: usize, start: usize, end: usize) -> bool {
        let enough = |need: Need| {
            // Work that has begun waits for its own units.
            let may = |unit: &&UnitFacts| need.want.waits() || !unit.out_within(start, end);
            self.units.iter().filter(|unit| unit.serves(need.want)).filter(may).count() >= need.count
        };
        let parked = self.parked_during(step);
        self.needs(step, part, way, start).chain(parked).all(enough) && self.trailers_fit(step, part, way, start)
    }

    /// E5, E9: how many units that give power the step holds, done in a way from a start.
    pub fn power(&self, step: StepId, way: usize, start: usize) -> usize {
        let facts = &self.steps[step];
        let dark = start < self.places[self.jobs[facts.job].place].power_from;
        if dark { facts.ways[way].power } else { 0 }
    }
}
