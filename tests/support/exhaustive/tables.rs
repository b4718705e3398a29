//! What the exhaustive search looks up: runs, hauls and least costs, worked out once from the plain rules.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::support::plain::{Plain, ways};

/// A run of a step: who, how, from when to when.
pub struct Run {
    pub way: usize,
    pub crew: usize,
    pub start: usize,
    pub end: usize,
    /// The half-days worked.
    pub works: Vec<usize>,
    /// C6, cents.
    pub extra: i64,
    /// What it holds, one want a unit; `None`: power.
    pub wants: Vec<Option<String>>,
}

pub struct Link {
    pub step: usize,
    pub wait: usize,
    pub within: Option<usize>,
}

pub struct StepTable {
    pub job: usize,
    pub after: Vec<Link>,
    pub runs: Vec<Run>,
    /// The runs that start at each index.
    pub starting: Vec<Vec<usize>>,
    /// The soonest end of a run that starts at each index or later.
    pub soonest: Vec<Option<usize>>,
    pub least_extra: i64,
    /// Units of each group that any way holds at least.
    least_units: Vec<usize>,
}

pub struct JobTable {
    pub place: usize,
    pub later: bool,
    pub left_out: i64,
    pub parked: Vec<Option<String>>,
    pub end_cost: Vec<i64>,
    steps: Range<usize>,
    parked_units: Vec<usize>,
}

#[derive(Clone, Copy)]
pub struct HaulTable {
    pub cost: i64,
    pub long: bool,
}

pub struct Tables<'a> {
    pub plain: Plain<'a>,
    pub len: usize,
    pub places: usize,
    pub jobs: Vec<JobTable>,
    pub steps: Vec<StepTable>,
    /// The steps, none before one that it comes after.
    pub order: Vec<usize>,
    pub homes: Vec<usize>,
    pub towed: Vec<bool>,
    pub out: Vec<Vec<bool>>,
    pub own: Vec<bool>,
    pub spots: Vec<Option<usize>>,
    pub extra_crew: i64,
    hauls: Vec<Option<HaulTable>>,
    /// Units that share a kind, directly or by way of others, are of one group; power apart.
    groups: Vec<usize>,
    /// The least cost of a haul to a place by a unit of a group.
    arrival: Vec<Vec<Option<i64>>>,
}

impl<'a> Tables<'a> {
    /// `None` for a book with more jobs or units than it pays to try.
    pub fn new(plain: Plain<'a>) -> Option<Self> {
        let (book, len) = (plain.book, plain.horizon.len());
        if book.jobs.len() > 8 || book.equipment.len() > 10 {
            return None;
        }
        let towed = book.equipment.iter().map(|unit| unit.moves == yardless_solver::book::Moves::Towed).collect();
        let mut tables = Tables {
            len,
            places: book.places.len(),
            jobs: Vec::new(),
            steps: Vec::new(),
            order: Vec::new(),
            homes: book.equipment.iter().map(|unit| plain.place(&unit.place)).collect(),
            towed,
            out: (0..book.equipment.len()).map(|unit| (0..len).map(|h| plain.out(unit, h)).collect()).collect(),
            own: book.crews.iter().map(|crew| crew.own).collect(),
            spots: book.places.iter().map(|place| place.trailer_spots.map(|n| n as usize)).collect(),
            extra_crew: book.prices.extra_crew.0,
            hauls: Vec::new(),
            groups: groups(&plain),
            arrival: Vec::new(),
            plain,
        };
        tables.fill_hauls();
        tables.fill_jobs();
        while tables.order.len() < tables.steps.len() {
            let ready = |s: &usize| {
                !tables.order.contains(s) && tables.steps[*s].after.iter().all(|link| tables.order.contains(&link.step))
            };
            let next = (0..tables.steps.len()).find(ready).expect("steps without a cycle");
            tables.order.push(next);
        }
        Some(tables)
    }

    fn fill_hauls(&mut self) {
        let (plain, units) = (&self.plain, self.homes.len());
        self.arrival = vec![vec![None; self.places]; units];
        for unit in 0..units {
            for from in 0..self.places {
                for to in 0..self.places {
                    let minutes = (from != to).then(|| plain.minutes(unit, from, to)).flatten();
                    let haul = minutes.map(|minutes| HaulTable {
                        cost: plain.haul_cost(unit, minutes),
                        long: minutes > plain.book.hauling.same_half_day_minutes,
                    });
                    if let Some(haul) = haul {
                        let least = &mut self.arrival[self.groups[unit]][to];
                        *least = Some(least.map_or(haul.cost, |least| least.min(haul.cost)));
                    }
                    for h in 0..self.len {
                        self.hauls.push(haul.filter(|_| plain.may_haul(unit, from, to, h)));
                    }
                }
            }
        }
    }

