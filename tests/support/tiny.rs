//! Tiny random books in which every rule may show, small enough to try every plan.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_plan::shop::Shop;

use super::draw::Draw;
use super::{book, costs, day, days, equipment, half, help, home, in_part, monday, posted, ratings, stops, waits};

/// Which fields a made-up book may give.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Fields {
    /// Those of the first rules.
    First,
    /// Besides: ranges by weekday, waits on others, words given, ranks.
    Waits,
    /// Besides the first: crews that help others.
    Help,
    /// Besides the first: stops, crews that are at several steps at once, and some help.
    Stops,
    /// Those of `Waits` in every other book, and jobs planned in part.
    InPart,
    /// Besides the first: what standing costs, hire, open sites.
    Costs,
    /// Besides the first: dates by which units are to be home and sites to be cleared, with what standing costs at times.
    Home,
    /// Besides the first: ratings of trucks and trailers, hitches and brakes.
    Ratings,
    /// Besides the first: weights posted on roads, half the time ratings too.
    Posted,
    /// Besides the first: half-days kept open and rounds from home, with help or stops at times.
    Days,
    /// Besides the first: shared kinds, and what is parked from one step to another.
    Equipment,
    /// Besides the first: jobs planned in part, with the fields of `Equipment`.
    PartEquipment,
}

/// A book of one week, 1 to 3 jobs, 1 to 4 steps in all, without fault.
pub fn tiny(seed: u64) -> Book {
    tiny_with(seed, Fields::First)
}

/// The same book with more fields.
pub fn tiny_with(seed: u64, fields: Fields) -> Book {
    let horizon = Horizon::new(monday(), 1).expect("a horizon");
    let tries = (0..100).map(|k| {
        let mut json = write(&mut Draw::new(seed * 1000 + k));
        let mut more =
            |salt: u64, add: fn(&mut Draw, &mut Value)| add(&mut Draw::new((seed * 1000 + k) ^ salt), &mut json);
        match fields {
            Fields::First => {}
            Fields::Waits => more(0x77_6169_7473, waits::add),
            Fields::Help => more(0x6865_6c70, help::add),
            Fields::Stops => more(0x73_746f_7073, stops::add),
            Fields::InPart => {
                if seed % 4 > 1 {
                    more(0x77_6169_7473, waits::add);
                }
                more(0x7061_7274, in_part::add);
            }
            Fields::Costs => more(0x63_6f73_7473, costs::add),
            Fields::Home => more(0x686f_6d65, home::add),
            Fields::Ratings => more(0x7261_7465, ratings::add),
            Fields::Posted => more(0x706f_7374, posted::add),
            Fields::Days => more(0x6461_7973, days::add),
            Fields::Equipment => more(0x67_6561_7273, equipment::add),
            Fields::PartEquipment => {
                more(0x7061_7274, in_part::add);
                more(0x67_6561_7273, equipment::add);
                more(0x7061_726b, in_part::park);
            }
        }
        book(json)
    });
    // A fixed start that nobody can keep and trailers over the spots are faults (W8, E6): such a book is drawn again.
    tries.into_iter().find(|book| Shop::new(book, horizon).is_ok()).expect("a book without fault in a hundred")
}

const SKILLS: [&str; 2] = ["insulation", "carpentry"];
const KINDS: [&str; 3] = ["blower", "trailer", "generator"];

