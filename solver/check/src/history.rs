//! What has happened and what was given out: rules N1 and N3, C7 and C8, read from the book and the kept plan anew.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Weekday};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::money::Cents;
use yardless_plan::shop::{CrewId, Going, Id, JobId, KeptStep, Shop, StepId, UnitId};
use yardless_plan::{Plan, Rule, StepRow};

use super::Found;
use super::fact::OfHistory;
use super::rows::KnownRow;

/// A done step, as the book has it.
pub(super) struct Past {
    pub(super) crew: CrewId,
    pub(super) extra: Cents,
    pub(super) end: HalfDay,
}

/// The done steps of a job.
pub(super) fn of(shop: &Shop, job: JobId) -> Vec<Past> {
    let past = |step: &yardless_book::Step| {
        let done = step.done.as_ref()?;
        let extra =
            step.ways.as_ref().map_or(Some(Cents::ZERO), |ways| Some(ways[step.way(done.way.as_deref())?].extra));
        Some(Past { crew: shop.find_crew(&done.crew)?, extra: extra?, end: done.end })
    };
    shop.book.jobs[job.index()].steps.iter().filter_map(past).collect()
}

/// Whether a row is of a step that is done, and says of it what the book says.
pub(super) fn is_past(shop: &Shop, job: JobId, row: &StepRow, found: &mut Found) -> bool {
    let steps = &shop.book.jobs[job.index()].steps;
    let Some(step) = steps.iter().find(|step| step.id == row.step) else { return false };
    let Some(done) = &step.done else { return false };
    let way = done.way.as_deref().unwrap_or_else(|| only_way(step));
    let same_crews = row.crew == done.crew && same(&row.with, &done.with);
    if !same_crews || (row.way.as_str(), row.start, row.end) != (way, done.start, done.end) {
        let (id, crew) = (step.id.clone(), done.crew.clone());
        found.say(Rule::N1, OfHistory::DoneOtherwise { job, done: id, crew, start: done.start, end: done.end });
    }
    true
}

pub(super) fn only_way(step: &yardless_book::Step) -> &str {
    step.ways.as_ref().and_then(|ways| ways.first()).map_or(yardless_book::USUAL, |way| way.id.as_str())
}

/// The book's text of a step that is still to be done.
pub(super) fn written(shop: &Shop, step: StepId) -> &yardless_book::Step {
    let facts = &shop.steps[step];
    &shop.book.jobs[facts.job.index()].steps[facts.listed]
}

/// W10: whether a step in progress that may split takes units (E2, E5) and holds none, by the book.
pub(super) fn between_spans(shop: &Shop, step: StepId) -> bool {
    let text = written(shop, step);
    let Some(progress) = text.progress.as_ref().filter(|progress| progress.units.is_empty()) else { return false };
    let needs = match (&text.ways, &progress.way) {
        (None, _) => &text.needs,
        (Some(ways), None) => &ways[0].needs,
        (Some(ways), Some(id)) => ways.iter().find(|way| way.id == *id).map_or(&text.needs, |way| &way.needs),
    };
    let stop = match (&text.ways, &progress.way) {
        (None, _) => text.hours,
        (Some(ways), None) => ways[0].hours,
        (Some(ways), Some(id)) => ways.iter().find(|way| way.id == *id).and_then(|way| way.hours),
    };
    let place = &shop.book.jobs[shop.steps[step].job.index()].place;
    let lit = shop.book.places.iter().find(|of| of.id == *place).and_then(|of| of.power_from);
    let dark = match lit {
        None => false,
        Some(yardless_book::PowerFrom::Never) => true,
        Some(yardless_book::PowerFrom::Date(date)) => progress.start.date() < date,
    };
    let power = match (&text.ways, &progress.way) {
        (None, _) => None,
        (Some(ways), None) => ways[0].needs_power,
        (Some(ways), Some(id)) => ways.iter().find(|way| way.id == *id).and_then(|way| way.needs_power),
    };
    let power = power.unwrap_or(text.needs_power).units() > 0;
    text.may_split && stop.is_none() && (!needs.is_empty() || power && dark)
}

