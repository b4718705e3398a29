//! A crew's week as a route: where it goes one stop after the other, what it does there, and how long the drive takes.

use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, PlaceId, Shop};

use super::course::{Course, Work};

/// A crew's way through a week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CrewRoute {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The stops, in the order of time.
    pub stops: Vec<RouteStop>,
    /// The same in a sentence.
    pub words: String,
}

/// A stop of a crew's route, or a time without one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RouteStop {
    /// The drive to it: `14 min`; empty: none, or not known.
    pub drive: String,
    /// Where; without a place, why.
    pub place: String,
    /// `Mon 7 to Tue 8 am`.
    pub when: String,
    /// What is done there.
    pub does: Vec<String>,
    /// Whether it is no stop: nothing is planned, or nobody is there.
    pub off: bool,
    /// Whether something of it does not hold any more.
    pub broken: bool,
}

/// The routes of all crews in a week, by its position in the plan. `broken`: the rows that do not hold any more.
pub fn routes(shop: &Shop, plan: &Plan, broken: &Touched, week: usize) -> Vec<CrewRoute> {
    let course = Course::new(shop, plan).marking(broken);
    shop.crews.ids().map(|crew| route(&course, crew, week)).collect()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A stop as it is put together.
struct Stop<'c> {
    place: Option<PlaceId>,
    /// Why there is none.
    why: &'static str,
    first: usize,
    last: usize,
    works: Vec<&'c Work>,
}

fn route(course: &Course, crew: CrewId, week: usize) -> CrewRoute {
    let shop = course.shop;
    let stops = stops(course, crew, week);
    let mut made: Vec<RouteStop> = Vec::new();
    let mut from: Option<(PlaceId, usize)> = None;
    for stop in &stops {
        made.push(RouteStop {
            drive: stop.place.map_or_else(String::new, |to| drive(shop, crew, from, (to, stop.first))),
            place: stop.place.map_or_else(|| stop.why.to_owned(), |place| shop.places[place].name.clone()),
            when: span(shop, stop.first, stop.last),
            does: stop.works.iter().map(|work| does(course, crew, work)).collect(),
            off: stop.place.is_none(),
            broken: stop.works.iter().any(|work| work.broken),
        });
        from = stop.place.map(|place| (place, stop.last)).or(from);
    }
    let said: Vec<String> = made.iter().map(|stop| format!("{} {}", stop.place, stop.when)).collect();
    CrewRoute {
        id: shop.crews[crew].id.clone(),
        name: shop.crews[crew].name.clone(),
        words: if said.is_empty() { "Nothing planned.".to_owned() } else { capital(&format!("{}.", said.join("; "))) },
        stops: made,
    }
}

fn stops<'c>(course: &'c Course, crew: CrewId, week: usize) -> Vec<Stop<'c>> {
    let shop = course.shop;
    let mut stops: Vec<Stop> = Vec::new();
    for h in (week * 14..(week + 1) * 14).filter(|h| shop.works[*h] && *h >= shop.now) {
        let works: Vec<&Work> = course.works_of(crew, h).collect();
        let mut here: Vec<(Option<PlaceId>, &Work)> = Vec::new();
        here.extend(works.iter().map(|work| (Some(shop.jobs[work.job].place), *work)));
        if here.is_empty() {
            put(&mut stops, shop, None, idle(course, crew, h), h, None);
        }
        for (place, work) in here {
            put(&mut stops, shop, place, "", h, Some(work));
        }
    }
    stops
}

/// At the stop that the crew is at already, else at a new one.
fn put<'c>(
    stops: &mut Vec<Stop<'c>>,
    shop: &Shop,
    place: Option<PlaceId>,
    why: &'static str,
    h: usize,
    work: Option<&'c Work>,
) {
    let next = |last: usize| (last + 1..h).all(|between| !shop.works[between]);
    let goes_on = stops.last().is_some_and(|stop| stop.place == place && stop.why == why && next(stop.last));
    if !goes_on {
        stops.push(Stop { place, why, first: h, last: h, works: Vec::new() });
    }
    let Some(stop) = stops.last_mut() else { return };
    stop.last = h;
    let known = |work: &Work| stop.works.iter().any(|of| of.step == work.step && of.start == work.start);
    if let Some(work) = work.filter(|work| !known(work)) {
        stop.works.push(work);
    }
}

