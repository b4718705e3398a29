//! The plan as a whole: left out, late, cost, proof, and what it takes for granted.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use yardless_book::money::Cents;
use yardless_book::visible;
use yardless_engine::impossible;
use yardless_plan::shop::{Id, JobId, Part, PlaceId, Shop, Want};
use yardless_plan::{LeftOutRow, Plan};

use super::chances::due_dates;
use super::course::{Course, Work};
use super::in_part::{crowded_out, in_part};
use super::open_sites::open_sites;
use super::standing::{hire, standing};
use super::told::Told;
use super::word_given::{WordBroken, words_broken};
use super::words::{count, day, half, list};

/// Everything that is said once for all weeks; how likely each due date is only where asked for, as it takes a moment.
pub fn foot(course: &Course, chance: bool) -> Told {
    let shop = course.shop;
    let monday = shop.horizon.monday().format("%a %-d %b %Y");
    let mut rows: Vec<[String; 2]> = Vec::new();
    let mut say = |head: &str, lines: Vec<String>| {
        for (n, line) in lines.into_iter().enumerate() {
            rows.push([if n == 0 { head.to_owned() } else { String::new() }, line]);
        }
    };
    say("Jobs", vec![jobs(course)]);
    say("Done", done(course));
    say("Left out", left_out(course));
    say("In part", in_part(shop, course.plan));
    say("Later", later(course));
    say("Late", late(course).into_iter().chain(late_steps(course)).collect());
    say("Told", told_otherwise(course));
    say("Open", open_sites(course));
    say("Standing", standing(course));
    say("Hire", hire(course));
    if chance {
        say("Chance", due_dates(course.shop, course.plan));
    }
    say("Cost", vec![spent(course)]);
    say("Not done", not_done(course));
    say("How good", proof(course));
    say("Assumed", assumed(course));
    let weeks = count(shop.horizon.weeks() as usize, "week", "weeks");
    Told::default().rule().head(format!("THE WHOLE PLAN · {weeks} from {monday}")).rows(0, rows, [10, 0])
}

fn jobs(course: &Course) -> String {
    let plan = course.plan;
    let all = course.shop.jobs.len();
    let has_rows = |id: &str| plan.steps.iter().any(|row| row.job == id);
    let done = course.shop.jobs.iter().filter(|job| job.over() || has_rows(&job.id)).count();
    let part = plan.parts().count();
    let of_them = if part == 0 { String::new() } else { format!(" ({part} in part)") };
    format!("{done} of {all} done{of_them}, {} left out, {} later", plan.left_out.len(), plan.later.len() - part)
}

/// What was done before the plan begins, a line a job (N1).
fn done(course: &Course) -> Vec<String> {
    let jobs = course.shop.jobs.iter().filter(|job| !job.past.is_empty());
    jobs.map(|job| {
        let steps: Vec<String> = job.past.iter().map(|step| format!("{} ({})", step.name, half(step.end))).collect();
        format!("{}: {}{}", job.name, list(&steps), if job.over() { "; all of it" } else { "" })
    })
    .collect()
}

fn left_out(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let found = |id: &str| shop.find_job(id);
    course
        .plan
        .left_out
        .iter()
        .map(|row| match found(&row.job) {
            Some(job) => {
                let crowded = crowded_out(shop, job);
                format!("{}: {} (${}){crowded}", shop.jobs[job].name, row.why, shop.jobs[job].left_out)
            }
            None => format!("{}: {}", row.job, row.why),
        })
        .collect()
}

/// The jobs that a plan leaves out, each with the reason.
pub fn not_planned(shop: &Shop, plan: &Plan) -> Vec<(String, String)> {
    let why = |row: &LeftOutRow| {
        let job = shop.find_job(&row.job);
        match job.and_then(|job| impossible(shop, job)) {
            Some(why) => format!("no plan can do it: {}", why.says_with(shop, half)),
            None => row.why.clone(),
        }
    };
    plan.left_out.iter().map(|row| (shop.job_name(&row.job).to_owned(), why(row))).collect()
}