/// N1: a step in progress goes on by the same crew in the same way, and started when it did.
pub(super) fn goes_on(shop: &Shop, step: StepId, going: &Going, work: &KnownRow, found: &mut Found) {
    let text = written(shop, step);
    let Some(progress) = &text.progress else { return };
    let row = work.row;
    if row.crew != progress.crew {
        found.say(Rule::N1, OfHistory::OtherCrew { step, was: progress.crew.clone(), is: row.crew.clone() });
    }
    if !same(&row.with, &progress.with) {
        found.say(Rule::N1, OfHistory::OtherHelpers { step });
    }
    let way = progress.way.as_deref().unwrap_or_else(|| only_way(text));
    if row.way != way {
        found.say(Rule::N1, OfHistory::OtherWay { step, was: way.to_owned(), is: row.way.clone() });
    }
    if row.start != going.start && !work.comes_back() {
        found.say(Rule::N1, OfHistory::OtherStart { step, was: going.start, said: row.start });
    }
}

/// A done step that another comes after (W6).
pub(super) struct DonePredecessor<'b> {
    job: JobId,
    id: &'b str,
    end: HalfDay,
    /// Half-days to wait at least.
    wait: i64,
    /// And at most.
    within: Option<i64>,
}

impl DonePredecessor<'_> {
    /// Whether a start, by its offset from the horizon's beginning, is neither too soon nor too late.
    pub(super) fn allows(&self, shop: &Shop, start: i64) -> bool {
        let next = shop.horizon.offset(self.end) + 1;
        start >= next + self.wait && self.within.is_none_or(|within| start <= next + within)
    }
}

/// The done steps that a step comes after; none where it is in progress.
pub(super) fn done_before(shop: &Shop, step: StepId) -> Vec<DonePredecessor<'_>> {
    let facts = &shop.steps[step];
    let text = written(shop, step);
    let before = |job: JobId, id, wait, within| {
        let steps = &shop.book.jobs[job.index()].steps;
        let done = steps.iter().find(|step| step.id == id)?.done.as_ref()?;
        Some(DonePredecessor { job, id, end: done.end, wait, within })
    };
    match &text.after {
        _ if text.progress.is_some() => Vec::new(),
        None => {
            let steps = &shop.book.jobs[facts.job.index()].steps;
            facts.listed.checked_sub(1).and_then(|k| before(facts.job, &steps[k].id, 0, None)).into_iter().collect()
        }
        Some(after) => after
            .iter()
            .map(yardless_book::After::link)
            .filter_map(|link| {
                let of = link.job.map_or(Some(facts.job), |id| shop.find_job(id))?;
                before(of, link.step, i64::from(link.wait), link.within.map(i64::from))
            })
            .collect(),
    }
}

/// W6 with steps that are done: what comes after starts late enough, and soon enough.
pub(super) fn after_done(shop: &Shop, step: StepId, work: &KnownRow, found: &mut Found) {
    let start = work.row.start;
    for before in done_before(shop, step) {
        if !before.allows(shop, shop.horizon.offset(start)) {
            let (job, done, ends) = (before.job, before.id.to_owned(), before.end);
            found.say(Rule::W6, OfHistory::NotAfterDone { step, start, job, done, ends });
        }
    }
}

/// The units that a job that has begun holds now: parked, and of a step in progress.
pub(super) fn held_now(shop: &Shop, job: JobId) -> Vec<UnitId> {
    let text = &shop.book.jobs[job.index()];
    let parked = text.parked.iter().filter(|parked| has_begun(text, parked) && !is_over(text, parked));
    let parked = parked.flat_map(|parked| &parked.units);
    let going = text.steps.iter().filter_map(|step| step.progress.as_ref()).flat_map(|progress| &progress.units);
    parked.chain(going).filter_map(|id| shop.find_unit(id)).collect()
}

/// E7: whether the step has begun with which a parked need of a job that has begun is first held; always where it gives none.
pub(super) fn has_begun(job: &yardless_book::Job, parked: &yardless_book::Parked) -> bool {
    let begun = |id: &String| {
        let step = job.steps.iter().find(|step| step.id == *id);
        step.is_some_and(|step| step.done.is_some() || step.progress.is_some())
    };
    parked.from.as_ref().is_none_or(begun)
}

