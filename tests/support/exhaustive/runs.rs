//! Every run of a step: in one go or in two spans, in overtime or not (W3, W9, W10), and how one in progress goes on.

use yardless_book::{Job, Step};

use crate::support::plain::{Plain, Way, may_split, way_position, ways};

/// What a run does of its step.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum RunPart {
    /// All that is to do.
    Whole,
    /// The first span; the rest is one of the step's `rests`.
    First { rest: usize },
    /// The second span.
    Second,
}

/// A run of a step: who, how, from when to when.
pub struct Run {
    pub way: usize,
    pub crew: usize,
    /// Units are held from here; it works from here too, where the step was not in progress.
    pub start: usize,
    pub end: usize,
    /// The half-days worked.
    pub works: Vec<usize>,
    /// Whether its row says overtime.
    pub overtime: bool,
    pub part: RunPart,
    /// C6 to C10, cents.
    pub extra: i64,
    /// What it holds. Not said of a step in progress: its units are known.
    pub wants: Vec<Want>,
}

/// So many units of a kind; `None`: that give power (E9).
#[derive(Clone)]
pub struct Want {
    pub kind: Option<String>,
    pub count: usize,
}

/// What a first span may leave for the second.
pub struct Rest {
    way: usize,
    crew: usize,
    left: f64,
    /// The second spans that do it.
    pub seconds: Vec<usize>,
}

/// All runs of one step.
#[derive(Default)]
pub struct Runs {
    pub all: Vec<Run>,
    pub rests: Vec<Rest>,
    /// The runs that a step in progress goes on with.
    pub goes_on: Vec<usize>,
    /// What is left of a step in progress that lets its units go now, or has let them go before.
    pub let_go: Option<usize>,
    /// From when on that may be done: after the half-day between the spans.
    pub ready: usize,
}

/// The half-days that a row works, and whether they do all that was left.
struct Spell {
    works: Vec<usize>,
    enough: bool,
}

pub struct Writer<'a, 'b> {
    pub plain: &'b Plain<'a>,
    pub job: &'a Job,
    pub step: &'a Step,
    pub now: usize,
    /// C7 and C10 of a start by a crew, cents.
    pub at_start: &'b dyn Fn(usize, usize) -> i64,
    pub runs: Runs,
}

impl Writer<'_, '_> {
    pub fn write(mut self) -> Runs {
        let len = self.plain.horizon.len();
        if let Some(progress) = &self.step.progress {
            let crew = self.plain.book.crews.iter().position(|crew| crew.id == progress.crew).expect("a known crew");
            let way = way_position(self.step, progress.way.as_deref());
            let away = self.plain.is_away(self.job, self.step);
            if !away {
                self.runs_from(way, crew, self.now, progress.left);
                self.runs.goes_on = (0..self.runs.all.len()).collect();
            }
            if may_split(self.step) {
                self.runs.let_go = Some(self.rest(way, crew, progress.left));
                self.runs.ready = self.now + usize::from(!away);
            }
        } else if self.step.done.is_none() {
            let hows = ways(self.step);
            for (way, how) in hows.iter().enumerate() {
                let takes = how.labor_hours.unwrap_or_else(|| f64::from(how.half_days.expect("a duration")));
                for crew in 0..self.plain.book.crews.len() {
                    for start in self.now..len {
                        let may = self.plain.may_start(self.job, self.step, start);
                        if may && self.plain.allows(self.step, way, crew, start) {
                            self.runs_from(way, crew, start, takes);
                        }
                    }
                }
            }
        }
        self.seconds();
        self.runs
    }

