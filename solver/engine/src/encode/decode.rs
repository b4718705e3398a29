//! From the program's values to a plan, and from a plan to the program's values.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, Id, JobId, Part, PlaceId, Shop, Span, StepId, UnitId};
use yardless_plan::{Done, Draft, Haul, Return, Stint, Wanted, hitch};

use super::holds::Holder;
use super::work::tell_crews_apart;
use super::{Encoding, Run, Spot};

/// First and last half-day.
type Ends = (usize, usize);

/// A hold of a solution: so many units of a pool at a spot from tick to tick.
struct Held {
    by: Holder,
    first: usize,
    last: usize,
    count: usize,
    spot: usize,
}

/// A unit on its walk through the ticks.
struct Walker {
    unit: UnitId,
    /// Its spot; on the way it is already the one it goes to.
    spot: usize,
    /// The tick in which a start haul brought it here.
    came: Option<usize>,
    /// The tick in which it left for here in the evening or all day, to stand here from the next half-day.
    left: Option<usize>,
    held_until: Option<usize>,
    /// The last tick in which it is out.
    out_until: Option<usize>,
}

impl Encoding {
    /// The plan of a solution of an exact program. `None` where the values are not one.
    pub fn decode(&self, shop: &Shop, values: &[i64]) -> Option<Draft> {
        let mut draft = Draft::empty(shop);
        self.decode_work(shop, values, &mut draft);
        let mut hauls: BTreeMap<usize, Vec<(Wanted, bool)>> = BTreeMap::new();
        for pool in 0..self.unit_pools.len() {
            self.walk(shop, values, pool, &mut draft, &mut hauls)?;
        }
        for (h, hauls) in hauls {
            let wanted: Vec<Wanted> = hauls.iter().map(|(wanted, _)| *wanted).collect();
            let trucks = hitch(shop, h, &wanted, |crew| works_at(shop, &draft, crew, h))?;
            for ((wanted, evening), truck) in hauls.into_iter().zip(trucks) {
                let Wanted { unit, from, to } = wanted;
                draft.hauls.push(Haul { unit, from, to, at: h, evening, truck });
            }
        }
        Some(draft)
    }

    /// Steps and crews only.
    fn decode_work(&self, shop: &Shop, values: &[i64], draft: &mut Draft) {
        let mut by_pool: BTreeMap<usize, Vec<(StepId, usize, Ends)>> = BTreeMap::new();
        for mode in self.modes.iter().filter(|mode| mode.part == Part::Whole) {
            for run in mode.runs.iter().filter(|run| values[run.col.index()] > 0) {
                by_pool.entry(run.pool).or_default().push((mode.step, mode.way, (run.start, run.end)));
            }
        }
        for (pool, rows) in by_pool {
            let spans: Vec<Ends> = rows.iter().map(|row| row.2).collect();
            let crews = tell_crews_apart(&self.crew_pools[pool].crews, &spans);
            for ((step, way, (start, end)), crew) in rows.into_iter().zip(crews) {
                draft.steps[step] = Some(Done { way, crew, start, end, units: Vec::new(), returns: None });
            }
        }
        self.decode_spans(values, draft);
        for job in shop.jobs.ids() {
            if !draft.does(shop, job) {
                for step in shop.jobs[job].step_ids() {
                    draft.steps[step] = None;
                }
            }
        }
    }

    /// Steps done in two spans: their crews are not pooled (W10).
    fn decode_spans(&self, values: &[i64], draft: &mut Draft) {
        for part in [Part::LetGo, Part::First, Part::Second] {
            for mode in self.modes.iter().filter(|mode| mode.part == part) {
                let Some(run) = mode.runs.iter().find(|run| values[run.col.index()] > 0) else { continue };
                let (way, Run { start, end, pool, .. }) = (mode.way, *run);
                let done = &mut draft.steps[mode.step];
                match (part, done) {
                    (Part::Second, Some(done)) => {
                        done.end = end;
                        done.returns = done.returns.take().map(|back| Return { way, start, ..back });
                    }
                    (_, done) => {
                        let after = (part == Part::First).then_some(end);
                        let returns = Some(Return { after, way, start, units: Vec::new() });
                        let crew = self.crew_pools[pool].crews[0];
                        *done = Some(Done { way, crew, start, end, units: Vec::new(), returns });
                    }
                }
            }
        }
    }