/// E7: whether the step is done with which a parked need is held last.
pub(super) fn is_over(job: &yardless_book::Job, parked: &yardless_book::Parked) -> bool {
    parked.to.as_ref().is_some_and(|to| job.steps.iter().any(|step| step.id == *to && step.done.is_some()))
}

/// When a step starts, by which crew, with which helpers.
type ByWhom<'a> = (HalfDay, &'a str, &'a [String]);

/// C7: steps that the kept plan starts at or after now, and that are done otherwise or no longer.
pub(super) fn changes(shop: &Shop, plan: &Plan, kept: &[KeptStep]) -> Cents {
    let now = shop.horizon.half_day(shop.now);
    let jobs: BTreeSet<&str> = shop.book.jobs.iter().map(|job| job.id.as_str()).collect();
    let mut starts: BTreeMap<(&str, &str), ByWhom<'_>> = BTreeMap::new();
    for row in plan.steps.iter().filter(|row| row.span == 1 && jobs.contains(row.job.as_str())) {
        starts.entry((&row.job, &row.step)).or_insert((row.start, &row.crew, &row.with));
    }
    // What is done or in progress counts as the book has it, whatever the plan says.
    for job in &shop.book.jobs {
        let going = job.steps.iter().filter_map(|step| Some((step, step.progress.as_ref()?)));
        starts.extend(going.map(|(step, going)| {
            ((job.id.as_str(), step.id.as_str()), (going.start, going.crew.as_str(), going.with.as_slice()))
        }));
        let done = job.steps.iter().filter_map(|step| Some((step, step.done.as_ref()?)));
        starts.extend(done.map(|(step, done)| {
            ((job.id.as_str(), step.id.as_str()), (done.start, done.crew.as_str(), done.with.as_slice()))
        }));
    }
    let in_time = told_before(shop, now, shop.book.shop.notice_half_days);
    let far = shop.book.shop.told_half_days.map(|far| told_before(shop, now, far));
    let prices = &shop.book.prices;
    let change = |kept: &KeptStep| {
        let price = match starts.get(&(kept.job.as_str(), kept.step.as_str())) {
            Some((start, crew, with)) if *crew == kept.crew && same(with, &kept.with) && *start == kept.start => {
                return Cents::ZERO;
            }
            Some((start, crew, with))
                if *crew == kept.crew && same(with, &kept.with) && start.date() == kept.start.date() =>
            {
                prices.change_same_date.unwrap_or(prices.change)
            }
            _ => prices.change,
        };
        if far.is_some_and(|far| far.is_some_and(|far| far <= kept.start)) {
            return Cents::ZERO;
        }
        price * if in_time.is_some_and(|in_time| in_time <= kept.start) { 1 } else { 2 }
    };
    kept.iter().filter(|kept| kept.start >= now).map(change).sum()
}

/// N3: the first half-day before which, from now on, so many lie that the shop works. `None`: there is none.
fn told_before(shop: &Shop, now: HalfDay, half_days: u32) -> Option<HalfDay> {
    let facts = &shop.book.shop;
    let days: Vec<Weekday> = facts.work_days.iter().map(|day| Weekday::from(*day)).collect();
    let mut closed: Vec<Range> = facts.closed.iter().flat_map(|when| when.stretches()).collect();
    closed.sort_by_key(|range| range.first);
    let mut closed = closed.into_iter().peekable();
    let (mut h, mut worked) = (now, 0);
    while worked < half_days {
        if days.is_empty() {
            return None;
        }
        // A closed range may last for centuries: it is passed over whole.
        while let Some(range) = closed.next_if(|range| range.first <= h) {
            h = h.max(range.last.following());
        }
        // Nothing is written of what lies after the last date of all.
        if h.date().year() >= 2200 {
            return None;
        }
        worked += u32::from(days.contains(&h.date().weekday()));
        h = h.following();
    }
    Some(h)
}

/// Whether two lists name the same helpers, in any order.
fn same(a: &[String], b: &[String]) -> bool {
    let sorted = |list: &[String]| {
        let mut list = list.to_vec();
        list.sort_unstable();
        list
    };
    sorted(a) == sorted(b)
}