fn write(draw: &mut Draw) -> Value {
    let places = draw.between(2, 4);
    let crews = draw.between(1, 2);
    let mut left = 4;
    let mut jobs: Vec<Value> = Vec::new();
    for j in 0..draw.between(1, 3) {
        let steps = draw.between(1, left.min(2));
        left -= steps;
        let job = job(draw, j, steps, places, &jobs);
        jobs.push(job);
        if left == 0 {
            break;
        }
    }
    let equipment = units(draw, places);
    json!({
        "book": 1,
        "shop": shop(draw),
        "prices": {
            "tow_minute": draw.pick(&[1.0, 0.5, 0.05]), "carry_minute": draw.pick(&[0.25, 0.1, 0.02]),
            "extra_crew": draw.pick(&[150, 10, 0]), "wait_half_day": draw.pick(&[2, 2, 20, 0]), "late_day": draw.pick(&[100, 30])
        },
        "hauling": {
            "hitch_minutes": draw.pick(&[30, 10]), "load_minutes": draw.pick(&[15, 5]), "same_half_day_minutes": draw.pick(&[120, 60])
        },
        "roads": [{ "id": "town" }, { "id": "hill", "no_trailers": ["11-15/04-15"], "expect_clear": draw.pick(&[vec!["thu"], vec!["wed", "fri"], vec![]]) }],
        "places": (0..places).map(|p| place(draw, p)).collect::<Vec<_>>(),
        "drives": drives(draw, places),
        "kinds": [{ "id": "generator", "power": true }],
        "crews": (0..crews).map(|c| crew(draw, c)).collect::<Vec<_>>(),
        "trucks": (0..draw.between(1, 2)).map(|t| truck(draw, t, crews)).collect::<Vec<_>>(),
        "equipment": equipment,
        "weather": (0..draw.below(5)).map(|_| weather(draw, places)).collect::<Vec<_>>(),
        "jobs": jobs
    })
}

fn shop(draw: &mut Draw) -> Value {
    let days = draw.pick(&[
        vec!["mon", "tue", "wed", "thu", "fri"],
        vec!["mon", "tue", "wed", "thu", "fri", "sat"],
        vec!["mon", "wed", "thu", "sun"],
    ]);
    let closed = if draw.chance(20) { vec![range(draw)] } else { vec![] };
    json!({ "name": "Tiny", "time_zone": "America/New_York", "half_day_hours": draw.pick(&[4.0, 3.75]), "work_days": days, "closed": closed })
}

/// A half-day, a date or a short range within the week.
fn range(draw: &mut Draw) -> String {
    let first = draw.below(12);
    match draw.below(3) {
        0 => half(first),
        1 => day(first / 2),
        _ => format!("{}/{}", half(first), half(first + draw.between(1, 3))),
    }
}

fn ranges(draw: &mut Draw, percent: usize) -> Vec<String> {
    if draw.chance(percent) { vec![range(draw)] } else { vec![] }
}

fn place(draw: &mut Draw, p: usize) -> Value {
    let mut place = json!({
        "id": format!("p{p}"), "road": draw.pick(&["town", "town", "hill"]),
        "at": [44.0 + draw.share() * 0.5, -72.0 + draw.share() * 0.5]
    });
    if draw.chance(30) {
        place["trailer_spots"] = json!(draw.pick(&[0, 1, 1, 2]));
    }
    if draw.chance(30) {
        place["power_from"] = json!(if draw.chance(50) { "never".to_owned() } else { day(draw.below(5)) });
    }
    place
}

/// Some drives are listed, in either direction, a few of them too long for one half-day; the others are estimated.
fn drives(draw: &mut Draw, places: usize) -> Vec<Value> {
    let mut drives = Vec::new();
    for p in 0..places {
        for q in 0..p {
            if draw.chance(70) {
                let minutes = if draw.chance(20) { draw.between(95, 140) } else { draw.between(5, 70) };
                let (from, to) = if draw.chance(50) { (p, q) } else { (q, p) };
                drives.push(json!({ "from": format!("p{from}"), "to": format!("p{to}"), "minutes": minutes }));
            }
        }
    }
    drives
}

fn crew(draw: &mut Draw, c: usize) -> Value {
    // The first crew has both skills, so that most jobs can be done.
    let skills =
        if c == 0 { SKILLS.to_vec() } else { draw.pick(&[vec!["insulation"], vec!["carpentry"], SKILLS.to_vec()]) };
    let mut crew =
        json!({ "id": format!("c{c}"), "people": draw.pick(&[1, 2, 2, 3]), "skills": skills, "own": draw.chance(85) });
    match draw.below(6) {
        0 | 1 => crew["away"] = json!([{ "on": range(draw), "people": 1 }]),
        2 => crew["away"] = json!([{ "on": range(draw) }, { "on": range(draw), "people": 2 }]),
        _ => {}
    }
    if draw.chance(12) {
        crew["only"] = json!([range(draw), format!("{}/{}", day(2), day(4))]);
    }
    crew
}

