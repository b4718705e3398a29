//! What matters to an owner: invented owners, whose own prices are known, choose by what their plans cost at these; the
//! prices that come of it are nearer to theirs than those of the book were.

use serde_json::Value;
use yardless_answer::Given;
use yardless_answer::matters::{Answers, Choice, Fact, MOST_SHOWN, Matter, NoQuestion, QUESTIONS, Weighing};
use yardless_book::Book;
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::horizon;

/// An owner: by how much more or less each thing matters than the book says.
type Owner = Vec<(Matter, f64)>;

fn rank(id: &str) -> Matter {
    Matter::LateOf(id.to_owned())
}

/// A book with its plan of some weeks, made with few rounds.
fn planned(text: &str, weeks: u32, rounds: u64) -> (Book, Plan) {
    let book = yardless_book::read(text.as_bytes()).expect("a book").book;
    let shop = Shop::again(&book, horizon(weeks), 0, None).expect("no fault");
    let plan = plan(&shop, "", &Limits::steps(rounds), &mut |_| {});
    (book, plan)
}

/// What a plan costs an owner.
fn costs(book: &Book, weeks: u32, plan: &Plan, owner: &Owner) -> i64 {
    let mut own = book.clone();
    for (matter, factor) in owner {
        matter.times(&mut own, *factor);
    }
    let shop = Shop::again(&own, horizon(weeks), 0, Some(&[])).expect("no fault");
    let verdict = check(&shop, plan);
    assert!(verdict.breaches.iter().all(yardless_check::Breach::of_cost), "a plan that holds");
    verdict.costs.total().0
}

/// What an owner answers, from the first question to the last.
fn answered(book: &Book, weeks: u32, weighing: &Weighing, owner: &Owner) -> Answers {
    let mut chosen = Vec::new();
    loop {
        let answers = weighing.after(&chosen);
        let Some(question) = &answers.next else { return answers };
        let (first, second) = weighing.plans(question);
        let cost = |plan| costs(book, weeks, plan, owner);
        chosen.push(if cost(first) < cost(second) { Choice::First } else { Choice::Second });
    }
}

/// How far prices are from an owner's: the root of the mean square of the logarithms, before and after.
fn distances(answers: &Answers, owner: &Owner) -> (f64, f64) {
    let own = |matter: &Matter| owner.iter().find(|(of, _)| of == matter).map_or(1.0, |(_, factor)| *factor).ln();
    let square = |of: &dyn Fn(&yardless_answer::matters::PriceSet) -> f64| {
        let sum: f64 = answers.prices.iter().map(|set| (of(set) - own(&set.matter)).powi(2)).sum();
        (sum / answers.prices.len() as f64).sqrt()
    };
    (square(&|_| 0.0), square(&|set| (set.is.0 as f64 / set.was.0 as f64).ln()))
}

const DEMO: &str = include_str!("../../../data/demo.json");
const WEEKS: u32 = 6;

/// A book with its plan, and the plans that choices are made between.
fn weighed(text: &str, weeks: u32) -> (Book, Plan, Weighing) {
    let (book, kept) = planned(text, weeks, 100);
    let shop = Shop::again(&book, horizon(weeks), 0, Some(&kept.kept())).expect("no fault");
    let given = Given::new(&shop, "", &kept).expect("the plan holds");
    let weighing = Weighing::new(&given, &Limits::steps(20));
    (book, kept, weighing)
}

/// Asks each owner, and tells how many end nearer, and what is left of the way on the mean.
fn led(text: &str, weeks: u32, owners: &[Owner]) -> (usize, f64) {
    let (book, _, weighing) = weighed(text, weeks);
    assert_eq!(weighing.nothing(), None);
    let (mut left, mut nearer) = (0.0, 0);
    for owner in owners {
        let answers = answered(&book, weeks, &weighing, owner);
        assert!((3..=QUESTIONS).contains(&answers.chosen) && answers.next.is_none(), "{}", answers.chosen);
        let (before, after) = distances(&answers, owner);
        println!("{owner:?}: {before:.2} to {after:.2}");
        nearer += usize::from(after < before);
        left += after / before;
        for set in &answers.prices {
            let (least, most) = set.between;
            assert!(least <= most && (set.is == set.was || (least <= set.is && set.is <= most)), "{set:?}");
        }
    }
    (nearer, left / owners.len() as f64)
}

