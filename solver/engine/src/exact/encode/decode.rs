//! From the program's values to a plan.

use std::collections::BTreeMap;

use yardless_plan::shop::{Part, Shop, StepId, UnitId};
use yardless_plan::{Done, Draft, Haul, ParkedUnit, Return, UnhitchedHaul, hitch};

use super::Encoding;
use super::crews::tell_crews_apart;
use super::flow::HaulArc;
use super::holds::HeldBy;
use super::work::RunColumn;
use crate::model::{Spot, UnitPool};

/// First and last half-day.
type Ends = (usize, usize);

/// A hold of a solution: so many units of a pool at a spot from tick to tick.
struct SolvedHold {
    by: HeldBy,
    first: usize,
    last: usize,
    count: usize,
    spot: usize,
}

/// A unit on its way through the ticks.
struct UnitTrace {
    unit: UnitId,
    /// Its spot; on the way it is already the one it goes to.
    spot: usize,
    /// The tick in which a start haul brought it here.
    came: Option<usize>,
    /// The tick in which it left for here in the evening or all day, to stand here from the next half-day.
    left: Option<usize>,
    /// From which tick on it has been here, and whether what came off the road then was here before it.
    since: (usize, bool),
    held_until: Option<usize>,
    /// The last tick in which it is out.
    out_until: Option<usize>,
}

/// The units of a pool on their way through the ticks.
struct Tracing<'t> {
    pool: &'t UnitPool,
    traces: Vec<UnitTrace>,
    /// Who holds which unit.
    served: Vec<(HeldBy, UnitId)>,
    /// Hauls by half-day, and whether in the evening.
    made: Vec<(usize, UnhitchedHaul, bool)>,
}

impl<'t> Tracing<'t> {
    fn new(shop: &Shop, pool: &'t UnitPool) -> Option<Self> {
        let trace = |unit: &UnitId| {
            let spot = pool.spot(shop.units[*unit].place)?;
            Some(UnitTrace {
                unit: *unit,
                spot,
                came: None,
                left: None,
                since: (0, false),
                held_until: None,
                out_until: None,
            })
        };
        let traces = pool.units.iter().map(trace).collect::<Option<_>>()?;
        Some(Self { pool, traces, served: Vec::new(), made: Vec::new() })
    }

    /// A haul at the start of tick k; a gap before it where the shop does not work between the last tick and this one.
    fn leave_at_start(&mut self, k: usize, gap: bool, h: usize, arc: HaulArc) -> Option<()> {
        let may = |w: &&mut UnitTrace| {
            w.spot == arc.from
                && w.came != Some(k)
                && w.left != Some(k)
                && w.held_until.is_none_or(|until| until < k)
                && (gap || w.left != Some(k - 1))
        };
        let mut traces = self.traces.iter_mut().filter(may);
        let trace = if self.pool.shared { traces.max_by_key(|w| w.since)? } else { traces.next()? };
        (trace.spot, trace.came, trace.left) = (arc.to, (!arc.long).then_some(k), arc.long.then_some(k));
        trace.since = if arc.long { (k + 1, false) } else { (k, true) };
        let unit = trace.unit;
        self.make(h, unit, arc)
    }

    /// A hold that starts in tick k.
    fn hold(&mut self, k: usize, hold: &SolvedHold) -> Option<()> {
        for _ in 0..hold.count {
            let free = |w: &&mut UnitTrace| {
                w.spot == hold.spot && w.left != Some(k) && w.held_until.is_none_or(|until| until < k)
            };
            // The unit that is out stays where it stood; what is held on takes what came first.
            let trace = match hold.by {
                HeldBy::Out => self.traces.iter_mut().filter(free).min_by_key(|w| w.came == Some(k))?,
                _ => self.traces.iter_mut().filter(free).max_by_key(|w| w.came == Some(k))?,
            };
            trace.held_until = Some(hold.last);
            trace.out_until = (hold.by == HeldBy::Out).then_some(hold.last);
            self.served.push((hold.by, trace.unit));
        }
        Some(())
    }

