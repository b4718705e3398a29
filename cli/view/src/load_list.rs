//! Load lists: what a crew puts on, hitches, drops, takes back and leaves in each half-day, with boxes to tick.

use yardless_load::{By, Loads, Moment, Move, Source, Spot, Unmet};
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, TruckId};

use super::course::Course;
use super::hauls::remarks;
use super::words::{half, list};

/// A box to tick before a line.
pub const BOX: &str = "☐";

/// What a crew does with things in a half-day.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LoadList {
    /// What it lacks, a sentence each.
    pub missing: Vec<String>,
    /// Before it sets out, and on its way to work.
    pub start: Vec<String>,
    /// When work is over.
    pub evening: Vec<String>,
}

/// Whether a book has anything to load.
pub fn loads_anything(shop: &Shop) -> bool {
    let steps = || shop.book.jobs.iter().flat_map(|job| &job.steps);
    !shop.book.things.is_empty() || steps().any(|step| !step.material.is_empty())
}

/// Who moves things: a crew, or a truck without one.
pub type Mover = Result<CrewId, TruckId>;

/// Its list of a half-day. Hauls are told where they are not told anyway.
pub fn load_list(course: &Course, loads: &Loads, of: Mover, h: usize, hauls: bool) -> LoadList {
    let shop = course.shop;
    let mine = |by: By| match by {
        By::Crew(crew, _) => of == Ok(crew),
        By::Truck(truck) => of == Err(truck),
        By::Drive(_) => false,
    };
    let at = |moment: Moment| -> Vec<&Move> {
        loads.moves.iter().filter(|of| of.h == h && of.moment == moment && mine(of.by)).collect()
    };
    let mut found = LoadList::default();
    if let Ok(crew) = of {
        found.missing = missing(shop, loads, crew, h);
    }
    found.start.extend(drives(shop, loads, of, h));
    let (start, work, evening) = (at(Moment::Start), at(Moment::Work), at(Moment::Evening));
    if let Ok(crew) = of {
        found.start.extend(there(shop, loads, crew, h));
    }
    found.start.extend(taken(shop, loads, &start, "Put on", "Take along"));
    if hauls {
        found.start.extend(hitched(course, of, h, false));
    }
    found.start.extend(set_down(shop, loads, &start));
    let left = if let Ok(crew) = of { left(loads, crew, h) } else { Vec::new() };
    let stays = |of: &&Move| !matches!(of.to, Spot::Place(place) if left.contains(&(of.item, place)));
    let work: Vec<&Move> = work.into_iter().filter(stays).collect();
    found.start.extend(put_at_work(shop, loads, &work));
    found.evening.extend(taken(shop, loads, &evening, "Take back on", "Take"));
    if hauls {
        found.evening.extend(hitched(course, of, h, true));
    }
    found.evening.extend(set_down(shop, loads, &evening));
    found.evening.extend(leave(shop, loads, h, &left));
    found
}

impl LoadList {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.missing.is_empty() && self.start.is_empty() && self.evening.is_empty()
    }
}

/// What is wanted and nowhere to be had.
fn missing(shop: &Shop, loads: &Loads, crew: CrewId, h: usize) -> Vec<String> {
    let mut all = Vec::new();
    for unmet in &loads.unmet {
        let Unmet::Kit(n, short) = *unmet else { continue };
        let want = &loads.wants[n];
        if want.h != h || want.crew != crew {
            continue;
        }
        // Said once, when it is first missing.
        let steps: Vec<String> = want.steps.iter().map(|step| shop.steps[*step].name.clone()).collect();
        let before = loads.unmet.iter().any(|other| match *other {
            Unmet::Kit(m, _) => {
                let of = &loads.wants[m];
                of.h < h && of.crew == crew && of.kit == want.kit && of.steps == want.steps
            }
            Unmet::Material(_) => false,
        });
        if !before {
            let count = if short == 1 { String::new() } else { format!("{short} × ") };
            all.push(format!("MISSING: {count}{} for {}: get it by then", want.kit, list(&steps)));
        }
    }
    all
}