fn later(course: &Course) -> Vec<String> {
    let book = &course.shop.book;
    course
        .plan
        .later
        .iter()
        .filter(|row| row.steps.is_empty())
        .filter_map(|row| book.jobs.iter().find(|job| job.id == row.job))
        .map(|job| {
            let wait = job.waits_on.iter().find(|wait| wait.expected.is_none());
            let last = job.waits_on.iter().filter_map(|wait| wait.expected).chain(job.earliest).max();
            let from = match (wait, last) {
                (Some(wait), _) => format!(": waits on {}, for which no date is known", visible(&wait.what)),
                (None, Some(date)) => format!(": not before {}", date.format("%a %-d %b %Y")),
                (None, None) => ": none of its steps can end in these weeks".to_owned(),
            };
            format!("{}{from}", course.shop.job_name(&job.id))
        })
        .collect()
}

fn late(course: &Course) -> Vec<String> {
    let shop = course.shop;
    shop.jobs
        .pairs()
        .filter_map(|(id, job)| {
            let (due, (_, end)) = (job.due?, course.span(id)?);
            let cost = job.late[end];
            (cost > Cents::ZERO).then(|| {
                let days = shop.worked_dates(due, shop.horizon.date(end)) as usize;
                format!(
                    "{}: due {}, ends {}: {} late (${cost})",
                    job.name,
                    due.format("%a %-d %b"),
                    half(shop.horizon.half_day(end)),
                    count(days, "working day", "working days"),
                )
            })
        })
        .collect()
}

/// Steps that end after a date of their own.
fn late_steps(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let row = |work: &Work| {
        let facts = &shop.steps[work.step];
        let cost = shop.end_cost(work.step, work.end);
        let text = &shop.book.jobs[facts.job.index()].steps[facts.listed];
        let due = text.due.filter(|_| cost > Cents::ZERO)?;
        let (step, job) = (&facts.name, &shop.jobs[facts.job].name);
        let ends = half(shop.horizon.half_day(work.end));
        Some(format!("{step} of {job}: due {}, ends {ends} (${cost})", due.format("%a %-d %b")))
    };
    course.works.iter().filter(|work| last_of(course, work)).filter_map(row).collect()
}

/// Whether a piece of work ends its step.
fn last_of(course: &Course, work: &Work) -> bool {
    course.works.iter().all(|other| other.step != work.step || other.end <= work.end)
}

/// Dates that somebody was told and that do not hold, with whom to call.
fn told_otherwise(course: &Course) -> Vec<String> {
    let line = |word: WordBroken| {
        let call = if word.contact.is_empty() { String::new() } else { format!("; call {}", word.contact) };
        format!("{} of {}: {}{call}", word.step, word.job_name, word.what())
    };
    words_broken(course.shop, course.plan).into_iter().map(line).collect()
}

/// What the plan takes, term by term; what is left out is no money spent, and stands by itself.
fn spent(course: &Course) -> String {
    let costs = course.plan.costs;
    let terms = [
        ("late", costs.late),
        ("hauls", costs.hauls),
        ("crews", costs.crews),
        ("waiting", costs.waiting),
        ("ways", costs.ways),
        ("changes", costs.changes),
        ("overtime", costs.overtime),
        ("returns", costs.returns),
        ("told", costs.told),
        ("help", costs.help),
        ("standing", costs.standing),
        ("hire", costs.hire),
        ("reserve", costs.reserve),
        ("driving", costs.driving),
        ("open", costs.open),
        ("home late", costs.home),
        ("not cleared", costs.clear),
    ];
    let words: Vec<String> = terms
        .iter()
        .filter(|(_, cents)| *cents != Cents::ZERO)
        .map(|(term, cents)| format!("{term} {cents}"))
        .collect();
    let spent = costs.total() - costs.left_out;
    if words.is_empty() { format!("${spent}") } else { format!("{} = ${spent}", words.join(" + ")) }
}

