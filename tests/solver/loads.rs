//! Load lists: played half-day by half-day by a reading of the rules of its own, and against trying everything.

#[path = "loads/everything.rs"]
mod everything;
#[path = "loads/player.rs"]
mod player;
#[path = "loads/random.rs"]
mod random;

use std::time::{Duration, Instant};

use serde_json::{Value, json};
use yardless_book::half_day::Horizon;
use yardless_load::{Loads, LotState, Moment, Spot, lots, nights, round_up};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_support::{book, half, monday};

/// How many random weeks are played: as the environment says.
fn weeks(name: &str, default: u64) -> u64 {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(default)
}

#[test]
fn every_thing_is_where_it_is_wanted_or_named_missing() {
    let (mut wants, mut unmet, mut drives, mut slowest, mut unproven) = (0, 0, 0, Duration::ZERO, 0);
    let first = weeks("YARDLESS_LOADS_FROM", 0);
    let weeks = weeks("YARDLESS_LOADS", 20);
    for seed in first..first + weeks {
        let week = random::week(seed, if seed % 4 == 0 { 200 } else { 10 + (seed as usize * 7) % 60 });
        let began = Instant::now();
        let loads = Loads::new(&week.shop, &week.plan, 13);
        slowest = slowest.max(began.elapsed());
        if let Err(why) = player::play(&week.shop, &week.plan, &loads) {
            panic!("week {seed}: {why}");
        }
        unproven += u64::from(!loads.fewest);
        (wants, unmet, drives) = (wants + loads.wants.len(), unmet + loads.unmet.len(), drives + loads.drives.len());
    }
    println!(
        "{wants} wants, {unmet} unmet, {drives} extra drives, {unproven} weeks not proven; the slowest took {slowest:?}"
    );
    // Seldom so many wants stand in each other's way that the fewest drives are not proven; that is said of the list.
    assert!(unproven * 100 <= weeks, "{unproven} of {weeks} not proven");
    assert!(wants > 100 && unmet > 0 && drives > 0 && unmet < wants / 2);
}

#[test]
fn no_list_takes_more_extra_drives_than_trying_everything() {
    let mut told = [0; 3];
    let first = weeks("YARDLESS_LOADS_FROM", 0);
    for seed in first..first + weeks("YARDLESS_SMALL_LOADS", 16) {
        let week = random::small(seed);
        let loads = Loads::new(&week.shop, &week.plan, 13);
        player::play(&week.shop, &week.plan, &loads).unwrap_or_else(|why| panic!("small week {seed}: {why}"));
        if loads.drives.len() > 2 {
            continue;
        }
        told[loads.drives.len()] += 1;
        if let Err(why) = everything::better(&week.shop, &week.plan, &loads) {
            panic!("small week {seed}: {why}");
        }
    }
    println!("weeks with no, one, two extra drives: {told:?}");
    assert!(told.iter().all(|n| *n > 0), "{told:?}");
}

/// Two sites beside a lot where the one crew is at home; a saw, a gun, a trailer.
fn desk(things: &Value, rows: &Value, hauls: &Value, step: &Value) -> (Shop, Plan) {
    let one = |id: &str, place: &str| {
        let mut of = json!({ "id": "work", "skill": "s", "half_days": 1 });
        for (field, value) in step.as_object().into_iter().flatten() {
            of[field] = value.clone();
        }
        json!({ "id": id, "place": place, "steps": [of] })
    };
    let book = book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "lot" }, { "id": "elm" }, { "id": "oak" }],
        "drives": [{ "from": "lot", "to": "elm", "minutes": 10 }, { "from": "lot", "to": "oak", "minutes": 20 }, { "from": "elm", "to": "oak", "minutes": 15 }],
        "crews": [
            { "id": "north", "people": 2, "skills": ["s"], "home": "lot" },
            { "id": "south", "people": 2, "skills": ["s"] }
        ],
        "trucks": [{ "id": "t1", "crew": "north", "tow_lb": 9000 }, { "id": "t2", "crew": "south", "tow_lb": 9000 }],
        "equipment": [
            { "id": "trailer", "kinds": ["trailer"], "moves": "towed", "place": "lot" },
            { "id": "cart", "kinds": ["cart"], "moves": "carried", "place": "oak" }
        ],
        "things": things,
        "jobs": [one("elm", "elm"), one("oak", "oak")]
    }));
    let plan = json!({ "plan": 1, "from": "2026-12-07", "weeks": 1, "cost": 0, "steps": rows, "hauls": hauls });
    let shop = Shop::new(&book, Horizon::new(monday(), 1).expect("a horizon")).expect("a shop");
    (shop, serde_json::from_value(plan).expect("a plan"))
}

