//! `free`: whatever is found holds by the checker with the units held there, and what is possible with the unit taken away
//! again, or hauled on from another place, is found and told.

use serde_json::{Value, json};
use yardless_answer::{Ask, Given, Together, together};
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::shop::{Id, KindId, PlaceId, Shop};
use yardless_plan::{HaulRow, Plan, StepRow, UnhitchedHaul, hitch};

use super::{STEPS, planned, shop};
use yardless_support::{book, half};

/// Random books asked about.
const BOOKS: u64 = 80;

/// Plan and book with the units held as was found, each by a job of its own at its place; all else as given out.
fn held(book: &Book, plan: &Plan, ask: &Ask, found: &Together) -> (Book, Plan) {
    let (mut book, mut plan) = (book.clone(), plan.clone());
    for (n, (unit, place)) in found.units.iter().enumerate() {
        let id = format!("held {n}");
        let kind = book.equipment.iter().find(|of| of.id == *unit).expect("the unit").kinds[0].clone();
        let people = json!({ "id": id, "people": 1, "skills": [id], "own": false });
        let needs = json!([{ "kind": kind }]);
        let job = json!({
            "id": id, "place": place,
            "steps": [{ "id": id, "skill": id, "half_days": ask.half_days, "needs": needs }]
        });
        book.crews.push(serde_json::from_value(people).expect("a crew"));
        book.jobs.push(serde_json::from_value(job).expect("a job"));
        plan.steps.push(StepRow {
            job: id.clone(),
            step: id.clone(),
            way: "usual".to_owned(),
            crew: id,
            with: Vec::new(),
            start: found.first,
            end: found.last,
            units: vec![unit.clone()],
            span: 1,
            overtime: false,
        });
    }
    let same = |a: &HaulRow, b: &HaulRow| {
        (&a.unit, &a.from, &a.to, a.at, a.evening) == (&b.unit, &b.from, &b.to, b.at, b.evening)
    };
    for gone in &found.instead {
        let at = plan.hauls.iter().position(|haul| same(haul, gone)).expect("a haul of the plan");
        plan.hauls.remove(at);
    }
    plan.hauls.extend(found.hauls.iter().chain(&found.then).cloned());
    (book, plan)
}

/// Trucks may change hands.
fn hitched(shop: &Shop, plan: &mut Plan) {
    let mut times: Vec<HalfDay> = plan.hauls.iter().map(|haul| haul.at).collect();
    times.sort_unstable();
    times.dedup();
    for at in times {
        let h = shop.horizon.index(at).expect("within");
        let unit = |id: &str| shop.units.find(|of| of.id == id).expect("a unit");
        let place = |id: &str| shop.places.find(|of| of.id == id).expect("a place");
        let wanted: Vec<UnhitchedHaul> = (plan.hauls.iter().filter(|haul| haul.at == at))
            .map(|haul| UnhitchedHaul { unit: unit(&haul.unit), from: place(&haul.from), to: place(&haul.to) })
            .collect();
        let trucks = hitch(shop, h, &wanted, |_| None).expect("a truck for each haul");
        for (haul, truck) in plan.hauls.iter_mut().filter(|haul| haul.at == at).zip(trucks) {
            haul.truck.clone_from(&shop.trucks[truck].id);
        }
    }
}

#[track_caller]
fn found_holds(book: &Book, plan: &Plan, ask: &Ask, found: &Together, seed: u64) {
    let (with, mut held) = held(book, plan, ask, found);
    let shop = shop(&with, &[]);
    hitched(&shop, &mut held);
    // Whether somebody could work there all the time is not asked.
    let mut wrong = check(&shop, &held).breaches;
    wrong.retain(|breach| breach.rule.text().starts_with(['E', 'H']));
    assert!(wrong.is_empty(), "{seed}: {ask:?} {found:?} {wrong:?}");
    let made_before = |haul: &&HaulRow| haul.at < shop.horizon.half_day(ask.from);
    assert!(found.hauls.iter().chain(&found.then).chain(&found.instead).find(made_before).is_none(), "{seed}: {ask:?}");
}

#[test]
fn what_is_found_holds_with_the_units_held() {
    let (mut all, mut brought, mut taken_on) = (0, 0, 0);
    for seed in 0..BOOKS {
        let (book, plan) = planned(seed);
        let shop = shop(&book, &plan.kept());
        let given = Given::new(&shop, "", &plan).expect("the plan holds");
        for kind in shop.kinds.ids().filter(|kind| shop.units.iter().any(|unit| unit.kinds.contains(kind))) {
            let places: Vec<Option<PlaceId>> = shop.places.ids().map(Some).chain([None]).collect();
            for (n, place) in places.into_iter().enumerate() {
                let (count, half_days) = (1 + usize::from(n % 3 == 2), 1 + (seed as usize + n) % 2);
                let ask = Ask { kind, count, half_days, place, from: [0, 4][(seed as usize / 2 + n) % 2] };
                let Some(found) = together(&given, &ask) else { continue };
                found_holds(&book, &plan, &ask, &found, seed);
                all += 1;
                brought += usize::from(!found.hauls.is_empty());
                taken_on += usize::from(!found.then.is_empty());
            }
        }
    }
    println!("{all} found, {brought} brought, {taken_on} taken on otherwise");
    assert!(all >= 150 && brought >= 25 && taken_on >= 8, "{all} found, {brought} brought, {taken_on} taken on");
}

