//! Every run of a step: by every crew with any helpers, in one go or in two spans, in overtime or not (W3, W9 to W11, W16),
//! and how one in progress goes on.

use yardless_book::{Job, Step};

use crate::plain::{Plain, Team, Way, may_split, way_position, ways};

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
    pub team: Team,
    /// Where it is done.
    pub place: usize,
    /// Units are held from here; it works from here too, where the step was not in progress.
    pub start: usize,
    pub end: usize,
    /// The half-days worked.
    pub works: Vec<usize>,
    /// The crews that work on it in each of them, one bit each.
    pub at_work: Vec<u64>,
    /// Its hours, where it is a stop.
    pub stop: Option<f64>,
    /// Whether its row says overtime.
    pub overtime: bool,
    pub part: RunPart,
    /// C6 to C11, cents; C8 only where no crew works on anything else in the same half-day.
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

impl Run {
    /// The crews that work on it in a half-day, one bit each.
    pub fn crews_at(&self, h: usize) -> u64 {
        self.works.iter().position(|at| *at == h).map_or(0, |n| self.at_work[n])
    }
}

/// What a first span may leave for the second.
pub struct Rest {
    way: usize,
    team: Team,
    left: f64,
    /// Helpers that have not been there yet, one bit each.
    missing: u64,
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
    /// C7 and C10 of a start by a team, cents.
    pub at_start: &'b dyn Fn(&Team, usize) -> i64,
    pub runs: Runs,
}

impl Writer<'_, '_> {
    pub fn write(mut self) -> Runs {
        let len = self.plain.horizon.len();
        if let Some(progress) = &self.step.progress {
            let team = self.plain.team(&progress.crew, &progress.with);
            let way = way_position(self.step, progress.way.as_deref());
            let away = self.plain.is_away(self.job, self.step);
            if !away {
                self.runs_from(way, &team, self.now, progress.left);
                self.runs.goes_on = (0..self.runs.all.len()).collect();
            }
            if may_split(self.step) && ways(self.step)[way].hours.is_none() {
                self.runs.let_go = Some(self.rest(way, &team, progress.left, 0));
                self.runs.ready = self.now + usize::from(!away);
            }
        } else if self.step.done.is_none() {
            let hows = ways(self.step);
            for (way, how) in hows.iter().enumerate() {
                for team in self.plain.teams(how) {
                    for start in self.now..len {
                        let may = self.plain.may_start(self.job, self.step, start);
                        if may && self.plain.allows(self.step, way, team.crew, start) {
                            self.runs_from(way, &team, start, Plain::takes(how));
                        }
                    }
                }
            }
        }
        self.seconds();
        self.runs
    }

    /// The rows that begin at a start, in overtime and not, for all that is left or as a first span.
    fn runs_from(&mut self, way: usize, team: &Team, start: usize, left: f64) {
        let how = &ways(self.step)[way];
        let going_on = self.step.progress.is_some();
        for overtime in [false, true] {
            if !going_on && !self.workable(how, team, start, overtime) {
                continue;
            }
            let spell = self.spell(how, team, start, left, overtime);
            let base = if going_on { 0 } else { how.extra + (self.at_start)(team, start) };
            let splits = may_split(self.step) && how.hours.is_none();
            let spans = if splits { 1 } else { spell.works.len() };
            for n in spans..=spell.works.len() {
                let whole = n == spell.works.len() && spell.enough;
                if n == 0 || (!whole && !splits) {
                    continue;
                }
                let works = spell.works[..n].to_vec();
                // What has begun has had its helpers.
                let missing = if going_on { 0 } else { self.missing(team, &works, overtime) };
                let part = if whole && missing != 0 {
                    continue;
                } else if whole {
                    RunPart::Whole
                } else {
                    let given: f64 = works.iter().map(|h| self.plain.gives(self.step, how, team, *h, overtime)).sum();
                    RunPart::First { rest: self.rest(way, team, left - given, missing) }
                };
                self.add(way, team, start, works, overtime, part, base);
            }
        }
    }

    /// The second spans, once it is known what they may have to do.
    fn seconds(&mut self) {
        for rest in 0..self.runs.rests.len() {
            let Rest { way, left, missing, .. } = self.runs.rests[rest];
            let team = &self.runs.rests[rest].team.clone();
            let how = &ways(self.step)[way];
            for start in self.now..self.plain.horizon.len() {
                for overtime in [false, true] {
                    if !self.workable(how, team, start, overtime) {
                        continue;
                    }
                    let spell = self.spell(how, team, start, left, overtime);
                    if spell.enough && missing & self.missing(team, &spell.works, overtime) == 0 {
                        let back = self.plain.book.prices.come_back.0;
                        let run = self.add(way, team, start, spell.works, overtime, RunPart::Second, back);
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
        team: &Team,
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
        let at_work: Vec<u64> = works.iter().map(|h| plain.at_work(team, *h, overtime)).collect();
        let help: i64 = at_work.iter().map(|crews| plain.help_cost(team, *crews)).sum();
        // C8: a crew that does several in a half-day of overtime is paid once; the search counts that.
        let alone = hows[way].hours.is_none() && plain.several_at_once(team.crew).is_none();
        let paid = |n: &usize| alone && plain.overtime(plain.at(works[*n]));
        let crews: u32 = (0..works.len()).filter(paid).map(|n| at_work[n].count_ones()).sum();
        self.runs.all.push(Run {
            way,
            team: team.clone(),
            place: plain.place(&self.job.place),
            start,
            end: *works.last().expect("a worked half-day"),
            works,
            at_work,
            stop: hows[way].hours,
            overtime,
            part,
            extra: base + help + i64::from(crews) * plain.book.prices.overtime_half_day.0,
            wants: needs.chain([power]).collect(),
        });
        Some(self.runs.all.len() - 1)
    }

    /// The helpers of whom nobody is there in any of these half-days.
    fn missing(&self, team: &Team, works: &[usize], overtime: bool) -> u64 {
        let came = works.iter().fold(0, |all, h| all | self.plain.at_work(team, *h, overtime));
        team.helpers.iter().fold(0, |all, helper| all | 1 << helper) & !came
    }

    fn workable(&self, how: &Way, team: &Team, h: usize, overtime: bool) -> bool {
        self.plain.workable(self.job, self.step, how, team, h, overtime) && !self.plain.waits(self.job, self.step, h)
    }

    fn spell(&self, how: &Way, team: &Team, start: usize, left: f64, overtime: bool) -> Spell {
        let (mut given, mut works) = (0.0, Vec::new());
        for h in start..self.plain.horizon.len() {
            if !self.workable(how, team, h, overtime) {
                continue;
            }
            works.push(h);
            given += self.plain.gives(self.step, how, team, h, overtime);
            if given + 1e-9 >= left {
                return Spell { works, enough: true };
            }
        }
        Spell { works, enough: false }
    }

    /// The rest of this size, by this team in this way, with these helpers still to come.
    fn rest(&mut self, way: usize, team: &Team, left: f64, missing: u64) -> usize {
        let alike = |rest: &Rest| {
            (rest.way, &rest.team, rest.missing) == (way, team, missing) && (rest.left - left).abs() < 1e-7
        };
        self.runs.rests.iter().position(alike).unwrap_or_else(|| {
            self.runs.rests.push(Rest { way, team: team.clone(), left, missing, seconds: Vec::new() });
            self.runs.rests.len() - 1
        })
    }
}