#[test]
fn prices_end_nearer_to_the_owners_own() {
    let owners: [Owner; 4] = [
        vec![(rank("wanted"), 4.0), (Matter::ExtraCrew, 0.25)],
        vec![(rank("promised"), 0.25), (Matter::ExtraCrew, 4.0)],
        vec![(Matter::Waiting, 6.0)],
        vec![(Matter::ExtraCrew, 0.2), (Matter::Waiting, 4.0), (Matter::Open, 0.25)],
    ];
    let (nearer, left) = led(DEMO, WEEKS, &owners);
    assert!(nearer >= 3 && left <= 0.85, "{nearer} nearer, {left}");
}

#[test]
fn prices_end_nearer_in_a_shop_of_single_persons_without_a_trailer() {
    let owners: [Owner; 4] = [
        vec![(rank("clinic"), 5.0), (Matter::ExtraCrew, 0.3)],
        vec![(rank("flat"), 6.0), (rank("clinic"), 0.25)],
        vec![(Matter::ExtraCrew, 5.0), (Matter::Waiting, 0.2)],
        vec![(Matter::Waiting, 5.0), (rank("flat"), 0.3)],
    ];
    let (nearer, left) = led(include_str!("one-van.json"), 3, &owners);
    assert!(nearer >= 3 && left <= 0.85, "{nearer} nearer, {left}");
}

#[test]
fn question_is_told_by_what_differs_and_never_asked_twice() {
    let (book, given_out, weighing) = weighed(DEMO, WEEKS);
    let mut chosen = Vec::new();
    let mut seen = Vec::new();
    while let Some(question) = weighing.after(&chosen).next {
        let (first, second) = weighing.plans(&question);
        let own = Owner::new();
        // Both hold, and neither does a job that the other leaves out.
        let (a, b) = (costs(&book, WEEKS, first, &own), costs(&book, WEEKS, second, &own));
        assert!(a != b || !question.differ.is_empty());
        assert!(!question.differ.is_empty() && question.differ.iter().all(|(_, one, other)| one != other));
        assert!(!question.differ.iter().any(|(fact, ..)| matches!(fact, Fact::LeftOut(_))), "{question:?}");
        let minutes = |plan: &Plan| plan.hauls.iter().map(|haul| i64::from(haul.minutes)).sum::<i64>();
        let told: i64 = question
            .differ
            .iter()
            .filter(|(fact, ..)| matches!(fact, Fact::TowMinutes | Fact::CarryMinutes))
            .map(|(_, one, other)| one - other)
            .sum();
        assert_eq!(told, minutes(first) - minutes(second), "what is told of hauls is all there is");
        assert_eq!(question.given_out.0, first.steps == given_out.steps && first.hauls == given_out.hauls);
        assert!(!seen.contains(&question.differ));
        seen.push(question.differ.clone());
        // Who cannot choose is asked another one, and nothing is set by that.
        chosen.push(Choice::Neither);
    }
    assert!(seen.len() > QUESTIONS && seen.len() <= MOST_SHOWN, "{}", seen.len());
    let answers = weighing.after(&chosen);
    assert!(answers.chosen == 0 && answers.prices.iter().all(|set| set.is == set.was));
    // The same answers, the same questions.
    let two = [Choice::First, Choice::Second];
    assert_eq!(weighing.after(&two), weighing.after(&two));
}

#[test]
fn where_no_other_plan_is_better_at_any_price_nothing_is_asked() {
    let (_, _, weighing) = weighed(include_str!("../../cases/rain.json"), 1);
    assert!(matches!(weighing.nothing(), Some(NoQuestion::OnePlan | NoQuestion::NoTrade)), "{:?}", weighing.nothing());
    let mut book: Value = serde_json::from_str(include_str!("../../cases/rain.json")).expect("JSON");
    let none = ["extra_crew", "wait_half_day", "told_day", "help_half_day", "reserve_half_day", "return"];
    for price in none {
        book["prices"][price] = 0.into();
    }
    let (_, _, weighing) = weighed(&book.to_string(), 1);
    // A day late is above 0 by the book's own rule: it is the one price that may be in doubt.
    assert_eq!(weighing.after(&[]).prices.len(), 1);
    assert!(weighing.nothing().is_some());
}