    /// The rows that begin at a start, in overtime and not, for all that is left or as a first span.
    fn runs_from(&mut self, way: usize, crew: usize, start: usize, left: f64) {
        let how = &ways(self.step)[way];
        let going_on = self.step.progress.is_some();
        for overtime in [false, true] {
            if !going_on && !self.workable(how, crew, start, overtime) {
                continue;
            }
            let spell = self.spell(how, crew, start, left, overtime);
            let base = if going_on { 0 } else { how.extra + (self.at_start)(crew, start) };
            let spans = if may_split(self.step) { 1 } else { spell.works.len() };
            for n in spans..=spell.works.len() {
                let whole = n == spell.works.len() && spell.enough;
                if n == 0 || (!whole && !may_split(self.step)) {
                    continue;
                }
                let works = spell.works[..n].to_vec();
                let part = if whole {
                    RunPart::Whole
                } else {
                    let given: f64 = works.iter().map(|h| self.plain.gives(self.step, how, crew, *h, overtime)).sum();
                    RunPart::First { rest: self.rest(way, crew, left - given) }
                };
                self.add(way, crew, start, works, overtime, part, base);
            }
        }
    }

    /// The second spans, once it is known what they may have to do.
    fn seconds(&mut self) {
        for rest in 0..self.runs.rests.len() {
            let Rest { way, crew, left, .. } = self.runs.rests[rest];
            let how = &ways(self.step)[way];
            for start in self.now..self.plain.horizon.len() {
                for overtime in [false, true] {
                    if !self.workable(how, crew, start, overtime) {
                        continue;
                    }
                    let spell = self.spell(how, crew, start, left, overtime);
                    if spell.enough {
                        let back = self.plain.book.prices.come_back.0;
                        let run = self.add(way, crew, start, spell.works, overtime, RunPart::Second, back);
                        self.runs.rests[rest].seconds.extend(run);
                    }
                }
            }
        }
    }

    /// Adds a run, unless it says overtime and works none: its sibling is the same for less words.
    #[allow(clippy::too_many_arguments)]
    fn add(
        &mut self,
        way: usize,
        crew: usize,
        start: usize,
        works: Vec<usize>,
        overtime: bool,
        part: RunPart,
        base: i64,
    ) -> Option<usize> {
        let plain = self.plain;
        let in_overtime = works.iter().filter(|h| plain.overtime(plain.at(**h))).count();
        if overtime && in_overtime == 0 {
            return None;
        }
        let hows = ways(self.step);
        let needs =
            hows[way].needs.iter().map(|need| Want { kind: Some(need.kind.clone()), count: need.count as usize });
        let power = Want { kind: None, count: plain.power(self.job, &hows[way], plain.at(start)) };
        self.runs.all.push(Run {
            way,
            crew,
            start,
            end: *works.last().expect("a worked half-day"),
            works,
            overtime,
            part,
            extra: base + in_overtime as i64 * plain.book.prices.overtime_half_day.0,
            wants: needs.chain([power]).collect(),
        });
        Some(self.runs.all.len() - 1)
    }

    fn workable(&self, how: &Way, crew: usize, h: usize, overtime: bool) -> bool {
        self.plain.workable(self.job, self.step, how, crew, h, overtime) && !self.plain.waits(self.job, self.step, h)
    }

    fn spell(&self, how: &Way, crew: usize, start: usize, left: f64, overtime: bool) -> Spell {
        let (mut given, mut works) = (0.0, Vec::new());
        for h in start..self.plain.horizon.len() {
            if !self.workable(how, crew, h, overtime) {
                continue;
            }
            works.push(h);
            given += self.plain.gives(self.step, how, crew, h, overtime);
            if given + 1e-9 >= left {
                return Spell { works, enough: true };
            }
        }
        Spell { works, enough: false }
    }

    /// The rest of this size, by this crew in this way.
    fn rest(&mut self, way: usize, crew: usize, left: f64) -> usize {
        let alike = |rest: &Rest| (rest.way, rest.crew) == (way, crew) && (rest.left - left).abs() < 1e-7;
        self.runs.rests.iter().position(alike).unwrap_or_else(|| {
            self.runs.rests.push(Rest { way, crew, left, seconds: Vec::new() });
            self.runs.rests.len() - 1
        })
    }
}
