//! What a new plan changes: by job what was, is and why; hauls; whom to tell; what must stand somewhere before a road closes.

use std::collections::{BTreeMap, BTreeSet};

use yardless_answer::{Because, JobChange, changes, haul_breaks, other_hauls};
use yardless_book::Moves;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_engine::{Leaning, STANDS};
use yardless_plan::shop::{Closure, RoadState, Shop};
use yardless_plan::{HaulRow, Plan, StepRow};

use super::breach::{few, on_sheet};
use super::course::Course;
use super::told::Told;
use super::word_given::words_broken;
use super::words::{ReadOn, half, span, the_rest, together};

/// Plans to choose from, a row each: what it costs, what changes, what it leans to.
pub fn choices(shop: &Shop, kept: &Plan, plans: &[(Leaning, Plan)]) -> Told {
    let mut rows = vec![
        ["CHOICE", "keeps more to", "cost", "without changes", "rows moved", "in 3 days", "Late, left out"]
            .map(str::to_owned),
    ];
    for (n, (leaning, plan)) in plans.iter().enumerate() {
        let leans = match leaning {
            Leaning::Balanced => "what the book's prices weigh best",
            Leaning::Unchanged => "as few changes as can be",
            Leaning::Cheapest => "least cost, whatever was told",
            Leaning::NoOvertime => "no overtime",
        };
        let moved = moved(shop, kept, plan);
        let soon = shop.horizon.half_day((shop.now + 6).min(shop.len() - 1));
        let in_days = moved.iter().filter(|start| **start < soon).count();
        rows.push([
            format!("{}", n + 1),
            leans.to_owned(),
            format!("${}", plan.cost),
            format!("${}", plan.cost - plan.costs.changes),
            moved.len().to_string(),
            in_days.to_string(),
            format!("${}, ${}", plan.costs.late, plan.costs.left_out),
        ]);
    }
    Told::default().rule().head("CHOICES · the first is printed below; --choice N takes another").headed(
        2,
        rows,
        [6, 34, 12, 15, 10, 9, 0],
    )
}

/// The kept starts of the steps that are done otherwise, or not at all.
fn moved(shop: &Shop, kept: &Plan, new: &Plan) -> Vec<HalfDay> {
    let steps = changes(shop, kept, new).into_iter().flat_map(|change| change.steps);
    steps.filter_map(|step| Some(step.was?.start)).collect()
}

/// The sheet of changes.
pub fn changed(shop: &Shop, kept: &Plan, new: &Plan, on: ReadOn) -> Told {
    let now = half(shop.horizon.half_day(shop.now));
    let mut told = Told::default().rule().head(format!("WHAT CHANGES · from {now} on, against the plan given out"));
    if new.stopped == STANDS {
        told = told.gap().head("Nothing: the plan given out still holds, and no other is worth changing it.");
    }
    let jobs = changes(shop, kept, new);
    for job in &jobs {
        told = told.then(job_changes(shop, job, on));
    }
    let hauls = hauls(shop, kept, new);
    if !hauls.is_empty() {
        told = told.gap().head("Hauls").rows(2, hauls, [8, 0]);
    }
    let to_be_told = self::told(shop, &jobs, kept, new, on);
    if !to_be_told.is_empty() {
        told = told.gap().head("To be told").rows(2, to_be_told, [30, 0]);
    }
    let before = before_it_closes(&Course::new(shop, new));
    if !before.is_empty() {
        told = told.gap().head("Before a road closes to trailers").rows(2, before, [26, 30, 0]);
        told = told.head("  Whoever drives looks at the road and decides; a forecast is not the road.");
    }
    told
}

