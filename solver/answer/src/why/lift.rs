//! Facts of the book that may hold a job back, and the book without them.

use chrono::NaiveDate;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{After, Book, Job, Moves, Report, RoadReport, Step, Weather, When};
use yardless_plan::shop::Shop;

use crate::given::new_id;

/// A fact of the book that a what-if does without.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lift {
    /// What a weather entry, by its position, says.
    Weather(usize),
    /// The season in which no trailer goes on a road, by its id.
    Season(String),
    /// The weights posted on a road.
    Posted(String),
    /// A unit is out, by its id and the position of the range.
    UnitOut(String, usize),
    /// A truck is out.
    TruckOut(String, usize),
    /// People of a crew are away.
    Away(String, usize),
    /// A crew works at certain times only.
    Only(String),
    /// The shop is closed.
    Closed(usize),
    /// A job's own dates: `earliest`, `no_access` and `waits_on` of the job and its steps.
    Access(String),
    /// What is fixed of a job's steps.
    Fixed(String),
    /// The work on another job.
    Job(String),
    /// That there is no more of a kind of equipment than there is.
    Units(String),
    /// That no more crews have a skill than do.
    Crews(String),
    /// That a place has spots for so many trailers only.
    Spots(String),
    /// That there are no more trucks than there are.
    Trucks,
}

/// The facts that may bear on a job being done by a date, those told by the book in so many words first.
pub(super) fn all(shop: &Shop, job: &str, by: NaiveDate) -> Vec<Lift> {
    let book = &shop.book;
    let (now, until) = (shop.horizon.half_day(shop.now), HalfDay::pm(by));
    let about = Range { first: now, last: until.max(now) };
    let bears = |when: &When| when.within(about).is_some_and(|when| when.first().is_some());
    let positions = |ranges: &[When]| -> Vec<usize> { (0..ranges.len()).filter(|k| bears(&ranges[*k])).collect() };
    let Some(asked) = book.jobs.iter().find(|other| other.id == job) else { return Vec::new() };
    let mut lifts: Vec<Lift> = Vec::new();
    let stops = |entry: &Weather| bears(&entry.when()) && !lets_all(entry);
    lifts.extend((0..book.weather.len()).filter(|n| stops(&book.weather[*n])).map(Lift::Weather));
    lifts.extend(
        book.roads.iter().filter(|road| !road.no_trailers.is_empty()).map(|road| Lift::Season(road.id.clone())),
    );
    lifts.extend(book.roads.iter().filter(|road| !road.posted.is_empty()).map(|road| Lift::Posted(road.id.clone())));
    for unit in &book.equipment {
        lifts.extend(positions(&unit.out).into_iter().map(|k| Lift::UnitOut(unit.id.clone(), k)));
    }
    for truck in &book.trucks {
        lifts.extend(positions(&truck.out).into_iter().map(|k| Lift::TruckOut(truck.id.clone(), k)));
    }
    for crew in &book.crews {
        let away = (0..crew.away.len()).filter(|k| bears(&crew.away[*k].when()));
        lifts.extend(away.map(|k| Lift::Away(crew.id.clone(), k)));
        lifts.extend(crew.only.iter().map(|_| Lift::Only(crew.id.clone())));
    }
    lifts.extend(positions(&book.shop.closed).into_iter().map(Lift::Closed));
    let dated = |job: &Job| {
        job.earliest.is_some()
            || !job.no_access.is_empty()
            || !job.waits_on.is_empty()
            || job
                .steps
                .iter()
                .any(|step| step.earliest.is_some() || !step.no_access.is_empty() || step.waits().next().is_some())
    };
    let fixed = |job: &Job| job.steps.iter().any(|step| step.fixed.is_some());
    lifts.extend(book.jobs.iter().filter(|job| dated(job)).map(|job| Lift::Access(job.id.clone())));
    lifts.extend(book.jobs.iter().filter(|job| fixed(job)).map(|job| Lift::Fixed(job.id.clone())));
    let apart = |other: &&Job| other.id != job && !other.steps.iter().any(Step::started) && alone(book, other);
    lifts.extend(book.jobs.iter().filter(apart).map(|job| Lift::Job(job.id.clone())));
    lifts.extend(book.places.iter().filter(|place| place.trailer_spots.is_some()).map(|p| Lift::Spots(p.id.clone())));
    let mut kinds: Vec<&String> = asked.parked.iter().map(|need| &need.kind).collect();
    for step in &asked.steps {
        let ways = step.ways.iter().flatten().flat_map(|way| &way.needs);
        kinds.extend(step.needs.iter().chain(ways).map(|need| &need.kind));
    }
    if asked.steps.iter().any(takes_power) {
        kinds.extend(book.kinds.iter().filter(|kind| kind.power).map(|kind| &kind.id));
    }
    kinds.sort();
    kinds.dedup();
    lifts.extend(kinds.into_iter().map(|kind| Lift::Units(kind.clone())));
    let mut skills: Vec<&String> = asked.steps.iter().map(|step| &step.skill).collect();
    skills.sort();
    skills.dedup();
    lifts.extend(skills.into_iter().map(|skill| Lift::Crews(skill.clone())));
    lifts.push(Lift::Trucks);
    lifts
}