fn row(job: &str, crew: &str, at: usize) -> Value {
    json!({ "job": job, "step": "work", "way": "usual", "crew": crew, "start": half(at), "end": half(at) })
}

fn loads(shop: &Shop, plan: &Plan) -> Loads {
    let loads = Loads::new(shop, plan, 13);
    player::play(shop, plan, &loads).unwrap_or_else(|why| panic!("{why}"));
    loads
}

/// A thing at the lot rides along with the crew that sets out there; one at Elm is fetched by an extra drive for Oak.
#[test]
fn what_the_crew_passes_is_free_and_what_lies_elsewhere_is_fetched() {
    let saw = |at: &str| json!([{ "id": "saw", "counts_as": "saw", "at": at }]);
    let takes = json!({ "takes": ["saw"] });
    let (shop, plan) = desk(&saw("lot"), &json!([row("oak", "north", 0)]), &json!([]), &takes);
    let at_home = loads(&shop, &plan);
    assert_eq!((at_home.drives.len(), at_home.unmet.len()), (0, 0));
    let (shop, plan) = desk(&saw("elm"), &json!([row("oak", "north", 0)]), &json!([]), &takes);
    let fetched = loads(&shop, &plan);
    assert_eq!((fetched.drives.len(), fetched.unmet.len()), (1, 0));
    // Where the crew works at Elm before, it passes there anyway.
    let (shop, plan) = desk(&saw("elm"), &json!([row("elm", "north", 0), row("oak", "north", 1)]), &json!([]), &takes);
    let passed = loads(&shop, &plan);
    assert_eq!((passed.drives.len(), passed.unmet.len()), (0, 0));
    // Two crews at once: one saw is one too few, and that is the later crew's by the book's order.
    let (shop, plan) = desk(&saw("lot"), &json!([row("elm", "north", 0), row("oak", "south", 0)]), &json!([]), &takes);
    assert_eq!(loads(&shop, &plan).unmet.len(), 1);
}

/// What is in a unit comes with it; the other reading, that it stays where the unit was, would want a drive.
#[test]
fn what_is_in_a_unit_comes_with_it() {
    let saw = json!([{ "id": "saw", "counts_as": "saw", "rides_in": "trailer", "home": "trailer" }]);
    let haul = json!([{ "unit": "trailer", "from": "lot", "to": "oak", "at": half(2), "truck": "t1" }]);
    let rows = json!([row("elm", "north", 2), row("oak", "south", 3)]);
    let (shop, plan) = desk(&saw, &rows, &haul, &json!({ "takes": [] }));
    let mut book = shop.book.clone();
    book.jobs[1].steps[0].takes = vec!["saw".to_owned()];
    let shop = Shop::new(&book, shop.horizon).expect("a shop");
    let found = loads(&shop, &plan);
    assert_eq!((found.drives.len(), found.unmet.len(), found.moves.len()), (0, 0, 0));
    assert_eq!(found.during(0, 3), Some(Spot::Unit(shop.find_unit("trailer").expect("a unit"))));
}

/// A trailer that has left a place is not opened there any more, when its crew comes by again; the other reading, that it is
/// opened wherever it stood, would have the saw of Oak go with it for nothing.
#[test]
fn a_unit_that_has_left_is_not_opened_where_it_stood() {
    let saw = |at: &str| json!([{ "id": "saw", "counts_as": "saw", "at": at }]);
    // The North crew hauls the trailer to Elm, then the cart from Oak to the lot.
    let haul = |unit: &str, from: &str, to: &str| json!({ "unit": unit, "from": from, "to": to, "at": half(0), "truck": "t1" });
    let hauls = json!([haul("trailer", "lot", "elm"), haul("cart", "oak", "lot")]);
    let extra = |at: &str| {
        let (shop, plan) = desk(&saw(at), &json!([row("elm", "south", 0)]), &hauls, &json!({ "takes": ["saw"] }));
        let found = loads(&shop, &plan);
        assert_eq!(found.unmet.len(), 0);
        found.drives.len()
    };
    assert_eq!((extra("lot"), extra("oak")), (0, 1));
}

