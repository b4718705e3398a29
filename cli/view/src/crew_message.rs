//! One crew's week: what it does day by day, what it hauls, where it goes; as short plain text to paste into a message, or
//! a sheet of paper.

use std::fmt::Write;

use yardless_check::fact::Touched;
use yardless_load::Loads;
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Id, JobId, PlaceId, Shop, UnitId};

use super::cautions::{WHO_DECIDES, cautions};
use super::contacts::Contact;
use super::course::{Course, Occupancy, Trip, Work};
use super::hauls::remarks;
use super::load_list::{BOX, load_list, loads_anything};
use super::words::{BROKEN, day};

/// A crew's week in lines.
pub struct CrewSheet {
    /// The crew.
    pub crew: String,
    /// Its Monday, as `Mon 7 Dec`.
    pub monday: String,
    /// The days: which, and what is done and hauled.
    pub days: Vec<(String, Vec<String>)>,
    /// Whether it does nothing and hauls nothing all week.
    pub idle: bool,
    /// The jobs it works on.
    pub contacts: Vec<Contact>,
    /// What asks for care: a word, and a line with its source.
    pub cautions: Vec<[String; 2]>,
}

/// What a crew does in a week (by its position), where it finds it, and what it hauls, as plain text.
/// `broken`: the rows that do not hold any more; each says so.
pub fn crew_message(shop: &Shop, plan: &Plan, broken: &Touched, crew: CrewId, week: usize) -> String {
    let sheet = CrewSheet::new(shop, plan, broken, crew, week);
    let mut text = format!("{}, week of {}\n", sheet.crew, sheet.monday);
    for (date, lines) in &sheet.days {
        let _ = writeln!(text, "{date}");
        for line in lines {
            let _ = writeln!(text, "  {line}");
        }
    }
    for contact in &sheet.contacts {
        let _ = writeln!(text, "{}: {}", contact.place, contact.rest());
    }
    for [word, line] in &sheet.cautions {
        let _ = writeln!(text, "Caution, {}: {line}", word.to_lowercase());
    }
    let _ = writeln!(text, "{WHO_DECIDES}");
    text
}

impl CrewSheet {
    /// Of a week by its position in the plan. `broken`: the rows that do not hold any more; each says so.
    pub fn new(shop: &Shop, plan: &Plan, broken: &Touched, crew: CrewId, week: usize) -> Self {
        let course = Course::new(shop, plan).marking(broken);
        let half_days = week * 14..(week + 1) * 14;
        let mut jobs: Vec<JobId> = Vec::new();
        let mut days = Vec::new();
        let loads = loads_anything(shop).then(|| Loads::new(shop, plan, half_days.end - 1));
        for am in half_days.clone().step_by(2).filter(|am| shop.works[*am] || shop.works[*am + 1]) {
            let lines = of_day(&course, loads.as_ref(), crew, am, &mut jobs);
            days.push((day(shop.horizon.half_day(am)), lines));
        }
        let hauls = |h: usize| [false, true].iter().any(|evening| ours(&course, crew, h, *evening).next().is_some());
        Self {
            idle: jobs.is_empty() && !half_days.clone().any(hauls),
            crew: shop.crews[crew].name.clone(),
            monday: day(shop.horizon.half_day(half_days.start)),
            days,
            contacts: jobs.into_iter().map(|job| Contact::of(shop, job)).collect(),
            cautions: cautions(&course, half_days, Some(crew)),
        }
    }
}

/// A day's loads, hauls and work in the order of time, a line each; what is loaded has a box to tick.
fn of_day(course: &Course, loads: Option<&Loads>, crew: CrewId, am: usize, jobs: &mut Vec<JobId>) -> Vec<String> {
    let does = [am, am + 1].map(|h| what(course, crew, h, jobs));
    let all_day = does[0].is_some() && does[0] == does[1] && !hauled(course, crew, am + 1);
    let [before, noon, after] = loads.map(|loads| of_loads(course, loads, crew, am)).unwrap_or_default();
    let mut lines = before;
    lines.extend(hauls(course, crew, am, false));
    let half = if all_day { "am, pm" } else { "am" };
    lines.extend(does[0].as_ref().map(|does| format!("{half}: {does}")));
    lines.extend(hauls(course, crew, am, true));
    lines.extend(noon);
    lines.extend(hauls(course, crew, am + 1, false));
    lines.extend(does[1].as_ref().filter(|_| !all_day).map(|does| format!("pm: {does}")));
    lines.extend(hauls(course, crew, am + 1, true));
    lines.extend(after);
    lines
}