    /// Tells the units of a pool apart by walking its ticks (why this always succeeds: see [`super::flow::flows`]).
    fn walk(
        &self,
        shop: &Shop,
        values: &[i64],
        pool: usize,
        draft: &mut Draft,
        hauls: &mut BTreeMap<usize, Vec<(Wanted, bool)>>,
    ) -> Option<()> {
        let facts = &self.unit_pools[pool];
        let place = |spot: usize| match &facts.spots[spot] {
            Spot::At(place) => Some(*place),
            Spot::Elsewhere(_) => None,
        };
        let mut walkers: Vec<Walker> = facts
            .units
            .iter()
            .map(|unit| {
                let spot = facts.spot(shop.units[*unit].place)?;
                Some(Walker { unit: *unit, spot, came: None, left: None, held_until: None, out_until: None })
            })
            .collect::<Option<_>>()?;
        let mut moves: Vec<Vec<(usize, usize, bool, bool)>> = vec![Vec::new(); self.ticks.len()];
        for arc in &self.flows[pool].arcs {
            for _ in 0..values[arc.col.index()] {
                moves[arc.tick].push((arc.from, arc.to, arc.evening, arc.long));
            }
        }
        let held = self.held(values, pool);
        let mut served: Vec<(Holder, UnitId)> = Vec::new();
        let mut made: Vec<(usize, Wanted, bool)> = Vec::new();
        for (k, moves) in moves.iter().enumerate() {
            let h = self.ticks[k];
            let gap = k > 0 && h > self.ticks[k - 1] + 1;
            for (from, to, _, long) in moves.iter().filter(|m| !m.2) {
                let walker = walkers.iter_mut().find(|w| {
                    w.spot == *from
                        && w.came != Some(k)
                        && w.left != Some(k)
                        && w.held_until.is_none_or(|until| until < k)
                        && (gap || k == 0 || w.left != Some(k - 1))
                })?;
                (walker.spot, walker.came, walker.left) = (*to, (!*long).then_some(k), long.then_some(k));
                let wanted = Wanted { unit: walker.unit, from: place(*from)?, to: place(*to)? };
                made.push((h, wanted, false));
            }
            let mut starting: Vec<&Held> = held.iter().filter(|hold| hold.first == k).collect();
            starting.sort_by_key(|hold| (hold.by != Holder::Out, std::cmp::Reverse(hold.last > k)));
            for hold in starting {
                for _ in 0..hold.count {
                    let free = |w: &&mut Walker| {
                        w.spot == hold.spot && w.left != Some(k) && w.held_until.is_none_or(|until| until < k)
                    };
                    // The unit that is out stays where it stood; what is held on takes what came first.
                    let walker = match hold.by {
                        Holder::Out => walkers.iter_mut().filter(free).min_by_key(|w| w.came == Some(k))?,
                        _ => walkers.iter_mut().filter(free).max_by_key(|w| w.came == Some(k))?,
                    };
                    walker.held_until = Some(hold.last);
                    walker.out_until = (hold.by == Holder::Out).then_some(hold.last);
                    served.push((hold.by, walker.unit));
                }
            }
            for (from, to, _, _) in moves.iter().filter(|m| m.2) {
                let may = |w: &&mut Walker| {
                    w.spot == *from
                        && w.came != Some(k)
                        && w.left != Some(k)
                        && w.out_until != Some(k)
                        && w.held_until.is_none_or(|until| until <= k)
                };
                let walker = walkers.iter_mut().filter(may).max_by_key(|w| w.held_until == Some(k))?;
                (walker.spot, walker.left) = (*to, Some(k));
                let wanted = Wanted { unit: walker.unit, from: place(*from)?, to: place(*to)? };
                made.push((h, wanted, true));
            }
        }
        // Up to here any unit of the pool may be the one that is out for a while: it is the one that stayed free.
        let stayed = served.iter().find(|(by, _)| *by == Holder::Out).map(|(_, unit)| *unit);
        let named = |unit: UnitId| match (stayed, facts.one_out.map(|one| one.unit)) {
            (Some(stayed), Some(out)) if unit == stayed => out,
            (Some(stayed), Some(out)) if unit == out => stayed,
            _ => unit,
        };
        for (by, unit) in served {
            self.hand_over(by, named(unit), draft);
        }
        for (h, wanted, evening) in made {
            let wanted = Wanted { unit: named(wanted.unit), ..wanted };
            hauls.entry(h).or_default().push((wanted, evening));
        }
        Some(())
    }

    /// The holds of a pool that a solution makes.
    fn held(&self, values: &[i64], pool: usize) -> Vec<Held> {
        let mut all = Vec::new();
        for hold in self.holds.iter().filter(|hold| hold.pool == pool) {
            let reached = |cols: &[super::Col]| cols.iter().position(|col| values[col.index()] > 0);
            let units = hold.share.map_or(hold.factor, |share| values[share.index()]);
            let Some(first) = reached(&hold.begun) else { continue };
            // Where waiting costs nothing, a solver need not say that a job is over: held to the end is no dearer.
            let last = reached(&hold.ended).unwrap_or(self.ticks.len() - 1);
            if units > 0 {
                all.push(Held { by: hold.by, first, last, count: units as usize, spot: hold.spot });
            }
        }
        all
    }