/// A word of where a thing is counts from the next half-day on, whatever was listed: that of Monday noon is not Monday's.
#[test]
fn word_of_where_a_thing_is_counts_from_the_next_half_day_on() {
    let saw = json!([{ "id": "saw", "counts_as": "saw", "at": "lot", "home": "lot", "seen": { "when": half(0), "at": "elm", "by": "north" } }]);
    let rows = json!([row("oak", "north", 0), row("elm", "south", 4)]);
    let (shop, plan) = desk(&saw, &rows, &json!([]), &json!({ "takes": ["saw"] }));
    let found = loads(&shop, &plan);
    let place = |id: &str| Some(Spot::Place(shop.find_place(id).expect("a place")));
    assert_eq!((found.before(0, 0), found.before(0, 1)), (place("lot"), place("elm")));
    // On Wednesday the south crew finds it there.
    assert_eq!((found.drives.len(), found.unmet.len()), (0, 0));
}

/// On order to a base it is brought once it has come; it is a wait; short, it is to be ordered in time.
#[test]
fn material_is_brought_from_where_it_is_delivered_or_ordered_in_time() {
    let step = |material: Value| json!({ "material": [material] });
    let of = |material: Value| {
        let (shop, plan) = desk(&json!([]), &json!([row("oak", "north", 6)]), &json!([]), &step(material));
        let found = loads(&shop, &plan);
        (lots(&shop, &plan).remove(0), found)
    };
    let (lot, found) = of(json!({ "what": "bags", "amount": 40, "expected": "2026-12-09", "to": "lot", "loads": 2 }));
    let wrong = lot.wrong.expect("at the lot");
    // Two loads of 20 + 15 minutes at 25 cents.
    assert_eq!((wrong.minutes, wrong.cost.map(|cost| cost.to_string())), (Some(35), Some("17.50".to_owned())));
    assert_eq!((found.moves.len(), found.unmet.len(), found.drives.len()), (2, 0, 0));
    // The North crew takes them from home on Thursday morning, not before.
    assert!(found.moves.iter().all(|of| of.h == 6 && of.moment == Moment::Start), "{:?}", found.moves);
    let (lot, found) = of(json!({ "what": "bags", "lead_days": 3 }));
    // Three days before Thursday is Monday.
    assert_eq!(lot.state, LotState::Short(Some(monday()), false));
    assert!(found.moves.is_empty());
    let (lot, _) = of(json!({ "what": "bags", "lead_days": 4 }));
    let friday = monday() - chrono::Days::new(3);
    assert_eq!(lot.state, LotState::Short(Some(friday), true));
}

/// At 30 degrees what is kept above 32 goes inside, what is kept above 30 does not; nor does what lies where it is heated.
#[test]
fn cold_nights_take_things_inside_and_the_week_ends_with_a_round_up() {
    let things = json!([
        { "id": "foam", "counts_as": "foam", "at": "elm", "home": "lot", "keep_above_f": 32 },
        { "id": "glue", "at": "elm", "home": "lot", "keep_above_f": 30 },
        { "id": "spare", "counts_as": "foam", "at": "lot", "home": "lot", "keep_above_f": 32 }
    ]);
    let (shop, plan) = desk(&things, &json!([row("oak", "south", 4)]), &json!([]), &json!({}));
    let mut book = shop.book.clone();
    book.places[0].heated = true;
    book.weather = serde_json::from_value(json!([{ "on": half(1), "low_f": 30 }])).expect("weather");
    let shop = Shop::new(&book, shop.horizon).expect("a shop");
    let found = loads(&shop, &plan);
    let cold = nights(&shop, &found, 0..14);
    assert_eq!(cold.iter().map(|night| (night.pm, night.item)).collect::<Vec<_>>(), [(1, 0)]);
    let lying = round_up(&shop, &plan, &found, 14);
    assert_eq!(lying.iter().map(|of| of.item).collect::<Vec<_>>(), [0, 1]);
}
