//! Which jobs and steps are later: rules W1, W12 and W14, worked out from the book anew.
//!
//! A step's soonest end is walked from the rules themselves: by whom and how it may be done (W5, W8), from when on (W6,
//! W14), in which half-days (W2, W7) and until when (W3). Neither units nor other work are looked at, nor overtime.

use std::collections::BTreeMap;

use yardless_book::{Job, PowerFrom, Step};
use yardless_plan::shop::{Id, JobId, Shop, StepId, Table, Team};

use super::history::written;
use super::later::{Later, in_part, open, text};
use super::rest::by_whom;
use super::spans::{amount, end_of_run};
use super::{help, history, waits};

/// What is later of a book.
pub(super) fn later(shop: &Shop) -> Later {
    let jobs: Table<JobId, bool> = shop.jobs.ids().map(|job| begins_later(shop, job)).collect();
    if shop.jobs.ids().any(|job| in_part(shop, job)) {
        WorkedOut::new(shop).later(&jobs)
    } else {
        Later { jobs, steps: Table::filled(shop.steps.len(), false) }
    }
}

fn begun(shop: &Shop, job: JobId) -> bool {
    text(shop, job).steps.iter().any(Step::started)
}

/// W1, W14: whether the job itself may not begin within the horizon.
fn begins_later(shop: &Shop, job: JobId) -> bool {
    let (of, last) = (text(shop, job), shop.horizon.last_date());
    let date = |date: Option<chrono::NaiveDate>| date.is_none_or(|date| date > last);
    let early = of.earliest.is_some_and(|earliest| date(Some(earliest)));
    !begun(shop, job) && (early || of.waits_on.iter().any(|wait| date(wait.expected)))
}

/// A step before another, with the half-days that pass between at least, and whether so many may at most.
struct Before {
    step: StepId,
    wait: i64,
    close: bool,
}

/// The soonest ends, one after the other.
struct WorkedOut<'s> {
    shop: &'s Shop,
    /// What each step comes after and is not done.
    before: Table<StepId, Vec<Before>>,
    /// The offset from which on it may start after what is done.
    after_done: Table<StepId, i64>,
    /// The soonest end of each step; `None`: there is none.
    ends: Table<StepId, Option<i64>>,
}

impl<'s> WorkedOut<'s> {
    fn new(shop: &'s Shop) -> Self {
        let steps = shop.steps.len();
        let (before, ends) = (shop.steps.ids().map(|_| Vec::new()).collect(), Table::filled(steps, None));
        let mut new = Self { shop, before, after_done: Table::filled(steps, 0), ends };
        let mut named: BTreeMap<(&str, &str), &Step> = BTreeMap::new();
        for job in &shop.book.jobs {
            named.extend(job.steps.iter().map(|step| ((job.id.as_str(), step.id.as_str()), step)));
        }
        let ids = shop.steps.pairs().map(|(id, step)| ((shop.jobs[step.job].id.as_str(), step.id.as_str()), id));
        let ids: BTreeMap<(&str, &str), StepId> = ids.collect();
        for step in shop.steps.ids() {
            let job = text(shop, shop.steps[step].job);
            for (at, wait, close) in links(job, shop.steps[step].listed) {
                if let Some(done) = named.get(&at).and_then(|of| of.done.as_ref()) {
                    new.after_done[step] = new.after_done[step].max(shop.horizon.offset(done.end) + 1 + wait);
                } else if let Some(before) = ids.get(&at) {
                    new.before[step].push(Before { step: *before, wait, close });
                }
            }
        }
        new
    }
}

/// What a step comes after, by job and step, with its wait and whether within some half-days; nothing once it has begun.
fn links(job: &Job, listed: usize) -> Vec<((&str, &str), i64, bool)> {
    let of = &job.steps[listed];
    match &of.after {
        _ if of.started() => Vec::new(),
        None => {
            listed.checked_sub(1).map(|k| ((job.id.as_str(), job.steps[k].id.as_str()), 0, false)).into_iter().collect()
        }
        Some(after) => after
            .iter()
            .map(|after| {
                let link = after.link();
                ((link.job.unwrap_or(&job.id), link.step), i64::from(link.wait), link.within.is_some())
            })
            .collect(),
    }
}