    fn fill_jobs(&mut self) {
        let plain = &self.plain;
        let book = plain.book;
        let index = |job: &str, step: &str| {
            let all = book.jobs.iter().flat_map(|j| j.steps.iter().map(move |s| (j.id.as_str(), s.id.as_str())));
            all.into_iter().position(|name| name == (job, step)).expect("a known step")
        };
        for (j, job) in book.jobs.iter().enumerate() {
            let parked: Vec<Option<String>> =
                job.parked.iter().flat_map(|need| vec![Some(need.kind.clone()); need.count as usize]).collect();
            self.jobs.push(JobTable {
                place: plain.place(&job.place),
                later: plain.later(job),
                left_out: plain.left_out(job),
                parked_units: self.by_group(&parked),
                parked,
                end_cost: (0..self.len).map(|end| plain.end_cost(job, end)).collect(),
                steps: self.steps.len()..self.steps.len() + job.steps.len(),
            });
            for (k, step) in job.steps.iter().enumerate() {
                let after = match &step.after {
                    None if k == 0 => Vec::new(),
                    None => vec![Link { step: index(&job.id, &job.steps[k - 1].id), wait: 0, within: None }],
                    Some(after) => after
                        .iter()
                        .map(|after| {
                            let link = after.link();
                            Link {
                                step: index(link.job.unwrap_or(&job.id), link.step),
                                wait: link.wait as usize,
                                within: link.within.map(|n| n as usize),
                            }
                        })
                        .collect(),
                };
                let mut runs = Vec::new();
                let hows = ways(step);
                for (way, how) in hows.iter().enumerate() {
                    for crew in 0..book.crews.len() {
                        for start in 0..self.len {
                            let Some(end) = plain.run(job, step, way, crew, start) else { continue };
                            let needs =
                                how.needs.iter().flat_map(|need| vec![Some(need.kind.clone()); need.count as usize]);
                            let power = plain.takes_power(job, step, start).then_some(None);
                            runs.push(Run {
                                way,
                                crew,
                                start,
                                end,
                                works: (start..=end).filter(|h| plain.workable(job, step, how, crew, *h)).collect(),
                                extra: how.extra,
                                wants: needs.chain(power).collect(),
                            });
                        }
                    }
                }
                let starting: Vec<Vec<usize>> =
                    (0..self.len).map(|h| (0..runs.len()).filter(|run| runs[*run].start == h).collect()).collect();
                let mut least_units = vec![usize::MAX; self.groups.len()];
                for run in &runs {
                    let kinds: Vec<Option<String>> = run.wants.iter().filter(|want| want.is_some()).cloned().collect();
                    for (least, n) in least_units.iter_mut().zip(self.by_group(&kinds)) {
                        *least = n.min(*least);
                    }
                }
                self.steps.push(StepTable {
                    job: j,
                    after,
                    starting,
                    soonest: (0..self.len)
                        .map(|h| runs.iter().filter(|run| run.start >= h).map(|run| run.end).min())
                        .collect(),
                    least_extra: runs.iter().map(|run| run.extra).min().unwrap_or(0),
                    least_units,
                    runs,
                });
            }
        }
    }

    pub fn steps_of(&self, job: usize) -> Range<usize> {
        self.jobs[job].steps.clone()
    }

    /// A haul that the roads allow in a half-day.
    pub fn haul(&self, unit: usize, from: usize, to: usize, h: usize) -> Option<HaulTable> {
        self.hauls[((unit * self.places + from) * self.places + to) * self.len + h]
    }

    /// Every set of units, out of those `among`, that serves the wants one by one.
    pub fn serving(&self, wants: &[Option<String>], among: u64) -> BTreeSet<u64> {
        let mut sets = BTreeSet::from([0_u64]);
        for want in wants {
            let fits = |unit: &usize| among >> unit & 1 == 1 && self.plain.serves(*unit, want.as_deref());
            let able: Vec<usize> = (0..self.homes.len()).filter(fits).collect();
            let with =
                |set: u64| able.iter().filter(move |unit| set >> **unit & 1 == 0).map(move |unit| set | 1 << unit);
            sets = sets.into_iter().flat_map(with).collect();
        }
        sets
    }

    fn by_group(&self, wants: &[Option<String>]) -> Vec<usize> {
        let mut units = vec![0; self.groups.len()];
        for want in wants {
            if let Some(unit) = (0..self.groups.len()).find(|unit| self.plain.serves(*unit, want.as_deref())) {
                units[self.groups[unit]] += 1;
            }
        }
        units
    }

    /// C3 at least: where a step that waits will hold more units of a group than stand or head there, the others must
    /// come by a haul each. `None`: there are not so many units.
    pub fn arrivals_at_least(&self, waits: impl Fn(usize) -> bool, heads_for: impl Fn(usize) -> usize) -> Option<i64> {
        let mut cost = 0;
        for group in 0..self.groups.len() {
            let units = || (0..self.groups.len()).filter(|unit| self.groups[*unit] == group);
            for place in 0..self.places {
                let wanted =
                    self.steps.iter().enumerate().filter(|(s, step)| waits(*s) && self.jobs[step.job].place == place);
                let wanted = wanted.map(|(_, step)| step.least_units[group] + self.jobs[step.job].parked_units[group]);
                let wanted = wanted.max().unwrap_or(0);
                let missing = wanted.saturating_sub(units().filter(|unit| heads_for(*unit) == place).count());
                if wanted > units().count() || (missing > 0 && self.arrival[group][place].is_none()) {
                    return None;
                }
                cost += missing as i64 * self.arrival[group][place].unwrap_or(0);
            }
        }
        Some(cost)
    }
}

/// The group of each unit: the first unit with which it shares a kind, in the end.
fn groups(plain: &Plain) -> Vec<usize> {
    let units = &plain.book.equipment;
    let mut groups: Vec<usize> = (0..units.len()).collect();
    for a in 0..units.len() {
        for b in 0..a {
            if units[a].kinds.iter().any(|kind| units[b].kinds.contains(kind)) {
                let (from, to) = (groups[a].max(groups[b]), groups[a].min(groups[b]));
                for group in groups.iter_mut().filter(|group| **group == from) {
                    *group = to;
                }
            }
        }
    }
    groups
}