fn truck(draw: &mut Draw, t: usize, crews: usize) -> Value {
    let mut truck =
        json!({ "id": format!("t{t}"), "tow_lb": draw.pick(&[0, 4000, 9000, 9000, 9000]), "out": ranges(draw, 15) });
    if draw.chance(60) {
        truck["crew"] = json!(format!("c{}", draw.below(crews)));
    }
    if draw.chance(40) {
        truck["tows"] = json!(draw.pick(&[0, 1, 1, 2]));
        truck["carries"] = json!(draw.pick(&[0, 1, 1, 2]));
    }
    truck
}

/// A unit of each kind, one of them serving as two kinds at times, and a second of some kind at times.
fn units(draw: &mut Draw, places: usize) -> Vec<Value> {
    let mut kinds: Vec<Vec<&str>> = match draw.below(4) {
        0 => vec![vec!["blower"], vec!["trailer", "generator"]],
        1 => vec![vec!["blower", "generator"], vec!["trailer"]],
        _ => KINDS.iter().map(|kind| vec![*kind]).collect(),
    };
    if kinds.len() < 3 && draw.chance(50) {
        kinds.push(vec![draw.pick(&["blower", "trailer"])]);
    }
    let towed_at = |kinds: &[&str], draw: &mut Draw| if kinds[0] == "trailer" { true } else { draw.chance(25) };
    (0..kinds.len())
        .map(|u| {
            let towed = towed_at(&kinds[u], draw);
            json!({
                "id": format!("u{u}"), "kinds": kinds[u], "moves": if towed { "towed" } else { "carried" },
                "weight_lb": draw.pick(&[0, 3000, 4000, 6000]), "place": format!("p{}", draw.below(places)), "out": ranges(draw, 12)
            })
        })
        .collect()
}

fn weather(draw: &mut Draw, places: usize) -> Value {
    let mut entry = json!({ "on": range(draw) });
    if draw.chance(60) {
        entry["at"] = json!([format!("p{}", draw.below(places))]);
    }
    let (field, value) = match draw.below(9) {
        0 => ("storm", json!(true)),
        1 => ("storm", json!(false)),
        2 => ("no_travel", json!(true)),
        3 => ("roads", json!("clear")),
        4 => ("roads", json!("covered")),
        5 => ("gust_mph", json!(draw.between(20, 40))),
        6 => ("low_f", json!(draw.between(0, 40))),
        7 => ("rain", json!(true)),
        _ => (draw.pick(&["storm", "roads", "rain", "no_travel"]), Value::Null),
    };
    entry[field] = value;
    entry
}

fn job(draw: &mut Draw, j: usize, steps: usize, places: usize, before: &[Value]) -> Value {
    // The first place is a base; now and then two jobs are at one place.
    let place = 1 + if draw.chance(80) { j % (places - 1) } else { draw.below(places - 1) };
    let mut job = json!({ "id": format!("j{j}"), "place": format!("p{place}"), "no_access": ranges(draw, 15) });
    if draw.chance(20) {
        job["earliest"] = json!(day(draw.pick(&[1, 1, 2, 2, 3, 7])));
    }
    if draw.chance(70) {
        // Before the horizon, in it, on its last date, after it; never before `earliest`.
        let due = draw.pick(&[-4_i64, 0, 1, 2, 3, 4, 6, 9]);
        let date = (super::monday() + chrono::TimeDelta::days(due)).to_string();
        if job["earliest"].as_str().is_none_or(|earliest| earliest <= date.as_str()) {
            job["due"] = json!(date);
        }
    }
    if draw.chance(40) {
        job["late_day"] = json!(draw.pick(&[20.5, 50.0, 250.0]));
    }
    if draw.chance(30) {
        job["left_out"] = json!(draw.pick(&[100, 900]));
    }
    if draw.chance(25) {
        job["parked"] = json!([{ "kind": draw.pick(&["trailer", "generator", "blower"]) }]);
    }
    let mut all = Vec::new();
    for s in 0..steps {
        let step = step(draw, s, before);
        all.push(step);
    }
    job["steps"] = json!(all);
    job
}

