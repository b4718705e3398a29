//! Steps left and come back to (W10): the best pair of spans, where one beats the best whole run.

use std::ops::RangeInclusive;
use std::sync::Arc;

use yardless_plan::shop::{CrewId, Need, Part, Span, StepId, UnitId};
use yardless_plan::{Done, Return};

use super::attempt::jitter;
use super::known::Known;
use super::{Builder, Wish};
use crate::yard::Undo;

/// What a pair of spans has to keep to.
pub(super) struct Bounds {
    /// When the first may start.
    pub(super) start: RangeInclusive<usize>,
    /// What it is to cost less than, cents.
    pub(super) less_than: i64,
    /// The only own crew that may do it.
    pub(super) crew: Option<CrewId>,
    pub(super) wish: Option<Wish>,
    pub(super) noise: u64,
}

/// A first span, or letting go, and a second one.
#[derive(Clone, Copy)]
pub(super) struct Split {
    crew: CrewId,
    first: Span,
    second: Span,
}

impl Split {
    /// The step done so, without units yet.
    fn done(&self) -> Done {
        let Self { crew, first, second } = *self;
        let after = (first.part == Part::First).then_some(first.end);
        let returns = Some(Return { after, way: second.way, start: second.start, units: Vec::new() });
        Done { way: first.way, crew, start: first.start, end: second.end, units: Vec::new(), returns }
    }
}

/// Pairs whose hauls are looked at for one step before the best of them is taken.
const MOST_PAIRS: usize = 20;

impl Builder<'_> {
    /// The cheapest pair of spans within bounds. `another` tells whether a crew costs extra (C4), `score` what it costs
    /// that the step ends in a half-day.
    pub(super) fn best_split(
        &mut self,
        step: StepId,
        bounds: &Bounds,
        another: impl Fn(CrewId) -> bool,
        score: impl Fn(usize) -> i64,
    ) -> Option<Split> {
        let mut pairs = self.pairs(step, bounds, another, score);
        pairs.sort_by_key(|(cents, _)| *cents);
        let mut best: Option<(i64, Split)> = None;
        let mut looked_at = 0;
        for (cents, split) in pairs {
            let most = best.as_ref().map_or(bounds.less_than, |(least, _)| *least);
            if cents >= most || looked_at == MOST_PAIRS {
                break;
            }
            let (mut undo, run) = (Undo::new(), split.done());
            self.mark(step, &run, true);
            let held = self.hold_split(step, &split, &mut undo);
            self.mark(step, &run, false);
            self.yard.undo(undo);
            if let Some((_, hauls)) = held {
                looked_at += 1;
                if cents + hauls < most {
                    best = Some((cents + hauls, split));
                }
            }
        }
        best.map(|(_, split)| split)
    }

    /// The pairs of spans that the crew is free for, with what they cost, hauls apart.
    fn pairs(
        &self,
        step: StepId,
        bounds: &Bounds,
        another: impl Fn(CrewId) -> bool,
        score: impl Fn(usize) -> i64,
    ) -> Vec<(i64, Split)> {
        let shop = self.shop();
        let facts = &shop.steps[step];
        let base = |way: usize| facts.ways[way].base;
        let mut pairs = Vec::new();
        for (r, rest) in facts.rests.iter().enumerate() {
            let crew = rest.crew;
            if shop.crews[crew].own && bounds.crew.is_some_and(|only| only != crew) && facts.fixed.crew.is_none() {
                continue;
            }
            let free = |span: Span| !self.yard.busy(crew, shop.span_works(step, crew, span));
            let extra = if another(crew) { shop.extra_crew().0 } else { 0 };
            let fixed = extra + jitter(bounds.noise, step, facts.ways.len() * shop.crews.len() + r);
            for first in rest.firsts.iter().copied().filter(|first| bounds.start.contains(&first.start)) {
                if bounds.wish.is_some_and(|(way, by, _)| (base(way), by) != (base(first.way), crew)) {
                    continue;
                }
                let before = fixed + shop.span_cost(step, crew, first).0;
                // Known only once asked for: mostly no second span is cheap enough.
                let mut first_free = None;
                for second in rest.seconds.iter().copied().filter(|second| second.start >= first.ready()) {
                    let cents = before + shop.span_cost(step, crew, second).0 + score(second.end);
                    if cents < bounds.less_than
                        && *first_free.get_or_insert_with(|| free(first))
                        && second.end <= self.tables.latest_end[step]
                        && free(second)
                        && self.lets_go_on(step, second.end)
                    {
                        pairs.push((cents, Split { crew, first, second }));
                    }
                }
            }
        }
        pairs
    }

    /// Holds the units of both spans; the hauls that takes.
    fn hold_split(&mut self, step: StepId, split: &Split, undo: &mut Undo) -> Option<([Vec<UnitId>; 2], i64)> {
        let shop = self.shop();
        let job = shop.steps[step].job;
        let mut cents = 0;
        let mut hold = |span: Span| {
            let needs: Vec<Need> = shop.needs(step, span.part, span.way, span.start).collect();
            let (units, hauls) = self.hold(job, &needs, span.start, span.end, undo)?;
            cents += hauls;
            Some(units)
        };
        let units = [hold(split.first)?, hold(split.second)?];
        Some((units, cents))
    }

    /// Places a step in two spans; the cost of hauls it adds.
    pub(super) fn place_split(
        &mut self,
        step: StepId,
        split: &Split,
        known: &mut Known,
        undo: &mut Undo,
    ) -> Option<i64> {
        let mut done = split.done();
        self.mark(step, &done, true);
        let Some(([units, again], hauls)) = self.hold_split(step, split, undo) else {
            self.mark(step, &done, false);
            return None;
        };
        known.go_astray();
        done.units = units;
        if let Some(returns) = &mut done.returns {
            returns.units = again;
        }
        self.steps[step] = Some(Arc::new(done));
        Some(hauls)
    }
}
