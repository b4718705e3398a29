//! `why`: smallest sets of facts verified by planning again, links judged by the checker, forged ones refused.

use serde_json::json;
use yardless_answer::Given;
use yardless_answer::why::{Can, ChainLink, Hold, Holds, Lift, can, chain, holds, rests_on};
use yardless_book::half_day::HalfDay;
use yardless_check::check;
use yardless_engine::Limits;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::{STEPS, end, planned, shop};
use yardless_support::{book, day, half};

/// Random books asked about.
const BOOKS: u64 = 250;

#[test]
fn smallest_sets_help_together_and_not_without_any_one() {
    let (mut sets, mut larger, mut links) = (0, 0, 0);
    for seed in 0..BOOKS {
        let (book, plan) = planned(seed);
        let shop = shop(&book, &plan.kept());
        let given = Given::new(&shop, "", &plan).expect("the plan holds");
        for job in &book.jobs {
            for link in chain(&given, &job.id) {
                assert!(holds(&given, &link), "{seed}: {link:?}");
                links += usize::from(judged(&shop, &plan, &link, seed));
            }
        }
        let Some((job, by)) = book.jobs.iter().find_map(|job| Some((job, end(&plan, &job.id)?.pred_opt()?))) else {
            continue;
        };
        let rests = rests_on(&given, &job.id, by, &Limits::steps(200));
        let Holds::These(lifts) = rests.found else { continue };
        sets += 1;
        larger += usize::from(lifts.len() > 1);
        // Planned again with four times the work: with all of them lifted it can be, with all but any one it cannot.
        let again = |lifts: &[Lift]| can(&given, &job.id, by, lifts, &Limits::steps(STEPS));
        assert_eq!(again(&lifts), Can::Yes, "{seed}: {lifts:?}");
        for n in 0..lifts.len() {
            let mut fewer = lifts.clone();
            fewer.remove(n);
            assert_eq!(again(&fewer), Can::No, "{seed}: {fewer:?} of {lifts:?}");
        }
    }
    assert!(sets >= 50 && larger >= 5 && links >= 75, "only {sets} sets, {larger} of two or more, {links} links");
}

/// What the checker says of the plan with the link's step at the earlier start; whether there is one.
#[track_caller]
fn judged(shop: &Shop, plan: &Plan, link: &ChainLink, seed: u64) -> bool {
    let Some(sooner) = link.sooner else { return false };
    let mut moved = plan.clone();
    let row = moved.steps.iter_mut().find(|row| (&row.job, &row.step) == (&link.job, &link.step)).expect("its row");
    let job = shop.jobs.find(|job| job.id == link.job).expect("the job");
    let step = shop.jobs[job].step_ids().find(|step| shop.steps[*step].id == link.step).expect("the step");
    let way = shop.steps[step].ways.iter().position(|way| way.id == row.way).expect("the way");
    let crew = shop.alone(shop.find_crew(&row.crew).expect("the crew"));
    let start = shop.horizon.index(sooner).expect("within");
    assert!(sooner < row.start && link.start == row.start);
    row.start = sooner;
    row.end = shop.horizon.half_day(shop.runs(step, way, crew).and_then(|runs| runs.end_of(start)).expect("a run"));
    let rules: Vec<&str> = check(shop, &moved).breaches.iter().map(|breach| breach.rule.text()).collect();
    let breaks = |any: &[&str]| rules.iter().any(|rule| any.contains(rule));
    let right = match link.hold {
        Hold::After { .. } => breaks(&["W6"]),
        Hold::Crew { .. } => breaks(&["W4"]),
        Hold::Unit { .. } | Hold::Haul { .. } => breaks(&["E1", "E2", "E3", "E4"]),
        Hold::Rule(_) => !rules.is_empty(),
        Hold::Nothing => !rules.iter().any(|rule| rule.starts_with(['W', 'E', 'H'])),
        Hold::Stopped { .. } | Hold::AfterDone | Hold::Fixed | Hold::Now => false,
    };
    assert!(right, "{seed}: {link:?} {rules:?}");
    true
}