/// What is loaded on a day: before the work, at noon, and after it.
fn of_loads(course: &Course, loads: &Loads, crew: CrewId, am: usize) -> [Vec<String>; 3] {
    let [morning, noon] = [am, am + 1].map(|h| load_list(course, loads, Ok(crew), h, false));
    let lacks =
        |when: &str, lines: &[String]| -> Vec<String> { lines.iter().map(|of| format!("{when}: {of}")).collect() };
    let boxes = |when: &str, lines: &[String]| -> Vec<String> {
        lines.iter().map(|line| format!("{BOX} {when}: {line}")).collect()
    };
    [
        [lacks("early", &morning.missing), boxes("early", &morning.start)].concat(),
        [boxes("at noon", &morning.evening), lacks("at noon", &noon.missing), boxes("at noon", &noon.start)].concat(),
        boxes("after work", &noon.evening),
    ]
}

/// What the crew does in a half-day that the shop works.
fn what(course: &Course, crew: CrewId, h: usize, jobs: &mut Vec<JobId>) -> Option<String> {
    let shop = course.shop;
    // What was before the plan begins it does not say.
    if !shop.works[h] || h < shop.now {
        return None;
    }
    let works: Vec<&Work> = course.works_of(crew, h).collect();
    if works.is_empty() {
        return Some(off(course, crew, h));
    }
    for work in &works {
        if !jobs.contains(&work.job) {
            jobs.push(work.job);
        }
    }
    let says: Vec<String> = works.into_iter().map(|work| at_work(course, crew, work)).collect();
    Some(says.join("; "))
}

/// Why a crew does nothing in a half-day.
pub fn off(course: &Course, crew: CrewId, h: usize) -> String {
    let shop = course.shop;
    let stopped = |of: &dyn Fn(usize) -> bool| shop.places.ids().all(|place| of(place.index()));
    let weather = |place: usize| &shop.places[PlaceId::from_index(place)].weather[h];
    let why = if stopped(&|place| weather(place).no_travel) {
        ": nobody travels"
    } else if stopped(&|place| weather(place).storm) {
        ": storm"
    } else {
        ""
    };
    if shop.crews[crew].people[h] == 0 { "away".to_owned() } else { format!("nothing planned{why}") }
}

/// With whom a crew works on a step; empty: alone.
pub fn together(course: &Course, crew: CrewId, work: &Work) -> String {
    let named = |crews: &[CrewId]| {
        crews.iter().map(|crew| course.shop.crews[*crew].name.as_str()).collect::<Vec<_>>().join(", ")
    };
    if work.team.crew != crew {
        format!("helping {}", named(&[work.team.crew]))
    } else if work.team.helpers.is_empty() {
        String::new()
    } else {
        format!("helped by {}", named(&work.team.helpers))
    }
}

/// Where a crew works on a step, on which, together with whom, and with what.
fn at_work(course: &Course, crew: CrewId, work: &Work) -> String {
    let shop = course.shop;
    let units = units(course, work);
    let with = if units.is_empty() { String::new() } else { format!(", with {}", units.join(", ")) };
    let together = Some(together(course, crew, work)).filter(|with| !with.is_empty());
    let together = together.map_or(String::new(), |with| format!(", {with}"));
    let broken = if work.broken { format!(": {}", BROKEN.to_uppercase()) } else { String::new() };
    format!("{}, {}{together}{with}{broken}", shop.places[shop.jobs[work.job].place].name, work.name(shop))
}

/// The units that the step holds and those parked at its job.
pub fn units(course: &Course, work: &Work) -> Vec<String> {
    let shop = course.shop;
    let meets = |hold: &Occupancy| hold.first <= work.end && work.start <= hold.last;
    let of_job = |hold: &Occupancy| hold.job == work.job && hold.step.is_none() && meets(hold);
    let parked = |unit: &UnitId| course.holds[*unit].iter().any(of_job);
    work.units
        .iter()
        .copied()
        .chain(shop.units.ids().filter(parked))
        .map(|unit| shop.units[unit].name.clone())
        .collect()
}

fn hauled(course: &Course, crew: CrewId, h: usize) -> bool {
    ours(course, crew, h, false).next().is_some()
}

/// What the crew's trucks haul at the start or the end of a half-day.
pub fn ours<'c>(course: &'c Course, crew: CrewId, h: usize, evening: bool) -> impl Iterator<Item = &'c Trip> {
    let of_crew = move |trip: &&Trip| course.shop.trucks[trip.truck].crew == Some(crew);
    course.trips.iter().filter(move |trip| trip.at == h && trip.evening == evening).filter(of_crew)
}

/// The same, a line each.
fn hauls(course: &Course, crew: CrewId, h: usize, evening: bool) -> impl Iterator<Item = String> {
    let shop = course.shop;
    ours(course, crew, h, evening).map(move |trip| {
        format!(
            "{}: haul {}, {} → {}, {}, {}",
            trip.moment(shop),
            shop.units[trip.unit].name,
            shop.places[trip.from].name,
            shop.places[trip.to].name,
            shop.trucks[trip.truck].name,
            remarks(course, trip),
        )
    })
}