/// Whether some way of a step takes a unit that gives power (E5, E9).
fn takes_power(step: &Step) -> bool {
    (0..step.ways.as_ref().map_or(1, Vec::len)).any(|way| step.power(way) > 0)
}

/// Whether a weather entry stops nothing at all.
fn lets_all(entry: &Weather) -> bool {
    let said = |report: Report<bool>| report == Report::Said(true);
    !(said(entry.storm) || said(entry.no_travel) || said(entry.rain))
        && entry.roads != Report::Said(RoadReport::Covered)
        && matches!(entry.gust_mph, Report::Unsaid | Report::TakenBack)
        && matches!(entry.low_f, Report::Unsaid | Report::TakenBack)
        && matches!(entry.high_f, Report::Unsaid | Report::TakenBack)
}

/// Whether no other job comes after a step of it.
fn alone(book: &Book, job: &Job) -> bool {
    let after = |other: &Job| {
        let links = other.steps.iter().flat_map(|step| step.after.iter().flatten());
        links.map(After::link).any(|link| link.job == Some(job.id.as_str()))
    };
    !book.jobs.iter().any(after)
}

impl Lift {
    /// The book without it. The shop is that of the book with it.
    pub(super) fn apply(&self, book: &mut Book, shop: &Shop) {
        // A range that has passed is never asked about, and stands for one that is not there.
        let never =
            When::from(Range { first: HalfDay::am(NaiveDate::default()), last: HalfDay::am(NaiveDate::default()) });
        match self {
            // What earlier entries say holds again; the entry stays, as a date that is reported (H2).
            Self::Weather(n) => calm(&mut book.weather[*n]),
            Self::Season(id) => {
                book.roads.iter_mut().filter(|road| road.id == *id).for_each(|road| road.no_trailers.clear());
            }
            Self::Posted(id) => {
                book.roads.iter_mut().filter(|road| road.id == *id).for_each(|road| road.posted.clear());
            }
            Self::UnitOut(id, k) => {
                book.equipment.iter_mut().filter(|unit| unit.id == *id).for_each(|unit| unit.out[*k] = never);
            }
            Self::TruckOut(id, k) => {
                book.trucks.iter_mut().filter(|truck| truck.id == *id).for_each(|truck| truck.out[*k] = never);
            }
            Self::Away(id, k) => {
                book.crews.iter_mut().filter(|crew| crew.id == *id).for_each(|crew| crew.away[*k].on = never);
            }
            Self::Only(id) => book.crews.iter_mut().filter(|crew| crew.id == *id).for_each(|crew| crew.only = None),
            Self::Closed(k) => book.shop.closed[*k] = never,
            Self::Access(id) => book.jobs.iter_mut().filter(|job| job.id == *id).for_each(open),
            Self::Fixed(id) => {
                let jobs = book.jobs.iter_mut().filter(|job| job.id == *id);
                jobs.flat_map(|job| &mut job.steps).for_each(|step| step.fixed = None);
            }
            // Gone for these weeks.
            Self::Job(id) => {
                let beyond = shop.horizon.last_date() + chrono::Days::new(1);
                book.jobs.iter_mut().filter(|job| job.id == *id).for_each(|job| job.earliest = Some(beyond));
            }
            Self::Units(kind) => spare_units(book, shop, kind),
            Self::Crews(skill) => spare_crew(book, skill),
            Self::Spots(id) => {
                book.places.iter_mut().filter(|place| place.id == *id).for_each(|place| place.trailer_spots = None);
            }
            Self::Trucks => spare_truck(book),
        }
    }
}

