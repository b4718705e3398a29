//! Steps left and come back to (W10): the best pair of spans, where one beats the best whole run.

use yardless_plan::shop::{Need, Part, Span, StepId, TeamId, UnitId};
use yardless_plan::{Done, Return};

use super::PartialPlan;
use super::candidates::{Slot, jitter};
use crate::primal::timetable::Undo;

/// A first span, or letting go, and a second one.
#[derive(Clone, Copy)]
pub(super) struct Split {
    team: TeamId,
    first: Span,
    second: Span,
}

impl Split {
    /// The step done so, without units yet.
    pub(super) fn done(&self) -> Done {
        let Self { team, first, second } = *self;
        let after = (first.part == Part::First).then_some(first.end);
        let returns = Some(Return { after, way: second.way, start: second.start, units: Vec::new() });
        Done { way: first.way, team, start: first.start, end: second.end, units: Vec::new(), returns }
    }
}

/// Pairs whose hauls are looked at for one step before the best of them is taken.
const MOST_PAIRS: usize = 20;

impl PartialPlan<'_> {
    /// The cheapest pair of spans for a slot that costs less than so many cents.
    pub(super) fn best_split(&mut self, slot: &Slot<'_>, below: i64) -> Option<Split> {
        let step = slot.step;
        let mut pairs = self.pairs(slot, below);
        pairs.sort_by_key(|(cents, _)| *cents);
        let mut best: Option<(i64, Split)> = None;
        let mut looked_at = 0;
        for (cents, split) in pairs {
            let most = best.as_ref().map_or(below, |(least, _)| *least);
            if cents >= most || looked_at == MOST_PAIRS {
                break;
            }
            let (mut undo, run) = (Undo::new(), split.done());
            let before = self.timetable.cents;
            self.mark(step, &run, true);
            let time = self.timetable.cents - before;
            let held = self.hold_split(step, &split, &mut undo);
            self.mark(step, &run, false);
            self.timetable.undo(undo);
            if let Some((_, hauls)) = held {
                looked_at += 1;
                let cents = cents + time + hauls;
                if cents < most {
                    best = Some((cents, split));
                }
            }
        }
        best.map(|(_, split)| split)
    }

    /// The pairs of spans that the crews are free for, with what they cost, hauls apart.
    fn pairs(&self, slot: &Slot<'_>, below: i64) -> Vec<(i64, Split)> {
        let shop = self.shop();
        let step = slot.step;
        let facts = &shop.steps[step];
        let base = |way: usize| facts.ways[way].base;
        let mut pairs = Vec::new();
        for (r, rest) in facts.rests.iter().enumerate() {
            let team = rest.team;
            if !slot.lets(team) {
                continue;
            }
            let free = |span: Span| !self.timetable.busy(step, span.way, team, shop.span_works(step, team, span));
            let fixed = slot.crew_cents(team) + jitter(slot.noise, step, facts.ways.len() * shop.crews.len() + r);
            for first in rest.firsts.iter().copied().filter(|first| (slot.first..=slot.last).contains(&first.start)) {
                if slot.hint.is_some_and(|hint| (base(hint.way), hint.team) != (base(first.way), team)) {
                    continue;
                }
                let before = fixed + shop.span_cost(step, team, first).0;
                // Known only once asked for: mostly no second span is cheap enough.
                let mut first_free = None;
                for second in rest.seconds.iter().copied().filter(|second| second.start >= first.ready()) {
                    let by_span = slot.end_cents(second.end) + slot.open_cents(first.start, second.end);
                    let cents = before + shop.span_cost(step, team, second).0 + by_span;
                    if cents < below
                        && *first_free.get_or_insert_with(|| free(first))
                        && second.end <= self.tables.latest_end[step]
                        && free(second)
                        && self.lets_go_on(step, second.end)
                    {
                        pairs.push((cents, Split { team, first, second }));
                    }
                }
            }
        }
        pairs
    }

    /// Holds the units of both spans; the hauls that takes.
    pub(super) fn hold_split(
        &mut self,
        step: StepId,
        split: &Split,
        undo: &mut Undo,
    ) -> Option<([Vec<UnitId>; 2], i64)> {
        let shop = self.shop();
        let job = shop.steps[step].job;
        let mut cents = 0;
        let mut hold = |span: Span| {
            let needs: Vec<Need> = shop.needs(step, span.part, span.way, span.start).collect();
            let (units, hauls) = self.hold(&needs, self.stop(job, span.start, span.end), undo)?;
            cents += hauls;
            Some(units)
        };
        let units = [hold(split.first)?, hold(split.second)?];
        Some((units, cents))
    }
}