/// x is blown by the only crew after y; two tied causes keep y from Monday: the crew is away, and the blower is out.
fn tied() -> yardless_book::Book {
    let blow = json!([{ "id": "blow", "skill": "insulation", "half_days": 2, "needs": [{ "kind": "blower" }] }]);
    book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }],
        "crews": [{ "id": "north", "people": 2, "skills": ["insulation"], "away": [{ "on": day(0) }] }],
        "trucks": [{ "id": "t1" }],
        "equipment": [{ "id": "blower", "kinds": ["blower"], "moves": "carried", "place": "a", "out": [day(0)] }],
        "jobs": [{ "id": "y", "place": "a", "due": day(0), "steps": blow }]
    }))
}

#[test]
fn two_tied_causes_are_told_together() {
    let book = tied();
    let plan = yardless_engine::plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    let shop = shop(&book, &plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let monday = end(&plan, "y").and_then(|end| end.pred_opt()).expect("Tuesday");
    let rests = rests_on(&given, "y", monday, &Limits::steps(STEPS));
    assert!(rests.proven);
    let Holds::These(lifts) = rests.found else { panic!("{rests:?}") };
    // One more crew and one more blower would do as well as the two back: any smallest set has two.
    assert_eq!(lifts.len(), 2, "{lifts:?}");
}

#[test]
fn what_a_left_out_job_rests_on_may_lie_with_the_job_before_it() {
    // y comes after x, which may not begin within the week.
    let book = book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }], "crews": [{ "id": "c", "people": 2, "skills": ["s"] }], "trucks": [], "equipment": [],
        "jobs": [
            { "id": "x", "place": "a", "earliest": day(21), "steps": [{ "id": "w", "skill": "s", "half_days": 1 }] },
            { "id": "y", "place": "a", "steps": [{ "id": "w", "skill": "s", "half_days": 1, "after": ["x/w"] }] }
        ]
    }));
    let plan = yardless_engine::plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    assert_eq!(plan.left_out.len(), 1);
    let shop = shop(&book, &plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let rests = rests_on(&given, "y", shop.horizon.last_date(), &Limits::steps(STEPS));
    assert_eq!((rests.found, rests.proven), (Holds::These(vec![Lift::Access("x".to_owned())]), true));
    // x itself costs nothing as long as it is later: that is no way to have it done.
    let rests = rests_on(&given, "x", shop.horizon.last_date(), &Limits::steps(STEPS));
    assert_eq!((rests.found, rests.proven), (Holds::These(vec![Lift::Access("x".to_owned())]), true));
}

#[test]
fn forged_links_are_refused() {
    let blow = |skill: &str| json!([{ "id": "blow", "skill": skill, "half_days": 2, "needs": [{ "kind": "blower" }] }]);
    let book = book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }],
        "crews": [
            { "id": "north", "people": 2, "skills": ["insulation"] }, { "id": "south", "people": 2, "skills": ["dense pack"] }
        ],
        "trucks": [{ "id": "t1" }],
        "equipment": [{ "id": "blower", "kinds": ["blower"], "moves": "carried", "place": "a" }],
        "jobs": [
            { "id": "x", "place": "a", "due": day(0), "late_day": 300, "steps": blow("insulation") },
            { "id": "y", "place": "a", "due": day(1), "steps": blow("dense pack") }
        ]
    }));
    let plan = yardless_engine::plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    let shop = shop(&book, &plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let links = chain(&given, "y");
    let Hold::Unit { unit, job, step, end } = &links[0].hold else { panic!("{links:?}") };
    assert_eq!((unit.as_str(), job.as_str(), step.as_deref(), end.to_string()), ("blower", "x", Some("blow"), half(1)));
    assert_eq!(links[1].hold, Hold::Now);
    assert!(links.iter().all(|link| holds(&given, link)));
    let forged = |hold: Hold| {
        let mut link = links[0].clone();
        link.hold = hold;
        link
    };
    let end: HalfDay = half(1).parse().expect("a half-day");
    for hold in [
        Hold::Unit { unit: "other".to_owned(), job: "x".to_owned(), step: Some("blow".to_owned()), end },
        Hold::Unit { unit: "blower".to_owned(), job: "x".to_owned(), step: None, end },
        Hold::Unit {
            unit: "blower".to_owned(),
            job: "x".to_owned(),
            step: Some("blow".to_owned()),
            end: end.following(),
        },
        Hold::Crew { crew: "south".to_owned(), job: "x".to_owned(), step: "blow".to_owned(), end },
        Hold::After { job: "x".to_owned(), step: "blow".to_owned(), end },
        Hold::Nothing,
        Hold::Now,
    ] {
        assert!(!holds(&given, &forged(hold.clone())), "{hold:?}");
    }
    let mut sooner = links[0].clone();
    sooner.start = end;
    assert!(!holds(&given, &sooner));
}

