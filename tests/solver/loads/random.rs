//! Random weeks with things: a planted book and its plan, crews with homes, steps that take kits, things scattered.

use yardless_book::{Book, Material, Thing};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_support::draw::Draw;
use yardless_support::planted::{Size, planted};

/// A shop and its plan.
pub struct Week {
    pub shop: Shop,
    pub plan: Plan,
}

/// A week of a whole shop with so many things.
pub fn week(seed: u64, things: usize) -> Week {
    let mut draw = Draw::new(seed ^ 0x5eed);
    let size = Size { jobs: draw.between(6, 14), weeks: 1, crews: draw.between(2, 5) };
    let kits = draw.between(3, 12);
    made(size, seed, things, kits, &mut draw)
}

/// A week so small that everything can be tried.
pub fn small(seed: u64) -> Week {
    let mut draw = Draw::new(seed ^ 0x0dd);
    let size = Size { jobs: 3, weeks: 1, crews: 2 };
    let things = draw.between(2, 4);
    let kits = draw.between(1, 2);
    made(size, seed, things, kits, &mut draw)
}

fn made(size: Size, seed: u64, things: usize, kits: usize, draw: &mut Draw) -> Week {
    let made = planted(size, seed);
    let (mut book, plan) = (made.book, made.plan);
    let places: Vec<String> = book.places.iter().map(|place| place.id.clone()).collect();
    for crew in book.crews.iter_mut().filter(|crew| crew.own) {
        crew.home = draw.chance(60).then(|| draw.pick(&places));
    }
    let kit = |n: usize| format!("kit {n}");
    book.things = (0..things).map(|n| thing(&book, n, (n < kits).then(|| kit(n)), kits, draw)).collect();
    let horizon = yardless_book::half_day::Horizon::new(plan.from, plan.weeks).expect("a horizon");
    for step in book.jobs.iter_mut().flat_map(|job| &mut job.steps) {
        for _ in 0..draw.below(3) {
            step.takes.push(kit(draw.below(kits)));
        }
        if draw.chance(20) {
            let at = draw.pick(&places);
            let material = serde_json::json!({ "what": "bags", "at": at });
            step.material.push(serde_json::from_value::<Material>(material).expect("material"));
        }
    }
    let shop = Shop::new(&book, horizon).expect("a shop");
    Week { shop, plan }
}

/// The first thing of each kit is there for certain; the others are anything, anywhere.
fn thing(book: &Book, number: usize, kit: Option<String>, kits: usize, draw: &mut Draw) -> Thing {
    let place = |draw: &mut Draw| draw.pick(&book.places).id;
    let carrier = |draw: &mut Draw| {
        let truck = draw.chance(50) || book.equipment.is_empty();
        if truck { draw.pick(&book.trucks).id } else { draw.pick(&book.equipment).id }
    };
    let kit = kit.or_else(|| draw.chance(85).then(|| format!("kit {}", draw.below(kits))));
    let mut of = serde_json::json!({ "id": format!("thing {number}") });
    if let Some(kit) = kit {
        of["counts_as"] = kit.into();
    }
    if draw.chance(45) {
        of["rides_in"] = carrier(draw).into();
    } else {
        of["at"] = place(draw).into();
    }
    if draw.chance(70) {
        of["home"] = if draw.chance(50) { carrier(draw) } else { place(draw) }.into();
    }
    if draw.chance(8) {
        let when = yardless_support::half(draw.below(12));
        let field = if draw.chance(50) { ("at", place(draw)) } else { ("rides_in", carrier(draw)) };
        of["seen"] = serde_json::json!({ "when": when, (field.0): field.1 });
    }
    serde_json::from_value(of).expect("a thing")
}
