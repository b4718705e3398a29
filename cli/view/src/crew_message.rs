//! One crew's week as short plain text, to paste into a message.

use std::fmt::Write;

use yardless_book::Job;
use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Id, JobId, PlaceId, Shop, UnitId};

use super::cautions::{WHO_DECIDES, cautions};
use super::course::{Course, Occupancy, Work};
use super::hauls::remarks;
use super::words::{BROKEN, day};

/// What a crew does in a week (by its position), where it finds it, and what it hauls.
/// `broken`: the rows that do not hold any more; each says so.
pub fn crew_message(shop: &Shop, plan: &Plan, broken: &Touched, crew: CrewId, week: usize) -> String {
    let course = Course::new(shop, plan).marking(broken);
    let half_days = week * 14..(week + 1) * 14;
    let monday = shop.horizon.half_day(half_days.start);
    let mut text = format!("{}, week of {}\n", shop.crews[crew].name, day(monday));
    let mut jobs: Vec<JobId> = Vec::new();
    for am in half_days.clone().step_by(2).filter(|am| shop.works[*am] || shop.works[*am + 1]) {
        let _ = writeln!(text, "{}", day(shop.horizon.half_day(am)));
        let halves = [am, am + 1].map(|h| what(&course, crew, h, &mut jobs));
        for (n, h) in [am, am + 1].into_iter().enumerate() {
            hauls(&course, crew, h, false, &mut text);
            let half = if n == 0 { "am" } else { "pm" };
            match &halves[n] {
                Some(does) if n == 0 && halves[1].as_ref() == Some(does) && !hauled(&course, crew, am + 1) => {
                    let _ = writeln!(text, "  am, pm: {does}");
                }
                Some(does) if n == 1 && halves[0].as_ref() == Some(does) && !hauled(&course, crew, h) => {}
                Some(does) => {
                    let _ = writeln!(text, "  {half}: {does}");
                }
                None => {}
            }
            hauls(&course, crew, h, true, &mut text);
        }
    }
    for job in jobs {
        site(&course, job, &mut text);
    }
    for [word, line] in cautions(&course, half_days, Some(crew)) {
        let _ = writeln!(text, "Caution, {}: {line}", word.to_lowercase());
    }
    let _ = writeln!(text, "{WHO_DECIDES}");
    text
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
        let stopped = |of: &dyn Fn(usize) -> bool| shop.places.ids().all(|place| of(place.index()));
        let weather = |place: usize| &shop.places[PlaceId::from_index(place)].weather[h];
        let why = if stopped(&|place| weather(place).no_travel) {
            ": nobody travels"
        } else if stopped(&|place| weather(place).storm) {
            ": storm"
        } else {
            ""
        };
        return Some(if shop.crews[crew].people[h] == 0 { "away".to_owned() } else { format!("nothing planned{why}") });
    }
    for work in &works {
        if !jobs.contains(&work.job) {
            jobs.push(work.job);
        }
    }
    let says: Vec<String> = works.into_iter().map(|work| at_work(course, crew, work)).collect();
    Some(says.join("; "))
}

/// Where a crew works on a step, on which, together with whom, and with what.
fn at_work(course: &Course, crew: CrewId, work: &Work) -> String {
    let shop = course.shop;
    let units = units(course, work);
    let with = if units.is_empty() { String::new() } else { format!(", with {}", units.join(", ")) };
    let named =
        |crews: &[CrewId]| crews.iter().map(|crew| shop.crews[*crew].name.as_str()).collect::<Vec<_>>().join(", ");
    let together = if work.team.crew != crew {
        format!(", helping {}", named(&[work.team.crew]))
    } else if work.team.helpers.is_empty() {
        String::new()
    } else {
        format!(", helped by {}", named(&work.team.helpers))
    };
    let broken = if work.broken { format!(": {}", BROKEN.to_uppercase()) } else { String::new() };
    format!("{}, {}{together}{with}{broken}", shop.places[shop.jobs[work.job].place].name, work.name(shop))
}

/// The units that the step holds and those parked at its job.
fn units(course: &Course, work: &Work) -> Vec<String> {
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
    course.trips.iter().any(|trip| trip.at == h && !trip.evening && course.shop.trucks[trip.truck].crew == Some(crew))
}

/// What the crew's trucks haul at the start or the end of a half-day.
fn hauls(course: &Course, crew: CrewId, h: usize, evening: bool, text: &mut String) {
    let shop = course.shop;
    for trip in course.trips.iter().filter(|trip| trip.at == h && trip.evening == evening) {
        if shop.trucks[trip.truck].crew == Some(crew) {
            let _ = writeln!(
                text,
                "  {}: haul {}, {} → {}, {}, {}",
                trip.moment(shop),
                shop.units[trip.unit].name,
                shop.places[trip.from].name,
                shop.places[trip.to].name,
                shop.trucks[trip.truck].name,
                remarks(course, trip),
            );
        }
    }
}

/// Where a job is and whom to call.
fn site(course: &Course, job: JobId, text: &mut String) {
    let shop = course.shop;
    let facts = &shop.jobs[job];
    let place = &shop.places[facts.place];
    let contact = shop.book.jobs.iter().find(|job| job.id == facts.id).and_then(|job: &Job| job.contact.clone());
    let address = shop.book.places.iter().find(|of| of.id == place.id).and_then(|of| of.address.clone());
    let known: Vec<String> = [Some(facts.name.clone()), address, contact].into_iter().flatten().collect();
    let _ = writeln!(text, "{}: {}", place.name, known.join(", "));
}
