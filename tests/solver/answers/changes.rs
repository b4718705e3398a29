//! Why a job is not done as it was given out: each breach told is found when its rows are put back into the new plan, and
//! nothing is blamed that is over by then.

use serde_json::json;
use yardless_answer::{Because, JobChange, changes};
use yardless_book::Book;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_check::{Breach, check};
use yardless_engine::{Limits, plan, replan};
use yardless_plan::shop::Shop;
use yardless_plan::{HaulRow, Plan, Rule, StepRow};

use super::{STEPS, horizon};
use yardless_support::draw::Draw;
use yardless_support::generate::{Shape, generate};
use yardless_support::midway::midway;
use yardless_support::season::{play, surprise};
use yardless_support::{book, day, half, monday};

/// Books midway, and books played from Monday, asked about.
const BOOKS: u64 = 80;

/// The new plan with what was given out of a job put back; after its end its units are hauled as in `after`.
fn put_back(book: &Book, kept: &Plan, new: &Plan, id: &str, after: &Plan) -> Plan {
    let job = book.jobs.iter().find(|job| job.id == id).expect("the job");
    let mut rows: Vec<StepRow> = Vec::new();
    for step in job.steps.iter().filter(|step| step.done.is_none()) {
        let of = |plan: &Plan| -> Vec<StepRow> {
            plan.steps.iter().filter(|row| row.job == id && row.step == step.id).cloned().collect()
        };
        let (was, is) = (of(kept), of(new));
        let whole = |rows: &[StepRow]| rows.len() == 1 && rows[0].span == 1;
        match &step.progress {
            Some(_) if was.is_empty() || whole(&was) && whole(&is) => rows.extend(is),
            Some(progress) => rows.extend(was.into_iter().map(|row| {
                let start = if row.span == 1 { progress.start } else { row.start };
                StepRow { start, ..row }
            })),
            None => rows.extend(was),
        }
    }
    let parked: Vec<_> = kept.parked.iter().filter(|row| row.job == id).cloned().collect();
    let end = rows.iter().map(|row| row.end).max().expect("a row");
    let holds = |unit: &String| {
        rows.iter().any(|row| row.units.contains(unit)) || parked.iter().any(|row| row.units.contains(unit))
    };
    let told = |haul: &&HaulRow| holds(&haul.unit) && new.now.is_some_and(|now| haul.at >= now) && haul.at <= end;
    let later = |haul: &&HaulRow| holds(&haul.unit) && haul.at > end;
    let mut hauls: Vec<HaulRow> = new.hauls.iter().filter(|haul| !holds(&haul.unit)).cloned().collect();
    let back = kept.hauls.iter().filter(told).chain(after.hauls.iter().filter(later));
    hauls.extend(back.map(|haul| HaulRow { needs_clear: None, estimate: None, ..haul.clone() }));
    let mut plan = Plan { hauls, ..new.clone() };
    plan.left_out.retain(|row| row.job != id);
    plan.steps.retain(|row| row.job != id);
    plan.steps.extend(rows);
    plan.parked.retain(|row| row.job != id);
    plan.parked.extend(parked);
    plan
}

fn of_a_plan(breach: &Breach) -> bool {
    !breach.of_cost()
}

/// Whether the reason is true; which sort it is of.
#[track_caller]
fn true_reason(shop: &Shop, book: &Book, kept: &Plan, new: &Plan, change: &JobChange, seed: u64) -> usize {
    let id = shop.jobs[change.job].id.as_str();
    let judged = |after: &Plan| check(shop, &put_back(book, kept, new, id, after));
    let told = |of: &Plan| of.steps.iter().any(|row| row.job == id);
    match &change.because {
        Because::New => {
            assert!(!told(kept), "{seed}: {id}");
            0
        }
        Because::NotBegun => {
            let past = |row: &StepRow| row.job == id && row.start < shop.horizon.half_day(shop.now);
            assert!(kept.steps.iter().any(past), "{seed}: {id}");
            0
        }
        Because::Breaks(breaches) | Because::InTheWay(breaches) => {
            let found = judged(new).breaches;
            assert!(
                !breaches.is_empty() && breaches.iter().all(|of| found.contains(of)),
                "{seed}: {breaches:?} {found:?}"
            );
            if let Because::Breaks(own) = &change.because {
                assert!(
                    own.iter().all(|of| of.fact.jobs(shop).iter().all(|job| *job == change.job)),
                    "{seed}: {own:?}"
                );
                1
            } else {
                2
            }
        }
        Because::Cheaper(cents) | Because::NotFound(cents) => {
            let cheaper = matches!(change.because, Because::Cheaper(_));
            let stays = if cheaper { new.cost + *cents } else { new.cost - *cents };
            let holds = |after: &Plan| {
                let verdict = judged(after);
                !verdict.breaches.iter().any(of_a_plan) && verdict.costs.total() == stays
            };
            assert!(holds(kept) || holds(new), "{seed}: {:?}", change.because);
            3
        }
    }
}

