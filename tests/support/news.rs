//! What people say between two plans of a shop of persons: who stays away, who came instead, what is waited on, what was
//! promised, and who calls with one more job.

use chrono::{Days, NaiveDate};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Away, Book, Extra, Job, Step, ToldWindow, WaitsOn};
use yardless_plan::shop::Shop;
use yardless_plan::{Plan, StepRow};

use super::draw::Draw;

/// All that is heard at a half-day; `calls` are jobs as people may call for.
pub fn news(book: &mut Book, calls: &[Job], now: HalfDay, draw: &mut Draw) {
    if draw.chance(45) {
        stays_away(book, now, draw);
    }
    for _ in 0..draw.below(3) {
        waited_on(book, now.date(), draw);
    }
    if draw.chance(25) {
        shut(book, now, draw);
    }
    if draw.chance(40) {
        call(book, calls, now.date(), draw);
    }
}

/// A crew does not come for some half-days, from now on.
fn stays_away(book: &mut Book, now: HalfDay, draw: &mut Draw) {
    let crew = draw.below(book.crews.len());
    let away = serde_json::json!({ "on": for_a_while(now, draw) });
    book.crews[crew].away.push(serde_json::from_value::<Away>(away).expect("an entry"));
}

/// A house is shut for some half-days.
fn shut(book: &mut Book, now: HalfDay, draw: &mut Draw) {
    let job = draw.below(book.jobs.len());
    book.jobs[job].no_access.push(for_a_while(now, draw).parse::<Range>().expect("a range").into());
}

fn for_a_while(now: HalfDay, draw: &mut Draw) -> String {
    let last = (0..draw.below(7)).fold(now, |last, _| last.following());
    format!("{now}/{last}")
}

/// Of something that is waited on one hears that it comes as said, later, sooner, or nobody knows when; or that it comes
/// at last.
fn waited_on(book: &mut Book, now: NaiveDate, draw: &mut Draw) {
    let mut all: Vec<&mut WaitsOn> = Vec::new();
    for job in book.jobs.iter_mut().filter(|job| !job.steps.iter().any(Step::started)) {
        all.extend(&mut job.waits_on);
        all.extend(job.steps.iter_mut().flat_map(|step| &mut step.waits_on));
    }
    if all.is_empty() {
        return;
    }
    let which = draw.below(all.len());
    let wait = &mut *all[which];
    match (wait.expected, draw.below(5)) {
        (Some(_), 0 | 1) => wait.confirmed = true,
        (Some(date), 2) => (wait.expected, wait.confirmed) = (Some(date.max(now) + days(draw, 9)), false),
        (Some(date), 3) => (wait.expected, wait.confirmed) = (Some(date - days(draw, 4)), true),
        (Some(_), _) => (wait.expected, wait.confirmed) = (None, false),
        (None, 0..=2) => wait.expected = Some(now + days(draw, 9)),
        (None, _) => {}
    }
    unfix(book);
}

fn days(draw: &mut Draw, most: usize) -> Days {
    Days::new(draw.between(1, most) as u64)
}

/// A start that was fixed before what is waited on now is moved by the owner (W14).
fn unfix(book: &mut Book) {
    for job in &mut book.jobs {
        let of_job = job.waits_on.iter().filter_map(|wait| wait.expected).max();
        for step in &mut job.steps {
            let ordered = step.material.iter().filter_map(|of| of.expected);
            let latest = step.waits_on.iter().filter_map(|wait| wait.expected).chain(ordered).max().max(of_job);
            let fixed = step.fixed.as_ref().and_then(|fixed| fixed.start);
            if fixed.zip(latest).is_some_and(|(start, latest)| start < HalfDay::am(latest)) {
                step.fixed = None;
            }
        }
    }
}

/// One more job like those of the book, from now on.
fn call(book: &mut Book, calls: &[Job], now: NaiveDate, draw: &mut Draw) {
    let mut job = draw.pick(calls);
    job.id = format!("call{}", book.jobs.len());
    job.earliest = draw.chance(40).then(|| now + days(draw, 10));
    job.due = draw.chance(70).then(|| job.earliest.unwrap_or(now) + days(draw, 25));
    for wait in &mut job.waits_on {
        wait.expected = wait.expected.map(|_| now + days(draw, 10));
    }
    for step in &mut job.steps {
        step.fixed = None;
        step.told = None;
        step.due = step.due.map(|_| now + days(draw, 20));
        step.earliest = step.earliest.map(|_| now + days(draw, 60));
        step.due = step.due.filter(|_| step.earliest.is_none());
        for wait in &mut step.waits_on {
            wait.expected = wait.expected.map(|_| now + days(draw, 15));
        }
    }
    book.jobs.push(job);
}

/// Here and there another crew came to help than was planned: one that had nothing to do, of as many people. `from` is when
/// the plan's time began to be played: what had begun before is as it was. Gives how many came.
pub fn stand_in(book: &mut Book, shop: &Shop, plan: &Plan, from: HalfDay, draw: &mut Draw) -> usize {
    let mut came = 0;
    for row in plan.steps.iter().filter(|row| row.start >= from && row.span == 1 && !row.with.is_empty()) {
        if !draw.chance(50) {
            continue;
        }
        let away = row.with[draw.below(row.with.len())].clone();
        let Some(other) = idle(book, shop, plan, row, &away) else { continue };
        let mut steps = book.jobs.iter_mut().filter(|job| job.id == row.job).flat_map(|job| &mut job.steps);
        let Some(step) = steps.find(|step| step.id == row.step) else { continue };
        let with = match (&mut step.done, &mut step.progress) {
            (Some(done), _) => &mut done.with,
            (_, Some(progress)) => &mut progress.with,
            _ => continue,
        };
        for helper in with.iter_mut().filter(|helper| **helper == away) {
            helper.clone_from(&other);
            came += 1;
        }
    }
    came
}

/// A crew that has nothing to do while a row is worked on, and people there whenever the other would have had.
fn idle(book: &Book, shop: &Shop, plan: &Plan, row: &StepRow, away: &str) -> Option<String> {
    let works = |row: &StepRow, id: &String| row.crew == *id || row.with.contains(id);
    let busy = |id: &String| {
        let mut planned = plan.steps.iter().filter(|other| other.start <= row.end && row.start <= other.end);
        let mut going = book.jobs.iter().flat_map(|job| &job.steps).filter_map(|step| step.progress.as_ref());
        planned.any(|other| works(other, id)) || going.any(|going| going.crew == *id || going.with.contains(id))
    };
    let away = &shop.crews[shop.find_crew(away)?].people;
    let (from, to) = (shop.horizon.index(row.start)?, shop.horizon.index(row.end)?);
    let as_many = |people: &[u32]| (from..=to).all(|h| people[h] == away[h]);
    shop.crews.iter().find(|crew| crew.own && as_many(&crew.people) && !busy(&crew.id)).map(|crew| crew.id.clone())
}

/// Somebody is told the dates that the plan has for some steps to come.
pub fn tell(book: &mut Book, plan: &Plan, now: HalfDay, draw: &mut Draw) {
    for row in plan.steps.iter().filter(|row| row.start > now && row.span == 1) {
        if !draw.chance(10) {
            continue;
        }
        let mut steps = book.jobs.iter_mut().filter(|job| job.id == row.job).flat_map(|job| &mut job.steps);
        if let Some(step) = steps.find(|step| step.id == row.step && !step.started()) {
            let from = row.start.date();
            let to = from + Days::new(draw.below(3) as u64);
            step.told = Some(ToldWindow { from, to, day: None, extra: Extra::new() });
        }
    }
}
