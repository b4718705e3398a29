//! What the exhaustive search looks up: runs, hauls and least costs, worked out once from the plain rules.

use std::collections::BTreeSet;
use std::ops::Range;

use serde_json::Value;
use yardless_book::{Job, Step};

use super::runs::{Rest, Run, Runs, Want, Writer};
use crate::plain::{KeptRow, Plain, Team, way_position, ways};

pub struct Precedence {
    pub step: usize,
    pub wait: i64,
    pub within: Option<i64>,
}

/// What has happened to a step (N1).
pub struct History {
    pub crew: usize,
    /// Where it ended, if it did; negative before the horizon.
    pub end: Option<i64>,
    /// C6, and C1 of its own, where the job is done; cents.
    pub extra: i64,
    /// The units that it holds.
    pub units: u64,
}

pub struct StepTable {
    pub job: usize,
    /// Later, where its job is done in part (W12).
    pub later: bool,
    /// C7 of what the crews were told of it, where it is not done.
    pub unkept: i64,
    /// None of a step that is done or in progress: W6 does not bind it.
    pub after: Vec<Precedence>,
    /// C1 of its own by the index of its end.
    pub late: Vec<i64>,
    pub history: Option<History>,
    pub runs: Vec<Run>,
    pub rests: Vec<Rest>,
    pub goes_on: Vec<usize>,
    pub let_go: Option<usize>,
    pub ready: usize,
    /// The runs that start at each index, second spans and steps in progress apart.
    pub starting: Vec<Vec<usize>>,
    /// The soonest end of a whole run that starts at each index or later.
    pub soonest: Vec<Option<usize>>,
    pub least_extra: i64,
    /// Units of each group that any way holds at least.
    least_units: Vec<usize>,
}

pub struct JobTable {
    pub place: usize,
    pub later: bool,
    pub started: bool,
    /// All its steps are done.
    pub over: bool,
    /// C2, cents.
    pub left_out: i64,
    /// C7 of what the crews were told of its steps, where it is not done.
    pub unkept: i64,
    pub parked: Vec<ParkedTable>,
    /// C1 and C5 by the index of its end; in part C5 alone.
    pub end_cost: Vec<i64>,
    /// The latest end of its done steps.
    pub last_done: Option<i64>,
    steps: Range<usize>,
    parked_units: Vec<usize>,
}

/// A parked need of a job.
pub struct ParkedTable {
    pub want: Want,
    /// The step with whose start it is first held, and the one with whose end last (E7); none: of the whole job.
    pub from: Option<usize>,
    pub to: Option<usize>,
    /// The units that it holds now, where the job has begun; `None`: the plan chooses them.
    pub named: Option<u64>,
}

#[derive(Clone, Copy)]
pub struct HaulTable {
    pub cost: i64,
    pub long: bool,
}

pub struct Tables<'a> {
    pub plain: Plain<'a>,
    pub now: usize,
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
    /// Whether some unit costs something somewhere by standing there (C12, C13, C17, C18).
    pub stands_at_a_cost: bool,
    /// C7 that no plan can help.
    pub changes: i64,
    hauls: Vec<Option<HaulTable>>,
    /// Units that serve any number of needs at a time (E8), one bit each.
    pub shared: u64,
    /// Units that share a kind, directly or by way of others, are of one group; power apart.
    groups: Vec<usize>,
    /// The least cost of a haul to a place by a unit of a group.
    arrival: Vec<Vec<Option<i64>>>,
}