/// What the jobs are put at that are not planned.
fn not_done(course: &Course) -> Vec<String> {
    let costs = course.plan.costs;
    let says = || {
        let jobs = count(course.plan.left_out.len(), "job", "jobs");
        format!("{jobs} not planned, put at ${}; with that the plan is weighed at ${}", costs.left_out, costs.total())
    };
    (costs.left_out > Cents::ZERO).then(says).into_iter().collect()
}

/// How good the plan provably is. A gap is rounded up: never better than it is.
fn proof(course: &Course) -> Vec<String> {
    let plan = course.plan;
    let mut lines = Vec::new();
    match plan.bound.filter(|bound| *bound <= plan.cost) {
        Some(bound) if bound == plan.cost => lines.push("Proven best: no plan costs less.".to_owned()),
        Some(bound) => {
            lines.push(format!("{}: no plan costs less than ${bound}.", within(plan.cost, bound)));
            let hopeless: Cents = plan
                .left_out
                .iter()
                .filter_map(|row| course.shop.find_job(&row.job))
                .filter(|job| no_plan_does(course.shop, *job))
                .map(|job| course.shop.jobs[job].left_out)
                .sum();
            if hopeless > Cents::ZERO && plan.cost > hopeless {
                lines.push(format!(
                    "{} without the ${hopeless} of jobs that no plan can do.",
                    within(plan.cost - hopeless, bound - hopeless)
                ));
            }
        }
        None => lines.push("How much better a plan could be is not known.".to_owned()),
    }
    if !plan.stopped.is_empty() {
        lines.push(format!("The search ended: {}.", plan.stopped.trim_end_matches('.')));
    }
    lines
}

fn within(cost: Cents, bound: Cents) -> String {
    // Tenths of a percent in whole numbers; the cost is above the bound here, and so above 0.
    let tenths = ((cost - bound).0 * 1000 + cost.0 - 1) / cost.0;
    format!("Within {}.{} % of the best possible", tenths / 10, tenths % 10)
}

/// Whether the book alone shows that no plan of this horizon does the job.
fn no_plan_does(shop: &Shop, job: JobId) -> bool {
    let facts = &shop.jobs[job];
    let enough = |want: Want, n: usize| shop.units.iter().filter(|unit| unit.serves(want)).count() >= n;
    facts.follows_later.is_some()
        || !facts.parked.iter().all(|parked| enough(parked.need.want, parked.need.count))
        || facts.step_ids().any(|step| {
            !shop.choices(step).any(|(way, _, runs)| {
                runs.iter().any(|(start, _)| {
                    shop.start_allowed(step, start)
                        && shop.needs(step, Part::Whole, way, start).all(|need| enough(need.want, need.count))
                })
            })
        })
}

fn assumed(course: &Course) -> Vec<String> {
    let mut lines = no_reports(course);
    lines.extend(clear_roads(course));
    lines.extend(estimates(course));
    let hauled = |id: &str| course.trips.iter().any(|trip| course.shop.units[trip.unit].id == id);
    lines.extend(super::lacks::weights(&course.shop.book, |unit| hauled(&unit.id)));
    if course.shop.book.roads.iter().any(|road| !road.no_trailers.is_empty()) {
        lines.push(
            "When roads are closed to trailers, and the limits of wind and cold are the shop's own policy; no published rule for trailers on \
             winter roads was found."
                .to_owned(),
        );
    }
    let travel = if course.shop.counts_driving() {
        "The drives of crews with a home cost and take no time; other crews' own travel"
    } else {
        "Crews' own travel"
    };
    lines.push(format!(
        "{travel}, a truck's whereabouts and the hands that a haul takes are not counted; equipment may stand at a \
         finished site."
    ));
    lines
}

