//! A crew's days as they are read on a telephone: where, when by the clock, on what, with what, and whom to call.

use chrono::NaiveDate;
use yardless_check::fact::Touched;
use yardless_load::{Loads, Source, Spot};
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, JobId, Shop};

use super::cautions::{Care, care};
use super::contacts::Contact;
use super::course::{Course, Work};
use super::crew_message::{off, ours, together, units};
use super::hauls::remarks;
use super::load_list::{load_list, loads_anything};
use super::reached::Reached;
use super::words::{BROKEN, day};

/// A day of a crew.
#[derive(Clone, Debug)]
pub struct CrewDay {
    /// The date.
    pub date: NaiveDate,
    /// The same, as `Tue 8 Dec`.
    pub says: String,
    /// What is hauled and done, in the order of time.
    pub items: Vec<DayItem>,
}

/// A piece of a day.
#[derive(Clone, Debug)]
pub enum DayItem {
    /// A haul: when, what, and the cautions of towing.
    Haul(String, String, Vec<SiteCare>),
    /// Work.
    Work(Box<WorkItem>),
    /// Nothing: when, and why.
    Off(String, String),
    /// What is loaded: when, what is missing, and what is to be ticked off.
    Load(String, Vec<String>, Vec<String>),
}

/// A crew at work.
#[derive(Clone, Debug)]
pub struct WorkItem {
    /// `7:30 to 16:00`.
    pub hours: String,
    /// Where.
    pub place: String,
    /// The address, and where a map is opened at it; empty: not entered.
    pub address: String,
    /// An address of the `geo` scheme.
    pub map: String,
    /// Whom to call.
    pub reached: Option<Reached>,
    /// The job.
    pub job: String,
    /// The step.
    pub step: String,
    /// What names it: `job/step`.
    pub of: String,
    /// What is there for it.
    pub units: Vec<String>,
    /// The things that its crew has there, by id and name, and the place's id: what it may leave there.
    pub things: Vec<(String, String)>,
    /// The same place.
    pub place_id: String,
    /// With whom; empty: alone.
    pub together: String,
    /// That it does not hold any more.
    pub broken: Option<&'static str>,
    /// What asks for care.
    pub cautions: Vec<SiteCare>,
}

/// What asks for care: its word, and all of it where it has not been said of the job before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteCare {
    /// Its word.
    pub word: &'static str,
    /// All of it, with its source; `None`: it was said before.
    pub line: Option<&'static str>,
}