impl<'a> Tables<'a> {
    /// `None` for a book with more jobs or units than it pays to try.
    pub fn new(plain: Plain<'a>, now: usize, kept: Option<&Value>) -> Option<Self> {
        let (book, len) = (plain.book, plain.horizon.len());
        if book.jobs.len() > 8 || book.equipment.len() > 10 {
            return None;
        }
        let towed = book.equipment.iter().map(|unit| unit.moves == yardless_book::Moves::Towed).collect();
        let kept = kept.map_or_else(Vec::new, |plan| plain.kept(now, plan));
        let mut tables = Tables {
            now,
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
            stands_at_a_cost: plain.has_homes()
                || (0..book.equipment.len()).any(|unit| {
                    let stands = |place: usize| plain.standing(unit, place) + plain.hire(unit, Some(place)) > 0;
                    (0..book.places.len()).any(stands)
                }),
            changes: 0,
            hauls: Vec::new(),
            shared: (0..book.equipment.len())
                .filter(|unit| plain.is_shared(*unit))
                .fold(0, |all, unit| all | 1 << unit),
            groups: groups(&plain),
            arrival: Vec::new(),
            plain,
        };
        tables.fill_hauls();
        tables.fill_jobs(&kept);
        tables.changes = kept.iter().map(|kept| tables.changed_already(kept)).sum();
        while tables.order.len() < tables.steps.len() {
            let ready = |s: &usize| {
                !tables.order.contains(s) && tables.steps[*s].after.iter().all(|link| tables.order.contains(&link.step))
            };
            let next = (0..tables.steps.len()).find(ready).expect("steps without a cycle");
            tables.order.push(next);
        }
        tables.mark_later();
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

    fn fill_jobs(&mut self, kept: &[KeptRow]) {
        for (j, job) in self.plain.book.jobs.iter().enumerate() {
            let whole = job.parked.iter().filter(|need| need.from.is_none() && need.to.is_none());
            let whole: Vec<Want> = whole.map(want).collect();
            let started = job.steps.iter().any(|step| step.done.is_some() || step.progress.is_some());
            let over = job.steps.iter().all(|step| step.done.is_some());
            let done = job.steps.iter().filter_map(|step| step.done.as_ref());
            self.jobs.push(JobTable {
                place: self.plain.place(&job.place),
                later: self.plain.later(job),
                started,
                over,
                left_out: self.plain.left_out(job),
                unkept: 0,
                parked_units: self.by_group(&whole),
                parked: job.parked.iter().map(|need| self.parked_table(job, need, started, over)).collect(),
                end_cost: (0..self.len).map(|end| self.plain.end_cost(job, end as i64)).collect(),
                last_done: done.map(|done| self.plain.horizon.offset(done.end)).max(),
                steps: self.steps.len()..self.steps.len() + job.steps.len(),
            });
            for k in 0..job.steps.len() {
                let table = self.step_table(j, job, k, kept);
                self.steps.push(table);
            }
        }
    }

    /// E3, E7, N1; the steps of the job come after all that are there.
    fn parked_table(&self, job: &Job, need: &yardless_book::Parked, started: bool, over: bool) -> ParkedTable {
        let step = |id: &Option<String>| {
            let place = id.as_ref().map(|id| job.steps.iter().position(|step| step.id == *id).expect("a known step"));
            place.map(|place| self.steps.len() + place)
        };
        let at = |id: &Option<String>| job.steps.iter().find(|step| Some(&step.id) == id.as_ref());
        let begun = at(&need.from).is_none_or(|step| step.done.is_some() || step.progress.is_some());
        let ended = over || at(&need.to).is_some_and(|step| step.done.is_some());
        let named = match (started, ended, begun) {
            (true, true, _) => Some(0),
            (true, false, true) => Some(self.set(need.units.iter())),
            _ => None,
        };
        ParkedTable { want: want(need), from: step(&need.from), to: step(&need.to), named }
    }

    fn step_table(&mut self, j: usize, job: &Job, k: usize, kept: &[KeptRow]) -> StepTable {
        let (plain, step) = (&self.plain, &job.steps[k]);
        let told: Vec<&KeptRow> = kept.iter().filter(|kept| kept.job == job.id && kept.step == step.id).collect();
        let at_start = |team: &Team, start: usize| {
            let (crew, with) = (&plain.book.crews[team.crew].id, plain.with(team));
            let changed = told.iter().map(|kept| kept.changed(crew, &with, plain.at(start)));
            changed.sum::<i64>() + plain.word_broken(step, start)
        };
        let history = self.history(job, step);
        let runs = Runs::default();
        let runs = Writer { plain, job, step, now: self.now, at_start: &at_start, runs }.write();
        let first = |run: &usize| runs.all[*run].start;
        let choices = |runs: &Runs| -> Vec<usize> {
            let second = |run: &usize| runs.rests.iter().any(|rest| rest.seconds.contains(run));
            (0..runs.all.len()).filter(|run| !second(run) && !runs.goes_on.contains(run)).collect()
        };
        let open = choices(&runs);
        let mut least_units = vec![usize::MAX; self.groups.len()];
        for run in &open {
            let wants = runs.all[*run].wants.iter();
            let kinds: Vec<Want> = wants.filter(|want| want.kind.is_some()).cloned().collect();
            for (least, n) in least_units.iter_mut().zip(self.by_group(&kinds)) {
                *least = n.min(*least);
            }
        }
        let whole = |run: &&usize| runs.all[**run].part == super::runs::RunPart::Whole;
        let unkept = if history.is_none() { told.iter().map(|kept| kept.cents).sum::<i64>() } else { 0 };
        self.jobs[j].unkept += unkept;
        StepTable {
            job: j,
            later: false,
            unkept,
            after: if history.is_some() { Vec::new() } else { self.links(job, k) },
            late: (0..self.len).map(|end| plain.step_late(job, step, end as i64)).collect(),
            history,
            starting: (0..self.len).map(|h| open.iter().copied().filter(|run| first(run) == h).collect()).collect(),
            soonest: (0..self.len)
                .map(|h| open.iter().filter(whole).filter(|run| first(run) >= h).map(|run| runs.all[*run].end).min())
                .collect(),
            least_extra: open.iter().map(|run| runs.all[*run].extra).min().unwrap_or(0),
            least_units,
            runs: runs.all,
            rests: runs.rests,
            goes_on: runs.goes_on,
            let_go: runs.let_go,
            ready: runs.ready,
        }
    }

    /// N1: who did it, in which way, and where it stands.
    fn history(&self, job: &Job, step: &Step) -> Option<History> {
        let crew = |id: &str| self.plain.book.crews.iter().position(|crew| crew.id == id).expect("a known crew");
        let extra = |way: Option<&str>| ways(step)[way_position(step, way)].extra;
        if let Some(done) = &step.done {
            let end = self.plain.horizon.offset(done.end);
            let extra = extra(done.way.as_deref()) + self.plain.step_late(job, step, end);
            return Some(History { crew: crew(&done.crew), end: Some(end), extra, units: 0 });
        }
        let on = step.progress.as_ref()?;
        let units = self.set(on.units.iter());
        Some(History { crew: crew(&on.crew), end: None, extra: extra(on.way.as_deref()), units })
    }

    /// What a step comes after (W6).
    fn links(&self, job: &Job, k: usize) -> Vec<Precedence> {
        let book = self.plain.book;
        let index = |job: &str, step: &str| {
            let all = book.jobs.iter().flat_map(|j| j.steps.iter().map(move |s| (j.id.as_str(), s.id.as_str())));
            all.into_iter().position(|name| name == (job, step)).expect("a known step")
        };
        match &job.steps[k].after {
            None if k == 0 => Vec::new(),
            None => vec![Precedence { step: index(&job.id, &job.steps[k - 1].id), wait: 0, within: None }],
            Some(after) => after
                .iter()
                .map(|after| {
                    let link = after.link();
                    Precedence {
                        step: index(link.job.unwrap_or(&job.id), link.step),
                        wait: i64::from(link.wait),
                        within: link.within.map(i64::from),
                    }
                })
                .collect(),
        }
    }

    /// C7 that no plan can help: of a step that has begun, as the book has it, and of one that is gone.
    fn changed_already(&self, kept: &KeptRow) -> i64 {
        let job = self.plain.book.jobs.iter().find(|job| job.id == kept.job);
        let step = job.and_then(|job| job.steps.iter().find(|step| step.id == kept.step));
        let Some(step) = step else { return kept.cents };
        let done = step.done.as_ref().map(|done| kept.changed(&done.crew, &done.with, done.start));
        let going = step.progress.as_ref().map(|going| kept.changed(&going.crew, &going.with, going.start));
        done.or(going).unwrap_or(0)
    }

    fn set<'n>(&self, ids: impl Iterator<Item = &'n String>) -> u64 {
        let units = &self.plain.book.equipment;
        let place = |id: &String| units.iter().position(|unit| unit.id == *id).expect("a known unit");
        ids.fold(0, |all, id| all | 1 << place(id))
    }

