//! Books of real size with every field: the search makes plans of them that hold, and each field shows in some of them.

use std::collections::BTreeMap;

use yardless_book::half_day::Horizon;
use yardless_book::{Book, Job, Step};
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::shop::{Obstacle, Shop, StepFacts, Team};
use yardless_plan::{Plan, StepRow};

use yardless_support::generate::full::full;
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;

/// How many plans show something.
type Seen = BTreeMap<&'static str, usize>;

fn planned(book: &Book, weeks: u32, rounds: u64) -> (Shop, Plan) {
    let shop = Shop::new(book, Horizon::new(monday(), weeks).expect("a horizon")).expect("a book without fault");
    let plan = plan(&shop, "", &Limits::steps(rounds), &mut |_| {});
    let verdict = check(&shop, &plan);
    assert!(verdict.holds(), "{}: {:?}", book.shop.name, verdict.breaches);
    assert_eq!((plan.costs, plan.cost), (verdict.costs, verdict.costs.total()), "{}", book.shop.name);
    assert!(plan.bound.is_none_or(|bound| bound <= plan.cost), "{}", book.shop.name);
    (shop, plan)
}

/// A plan, and how to read what its book says of its rows.
struct Look<'p> {
    book: &'p Book,
    shop: &'p Shop,
    plan: &'p Plan,
}

impl Look<'_> {
    fn job(&self, row: &StepRow) -> &Job {
        self.book.jobs.iter().find(|job| job.id == row.job).expect("a job")
    }

    fn step(&self, row: &StepRow) -> &Step {
        self.job(row).steps.iter().find(|step| step.id == row.step).expect("a step")
    }

    fn any(&self, shows: impl Fn(&StepRow) -> bool) -> bool {
        self.plan.steps.iter().any(shows)
    }

    /// Two rows that are both worked on at some time.
    fn together(&self, shows: impl Fn(&StepRow, &StepRow) -> bool) -> bool {
        let rows = &self.plan.steps;
        let mut pairs = rows.iter().enumerate().flat_map(|(n, row)| rows[..n].iter().map(move |other| (row, other)));
        pairs.any(|(a, b)| a.start <= b.end && b.start <= a.end && shows(a, b))
    }

    /// Whether it is too hot for a step in a half-day between its start and its end.
    fn hot(&self, row: &StepRow) -> bool {
        let shop = self.shop;
        let is = |facts: &StepFacts| facts.id == row.step && shop.jobs[facts.job].id == row.job;
        let (step, facts) = shop.steps.pairs().find(|(_, facts)| is(facts)).expect("an open step");
        let crew = |id: &String| shop.find_crew(id).expect("a crew");
        let team = Team::new(crew(&row.crew), row.with.iter().map(crew).collect());
        let way = facts.ways.iter().position(|way| way.id == row.way).expect("a way");
        let index = |half_day| shop.horizon.index(half_day).expect("planned");
        (index(row.start)..=index(row.end)).any(|h| shop.obstacle(step, way, &team, h) == Some(Obstacle::Hot))
    }

    fn costs(&self) -> Vec<(&'static str, bool)> {
        let costs = self.plan.costs;
        let terms = [
            ("told", costs.told),
            ("help", costs.help),
            ("standing", costs.standing),
            ("hire", costs.hire),
            ("reserve", costs.reserve),
            ("driving", costs.driving),
            ("open sites", costs.open),
        ];
        terms.into_iter().map(|(what, cents)| (what, cents.0 > 0)).collect()
    }

    fn people(&self) -> Vec<(&'static str, bool)> {
        let stop = |row: &StepRow| self.step(row).hours.is_some();
        let inspected = |row: &StepRow| row.crew == "inspector";
        vec![
            ("two crews", self.any(|row| row.with.len() == 1)),
            ("three crews", self.any(|row| row.with.len() == 2)),
            ("a way for three people", self.any(|row| row.way == "two machines")),
            ("stops in one half-day", self.together(|a, b| a.crew == b.crew && !inspected(a) && stop(a) && stop(b))),
            ("several at once", self.together(|a, b| inspected(a) && inspected(b))),
        ]
    }

    fn gear(&self) -> Vec<(&'static str, bool)> {
        let power = |unit: &String| {
            self.book.equipment.iter().any(|of| of.id == *unit && of.kinds.iter().any(|kind| kind == "generator"))
        };
        let parked = |job: &str| -> Vec<&String> {
            self.plan.parked.iter().filter(|row| row.job == job).flat_map(|row| &row.units).collect()
        };
        let leaves = |job: &Job| {
            let end = self.plan.steps.iter().filter(|row| row.job == job.id).map(|row| row.end).max();
            let hauls = || self.plan.hauls.iter().filter(|haul| haul.from == job.place && Some(haul.at) < end);
            parked(&job.id).into_iter().any(|unit| hauls().any(|haul| haul.unit == *unit))
        };
        vec![
            ("two generators", self.any(|row| row.units.iter().filter(|unit| power(unit)).count() == 2)),
            (
                "shared with what is parked",
                self.any(|row| parked(&row.job).iter().any(|unit| row.units.contains(unit))),
            ),
            ("parked for a while", self.book.jobs.iter().any(leaves)),
            ("hired, and sent back", self.plan.hauls.iter().any(|haul| haul.to == "hire")),
        ]
    }

    fn dates(&self) -> Vec<(&'static str, bool)> {
        let waited = |row: &StepRow| {
            let mut waits = self.job(row).waits_on.iter().chain(&self.step(row).waits_on);
            waits.any(|wait| wait.expected == Some(row.start.date()))
        };
        let kept = |row: &StepRow| {
            let told = self.step(row).told.as_ref();
            told.is_some_and(|told| told.from <= row.start.date() && row.start.date() <= told.to)
        };
        vec![
            ("in part", self.plan.later.iter().any(|row| !row.steps.is_empty())),
            ("late by itself", self.any(|row| self.step(row).due.is_some_and(|due| row.end.date() > due))),
            ("on the date waited for", self.any(waited)),
            ("a word kept", self.any(kept)),
            ("a pause for heat", self.any(|row| self.hot(row))),
        ]
    }
}