impl WorkedOut<'_> {
    /// W12: what is later, where some jobs are so as a whole.
    fn later(mut self, whole: &Table<JobId, bool>) -> Later {
        let shop = self.shop;
        let open_steps = |job| open(shop, job);
        let going = |step| written(shop, step).progress.is_some();
        let never: Table<StepId, bool> = shop.steps.ids().map(|step| !going(step) && self.at_no_date(step)).collect();
        let mut gone = whole.clone();
        for job in shop.jobs.ids() {
            gone[job] |= open_steps(job).any(|step| never[step]);
        }
        loop {
            self.work_out(&gone);
            let may = |step: StepId| in_part(shop, shop.steps[step].job) && !going(step) && !never[step];
            let own = |step: &StepId| may(*step) && self.ends[*step].is_none() || whole[shop.steps[*step].job];
            let mut steps: Table<StepId, bool> = shop.steps.ids().map(|step| own(&step)).collect();
            while self.spread(&mut steps, &may) {}
            let all = |job: JobId| !begun(shop, job) && open_steps(job).all(|step| steps[step]);
            let mut more = gone.clone();
            for job in shop.jobs.ids() {
                let lacks = open_steps(job).any(|step| self.ends[step].is_none());
                more[job] |= if in_part(shop, job) { all(job) } else { lacks };
            }
            if more == gone {
                let jobs: Table<JobId, bool> =
                    shop.jobs.ids().map(|job| whole[job] || in_part(shop, job) && all(job)).collect();
                for step in shop.steps.ids() {
                    steps[step] &= !jobs[shop.steps[step].job];
                }
                return Later { jobs, steps };
            }
            gone = more;
        }
    }

    /// One pass over what is later because of what comes before or after it; whether there was any.
    fn spread(&self, steps: &mut Table<StepId, bool>, may: &dyn Fn(StepId) -> bool) -> bool {
        let mut more = false;
        for step in self.shop.steps.ids() {
            for before in &self.before[step] {
                let follows = steps[before.step] && !steps[step] && may(step);
                let held_back = steps[step] && before.close && !steps[before.step] && may(before.step);
                steps[step] |= follows;
                steps[before.step] |= held_back;
                more |= follows || held_back;
            }
        }
        more
    }

    /// The soonest ends, where other jobs' steps wait for none of some jobs.
    fn work_out(&mut self, gone: &Table<JobId, bool>) {
        let mut known: Table<StepId, bool> = Table::filled(self.shop.steps.len(), false);
        loop {
            let mut more = false;
            for step in self.shop.steps.ids() {
                if !known[step] && self.before[step].iter().all(|before| known[before.step]) {
                    self.ends[step] = self.from(step, gone).and_then(|from| self.soonest(step, from));
                    (known[step], more) = (true, true);
                }
            }
            if !more {
                return;
            }
        }
    }

    /// The half-day from which on a step may start, by its offset.
    fn from(&self, step: StepId, gone: &Table<JobId, bool>) -> Option<i64> {
        let shop = self.shop;
        let job = shop.steps[step].job;
        let mut from = i64::try_from(shop.now).ok()?.max(self.after_done[step]);
        for before in &self.before[step] {
            let other = shop.steps[before.step].job;
            let end = self.ends[before.step].filter(|_| other == job || !gone[other]);
            // What has begun and is planned whole waits for no other job that is not done (N1).
            if end.is_none() && other != job && begun(shop, job) && !in_part(shop, job) {
                continue;
            }
            from = from.max(end? + 1 + before.wait);
        }
        Some(from)
    }

    /// The soonest end of a step that starts in a half-day or later; of one in progress that of its own run.
    fn soonest(&self, step: StepId, from: i64) -> Option<i64> {
        let shop = self.shop;
        let text = written(shop, step);
        let goes_on = text.progress.is_some() && !history::between_spans(shop, step);
        let fixed = text.fixed.as_ref().and_then(|fixed| fixed.start).filter(|_| text.progress.is_none());
        let end = |(way, team): (usize, Team)| {
            let may = |start: &usize| {
                let at = shop.horizon.half_day(*start);
                shop.obstacle(step, way, &team, *start).is_none()
                    && fixed.is_none_or(|fixed| fixed == at)
                    && waits::allow(shop, step, at)
            };
            let first = usize::try_from(from).ok()?;
            let end = |start: usize| {
                let end = end_of_run(shop, step, way, &team, start, amount(shop, step, way))?;
                (!help::somebody_never_there(shop, (step, way, &team), start..=end)).then_some(end)
            };
            if goes_on { end(shop.now) } else { (first..shop.len()).filter(may).find_map(end) }
        };
        let plain = by_whom(shop, step).into_iter().filter(|(way, _)| !shop.steps[step].ways[*way].overtime);
        plain.filter_map(end).min().map(|end| end as i64)
    }

    /// Whether a step could be done at no date: too few people, or too few units, in every way that is allowed.
    fn at_no_date(&self, step: StepId) -> bool {
        let shop = self.shop;
        let text = written(shop, step);
        let people = |team: &Team| -> u32 { team.crews().map(|crew| shop.book.crews[crew.index()].people).sum() };
        let place = &shop.book.places[shop.jobs[shop.steps[step].job].place.index()];
        let units = |way: usize| {
            let way = shop.steps[step].ways[way].base;
            let shared = |kind: &String| shop.book.kinds.iter().any(|of| of.id == *kind && of.shared);
            let mut wanted: BTreeMap<&str, usize> = BTreeMap::new();
            for need in text.needs(way) {
                let count = need.count as usize;
                let all = wanted.entry(&need.kind).or_default();
                // One of a shared kind serves all of them (E8).
                *all = if shared(&need.kind) { count.max(*all) } else { *all + count };
            }
            let of_kind = |kind: &str| {
                let serves = |unit: &&yardless_book::Equipment| unit.kinds.iter().any(|of| of == kind);
                shop.book.equipment.iter().filter(serves).count()
            };
            let powers = |kind: &String| shop.book.kinds.iter().any(|of| of.id == *kind && of.power);
            let power = shop.book.equipment.iter().filter(|unit| unit.kinds.iter().any(powers)).count();
            wanted.iter().all(|(kind, count)| of_kind(kind) >= *count)
                && (place.power_from != Some(PowerFrom::Never) || power >= text.power(way) as usize)
        };
        let can = |(way, team): &(usize, Team)| people(team) >= shop.min_people(step, *way, team.crew) && units(*way);
        !by_whom(shop, step).iter().any(can)
    }
}