/// A yard, a site with spots for so many trailers, and another site, 60 minutes apart each; a lift and a blower, trailers
/// that stand in the yard. Job x is fixed to start at the site on Thursday with the lift, y on Friday at the other one with
/// the blower.
fn site(spots: usize) -> Value {
    let job = |id: &str, place: &str, kind: &str, start: usize| {
        json!({
            "id": id, "place": place,
            "steps": [{ "id": "s", "skill": "s", "half_days": 2, "needs": [{ "kind": kind }], "fixed": { "start": half(start) } }]
        })
    };
    let trailer = |id: &str| json!({ "id": id, "kinds": [id], "moves": "towed", "weight_lb": 1000, "place": "yard" });
    let drive = |from: &str, to: &str| json!({ "from": from, "to": to, "minutes": 60 });
    json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "yard" }, { "id": "site", "trailer_spots": spots }, { "id": "other" }],
        "drives": [drive("yard", "site"), drive("yard", "other"), drive("site", "other")],
        "crews": [{ "id": "c", "people": 2, "skills": ["s"] }, { "id": "d", "people": 2, "skills": ["s"] }],
        "trucks": [{ "id": "t", "tow_lb": 5000, "tows": 2 }],
        "equipment": [trailer("lift"), trailer("blower")],
        "jobs": [job("x", "site", "lift", 6), job("y", "other", "blower", 8)]
    })
}

/// When and how a blower is free at a place from a half-day on, by the best plan as altered by hand.
fn blower_at(
    written: &Value,
    place: &str,
    from: usize,
    by_hand: impl FnOnce(&mut Plan),
) -> Option<(HalfDay, [Vec<String>; 3])> {
    let book = book(written.clone());
    let mut given_out = plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    assert!(given_out.left_out.is_empty(), "{:?}", given_out.left_out);
    by_hand(&mut given_out);
    let shop = shop(&book, &given_out.kept());
    let given = Given::new(&shop, "", &given_out).expect("the plan holds");
    let ask = Ask {
        kind: KindId::from_index(shop.kinds.iter().position(|kind| kind.id == "blower").expect("the kind")),
        count: 1,
        half_days: 1,
        place: shop.places.find(|of| of.id == place),
        from,
    };
    let found = together(&given, &ask)?;
    found_holds(&book, &given_out, &ask, &found, 0);
    let says = |hauls: &[HaulRow]| hauls.iter().map(|haul| format!("{} to {}", haul.from, haul.to)).collect();
    Some((found.first, [says(&found.hauls), says(&found.then), says(&found.instead)]))
}

fn texts(of: [&[&str]; 3]) -> [Vec<String>; 3] {
    of.map(|of| of.iter().map(|text| (*text).to_owned()).collect())
}

fn at(h: usize) -> HalfDay {
    half(h).parse().expect("a half-day")
}

#[test]
fn unit_is_had_where_it_is_taken_away_before_its_spot_is_wanted() {
    // The one spot at the site is the lift's from Thursday on: until then the blower may stand there.
    let hauls = texts([&["yard to site"], &["site to other"], &["yard to other"]]);
    assert_eq!(blower_at(&site(1), "site", 0, |_| {}), Some((at(0), hauls)));
    // The same where nothing wants the blower afterwards.
    let mut idle = site(1);
    idle["jobs"].as_array_mut().expect("jobs").pop();
    let found = blower_at(&idle, "site", 0, |_| {}).expect("it can be had");
    assert_eq!((found.0, found.1[1].len(), found.1[2].len()), (at(0), 1, 0), "{found:?}");
    // Without a spot it cannot stand there at all.
    idle["places"][1]["trailer_spots"] = json!(0);
    idle["jobs"] = json!([{ "id": "z", "place": "other", "steps": [{ "id": "s", "skill": "s", "half_days": 1 }] }]);
    assert_eq!(blower_at(&idle, "site", 0, |_| {}), None);
}

#[test]
fn next_haul_from_another_place_is_told() {
    let hauls = texts([&["yard to site"], &["site to other"], &["yard to other"]]);
    assert_eq!(blower_at(&site(2), "site", 2, |_| {}), Some((at(2), hauls)));
    // In the yard nothing changes.
    assert_eq!(blower_at(&site(2), "yard", 2, |_| {}), Some((at(2), texts([&[], &[], &[]]))));
}

#[test]
fn what_was_hauled_before_the_time_asked_about_stays_hauled() {
    // By the plan the blower goes to the other site on Tuesday already: asked on Wednesday, it stands there.
    let early = |plan: &mut Plan| {
        let haul = plan.hauls.iter_mut().find(|haul| haul.unit == "blower").expect("its haul");
        (haul.at, haul.evening) = (at(2), false);
    };
    let hauls = texts([&["other to yard"], &["yard to other"], &[]]);
    assert_eq!(blower_at(&site(2), "yard", 4, early), Some((at(4), hauls)));
    assert_eq!(blower_at(&site(2), "other", 4, early), Some((at(4), texts([&[], &[], &[]]))));
}