/// Why the crew does nothing in a half-day.
fn idle(course: &Course, crew: CrewId, h: usize) -> &'static str {
    let shop = course.shop;
    let everywhere = |of: &dyn Fn(PlaceId) -> bool| shop.places.ids().all(of);
    if shop.crews[crew].people[h] == 0 {
        "away"
    } else if everywhere(&|place| shop.places[place].weather[h].no_travel) {
        "nobody travels"
    } else if everywhere(&|place| shop.places[place].weather[h].storm) {
        "nothing planned, storm"
    } else {
        "nothing planned"
    }
}

/// How long the drive to a stop takes: in the morning from where the crew's day begins, else from the stop before.
fn drive(shop: &Shop, crew: CrewId, from: Option<(PlaceId, usize)>, (to, at): (PlaceId, usize)) -> String {
    let morning = from.is_none_or(|(_, last)| last / 2 != at / 2);
    let home = shop.crews[crew].home.filter(|_| morning);
    let Some(begins) = home.or(from.map(|(place, _)| place)).filter(|begins| *begins != to) else {
        return String::new();
    };
    let Some(drive) = shop.drive(begins, to) else { return "drive not known".to_owned() };
    let about = if drive.estimate { "about " } else { "" };
    let from_home = home.map_or(String::new(), |home| format!(" from {}", shop.places[home].name));
    format!("{about}{} min{from_home}", drive.minutes)
}

fn does(course: &Course, crew: CrewId, work: &Work) -> String {
    let shop = course.shop;
    let named = |crew: CrewId| shop.crews[crew].name.clone();
    let with: Vec<String> = work.team.crews().filter(|of| *of != crew).map(named).collect();
    let with = if with.is_empty() { String::new() } else { format!(", with {}", with.join(" and ")) };
    let job = &shop.jobs[work.job];
    let of = if job.name == shop.places[job.place].name { String::new() } else { format!(" ({})", job.name) };
    format!("{}{of}{with}", work.name(shop))
}

/// `Mon 7`, `Mon 7 pm`, `Mon 7 pm to Wed 9`.
fn span(shop: &Shop, first: usize, last: usize) -> String {
    let at = |h: usize| shop.horizon.half_day(h);
    let date = |h: usize| at(h).date().format("%a %-d").to_string();
    // A day is whole where its other half is not worked either way.
    let from_noon = at(first).is_pm() && shop.works[first - 1];
    let to_noon = !at(last).is_pm() && shop.works.get(last + 1).is_some_and(|works| *works);
    let head = if from_noon { format!("{} pm", date(first)) } else { date(first) };
    let tail = if to_noon { format!("{} am", date(last)) } else { date(last) };
    match (at(first).date() == at(last).date(), from_noon, to_noon) {
        (true, _, true) => tail,
        (true, _, false) => head,
        (false, ..) => format!("{head} to {tail}"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::desk;
    use super::*;

    #[test]
    fn a_route_names_each_stop_once_with_the_drive_to_it() {
        let (shop, plan) = desk();
        let all = routes(&shop, &plan, &Touched::default(), 0);
        assert_eq!(all.len(), shop.crews.ids().count());
        for route in &all {
            for pair in route.stops.windows(2) {
                assert!(pair[0].place != pair[1].place || pair[0].off != pair[1].off, "{route:?}");
                assert!(!pair[1].off || pair[1].drive.is_empty(), "{route:?}");
            }
            let works = route.stops.iter().filter(|stop| !stop.off).map(|stop| stop.does.len()).sum::<usize>();
            let crew = shop.find_crew(&route.id).expect("a crew");
            let course = Course::new(&shop, &plan);
            let planned = course.works.iter().filter(|work| (0..14).any(|h| work.by(&shop, crew, h))).count();
            assert!(works >= planned, "{route:?}");
        }
    }
}