    pub fn steps_of(&self, job: usize) -> Range<usize> {
        self.jobs[job].steps.clone()
    }

    /// C12 and C13: what a unit costs in a half-day in which it stands at a place, or is on the road from it.
    pub fn unit_cost(&self, unit: usize, place: usize, stands: bool, h: usize) -> i64 {
        let (plain, at) = (&self.plain, Some(place).filter(|_| stands));
        if plain.works(plain.at(h)) { plain.standing(unit, place) + plain.hire(unit, at) } else { 0 }
    }

    /// A haul that the roads allow in a half-day.
    pub fn haul(&self, unit: usize, from: usize, to: usize, h: usize) -> Option<HaulTable> {
        self.hauls[((unit * self.places + from) * self.places + to) * self.len + h]
    }

    /// Every set of units, out of those `among`, that serves the wants one by one: a want takes different units, and no
    /// other may take one of them unless it is shared (E8).
    pub fn serving(&self, wants: &[Want], among: u64) -> BTreeSet<u64> {
        let mut sets = BTreeSet::from([0_u64]);
        for want in wants {
            let fits = |unit: &usize| among >> unit & 1 == 1 && self.plain.serves(*unit, want.kind.as_deref());
            let able: u64 = (0..self.homes.len()).filter(fits).fold(0, |all, unit| all | 1 << unit);
            let mut with = BTreeSet::new();
            for set in sets {
                with.extend(choices(able & (!set | self.shared), want.count).into_iter().map(|chosen| set | chosen));
            }
            sets = with;
        }
        sets
    }