/// An entry that says nothing bad any more.
fn calm(entry: &mut Weather) {
    for report in [&mut entry.storm, &mut entry.no_travel, &mut entry.rain] {
        if *report == Report::Said(true) {
            *report = Report::Unsaid;
        }
    }
    if entry.roads == Report::Said(RoadReport::Covered) {
        entry.roads = Report::Unsaid;
    }
    entry.gust_mph = Report::Unsaid;
    entry.low_f = Report::Unsaid;
    entry.high_f = Report::Unsaid;
}

/// A job that may be worked on at any time.
fn open(job: &mut Job) {
    job.earliest = None;
    job.no_access.clear();
    job.waits_on.clear();
    for step in &mut job.steps {
        step.earliest = None;
        step.no_access.clear();
        step.waits_on.clear();
        for material in &mut step.material {
            (material.expected, material.confirmed) = (None, false);
        }
    }
}

/// Some more units of a kind at each place.
fn spare_units(book: &mut Book, shop: &Shop, kind: &String) {
    let like = book.equipment.iter().find(|unit| unit.kinds.contains(kind)).cloned();
    for (place, k) in shop.places.iter().flat_map(|place| (0..SPARE).map(move |k| (place, k))) {
        if let Some(mut unit) = like.clone() {
            let ids = book.equipment.iter().map(|unit| &unit.id);
            unit.id = new_id(&format!("{}+{k} at {}", unit.id, place.id), "+", ids);
            unit.kinds = vec![kind.clone()];
            unit.place.clone_from(&place.id);
            unit.out.clear();
            // Wherever it is wanted it stands already.
            unit.moves = Moves::Carried;
            book.equipment.push(unit);
        }
    }
}

/// One more crew with a skill, always there.
fn spare_crew(book: &mut Book, skill: &String) {
    if let Some(mut crew) = book.crews.iter().find(|crew| crew.skills.contains(skill)).cloned() {
        crew.id = new_id(&crew.id, "+", book.crews.iter().map(|crew| &crew.id));
        crew.skills = vec![skill.clone()];
        crew.own = false;
        crew.away.clear();
        crew.only = None;
        book.crews.push(crew);
    }
}

/// One more truck, as strong as any and always there.
fn spare_truck(book: &mut Book) {
    let strongest = book.trucks.iter().max_by_key(|truck| truck.tow_lb).cloned();
    if let Some(mut truck) = strongest {
        truck.id = new_id(&truck.id, "+", book.trucks.iter().map(|truck| &truck.id));
        truck.crew = None;
        truck.out.clear();
        (truck.tows, truck.carries) = (SPARE as u32 * 10, SPARE as u32 * 10);
        truck.tow_lb = 1_000_000;
        (truck.weight_lb, truck.combined_lb, truck.payload_lb, truck.brake_control) = (None, None, None, None);
        truck.hitches.clear();
        book.trucks.push(truck);
    }
}

/// More of a thing than any one job wants.
const SPARE: usize = 4;