    fn hand_over(&self, by: Holder, unit: UnitId, draft: &mut Draft) {
        match by {
            Holder::Mode(m, _) => {
                let Some(done) = &mut draft.steps[self.modes[m].step] else { return };
                match &mut done.returns {
                    Some(back) if self.modes[m].part == Part::Second => back.units.push(unit),
                    _ => done.units.push(unit),
                }
            }
            Holder::Parked(job, _) => draft.parked[job].push(unit),
            Holder::Out | Holder::Endless => {}
        }
    }

    /// The values of a plan, to start the engine from. `None` where the program has no column for something in it.
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
            let pool = self.crew_pool_of[renamed[done.crew.index()]];
            let mut rest = None;
            for span in done.spans().map(|held| held.span) {
                let is = |run: &&Run| {
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
                Holder::Mode(m, i) => self.serving(shop, draft, m, i)?,
                Holder::Parked(job, i) => parked_serving(shop, draft, job, i)?,
                // It has no share.
                Holder::Endless => continue,
                Holder::Out => {
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
            Some(held) => share_out(shop, &mode.needs, held.units, i),
            None => Some(Vec::new()),
        }
    }

    /// Alike crews renamed so that they are first used in the order of the program's Order rows.
    fn rename_alike(&self, shop: &Shop, draft: &Draft) -> Vec<CrewId> {
        let mut renamed: Vec<CrewId> = shop.crews.ids().collect();
        let first_job = |crew: CrewId| {
            draft
                .steps
                .pairs()
                .filter(|(_, done)| done.as_ref().is_some_and(|done| done.crew == crew))
                .map(|(step, _)| shop.steps[step].job)
                .min()
        };
        let mut chain: Vec<CrewId> = Vec::new();
        for (i, pool) in self.crew_pools.iter().enumerate() {
            if pool.crews.len() == 1 {
                chain.push(pool.crews[0]);
            }
            if self.crew_pools.get(i + 1).is_none_or(|next| next.after != Some(i)) {
                let mut by_use = chain.clone();
                by_use.sort_by_key(|crew| first_job(*crew).map_or(usize::MAX, JobId::index));
                for (crew, name) in by_use.into_iter().zip(chain.drain(..)) {
                    renamed[crew.index()] = name;
                }
            }
        }
        renamed
    }
}

fn parked_serving(shop: &Shop, draft: &Draft, job: JobId, i: usize) -> Option<Vec<UnitId>> {
    if draft.does(shop, job) {
        share_out(shop, &shop.jobs[job].parked, &draft.parked[job], i)
    } else {
        Some(Vec::new())
    }
}

/// Shares units out among needs, exactly: the units of the i-th need.
fn share_out(shop: &Shop, needs: &[yardless_plan::shop::Need], units: &[UnitId], i: usize) -> Option<Vec<UnitId>> {
    fn place(
        shop: &Shop,
        slots: &[(usize, yardless_plan::shop::Want)],
        n: usize,
        units: &[UnitId],
        used: &mut [Option<usize>],
    ) -> bool {
        let Some((need, want)) = slots.get(n) else { return true };
        for u in 0..units.len() {
            if used[u].is_none() && shop.units[units[u]].serves(*want) {
                used[u] = Some(*need);
                if place(shop, slots, n + 1, units, used) {
                    return true;
                }
                used[u] = None;
            }
        }
        false
    }
    let slots: Vec<_> = needs.iter().enumerate().flat_map(|(n, need)| vec![(n, need.want); need.count]).collect();
    let mut used = vec![None; units.len()];
    place(shop, &slots, 0, units, &mut used)
        .then(|| units.iter().zip(used).filter(|(_, need)| *need == Some(i)).map(|(unit, _)| *unit).collect())
}

/// Where a unit stands in a half-day, its hauls taken in order of time.
fn stands_at(shop: &Shop, draft: &Draft, unit: UnitId, h: usize) -> PlaceId {
    let mut hauls: Vec<&Haul> = draft.hauls.iter().filter(|haul| haul.unit == unit && haul.at < h).collect();
    hauls.sort_by_key(|haul| haul.at);
    hauls.last().map_or(shop.units[unit].place, |haul| haul.to)
}

/// The place where a crew works in a half-day.
pub(crate) fn works_at(shop: &Shop, draft: &Draft, crew: CrewId, h: usize) -> Option<PlaceId> {
    draft.steps.pairs().find_map(|(step, done)| {
        let done = done.as_ref()?;
        let within = |held: &Stint<'_>| {
            let Span { part, way, start, end } = held.span;
            part != Part::LetGo
                && (start..=end).contains(&h)
                && shop.runs(step, way, crew).is_some_and(|runs| runs.workable[h])
        };
        let works = done.crew == crew && done.spans().any(|held| within(&held));
        works.then(|| shop.jobs[shop.steps[step].job].place)
    })
}