#[test]
fn one_crew_that_is_the_first_for_two_skills_is_one_fact_each() {
    // The only crew for both steps is away from Tuesday on; even without that, and with one more crew for either skill,
    // each lifted by itself or all together, what is added is never taken for another.
    let step = |id: &str, skill: &str| json!({ "id": id, "skill": skill, "half_days": 2, "needs": [{ "kind": id }] });
    let book = book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }],
        "crews": [
            { "id": "c", "people": 2, "skills": ["p", "q"] }, { "id": "c+", "people": 2, "skills": ["r"] }
        ],
        "trucks": [{ "id": "t" }, { "id": "t+" }],
        "equipment": [
            { "id": "m", "kinds": ["x", "y"], "moves": "carried", "place": "a" },
            { "id": "m+0 at a", "kinds": ["z"], "moves": "carried", "place": "a" }
        ],
        "jobs": [
            { "id": "first", "place": "a", "due": day(1), "late_day": 500, "steps": [step("x", "p"), step("y", "q")] },
            { "id": "second", "place": "a", "steps": [step("x", "p"), step("y", "q")] }
        ]
    }));
    let plan = yardless_engine::plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    let shop = shop(&book, &plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let ends = end(&plan, "second").expect("done");
    assert_eq!(ends.to_string(), day(3));
    let lifted = [
        Lift::Crews("p".to_owned()),
        Lift::Crews("q".to_owned()),
        Lift::Units("x".to_owned()),
        Lift::Units("y".to_owned()),
    ];
    let tuesday = ends - chrono::Days::new(2);
    let can = |lifted: &[Lift]| can(&given, "second", tuesday, lifted, &Limits::steps(STEPS));
    assert_ne!(can(&[]), Can::Yes);
    assert_eq!(can(&[&lifted[..], &[Lift::Trucks]].concat()), Can::Yes);
    assert_ne!(can(&lifted[..3]), Can::Yes);
}

#[test]
fn why_of_every_job_of_the_demo_meets_only_plans_that_hold() {
    // A plan that is found and does not hold ends the run. All that can be added at once, and the whole question.
    let text = include_bytes!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/demo.json"));
    let book = yardless_book::read(text).expect("no fault").book;
    let weeks = yardless_book::half_day::Horizon::new(yardless_support::monday(), 6).expect("a horizon");
    let shop = |kept: &[yardless_plan::shop::KeptStep]| Shop::again(&book, weeks, 0, Some(kept)).expect("no fault");
    let plan = yardless_engine::plan(&shop(&[]), "", &Limits::steps(90), &mut |_| {});
    let shop = shop(&plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let (mut asked, mut helped) = (0, 0);
    for job in &book.jobs {
        let Some(by) = end(&plan, &job.id).and_then(|end| end.pred_opt()).filter(|by| *by >= given.now().date()) else {
            continue;
        };
        let mut added: Vec<Lift> = job.steps.iter().map(|step| Lift::Crews(step.skill.clone())).collect();
        let ways = || job.steps.iter().flat_map(|step| step.ways.iter().flatten().flat_map(|way| &way.needs));
        let needs = job.steps.iter().flat_map(|step| &step.needs).chain(ways());
        added.extend(needs.map(|need| Lift::Units(need.kind.clone())));
        added.push(Lift::Trucks);
        let found = can(&given, &job.id, by, &added, &Limits::steps(20));
        helped += usize::from(found == Can::Yes);
        assert_eq!(rests_on(&given, &job.id, by, &Limits::steps(20)).by, by);
        asked += 1;
    }
    assert!(asked >= 10 && helped >= asked / 4, "only {asked}, {helped} of them done sooner");
}