fn job_changes(shop: &Shop, change: &JobChange, on: ReadOn) -> Told {
    let facts = &shop.jobs[change.job];
    let mut rows: Vec<[String; 3]> = Vec::new();
    for step in &change.steps {
        let name = shop.find_step(change.job, &step.step).map(|id| shop.steps[id].name.clone());
        let name = name.unwrap_or_else(|| step.step.clone());
        let name = if step.span == 2 { the_rest(&name) } else { name };
        let (mark, says) = match (&step.was, &step.is) {
            (Some(was), Some(is)) => ("moved", format!("was {}; is {}", told_row(shop, was), told_row(shop, is))),
            (None, Some(is)) => ("new", told_row(shop, is)),
            (Some(was), None) => ("dropped", format!("was {}", told_row(shop, was))),
            (None, None) => continue,
        };
        rows.push([mark.to_owned(), name, says]);
    }
    let because = match &change.because {
        Because::New => "it was not in the plan given out".to_owned(),
        Because::NotBegun => {
            let by = if on == ReadOn::Terminal { " (`yardless note` does)" } else { "" };
            format!("it was to have begun by now, and the book does not say that it has{by}")
        }
        Because::Breaks(breaches) | Because::InTheWay(breaches) => {
            let says: Vec<String> = few(shop, breaches).iter().map(|breach| on_sheet(shop, breach)).collect();
            says.join("; ")
        }
        Because::Cheaper(saved) => format!("it could stay as it was, but the whole costs ${saved} less so"),
        Because::NotFound(Cents::ZERO) => "it could stay as it was at the same cost".to_owned(),
        Because::NotFound(saved) => {
            format!("it could stay as it was for ${saved} less: that was not found in the time given")
        }
    };
    let because = vec![["because".to_owned(), because]];
    Told::default().gap().head(&facts.name).rows(2, rows, [8, 26, 0]).rows(2, because, [8, 0])
}

fn told_row(shop: &Shop, row: &StepRow) -> String {
    let crew = together(std::iter::once(&row.crew).chain(&row.with).map(|crew| shop.crew_name(crew)));
    let overtime = if row.overtime { ", overtime" } else { "" };
    format!("{crew}, {}{overtime}", span(row.start, row.end))
}