/// What a crew works with that is not moved for it in the morning: in its truck, or there already. A kit that it had there in
/// the half-day before is not said again.
fn there(shop: &Shop, loads: &Loads, crew: CrewId, h: usize) -> Vec<String> {
    let wants = |at: usize| loads.wants.iter().enumerate().filter(move |(_, want)| want.h == at && want.crew == crew);
    let had =
        |kit: &str, place: PlaceId| h % 2 == 1 && wants(h - 1).any(|(_, want)| want.kit == kit && want.place == place);
    let moved = |item: usize| loads.moves.iter().any(|of| (of.h, of.moment, of.item) == (h, Moment::Start, item));
    let new = wants(h).filter(|(_, want)| !had(&want.kit, want.place)).flat_map(|(n, want)| {
        let items = loads.met.iter().filter(move |(of, _)| *of == n).map(|(_, item)| *item);
        items.map(|item| (item, want.place))
    });
    let new = new.filter(|(item, _)| !moved(*item));
    let lines = grouped(shop, loads, new.map(|(item, place)| (item, (loads.during(item, h), place)))).into_iter();
    lines
        .map(|((is, at), what)| match is {
            Some(Spot::Truck(truck)) => format!("In {} already: {what}", shop.trucks[truck].name),
            Some(Spot::Unit(unit)) => format!("There in {}: {what}", shop.units[unit].name),
            _ => format!("There already, {}: {what}", place(shop, at)),
        })
        .collect()
}

/// Drives for things alone that a crew makes.
fn drives(shop: &Shop, loads: &Loads, of: Mover, h: usize) -> Vec<String> {
    let mine = loads.drives.iter().enumerate().filter(|(_, drive)| {
        let by = drive.crew.ok_or(drive.truck);
        drive.h == h && by == of
    });
    mine.map(|(n, drive)| {
        let what: Vec<String> =
            loads.moves.iter().filter(|of| of.by == By::Drive(n)).map(|of| name(shop, loads, of.item)).collect();
        let minutes = shop.drive(drive.from, drive.to).map_or("drive not known".to_owned(), |of| {
            format!("{}{} min", if of.estimate { "about " } else { "" }, of.minutes)
        });
        let (from, to) = (place(shop, drive.from), place(shop, drive.to));
        format!("Extra drive, {from} → {to}, {minutes}, for {}", list(&what))
    })
    .collect()
}

/// What an item is called; of material that one truck does not take at once, in how many loads it comes.
fn name(shop: &Shop, loads: &Loads, item: usize) -> String {
    let of = &loads.items[item];
    let many = match of.source {
        Source::Material(job, step, number) => {
            shop.book.jobs[job.index()].steps[shop.steps[step].listed].material[number].loads
        }
        Source::Thing(_) => 1,
    };
    if many == 1 { of.name.clone() } else { format!("{} ({many} loads)", of.name) }
}

fn place(shop: &Shop, place: PlaceId) -> &str {
    &shop.places[place].name
}

/// What a spot is called: `Owner's drive`, `Truck 1`, `the Tool trailer`.
pub fn spot(shop: &Shop, spot: Spot) -> String {
    match spot {
        Spot::Place(place) => shop.places[place].name.clone(),
        Spot::Truck(truck) => shop.trucks[truck].name.clone(),
        Spot::Unit(unit) => shop.units[unit].name.clone(),
    }
}

/// What is taken up: a line for each spot that it comes from.
fn taken(shop: &Shop, loads: &Loads, moves: &[&Move], with: &str, along: &str) -> Vec<String> {
    let up = moves.iter().filter(|of| matches!(of.to, Spot::Truck(_)) || !matches!(of.from, Spot::Truck(_)));
    grouped(shop, loads, up.map(|of| (of.item, (of.from, of.to))))
        .into_iter()
        .map(|((from, to), what)| match to {
            Spot::Truck(_) => format!("{with} {}, from {}: {what}", spot(shop, to), spot(shop, from)),
            _ => format!("{along} from {} to {}: {what}", spot(shop, from), spot(shop, to)),
        })
        .collect()
}

/// What is set down out of a truck: a line for each spot that it comes to.
fn set_down(shop: &Shop, loads: &Loads, moves: &[&Move]) -> Vec<String> {
    let down = moves.iter().filter(|of| matches!(of.from, Spot::Truck(_)) && !matches!(of.to, Spot::Truck(_)));
    let home = |of: &Move| loads.items[of.item].home == Some(of.to);
    grouped(shop, loads, down.map(|of| (of.item, (of.to, home(of)))))
        .into_iter()
        .map(|((to, home), what)| {
            let name = spot(shop, to);
            match (to, home) {
                (_, true) => format!("Put back at {name}: {what}"),
                (Spot::Unit(_), _) => format!("Put into {name}: {what}"),
                _ => format!("Drop at {name}: {what}"),
            }
        })
        .collect()
}