#[test]
fn each_reason_is_true_of_the_new_plan_with_the_old_rows_put_back() {
    let limits = Limits::steps(40);
    let mut sorts = [0; 4];
    for seed in 0..BOOKS {
        let mut draw = Draw::new(seed ^ 0xbeca);
        let (mut book, weeks, now) = if seed % 2 == 0 {
            let made = midway(seed, seed % 4 == 0);
            (made.book, 1, made.now)
        } else {
            let mut book = generate(Shape::new(5, 2, 2), seed);
            let Ok(first) = Shop::new(&book, horizon(2)) else { continue };
            let given_out = plan(&first, "", &limits, &mut |_| {});
            let now = draw.between(2, 12);
            play(&mut book, &first, &given_out, now, &mut draw);
            (book, 2, now)
        };
        let of = Horizon::new(monday(), weeks).expect("a horizon");
        let Ok(before) = Shop::again(&book, of, now, None) else { continue };
        let kept = plan(&before, "", &limits, &mut |_| {});
        surprise(&mut book, of.half_day(now + draw.below(4)), &mut draw);
        surprise(&mut book, of.half_day(now + draw.below(4)), &mut draw);
        let Ok(shop) = Shop::again(&book, of, now, Some(&kept.kept())) else { continue };
        let new = replan(&shop, "", &kept, &limits, &mut |_| {});
        assert!(check(&shop, &new).holds());
        for change in changes(&shop, &kept, &new) {
            sorts[true_reason(&shop, &book, &kept, &new, &change, seed)] += 1;
        }
    }
    println!("{sorts:?}");
    assert!(sorts[1] >= 10 && sorts[2] >= 5, "{sorts:?}");
}

#[test]
fn what_ends_before_a_job_is_no_reason_for_it() {
    // One has begun and holds the only blower until Tuesday; two, outside, was to have it on Wednesday, when a storm comes.
    let step = |id: &str| json!({ "id": id, "skill": "s", "half_days": 4, "needs": [{ "kind": "blower" }] });
    let mut one = step("blow");
    one["progress"] = json!({ "crew": "c", "start": "2026-12-04 am", "left": 4, "units": ["blower"] });
    let mut two = step("blow");
    (two["half_days"], two["outside"]) = (json!(2), json!(true));
    let mut written = json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }], "trucks": [],
        "crews": [{ "id": "c", "people": 2, "skills": ["s"] }, { "id": "d", "people": 2, "skills": ["s"] }],
        "equipment": [{ "id": "blower", "kinds": ["blower"], "moves": "carried", "place": "a" }],
        "jobs": [{ "id": "one", "place": "a", "steps": [one] }, { "id": "two", "place": "a", "steps": [two] }]
    });
    let shop = |written: &serde_json::Value, kept: Option<&Plan>| {
        let kept = kept.map(Plan::kept);
        Shop::again(&book(written.clone()), horizon(1), 0, kept.as_deref()).expect("no fault")
    };
    let starts = |plan: &Plan| plan.steps.iter().find(|row| row.job == "two").map(|row| row.start);
    let at = |h: usize| half(h).parse::<HalfDay>().ok();
    let kept = plan(&shop(&written, None), "", &Limits::steps(STEPS), &mut |_| {});
    assert_eq!(starts(&kept), at(4));
    written["weather"] = json!([{ "on": day(2), "storm": true }]);
    let shop = shop(&written, Some(&kept));
    let new = replan(&shop, "", &kept, &Limits::steps(STEPS), &mut |_| {});
    assert_eq!(starts(&new), at(6));
    let [change] = &changes(&shop, &kept, &new)[..] else { panic!("one job is moved") };
    let Because::Breaks(breaches) = &change.because else { panic!("{:?}", change.because) };
    assert_eq!(breaches.iter().map(|breach| breach.rule).collect::<Vec<_>>(), [Rule::W7], "{breaches:?}");
}