fn hauls(shop: &Shop, kept: &Plan, new: &Plan) -> Vec<[String; 2]> {
    let says = |row: &HaulRow| {
        let evening = if row.evening { ", evening" } else { "" };
        {
            let (unit, from, to) = (shop.unit_name(&row.unit), shop.place_name(&row.from), shop.place_name(&row.to));
            let truck = shop.truck_name(&row.truck);
            format!("{}{evening}: {unit}, {from} to {to}, {truck}", half(row.at))
        }
    };
    let mut rows: Vec<(HalfDay, [String; 2])> = Vec::new();
    let dropped = |row: &HaulRow| match few(shop, &haul_breaks(shop, new, row)).first() {
        Some(breach) => format!("{}; because {}", says(row), on_sheet(shop, breach)),
        None => says(row),
    };
    rows.extend(other_hauls(shop, kept, new).into_iter().map(|row| (row.at, ["dropped".to_owned(), dropped(row)])));
    rows.extend(other_hauls(shop, new, kept).into_iter().map(|row| (row.at, ["new".to_owned(), says(row)])));
    rows.sort();
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Customers whose finish moves, and crews whose next two worked days do.
fn told(shop: &Shop, jobs: &[JobChange], kept: &Plan, new: &Plan, on: ReadOn) -> Vec<[String; 2]> {
    let mut rows = Vec::new();
    for change in jobs.iter().filter(|change| change.was_over.is_some() && change.was_over != change.is_over) {
        let facts = &shop.jobs[change.job];
        let contact = shop.book.jobs.iter().find(|job| job.id == facts.id).and_then(|job| job.contact.clone());
        let was = change.was_over.map_or(String::new(), half);
        let part = new.parts().any(|row| row.job == facts.id);
        let ahead = change.is_over.filter(|is| !part || *is >= shop.horizon.half_day(shop.now));
        let is = if let Some(is) = ahead {
            let is = half(is);
            if part {
                format!("until {is}, the rest after these weeks; was {was}")
            } else {
                format!("done {is}, not {was}")
            }
        } else if part {
            format!("after these weeks, instead of {was}")
        } else {
            let why = new.left_out.iter().find(|row| row.job == facts.id).map_or("", |row| row.why.as_str());
            format!("not within these weeks, instead of {was}: {why}")
        };
        let contact = contact.map_or(String::new(), |contact| format!(" ({contact})"));
        rows.push([format!("{}{contact}", facts.name), is]);
    }
    let before = words_broken(shop, kept);
    for word in words_broken(shop, new).into_iter().filter(|word| !before.contains(word)) {
        let contact = if word.contact.is_empty() { String::new() } else { format!(" ({})", word.contact) };
        rows.push([format!("{}{contact}", word.job_name), format!("{}: {}", word.step, word.what())]);
    }
    let soon = soon(shop);
    for crew in
        upset(shop, jobs, kept, new).into_iter().filter(|(_, at)| at.first() <= Some(&soon)).map(|(crew, _)| crew)
    {
        let how = match on {
            ReadOn::Terminal => format!("`yardless week PLAN --crew {crew}` writes the message"),
            ReadOn::Page => "its sheet is under Crews".to_owned(),
        };
        rows.push([shop.crew_name(&crew).to_owned(), format!("the next two days change; {how}")]);
    }
    rows
}

/// The last half-day of the next two days that the shop works.
pub(super) fn soon(shop: &Shop) -> HalfDay {
    let open = (shop.now..shop.len()).filter(|h| shop.open[*h]).take(4).last();
    shop.horizon.half_day(open.unwrap_or(shop.now))
}

/// The crews that work or haul otherwise than by the kept plan, by id, each with the half-days from which on.
pub(super) fn upset(shop: &Shop, jobs: &[JobChange], kept: &Plan, new: &Plan) -> BTreeMap<String, BTreeSet<HalfDay>> {
    let mut crews: BTreeMap<String, BTreeSet<HalfDay>> = BTreeMap::new();
    for row in jobs.iter().flat_map(|change| &change.steps).flat_map(|step| [&step.was, &step.is]).flatten() {
        for crew in std::iter::once(&row.crew).chain(&row.with) {
            crews.entry(crew.clone()).or_default().insert(row.start);
        }
    }
    // Who hauls otherwise must know as well.
    for haul in other_hauls(shop, kept, new).into_iter().chain(other_hauls(shop, new, kept)) {
        let truck = shop.trucks.iter().find(|truck| truck.id == haul.truck);
        if let Some(crew) = truck.and_then(|truck| truck.crew) {
            crews.entry(shop.crews[crew].id.clone()).or_default().insert(haul.at);
        }
    }
    crews
}

/// Trailers that a road's closing would keep from where they are next wanted: where, by when, and who hauls them.
fn before_it_closes(course: &Course) -> Vec<[String; 3]> {
    let shop = course.shop;
    let mut rows: Vec<(usize, [String; 3])> = Vec::new();
    for (unit, holds) in course.holds.pairs().filter(|(unit, _)| shop.units[*unit].moves == Moves::Towed) {
        for hold in holds {
            let place = shop.jobs[hold.job].place;
            let arrives =
                course.trips.iter().filter(|trip| trip.unit == unit && trip.to == place && trip.at <= hold.first);
            let Some(trip) = arrives.max_by_key(|trip| trip.at) else { continue };
            let weather = |h: &usize| {
                matches!(
                    shop.places[place].road[*h],
                    RoadState::Closed(Closure::Storm | Closure::NoTravel | Closure::Covered)
                )
            };
            let Some(closed) = (trip.at + 1..=hold.last).find(weather) else { continue };
            let opens = (closed..shop.len()).find(|h| !weather(h));
            let until = opens.map_or("the end of these weeks".to_owned(), |h| half(shop.horizon.half_day(h)));
            let truck = &shop.trucks[trip.truck].name;
            let when = format!("{} {}", half(shop.horizon.half_day(trip.at)), trip.moment(shop));
            rows.push((
                trip.at,
                [
                    shop.units[unit].name.clone(),
                    format!("at {}", shop.places[place].name),
                    format!(
                        "by {}, closed until {until}; {truck} hauls it {when}",
                        half(shop.horizon.half_day(closed))
                    ),
                ],
            ));
        }
    }
    rows.sort();
    rows.dedup();
    rows.into_iter().map(|(_, row)| row).collect()
}