/// The days of a crew in a week, by its position in the plan.
pub fn crew_days(shop: &Shop, plan: &Plan, broken: &Touched, crew: CrewId, week: usize) -> Vec<CrewDay> {
    let course = Course::new(shop, plan).marking(broken);
    let loads = loads_anything(shop).then(|| Loads::new(shop, plan, week * 14 + 13));
    let mut said: Vec<(String, &'static str)> = Vec::new();
    let days = (week * 14..(week + 1) * 14).step_by(2).filter(|am| shop.works[*am] || shop.works[*am + 1]);
    days.map(|am| {
        let care = care(&course, am..am + 2, Some(crew));
        CrewDay {
            date: shop.horizon.date(am),
            says: day(shop.horizon.half_day(am)),
            items: with_loads(&course, loads.as_ref(), crew, am, items(&course, crew, am, &care, &mut said)),
        }
    })
    .collect()
}

/// What of the cautions goes for a place or a unit; in full where it is the first time for `whom`.
fn of_site(care: &[Care], at: &str, whom: &str, said: &mut Vec<(String, &'static str)>) -> Vec<SiteCare> {
    let here = care.iter().filter(|care| care.at.iter().any(|of| of == at));
    here.map(|care| {
        let key = (whom.to_owned(), care.word);
        let new = !said.contains(&key);
        if new {
            said.push(key);
        }
        SiteCare { word: care.word, line: new.then_some(care.line) }
    })
    .collect()
}

fn items(
    course: &Course,
    crew: CrewId,
    am: usize,
    care: &[Care],
    said: &mut Vec<(String, &'static str)>,
) -> Vec<DayItem> {
    let shop = course.shop;
    let mut all: Vec<DayItem> = Vec::new();
    let mut morning: Vec<(JobId, String)> = Vec::new();
    for h in [am, am + 1] {
        let hauls = |evening: bool, said: &mut Vec<(String, &'static str)>| -> Vec<DayItem> {
            let trips = ours(course, crew, h, evening);
            trips
                .map(|trip| {
                    let name = |place| shop.places[place].name.as_str();
                    let unit = &shop.units[trip.unit].name;
                    let (from, to) = (name(trip.from), name(trip.to));
                    let truck = &shop.trucks[trip.truck].name;
                    let says = format!("{unit} from {from} to {to}, {truck}, {}", remarks(course, trip));
                    DayItem::Haul(moment(shop, h, evening), says, of_site(care, unit, unit, said))
                })
                .collect()
        };
        all.extend(hauls(false, said));
        let works: Vec<&Work> = course.works_of(crew, h).collect();
        if works.is_empty() && shop.works[h] && h >= shop.now {
            nothing(&mut all, shop, h, off(course, crew, h));
        }
        for work in works.into_iter().filter(|_| shop.works[h]) {
            let of = format!("{}/{}", shop.jobs[work.job].id, shop.steps[work.step].id);
            if h == am {
                morning.push((work.job, of.clone()));
            } else if morning.contains(&(work.job, of.clone())) {
                longer(&mut all, &of, shop, am);
                continue;
            }
            all.push(DayItem::Work(Box::new(at_work(course, crew, work, h, (care, said)))));
        }
        all.extend(hauls(true, said));
    }
    all
}

/// With what is loaded: of the morning first, of the rest last.
fn with_loads(course: &Course, loads: Option<&Loads>, crew: CrewId, am: usize, items: Vec<DayItem>) -> Vec<DayItem> {
    let Some(loads) = loads else { return items };
    let of = [am, am + 1].map(|h| load_list(course, loads, Ok(crew), h, false));
    let mut all = Vec::new();
    let put = |all: &mut Vec<DayItem>, when: &str, missing: &[String], lines: &[String]| {
        if !missing.is_empty() || !lines.is_empty() {
            all.push(DayItem::Load(when.to_owned(), missing.to_vec(), lines.to_vec()));
        }
    };
    put(&mut all, "before work", &of[0].missing, &of[0].start);
    all.extend(items.into_iter().map(|item| with_things(course.shop, loads, crew, am, item)));
    put(&mut all, "at noon", &of[1].missing, &[&of[0].evening[..], &of[1].start[..]].concat());
    put(&mut all, "when work is over", &[], &of[1].evening);
    all
}

/// Work with the things that lie there, or are in the crew's truck, while it lasts.
fn with_things(shop: &Shop, loads: &Loads, crew: CrewId, am: usize, mut item: DayItem) -> DayItem {
    let DayItem::Work(work) = &mut item else { return item };
    let Some(place) = shop.find_place(&work.place_id) else { return item };
    let ours = |truck| shop.trucks[truck].crew == Some(crew);
    let here = |n: usize, h: usize| match loads.during(n, h) {
        Some(Spot::Place(at)) => at == place,
        Some(Spot::Truck(truck)) => ours(truck),
        _ => false,
    };
    let works = [am, am + 1].map(|h| loads.rounds.places(crew, h).contains(&place));
    for (n, of) in loads.items.iter().enumerate() {
        let Source::Thing(number) = of.source else { continue };
        if (works[0] && here(n, am)) || (works[1] && here(n, am + 1)) {
            work.things.push((shop.book.things[number].id.clone(), of.name.clone()));
        }
    }
    item
}

/// Nothing all day is said once.
fn nothing(all: &mut Vec<DayItem>, shop: &Shop, h: usize, why: String) {
    if let Some(DayItem::Off(when, before)) = all.last_mut()
        && *before == why
    {
        *when = clock(shop, h - 1, h);
        return;
    }
    all.push(DayItem::Off(clock(shop, h, h), why));
}

/// The same work in the afternoon is the morning's, until later.
fn longer(all: &mut [DayItem], of: &str, shop: &Shop, am: usize) {
    for item in all {
        if let DayItem::Work(work) = item
            && work.of == of
        {
            work.hours = clock(shop, am, am + 1);
        }
    }
}

fn at_work(
    course: &Course,
    crew: CrewId,
    work: &Work,
    h: usize,
    (care, said): (&[Care], &mut Vec<(String, &'static str)>),
) -> WorkItem {
    let shop = course.shop;
    let contact = Contact::of(shop, work.job);
    let job = &shop.jobs[work.job];
    let place = &shop.places[job.place];
    WorkItem {
        hours: clock(shop, h, h),
        map: map(shop, &place.id, &contact.address),
        reached: contact.reached(),
        cautions: of_site(care, &place.name, &job.id, said),
        place_id: place.id.clone(),
        things: Vec::new(),
        place: contact.place,
        address: contact.address,
        job: contact.job,
        step: work.name(shop),
        of: format!("{}/{}", job.id, shop.steps[work.step].id),
        units: units(course, work),
        together: together(course, crew, work),
        broken: work.broken.then_some(BROKEN),
    }
}

/// Where a map opens: at the coordinates, else where it finds the address (RFC 5870; the query is a custom of telephones).
fn map(shop: &Shop, place: &str, address: &str) -> String {
    let at = shop.book.places.iter().find(|of| of.id == place).and_then(|of| of.at);
    let query: String = address
        .bytes()
        .map(|b| if b.is_ascii_alphanumeric() { (b as char).to_string() } else { format!("%{b:02X}") })
        .collect();
    match (at, address.is_empty()) {
        (Some([lat, lon]), _) => format!("geo:{lat},{lon}"),
        (None, false) => format!("geo:0,0?q={query}"),
        (None, true) => String::new(),
    }
}

fn minutes(text: u32) -> String {
    format!("{}:{:02}", text / 60, text % 60)
}

/// From when to when by the clock.
fn clock(shop: &Shop, first: usize, last: usize) -> String {
    let hours = |h: usize| shop.book.shop.hours.get(usize::from(shop.horizon.half_day(h).is_pm()));
    match (hours(first), hours(last)) {
        (Some(from), Some(to)) => format!("{} to {}", minutes(from.from), minutes(to.to)),
        _ => String::new(),
    }
}

/// When a haul is made, by the clock.
fn moment(shop: &Shop, h: usize, evening: bool) -> String {
    let hours = shop.book.shop.hours.get(usize::from(shop.horizon.half_day(h).is_pm()));
    let Some(hours) = hours else { return String::new() };
    if evening { format!("after {}", minutes(hours.to)) } else { format!("before {}", minutes(hours.from)) }
}
