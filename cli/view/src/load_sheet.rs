//! A week's load lists on the terminal, with what is missing, material, cold nights and the round-up; and where a thing is.

use std::fmt::Write;

use yardless_load::{By, Loads, Lot, LotState, Lying, Spot, Unmet, lots, nights, round_up};
use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop};

use super::course::Course;
use super::load_list::{BOX, LoadList, Mover, load_list, loads_anything, spot};
use super::words::{day, half, wrapped};

/// The lists of a week by its position, of one crew or of all.
pub fn load_sheet(shop: &Shop, plan: &Plan, week: usize, crew: Option<CrewId>) -> String {
    let monday = shop.horizon.half_day(week * 14);
    let mut text = format!("Load lists, week of {}\n", day(monday));
    if !loads_anything(shop) {
        return text + "The book has no things and no material: enter them under `things` and `material`.\n";
    }
    let course = Course::new(shop, plan);
    let until = week * 14 + 13;
    let loads = Loads::new(shop, plan, until);
    let trucks = shop.trucks.ids().filter(|truck| shop.trucks[*truck].crew.is_none() && crew.is_none()).map(Err);
    let movers: Vec<Mover> =
        shop.crews.ids().filter(|of| crew.is_none_or(|crew| crew == *of)).map(Ok).chain(trucks).collect();
    let mut any = false;
    for h in (week * 14..=until).filter(|h| *h >= shop.now) {
        for of in &movers {
            let list = load_list(&course, &loads, *of, h, true);
            if !list.is_empty() {
                any = true;
                text.push_str(&one(shop, *of, h, &list));
            }
        }
    }
    if !any {
        text.push_str("Nothing is to be loaded this week.\n");
    }
    if crew.is_none() {
        for (title, lines) in besides(shop, plan, &loads, week) {
            let _ = writeln!(text, "\n{title}");
            text.extend(lines.iter().map(|line| wrapped(line)));
        }
    }
    text
}

/// A list with boxes: before work, and after it.
fn one(shop: &Shop, of: Mover, h: usize, list: &LoadList) -> String {
    let name = match of {
        Ok(crew) => &shop.crews[crew].name,
        Err(truck) => &shop.trucks[truck].name,
    };
    let mut text = format!("\n{}, {name}\n", half(shop.horizon.half_day(h)));
    for line in &list.missing {
        text.push_str(&wrapped(&format!("! {line}")));
    }
    for line in &list.start {
        text.push_str(&wrapped(&format!("{BOX} {line}")));
    }
    if !list.evening.is_empty() {
        text.push_str("When work is over:\n");
        for line in &list.evening {
            text.push_str(&wrapped(&format!("{BOX} {line}")));
        }
    }
    text
}

/// What the owner should see besides the crews' lists: title and lines.
pub fn besides(shop: &Shop, plan: &Plan, loads: &Loads, week: usize) -> Vec<(&'static str, Vec<String>)> {
    let half_days = week * 14..(week + 1) * 14;
    let within = |h: usize| half_days.contains(&h);
    let mut missing: Vec<String> = Vec::new();
    for unmet in &loads.unmet {
        missing.extend(missing_line(shop, loads, *unmet, &within));
    }
    missing.dedup();
    let all = lots(shop, plan);
    let material = all.iter().filter(|lot| lot.start >= half_days.start);
    let material = material.filter_map(|lot| material_line(shop, loads, lot, half_days.end)).collect();
    let unsure = "Fewer may do: so much is wanted at once that not every choice was looked at.".to_owned();
    let all = [
        ("MISSING, and by when to get it", missing),
        ("EXTRA DRIVES", (!loads.fewest).then_some(unsure).into_iter().collect()),
        ("MATERIAL", material),
        (
            "TAKE INSIDE for the night (lows of working hours: the night may be colder)",
            inside(shop, loads, half_days.clone()),
        ),
        ("ROUND-UP at the week's end", lying(shop, plan, loads, half_days.end)),
    ];
    all.into_iter().filter(|(_, lines)| !lines.is_empty()).collect()
}

/// The evenings from one to another after which the same things are at the same spot.
struct Evenings {
    first: usize,
    last: usize,
    low_f: f64,
    spot: Spot,
    place: Option<PlaceId>,
    items: Vec<usize>,
}