fn step(draw: &mut Draw, s: usize, before: &[Value]) -> Value {
    let mut step = json!({ "id": format!("s{s}"), "skill": draw.pick(&SKILLS), "no_access": ranges(draw, 10) });
    if draw.chance(25) {
        let way = |draw: &mut Draw, id: &str| {
            let mut way = json!({ "id": id, "needs": needs(draw), "extra": draw.pick(&[0.0, 12.5, 40.0]) });
            amount(draw, &mut way);
            if draw.chance(30) {
                way["min_people"] = json!(2);
            }
            way
        };
        step["ways"] = json!([way(draw, "first"), way(draw, "second")]);
    } else {
        step["needs"] = needs(draw);
        amount(draw, &mut step);
    }
    for (percent, field, value) in [
        (15, "min_people", json!(2)),
        (20, "outside", json!(true)),
        (20, "dry", json!(true)),
        (20, "max_gust_mph", json!(30)),
        (20, "min_low_f", json!(20)),
        (30, "needs_power", json!(true)),
        (10, "earliest", json!(day(2))),
    ] {
        if draw.chance(percent) {
            step[field] = value;
        }
    }
    if draw.chance(20) {
        step["max_people"] = json!(2);
    }
    after(draw, &mut step, s, before);
    if draw.chance(10) {
        step["fixed"] = match draw.below(4) {
            0 => json!({ "crew": "c0" }),
            1 => json!({ "start": half(draw.below(10)) }),
            2 if step["ways"].is_array() => json!({ "way": "second" }),
            _ => json!({ "crew": "c0", "start": half(draw.below(10)) }),
        };
    }
    step
}

fn amount(draw: &mut Draw, step: &mut Value) {
    if draw.chance(50) {
        step["half_days"] = json!(draw.between(1, 4));
    } else {
        step["labor_hours"] = json!(draw.pick(&[2.5, 8.0, 11.25, 12.0, 20.0]));
    }
}

fn needs(draw: &mut Draw) -> Value {
    match draw.below(7) {
        0..=2 => json!([]),
        3 => json!([{ "kind": "blower", "count": 1 }]),
        4 => json!([{ "kind": "trailer" }]),
        5 => json!([{ "kind": "blower" }, { "kind": "trailer" }]),
        _ => json!([{ "kind": draw.pick(&["blower", "trailer"]), "count": draw.pick(&[1, 1, 1, 2]) }]),
    }
}

/// What the step comes after: by default the step listed before it; at times nothing, or a step of an earlier job too.
fn after(draw: &mut Draw, step: &mut Value, s: usize, before: &[Value]) {
    let waits = |draw: &mut Draw, name: String| {
        let wait = draw.pick(&[0, 0, 1, 2]);
        let mut link = json!({ "step": name, "wait_half_days": wait });
        if draw.chance(40) {
            link["within_half_days"] = json!(wait + draw.below(4));
        }
        link
    };
    let mut links = Vec::new();
    if s > 0 && draw.chance(40) {
        links.push(waits(draw, "s0".to_owned()));
    }
    if !before.is_empty() && draw.chance(25) {
        let other = draw.pick(before);
        let name =
            format!("{}/{}", other["id"].as_str().expect("an id"), other["steps"][0]["id"].as_str().expect("an id"));
        links.push(if draw.chance(50) { json!(name) } else { waits(draw, name) });
    }
    if !links.is_empty() || (s > 0 && draw.chance(30)) {
        step["after"] = json!(links);
    }
}
