//! From a plan to the program's values.

use yardless_plan::shop::{Id, JobId, PlaceId, Shop, Span, TeamId, UnitId, share_out};
use yardless_plan::{Draft, Haul, Stint};

use super::Encoding;
use super::holds::HeldBy;
use super::work::RunColumn;

impl Encoding {
    /// Whether the program allows a plan that holds, at no more than its cost: one that does not proves nothing. It is a
    /// defect of the program, which ends any test run. A plan for which the program has no columns is not looked for.
    pub(crate) fn allows(&self, shop: &Shop, draft: &Draft, cents: i64) -> bool {
        let Some(values) = self.values(shop, draft) else { return true };
        let weighed = self.program.weigh(&values);
        let allows = weighed.is_ok_and(|weighed| weighed <= cents);
        debug_assert!(allows, "the program forbids a plan that holds: {weighed:?}, {cents} by the rules");
        if !allows {
            let states = weighed.err().map(|row| row.states);
            tracing::error!(
                ?states,
                "the program forbids a plan that holds, and proves nothing: a defect of the program"
            );
        }
        allows
    }

    /// The values of a plan. `None` where the program has no column for something in it.
    pub fn values(&self, shop: &Shop, draft: &Draft) -> Option<Vec<i64>> {
        let mut values = vec![0; self.program.columns()];
        let renamed = self.rename_alike(shop, draft);
        for (job, left_out) in shop.jobs.ids().zip(&self.left_out) {
            if let Some(col) = left_out {
                values[col.index()] = i64::from(!draft.does(shop, job));
            }
        }
        for (step, done) in draft.steps.pairs() {
            let Some(done) = done else { continue };
            let pool = self.team_pool_of[renamed.get(done.team.index()).copied().unwrap_or(done.team)];
            let mut rest = None;
            for span in done.spans().map(|held| held.span) {
                let is = |run: &&RunColumn| {
                    let alike = run.pool == pool && run.start == span.start && run.end == span.end;
                    alike && rest.is_none_or(|rest| rest == run.rest)
                };
                let modes = self.modes_of(step).filter(|mode| (mode.part, mode.way) == (span.part, span.way));
                let run = modes.flat_map(|mode| &mode.runs).find(is)?;
                values[run.col.index()] = 1;
                rest = Some(run.rest);
            }
        }
        let pool_of = |unit: UnitId| self.unit_pools.iter().position(|pool| pool.units.contains(&unit));
        for hold in &self.holds {
            let Some(share) = hold.share else { continue };
            let units = match hold.by {
                HeldBy::Mode(m, i) => self.serving(shop, draft, m, i)?,
                HeldBy::Parked(job, i) => parked_serving(shop, draft, job, i),
                // It has no share.
                HeldBy::Unended => continue,
                HeldBy::Out => {
                    let one = self.unit_pools[hold.pool].one_out?;
                    let at = stands_at(shop, draft, one.unit, one.first);
                    values[share.index()] = i64::from(self.unit_pools[hold.pool].spot(at) == Some(hold.spot));
                    continue;
                }
            };
            values[share.index()] = units.iter().filter(|unit| pool_of(**unit) == Some(hold.pool)).count() as i64;
        }
        for haul in &draft.hauls {
            let p = pool_of(haul.unit)?;
            let pool = &self.unit_pools[p];
            let (from, to) = (pool.spot(haul.from)?, pool.spot(haul.to)?);
            if from == to {
                continue; // within merged places: free in the relaxation
            }
            let tick = self.tick_of[haul.at];
            let arc = self.flows[p]
                .arcs
                .iter()
                .find(|arc| arc.from == from && arc.to == to && arc.tick == tick && arc.evening == haul.evening)?;
            values[arc.col.index()] += 1;
        }
        self.program.follow(&mut values);
        Some(values)
    }

    /// The units of a done step that serve one of its needs: needs in order, each with units that can.
    fn serving(&self, shop: &Shop, draft: &Draft, m: usize, i: usize) -> Option<Vec<UnitId>> {
        let mode = &self.modes[m];
        let is = |held: &Stint<'_>| {
            let Span { part, way, start, .. } = held.span;
            (part, way) == (mode.part, mode.way)
                && mode.needs == shop.needs(mode.step, part, way, start).collect::<Vec<_>>()
        };
        match draft.steps[mode.step].as_ref().and_then(|done| done.spans().find(is)) {
            Some(held) => share_out(shop, &mode.needs, held.units).map(|units| units[i].clone()),
            None => Some(Vec::new()),
        }
    }

    /// Alike crews renamed so that they are first used in the order of the program's Order rows; none of them is in a team
    /// with helpers.
    fn rename_alike(&self, shop: &Shop, draft: &Draft) -> Vec<TeamId> {
        let mut renamed: Vec<TeamId> = shop.crews.ids().map(|crew| shop.alone(crew)).collect();
        let first_job = |team: TeamId| {
            draft
                .steps
                .pairs()
                .filter(|(_, done)| done.as_ref().is_some_and(|done| done.team == team))
                .map(|(step, _)| shop.steps[step].job)
                .min()
        };
        let mut chain: Vec<TeamId> = Vec::new();
        for (i, pool) in self.team_pools.iter().enumerate() {
            if pool.teams.len() == 1 && pool.alone == i {
                chain.push(pool.teams[0]);
            }
            if self.team_pools.get(i + 1).is_none_or(|next| next.after != Some(i)) {
                let mut by_use = chain.clone();
                by_use.sort_by_key(|team| first_job(*team).map_or(usize::MAX, JobId::index));
                for (team, name) in by_use.into_iter().zip(chain.drain(..)) {
                    renamed[team.index()] = name;
                }
            }
        }
        renamed
    }
}

fn parked_serving(shop: &Shop, draft: &Draft, job: JobId, i: usize) -> Vec<UnitId> {
    let serving = draft.parked[job].iter().filter(|parked| parked.need == i && draft.does(shop, job));
    serving.map(|parked| parked.unit).collect()
}

/// Where a unit stands in a half-day, its hauls taken in order of time.
fn stands_at(shop: &Shop, draft: &Draft, unit: UnitId, h: usize) -> PlaceId {
    let mut hauls: Vec<&Haul> = draft.hauls.iter().filter(|haul| haul.unit == unit && haul.at < h).collect();
    hauls.sort_by_key(|haul| haul.at);
    hauls.last().map_or(shop.units[unit].place, |haul| haul.to)
}