/// What to take inside: a line for each spot and the evenings in which the same things are there.
fn inside(shop: &Shop, loads: &Loads, half_days: std::ops::Range<usize>) -> Vec<String> {
    let mut all: Vec<Evenings> = Vec::new();
    for night in nights(shop, loads, half_days) {
        let here = |of: &&mut Evenings| (of.last, of.spot, of.place) == (night.pm, night.spot, night.place);
        match all.iter_mut().find(here) {
            Some(of) => of.items.push(night.item),
            None => all.push(Evenings {
                first: night.pm,
                last: night.pm,
                low_f: night.low_f,
                spot: night.spot,
                place: night.place,
                items: vec![night.item],
            }),
        }
    }
    let mut runs: Vec<Evenings> = Vec::new();
    for next in all {
        let same = |of: &&mut Evenings| {
            (of.last + 2, of.spot, of.place) == (next.first, next.spot, next.place) && of.items == next.items
        };
        match runs.iter_mut().find(same) {
            Some(of) => (of.last, of.low_f) = (next.last, of.low_f.min(next.low_f)),
            None => runs.push(next),
        }
    }
    let one = |of: Evenings| {
        let name = match (of.spot, of.place) {
            (Spot::Place(_), _) | (_, None) => spot(shop, of.spot),
            (_, Some(place)) => format!("{} at {}", spot(shop, of.spot), shop.places[place].name),
        };
        let (from, to) = (day(shop.horizon.half_day(of.first)), day(shop.horizon.half_day(of.last)));
        let evenings = if of.first == of.last { from } else { format!("{from} to {to}") };
        let what: Vec<&str> = of.items.iter().map(|item| loads.items[*item].name.as_str()).collect();
        format!("{BOX} {evenings}, low {} °F, {name}: {}", of.low_f, what.join(", "))
    };
    runs.into_iter().map(one).collect()
}

/// What lies at sites.
fn lying(shop: &Shop, plan: &Plan, loads: &Loads, end: usize) -> Vec<String> {
    let at = |h: usize| half(shop.horizon.half_day(h));
    let one = |of: Lying| {
        let site = if of.open { "open" } else { "finished" };
        let next = of.next.map(|n| &loads.wants[n]).map_or_else(
            || "not wanted again in this plan".to_owned(),
            |want| format!("wanted {} at {}", at(want.h), shop.places[want.place].name),
        );
        let passes = match of.passes.map(|(h, crew)| format!("{} passes {}", shop.crews[crew].name, at(h))) {
            None => "nobody passes".to_owned(),
            Some(passes) if of.in_time => passes,
            Some(passes) => format!("NOBODY PASSES BEFORE, {passes}"),
        };
        format!("{BOX} {} at {} ({site}): {next}; {passes}", loads.items[of.item].name, shop.places[of.place].name)
    };
    round_up(shop, plan, loads, end).into_iter().map(one).collect()
}

fn missing_line(shop: &Shop, loads: &Loads, unmet: Unmet, within: &dyn Fn(usize) -> bool) -> Option<String> {
    match unmet {
        Unmet::Kit(n, short) => {
            let want = &loads.wants[n];
            // Of one kit at one place only the first half-day.
            let first = loads.unmet.iter().all(|other| match other {
                Unmet::Kit(m, _) => {
                    let of = &loads.wants[*m];
                    of.h >= want.h || (&of.kit, of.place) != (&want.kit, want.place) || !within(of.h)
                }
                Unmet::Material(_) => true,
            });
            let (by, at) = (half(shop.horizon.half_day(want.h)), &shop.places[want.place].name);
            let crew = &shop.crews[want.crew].name;
            (first && within(want.h)).then(|| format!("! {short} × {}, by {by}, at {at} ({crew})", want.kit))
        }
        Unmet::Material(item) => {
            let of = &loads.items[item];
            let (h, place) = of.wanted.filter(|(h, _)| within(*h))?;
            let by = half(shop.horizon.half_day(h));
            Some(format!("! {} does not come to {} by {by}", of.name, shop.places[place].name))
        }
    }
}