    /// A hold of shared units that starts in tick k: those that have been there longest (why: see [`super::flow::flows`]).
    fn hold_shared(&mut self, k: usize, hold: &SolvedHold) -> Option<()> {
        let here = |w: &&mut UnitTrace| w.spot == hold.spot && w.left != Some(k);
        let mut here: Vec<&mut UnitTrace> = self.traces.iter_mut().filter(here).collect();
        here.sort_by_key(|w| w.since);
        for trace in here.get_mut(..hold.count)? {
            trace.held_until = trace.held_until.max(Some(hold.last));
            self.served.push((hold.by, trace.unit));
        }
        Some(())
    }

    fn leave_in_evening(&mut self, k: usize, h: usize, arc: HaulArc) -> Option<()> {
        let may = |w: &&mut UnitTrace| {
            w.spot == arc.from
                && w.came != Some(k)
                && w.left != Some(k)
                && w.out_until != Some(k)
                && w.held_until.is_none_or(|until| until <= k)
        };
        let traces = self.traces.iter_mut().filter(may);
        let trace = if self.pool.shared {
            traces.max_by_key(|w| w.since)?
        } else {
            traces.max_by_key(|w| w.held_until == Some(k))?
        };
        (trace.spot, trace.left, trace.since) = (arc.to, Some(k), (k + 1, false));
        let unit = trace.unit;
        self.make(h, unit, arc)
    }

    fn make(&mut self, h: usize, unit: UnitId, arc: HaulArc) -> Option<()> {
        let place = |spot: usize| match &self.pool.spots[spot] {
            Spot::At(place) => Some(*place),
            Spot::Elsewhere(_) => None,
        };
        self.made.push((h, UnhitchedHaul { unit, from: place(arc.from)?, to: place(arc.to)? }, arc.evening));
        Some(())
    }

    /// Which unit it is in the end: up to here any of the pool may be the one that is out for a while, and it is the one
    /// that stayed free.
    fn named(&self, unit: UnitId) -> UnitId {
        let stayed = self.served.iter().find(|(by, _)| *by == HeldBy::Out).map(|(_, unit)| *unit);
        match (stayed, self.pool.one_out.map(|one| one.unit)) {
            (Some(stayed), Some(out)) if unit == stayed => out,
            (Some(stayed), Some(out)) if unit == out => stayed,
            _ => unit,
        }
    }
}