/// What goes elsewhere at the place where it serves, once it has.
fn put_at_work(shop: &Shop, loads: &Loads, moves: &[&Move]) -> Vec<String> {
    let lines = grouped(shop, loads, moves.iter().map(|of| (of.item, (of.from, of.to)))).into_iter();
    lines
        .map(|((from, to), what)| match to {
            Spot::Truck(_) | Spot::Unit(_) => format!("When done, put into {}: {what}", spot(shop, to)),
            Spot::Place(_) => format!("When done, leave lying, out of {}: {what}", spot(shop, from)),
        })
        .collect()
}

/// Items by what they have in common, in the order in which that first comes, each group as a list of names.
fn grouped<K: PartialEq>(shop: &Shop, loads: &Loads, all: impl Iterator<Item = (usize, K)>) -> Vec<(K, String)> {
    let mut groups: Vec<(K, Vec<String>)> = Vec::new();
    for (item, key) in all {
        let name = name(shop, loads, item);
        match groups.iter_mut().find(|(of, _)| *of == key) {
            Some((_, names)) => names.push(name),
            None => groups.push((key, vec![name])),
        }
    }
    groups.into_iter().map(|(key, names)| (key, names.join(", "))).collect()
}

/// What a crew has used in its last half-day at a place and leaves lying there.
fn left(loads: &Loads, crew: CrewId, h: usize) -> Vec<(usize, PlaceId)> {
    let used = |n: usize| loads.met.iter().filter(move |(want, _)| *want == n).map(|(_, item)| *item);
    let mut here: Vec<(usize, PlaceId)> = Vec::new();
    for (n, want) in loads.wants.iter().enumerate().filter(|(_, want)| want.h == h && want.crew == crew) {
        // At noon only what it goes away from.
        let again = h.is_multiple_of(2) && loads.rounds.places(crew, h + 1).contains(&want.place);
        for item in used(n).filter(|_| !again) {
            // As the date ends: what is taken away on it is no more to be left.
            let lies = loads.before(item, (h | 1) + 1) == Some(Spot::Place(want.place));
            if lies && loads.items[item].home != Some(Spot::Place(want.place)) && !here.contains(&(item, want.place)) {
                here.push((item, want.place));
            }
        }
    }
    here
}

/// The same in lines: until when, and out of what.
fn leave(shop: &Shop, loads: &Loads, h: usize, here: &[(usize, PlaceId)]) -> Vec<String> {
    let next = |item: usize, place: PlaceId| {
        let want = loads.next_want(item, h + 1).map(|n| &loads.wants[n]).filter(|want| want.place == place);
        want.map(|want| half(shop.horizon.half_day(want.h)))
    };
    let put = |item: usize| loads.moves.iter().find(|of| (of.h, of.moment, of.item) == (h, Moment::Work, item));
    let out_of = |item: usize| put(item).map(|of| of.from).filter(|from| !matches!(from, Spot::Place(_)));
    let all = here.iter().map(|(item, place)| (*item, (*place, next(*item, *place), out_of(*item))));
    grouped(shop, loads, all)
        .into_iter()
        .map(|((at, next, out), what)| {
            let out = out.map_or_else(String::new, |of| format!(", out of {}", spot(shop, of)));
            let next = next.map_or_else(String::new, |next| format!(" (wanted there {next})"));
            format!("Leave at {}{out}{next}: {what}", place(shop, at))
        })
        .collect()
}

/// The hauls of a crew's trucks: what is hitched, and what is lifted into the bed.
fn hitched(course: &Course, of: Mover, h: usize, evening: bool) -> Vec<String> {
    let shop = course.shop;
    let by = |truck: TruckId| shop.trucks[truck].crew.ok_or(truck);
    let mine = course.trips.iter().filter(|trip| trip.at == h && trip.evening == evening && by(trip.truck) == of);
    mine.map(|trip| {
        let unit = &shop.units[trip.unit];
        let what = if unit.towed() { "Hitch" } else { "Load" };
        let (from, to, truck) = (place(shop, trip.from), place(shop, trip.to), &shop.trucks[trip.truck].name);
        format!("{what} {}, {truck}: {from} → {to}, {}", unit.name, remarks(course, trip))
    })
    .collect()
}