/// What is to be done about material of a step that starts before a half-day, or must be ordered before it.
fn material_line(shop: &Shop, loads: &Loads, lot: &Lot, end: usize) -> Option<String> {
    let job = &shop.jobs[lot.job];
    let of = &shop.book.jobs[lot.job.index()].steps[shop.steps[lot.step].listed].material[lot.number];
    let what = format!("{} for {} ({})", of.called(), shop.steps[lot.step].name, job.name);
    let starts = half(shop.horizon.half_day(lot.start));
    let line = match lot.state {
        LotState::Short(Some(last), late) => {
            let soon = shop.horizon.offset(yardless_book::half_day::HalfDay::am(last)) < end as i64;
            let last = last.format("%a %-d %b");
            let word = if late {
                format!("was to be ordered by {last}: it comes too late")
            } else {
                format!("order by {last}")
            };
            (soon || lot.start < end).then(|| format!("! {what}, starts {starts}: not ordered; {word}"))
        }
        LotState::Short(None, _) => (lot.start < end).then(|| format!("! {what}, starts {starts}: not ordered")),
        _ if lot.wrong.is_none() || lot.start >= end => None,
        _ => Some(format!("{what}, starts {starts}")),
    };
    let wrong = lot.wrong.map(|wrong| {
        let at = &shop.places[wrong.at].name;
        let loads_of = if wrong.loads == 1 { "a haul".to_owned() } else { format!("{} hauls", wrong.loads) };
        let cost = match (wrong.minutes, wrong.cost) {
            (Some(minutes), Some(cost)) => format!("{loads_of} of {minutes} min, ${cost}"),
            _ => format!("{loads_of}, drive not known"),
        };
        let item = loads
            .items
            .iter()
            .position(|item| item.source == yardless_load::Source::Material(lot.job, lot.step, lot.number));
        let along = loads.moves.iter().any(|of| Some(of.item) == item && !matches!(of.by, By::Drive(_)));
        let along = if along && wrong.loads == 1 { "; it rides along" } else { "" };
        let is = if matches!(lot.state, LotState::OnHand(_)) { "lies" } else { "is delivered" };
        format!(", {is} at {at}: {cost}{along}")
    });
    line.map(|line| line + &wrong.unwrap_or_default())
}

/// Where a thing is, by its number in the book, during a half-day by its index; and when it is wanted next.
pub fn whereabouts(shop: &Shop, plan: &Plan, number: usize, h: usize) -> String {
    let loads = Loads::new(shop, plan, h);
    let of = &shop.book.things[number];
    let Some(item) = loads.of_thing(number) else { return format!("{}: nobody knows where\n", of.called()) };
    let when = half(shop.horizon.half_day(h));
    let is = loads.during(item, h).map_or("nowhere yet".to_owned(), |is| said(shop, &loads, is, h));
    let mut text = format!("{}, {when}: {is}\n", of.called());
    if let Some(want) = loads.next_want(item, h).map(|n| &loads.wants[n]) {
        let (at, place) = (half(shop.horizon.half_day(want.h)), &shop.places[want.place].name);
        let _ = writeln!(text, "The next {} is wanted {at} at {place}, {}.", want.kit, shop.crews[want.crew].name);
    }
    if let Some(seen) = &of.seen {
        let by = seen.by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
        let at = Spot::said(shop, seen.at.as_ref(), seen.rides_in.as_ref());
        let at = at.map_or_else(String::new, |at| format!(", {}", spot(shop, at)));
        let _ = writeln!(text, "Last seen {}{by}{at}.", half(seen.when));
    }
    text
}

fn said(shop: &Shop, loads: &Loads, is: Spot, h: usize) -> String {
    let at = match is {
        Spot::Place(_) => None,
        Spot::Truck(truck) => loads.rounds.truck_during(truck, h),
        Spot::Unit(unit) => loads.rounds.unit_during(unit, h),
    };
    let name = spot(shop, is);
    match (is, at) {
        (Spot::Place(_), _) => format!("lies at {name}"),
        (_, Some(place)) => format!("in {name}, at {}", shop.places[place].name),
        (Spot::Truck(_), None) => format!("in {name}"),
        (_, None) => format!("in {name}, on the road"),
    }
}