impl Encoding {
    /// The plan of a solution of an exact program. `None` where the values are not one.
    pub fn decode(&self, shop: &Shop, values: &[i64]) -> Option<Draft> {
        let mut draft = Draft::empty(shop);
        self.decode_work(shop, values, &mut draft);
        let mut hauls: BTreeMap<usize, Vec<(UnhitchedHaul, bool)>> = BTreeMap::new();
        for pool in 0..self.unit_pools.len() {
            self.tell_units_apart(shop, values, pool, &mut draft, &mut hauls)?;
        }
        for (h, hauls) in hauls {
            let wanted: Vec<UnhitchedHaul> = hauls.iter().map(|(wanted, _)| *wanted).collect();
            let trucks = hitch(shop, h, &wanted, |crew| draft.works_at(shop, crew, h))?;
            for ((wanted, evening), truck) in hauls.into_iter().zip(trucks) {
                let UnhitchedHaul { unit, from, to } = wanted;
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
            let teams = tell_crews_apart(&self.team_pools[pool].teams, &spans);
            for ((step, way, (start, end)), team) in rows.into_iter().zip(teams) {
                draft.steps[step] = Some(Done { way, team, start, end, units: Vec::new(), returns: None });
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
                let (way, RunColumn { start, end, pool, .. }) = (mode.way, *run);
                let done = &mut draft.steps[mode.step];
                match (part, done) {
                    (Part::Second, Some(done)) => {
                        done.end = end;
                        done.returns = done.returns.take().map(|back| Return { way, start, ..back });
                    }
                    (_, done) => {
                        let after = (part == Part::First).then_some(end);
                        let returns = Some(Return { after, way, start, units: Vec::new() });
                        let team = self.team_pools[pool].teams[0];
                        *done = Some(Done { way, team, start, end, units: Vec::new(), returns });
                    }
                }
            }
        }
    }

    /// Tells the units of a pool apart tick by tick (why this always succeeds: see [`super::flow::flows`]).
    fn tell_units_apart(
        &self,
        shop: &Shop,
        values: &[i64],
        pool: usize,
        draft: &mut Draft,
        hauls: &mut BTreeMap<usize, Vec<(UnhitchedHaul, bool)>>,
    ) -> Option<()> {
        let mut moves: Vec<Vec<HaulArc>> = vec![Vec::new(); self.ticks.len()];
        for arc in &self.flows[pool].arcs {
            for _ in 0..values[arc.col.index()] {
                moves[arc.tick].push(*arc);
            }
        }
        let held = self.held(values, pool);
        let mut units = Tracing::new(shop, &self.unit_pools[pool])?;
        for (k, moves) in moves.iter().enumerate() {
            let h = self.ticks[k];
            let gap = k == 0 || h > self.ticks[k - 1] + 1;
            for arc in moves.iter().filter(|arc| !arc.evening) {
                units.leave_at_start(k, gap, h, *arc)?;
            }
            let mut starting: Vec<&SolvedHold> = held.iter().filter(|hold| hold.first == k).collect();
            starting.sort_by_key(|hold| (hold.by != HeldBy::Out, std::cmp::Reverse(hold.last > k)));
            let shared = self.unit_pools[pool].shared;
            for hold in starting.iter().filter(|hold| !shared || hold.last == k) {
                if shared { units.hold_shared(k, hold)? } else { units.hold(k, hold)? }
            }
            for arc in moves.iter().filter(|arc| arc.evening) {
                units.leave_in_evening(k, h, *arc)?;
            }
            // What goes on holds shared units that stay.
            for hold in starting.iter().filter(|hold| shared && hold.last > k) {
                units.hold_shared(k, hold)?;
            }
        }
        for (by, unit) in &units.served {
            self.hand_over(*by, units.named(*unit), draft);
        }
        for (h, wanted, evening) in &units.made {
            let wanted = UnhitchedHaul { unit: units.named(wanted.unit), ..*wanted };
            hauls.entry(*h).or_default().push((wanted, *evening));
        }
        Some(())
    }

    /// The holds of a pool that a solution makes.
    fn held(&self, values: &[i64], pool: usize) -> Vec<SolvedHold> {
        let mut all = Vec::new();
        for hold in self.holds.iter().filter(|hold| hold.pool == pool) {
            let reached = |cols: &[super::Col]| cols.iter().position(|col| values[col.index()] > 0);
            let units = hold.share.map_or(hold.factor, |share| values[share.index()]);
            let Some(first) = reached(&hold.started) else { continue };
            // Where waiting costs nothing, a solver need not say that a job is over: held to the end is no dearer.
            let last = reached(&hold.ended).unwrap_or(self.ticks.len() - 1);
            if units > 0 {
                all.push(SolvedHold { by: hold.by, first, last, count: units as usize, spot: hold.spot });
            }
        }
        all
    }

    fn hand_over(&self, by: HeldBy, unit: UnitId, draft: &mut Draft) {
        let units = match by {
            HeldBy::Mode(m, _) => {
                let Some(done) = &mut draft.steps[self.modes[m].step] else { return };
                match &mut done.returns {
                    Some(back) if self.modes[m].part == Part::Second => &mut back.units,
                    _ => &mut done.units,
                }
            }
            HeldBy::Parked(job, need) => return draft.parked[job].push(ParkedUnit { need, unit }),
            HeldBy::Out | HeldBy::Unended => return,
        };
        // A shared unit may serve several needs.
        if !units.contains(&unit) {
            units.push(unit);
        }
    }
}