/// From when on no weather is known, at the places that the plan uses.
fn no_reports(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let used: BTreeSet<PlaceId> = course
        .works
        .iter()
        .map(|work| shop.jobs[work.job].place)
        .chain(course.trips.iter().flat_map(|trip| [trip.from, trip.to]))
        .collect();
    let mut by_date: BTreeMap<Option<NaiveDate>, Vec<String>> = BTreeMap::new();
    for place in used {
        let facts = &shop.places[place];
        if facts.last_report.is_none_or(|last| last < shop.horizon.last_date()) {
            by_date.entry(facts.last_report).or_default().push(facts.name.clone());
        }
    }
    // The date that most places share is said for all, the others by name.
    let most = by_date.iter().max_by_key(|(_, names)| names.len()).map(|(last, _)| *last);
    let after = |last: Option<NaiveDate>| match last {
        Some(date) => format!("after {}", date.format("%a %-d %b")),
        None => "at all".to_owned(),
    };
    let Some(most) = most else { return Vec::new() };
    if most.is_none() && by_date.len() == 1 {
        return vec!["No report: no weather is assumed.".to_owned()];
    }
    let others = by_date.iter().filter(|(last, _)| **last != most);
    let all: Vec<String> = std::iter::once(after(most))
        .chain(others.map(|(last, names)| format!("{} at {}", after(*last), list(names))))
        .collect();
    vec![format!("No report {}: no weather is assumed there from then on.", all.join(", "))]
}

/// The weekdays on which roads are expected clear, where a haul leans on it.
fn clear_roads(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let mut by_road: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
    for trip in course.trips.iter().filter(|trip| trip.needs_clear) {
        for place in [trip.from, trip.to] {
            let facts = &shop.places[place];
            if facts.road[trip.at] == yardless_plan::shop::RoadState::ExpectedClear {
                by_road.entry(facts.road_name.clone().unwrap_or_default()).or_default().insert(trip.at);
            }
        }
    }
    by_road
        .into_iter()
        .map(|(road, at)| {
            let dates: BTreeSet<NaiveDate> = at.iter().map(|h| shop.horizon.date(*h)).collect();
            let mut weekdays: Vec<String> = Vec::new();
            for name in dates.iter().map(|date| format!("{}s", date.format("%A"))) {
                if !weekdays.contains(&name) {
                    weekdays.push(name);
                }
            }
            let mut dates: Vec<String> = at.iter().map(|h| day(shop.horizon.half_day(*h))).collect();
            dates.dedup();
            format!("{road} expected clear on {}: hauls lean on it on {}.", list(&weekdays), list(&dates))
        })
        .collect()
}

/// The drives that are estimated from coordinates.
fn estimates(course: &Course) -> Option<String> {
    let shop = course.shop;
    let mut drives: BTreeSet<(usize, usize)> = BTreeSet::new();
    for trip in course.trips.iter().filter(|trip| trip.time.is_some_and(|time| time.estimate)) {
        drives.insert((trip.from.index().min(trip.to.index()), trip.from.index().max(trip.to.index())));
    }
    let name = |index: usize| shop.places[PlaceId::from_index(index)].name.clone();
    let words: Vec<String> = drives.into_iter().map(|(a, b)| format!("{} - {}", name(a), name(b))).collect();
    (!words.is_empty()).then(|| format!("Drives estimated from coordinates: {}.", words.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gap_is_never_printed_smaller_than_it_is() {
        // 0.01 of 1,000.00 is 0.001 %: up to 0.1. 23.01 of 1,000.00 is 2.301 %: up to 2.4. 25.00 is 2.5 exactly.
        for (bound, printed) in [(99_999, "0.1"), (97_699, "2.4"), (97_500, "2.5")] {
            assert_eq!(within(Cents(100_000), Cents(bound)), format!("Within {printed} % of the best possible"));
        }
    }
}