#[test]
fn plans_of_full_books_hold_and_show_every_field() {
    let mut seen = Seen::new();
    for seed in 0..16 {
        let book = full(Shape::new(12, 4, 3), seed);
        let (shop, plan) = planned(&book, 4, 60);
        let look = Look { book: &book, shop: &shop, plan: &plan };
        for (what, shows) in [look.costs(), look.people(), look.gear(), look.dates()].concat() {
            *seen.entry(what).or_default() += usize::from(shows);
        }
    }
    println!("{seen:#?}");
    let never: Vec<_> = seen.iter().filter(|(_, plans)| **plans == 0).map(|(what, _)| what).collect();
    assert!(never.is_empty(), "no plan shows {never:?}");
}

#[test]
fn plans_of_full_books_of_every_size_hold() {
    for (jobs, weeks, crews, seeds) in [(8, 3, 2, 4), (20, 6, 3, 2), (40, 10, 5, 1)] {
        for seed in 0..seeds {
            let book = full(Shape::new(jobs, weeks, crews), seed);
            let (shop, plan) = planned(&book, weeks, 20);
            assert!(plan.left_out.len() * 2 < book.jobs.len(), "seed {seed}: {:?}", plan.left_out);
            assert!(!shop.jobs.is_empty());
        }
    }
}

/// What was there before stays as it was: only fields are added, and jobs are the same ones.
#[test]
fn full_books_are_the_same_books_with_more_fields() {
    for seed in 0..5 {
        let shape = Shape::new(12, 4, 3);
        let (plain, full) = (generate(shape, seed), full(shape, seed));
        for (plain, full) in plain.jobs.iter().zip(&full.jobs) {
            assert_eq!((&plain.id, plain.earliest, plain.due), (&full.id, full.earliest, full.due));
            let skill = |of: &Step| full.steps.iter().find(|step| step.id == of.id).map(|step| step.skill.clone());
            assert!(plain.steps.iter().all(|step| skill(step).as_ref() == Some(&step.skill)), "{}", plain.id);
        }
        assert_eq!(plain.drives.len(), full.drives.len());
    }
}
