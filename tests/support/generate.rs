//! Random books of any size, made like a real shop's: mostly doable, with machines and trailers that are wanted twice.

pub mod full;
mod jobs;
mod yard;

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_plan::shop::{Id, Shop, StepId};

use super::draw::Draw;
use super::{book, day, half, monday};

/// How large a book is, and what may show in it.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    pub jobs: usize,
    pub weeks: u32,
    pub crews: usize,
    /// Whether roads have seasons; without, a book may be shifted by whole weeks.
    pub seasons: bool,
    /// Whether trucks, spots for trailers and the crews' time are as scarce as in a small shop's winter.
    pub tight: bool,
}

impl Shape {
    pub fn new(jobs: usize, weeks: u32, crews: usize) -> Self {
        Self { jobs, weeks, crews, seasons: true, tight: false }
    }
    /// Three trucks that tow one unit each for seven, half of the sites on the hill with a spot or two, crews short of time
    /// and many due dates; of a larger shop the same by its crews.
    pub fn tight(jobs: usize, weeks: u32, crews: usize) -> Self {
        Self { tight: true, ..Self::new(jobs, weeks, crews) }
    }
    /// Half-days of work that a job takes on the mean, so that three fifths of the crews' time are wanted; nine tenths where
    /// it is short.
    fn work(self) -> f64 {
        let wanted = if self.tight { 0.9 } else { 0.6 };
        (wanted * 10.0 * f64::from(self.weeks) * self.crews as f64 / self.jobs as f64).clamp(2.0, 11.0)
    }
}

/// A book without fault. The same shape and seed give the same book.
pub fn generate(shape: Shape, seed: u64) -> Book {
    let mut draw = Draw::new(seed);
    let lots = if shape.crews > 2 { 2 } else { 1 };
    let jobs = jobs::jobs(&mut draw, shape);
    let sites: Vec<String> =
        (0..lots).map(|l| format!("lot{l}")).chain((0..shape.jobs).map(|p| format!("site{p}"))).collect();
    let map: Vec<[f64; 2]> = sites.iter().map(|_| [draw.share(), draw.share()]).collect();
    let json = json!({
        "book": 1,
        "shop": { "name": format!("Book {seed}"), "time_zone": "America/New_York", "closed": closed(&mut draw, shape) },
        "prices": { "extra_crew": 150, "wait_half_day": 2 },
        "roads": yard::roads(&mut draw, shape),
        "places": yard::places(&mut draw, shape, &sites, &map, lots),
        "drives": yard::drives(&mut draw, &sites, &map),
        "kinds": [{ "id": "generator", "power": true }],
        "crews": crews(&mut draw, shape),
        "trucks": yard::trucks(&mut draw, shape),
        "equipment": yard::equipment(&mut draw, shape, lots),
        "weather": yard::weather(&mut draw, shape, &sites),
        "jobs": jobs
    });
    fix(&mut draw, shape, json)
}

/// A holiday now and then: a date, or a half-day.
fn closed(draw: &mut Draw, shape: Shape) -> Vec<String> {
    let worked = |draw: &mut Draw| 7 * draw.below(shape.weeks as usize) + draw.below(5);
    match draw.below(3) {
        0 => vec![day(worked(draw))],
        1 => vec![half(2 * worked(draw) + 1)],
        _ => vec![],
    }
}

/// The first crew has every skill; an inspector comes besides, on some dates only.
fn crews(draw: &mut Draw, shape: Shape) -> Vec<Value> {
    let dates = 7 * shape.weeks as usize;
    let mut crews: Vec<Value> = (0..shape.crews)
        .map(|c| {
            let skills = match if c == 0 { 0 } else { draw.below(4) } {
                0 => vec!["insulation", "carpentry", "ventilation"],
                1 => vec!["insulation", "carpentry"],
                2 => vec!["carpentry", "ventilation"],
                _ => vec!["insulation", "ventilation"],
            };
            let people = draw.pick(&[2, 2, 3, 4]);
            let mut crew = json!({ "id": format!("crew{c}"), "people": people, "skills": skills });
            if draw.chance(40) {
                let first = draw.below(dates);
                crew["away"] = json!([{ "on": format!("{}/{}", day(first), day(first + draw.below(3))), "people": draw.between(1, people) }]);
            }
            crew
        })
        .collect();
    let only: Vec<String> = (0..shape.weeks as usize).flat_map(|w| [1, 3].map(|d| day(7 * w + d))).collect();
    crews.push(json!({ "id": "inspector", "people": 1, "skills": ["inspection"], "only": only, "own": false }));
    crews
}

/// Fixes a start here and there, where it can be kept (W8), and makes the book.
fn fix(draw: &mut Draw, shape: Shape, mut json: Value) -> Book {
    let horizon = Horizon::new(monday(), shape.weeks).expect("a horizon");
    let shop = Shop::new(&book(json.clone()), horizon).unwrap_or_else(|faults| panic!("a faulty book: {faults:?}"));
    for j in 0..shape.jobs {
        // Only a job's first step, and not in the first two dates, so that its equipment can get there.
        let steps = shop.jobs.iter().nth(j).expect("a job").steps.clone();
        let Some(first) = steps.map(StepId::from_index).next() else { continue };
        let starts: Vec<(String, usize)> = shop
            .choices(first)
            .flat_map(|(_, team, runs)| runs.iter().map(move |(start, _)| (team, start)))
            .filter(|(_, start)| (4..shop.len()).contains(start) && shop.start_allowed(first, *start))
            .map(|(team, start)| (shop.crews[shop.teams[team].crew].id.clone(), start))
            .collect();
        if starts.is_empty() || !draw.chance(8) {
            continue;
        }
        let (crew, start) = draw.pick(&starts);
        let fixed = if draw.chance(50) {
            json!({ "start": half(start) })
        } else {
            json!({ "crew": crew, "start": half(start) })
        };
        let steps = json["jobs"][j]["steps"].as_array_mut().expect("steps");
        let step = steps.iter_mut().find(|step| step["id"] == shop.steps[first].id.as_str());
        step.expect("a step")["fixed"] = fixed;
    }
    book(json)
}
