//! Leaving a step and coming back to it: rule W10 as tables of spans.

use std::collections::BTreeMap;

use yardless_book::money::Cents;

use super::runs::ends;
use super::{Shop, StepId, TeamId};

/// What part of a step a run does (W10).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// All that there is to do.
    Whole,
    /// The first span, whole half-days; what it leaves is one of the step's rests.
    First,
    /// Nothing from now on: in progress, its units go, and all that is left is the rest.
    LetGo,
    /// The second span, which does a rest.
    Second,
}

impl Part {
    /// Whether the step starts with it.
    pub fn starts(self) -> bool {
        self != Self::Second
    }
    /// Whether the step ends with it.
    pub fn ends(self) -> bool {
        matches!(self, Self::Whole | Self::Second)
    }
}

/// What may be left of a step to its second span: so much, by a team in a way, overtime or not; where helpers of it have
/// nobody there in the first span, to second ones in which all these have (W11).
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// The crew and the helpers of both spans.
    pub team: TeamId,
    /// The spans that leave it.
    pub firsts: Vec<Span>,
    /// The spans that do it, by way and start.
    pub seconds: Vec<Span>,
}

/// A step in one go, or one span of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// What it does of the step.
    pub part: Part,
    /// The way.
    pub way: usize,
    /// The first half-day in which it is worked on and its units are held, now where it goes on; by index.
    pub start: usize,
    /// The last half-day in which it is worked on. Of one let go, now: nothing is worked.
    pub end: usize,
}

impl Span {
    /// The first half-day in which a second span may start after this one: at least one lies between them.
    pub fn ready(self) -> usize {
        self.end + if self.part == Part::LetGo { 1 } else { 2 }
    }
}

impl Shop {
    /// What a span costs: its crews' time (C8, C11), with the step's start where it starts with it, or coming back (C9), and the
    /// step's end where it ends with it.
    pub fn span_cost(&self, step: StepId, team: TeamId, span: Span) -> Cents {
        let Span { part, way, start, end } = span;
        let begins = match part {
            Part::Second => self.book.prices.come_back,
            Part::Whole | Part::First | Part::LetGo => self.start_cost(step, way, team, start),
        };
        let ends = if part.ends() { self.end_cost(step, end) } else { Cents::ZERO };
        // Of what is let go nothing is worked.
        let time = if part == Part::LetGo { Cents::ZERO } else { self.time_cost(step, way, team, start, end) };
        begins + time + ends
    }

    /// The half-days that a span works.
    pub fn span_works(&self, step: StepId, team: TeamId, span: Span) -> impl Iterator<Item = usize> + Clone + '_ {
        let runs = self.runs(step, span.way, team).filter(|_| span.part != Part::LetGo);
        runs.into_iter().flat_map(move |runs| runs.worked(span.start, span.end))
    }

    /// The spans of all rests of a step, each with the position of its rest.
    pub fn spans(&self, step: StepId) -> impl Iterator<Item = (usize, TeamId, Span)> + '_ {
        let rests = self.steps[step].rests.iter().enumerate();
        rests.flat_map(|(r, rest)| rest.firsts.iter().chain(&rest.seconds).map(move |span| (r, rest.team, *span)))
    }
}

/// W10 for every step that may split, as far as the shop has what its spans hold.
pub(super) fn fill_spans(shop: &mut Shop) {
    // There is no third span.
    let may_split = |step: &StepId| shop.steps[*step].may_split && !shop.steps[*step].comes_back();
    for step in shop.steps.ids().filter(may_split).collect::<Vec<_>>() {
        let mut rests = Vec::new();
        for (what, firsts) in firsts(shop, step) {
            let seconds = seconds(shop, step, what);
            let (Some(last), Some(ready)) =
                (seconds.iter().map(|span| span.start).max(), firsts.iter().map(|span| span.ready()).min())
            else {
                continue;
            };
            // Only those with one before or after them.
            let firsts: Vec<Span> = firsts.into_iter().filter(|span| span.ready() <= last).collect();
            let seconds = seconds.into_iter().filter(|span| span.start >= ready).collect();
            if !firsts.is_empty() {
                rests.push(Rest { team: what.team, firsts, seconds });
            }
        }
        shop.steps[step].rests = rests;
    }
}

/// What first spans leave.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Left {
    /// The way without overtime.
    base: usize,
    team: TeamId,
    /// Half-days or millionths of an hour.
    amount: i64,
    /// The helpers that have had nobody there, as bits.
    absent: u32,
}

/// The first spans by what they leave.
fn firsts(shop: &Shop, step: StepId) -> BTreeMap<Left, Vec<Span>> {
    let facts = &shop.steps[step];
    let mut firsts: BTreeMap<_, Vec<Span>> = BTreeMap::new();
    for (way, team, runs) in shop.choices(step) {
        let (base, total) = (facts.ways[way].base, facts.ways[way].amount.total());
        let in_overtime = facts.ways[way].overtime;
        if facts.going.is_some() && !in_overtime {
            let span = Span { part: Part::LetGo, way, start: shop.now, end: shop.now };
            firsts.entry(Left { base, team, amount: total, absent: 0 }).or_default().push(span);
        }
        let starts = |start: &usize| {
            if facts.going.is_some() {
                *start == shop.now
            } else {
                runs.workable[*start] && shop.start_allowed(step, *start)
            }
        };
        let by = &shop.teams[team];
        for start in (0..shop.len()).filter(starts) {
            let mut amount = total;
            for end in (start..shop.len()).filter(|h| runs.workable[*h]) {
                amount -= shop.done_in(step, way, by, end);
                if amount <= 0 {
                    break;
                }
                let plain = in_overtime && runs.overtime(start, end) == 0;
                if !plain && shop.equipped(step, Part::First, way, start, end) {
                    // What is in progress has had them there, or not: that is over (W11).
                    let absent = if facts.going.is_some() { 0 } else { shop.absent(by, runs.worked(start, end)) };
                    let span = Span { part: Part::First, way, start, end };
                    firsts.entry(Left { base, team, amount, absent }).or_default().push(span);
                }
            }
        }
    }
    firsts
}

/// The second spans that do what is left, by the team in the way, in overtime or not.
fn seconds(shop: &Shop, step: StepId, left: Left) -> Vec<Span> {
    let facts = &shop.steps[step];
    let by = &shop.teams[left.team];
    let mut seconds = Vec::new();
    let same = |way: usize, team: TeamId| (facts.ways[way].base, team) == (left.base, left.team);
    for (way, _, runs) in shop.choices(step).filter(|(way, team, _)| same(*way, *team)) {
        let ends = ends(&runs.workable, left.amount, |h| shop.done_in(step, way, by, h));
        for (start, end) in ends.into_iter().enumerate().filter_map(|(start, end)| Some((start, usize::from(end?)))) {
            let plain = facts.ways[way].overtime && runs.overtime(start, end) == 0;
            let still_absent = left.absent & shop.absent(by, runs.worked(start, end));
            if !plain && still_absent == 0 && shop.equipped(step, Part::Second, way, start, end) {
                seconds.push(Span { part: Part::Second, way, start, end });
            }
        }
    }
    seconds
}