    fn by_group(&self, wants: &[Want]) -> Vec<usize> {
        let mut units = vec![0; self.groups.len()];
        for want in wants {
            if let Some(unit) = (0..self.groups.len()).find(|unit| self.plain.serves(*unit, want.kind.as_deref())) {
                let of = &mut units[self.groups[unit]];
                *of = if self.is_shared(unit) { want.count.max(*of) } else { *of + want.count };
            }
        }
        units
    }

    fn is_shared(&self, unit: usize) -> bool {
        self.shared >> unit & 1 == 1
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
                let wanted = wanted.map(|(_, step)| {
                    let (held, parked) = (step.least_units[group], self.jobs[step.job].parked_units[group]);
                    if self.is_shared(group) { held.max(parked) } else { held + parked }
                });
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

fn want(need: &yardless_book::Parked) -> Want {
    Want { kind: Some(need.kind.clone()), count: need.count as usize }
}

/// The sets of so many units out of some.
fn choices(among: u64, count: usize) -> Vec<u64> {
    if count == 0 {
        return vec![0];
    }
    let units = (0..64).filter(|unit| among >> unit & 1 == 1);
    // Each set once: its first unit, and others after that.
    units
        .flat_map(|unit| {
            let others = choices(among & !((2_u64 << unit) - 1), count - 1);
            others.into_iter().map(move |others| others | 1 << unit)
        })
        .collect()
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
