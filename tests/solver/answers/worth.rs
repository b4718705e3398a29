//! `worth`: the difference between two proven plans, to the cent.

use yardless_solver::answer::{Given, More, worth};
use yardless_solver::book::Moves;
use yardless_solver::engine::{Limits, plan};
use yardless_solver::money::Cents;
use yardless_solver::plan::check;

use super::{STEPS, planned, shop};

/// Small books.
const BOOKS: u64 = 200;

#[test]
fn one_more_is_worth_the_difference_between_two_proven_plans() {
    let (mut asked, mut saves, mut only_then) = (0, 0, 0);
    for seed in 0..BOOKS {
        let (book, base) = planned(seed);
        let shop_now = shop(&book, &base.kept());
        let given = Given::new(&shop_now, "", &base).expect("the plan holds");
        let unit = book.equipment.first().map(|unit| More::Unit(unit.kinds[0].clone()));
        let more: Vec<More> = unit.into_iter().chain([More::Crew(book.crews[0].id.clone()), More::Truck]).collect();
        let (found_base, rows) = worth(&given, &more, &Limits::steps(STEPS * 4)).expect("no fault");
        assert_eq!((found_base.cost, found_base.proven), (base.cost, true), "{seed}");
        for row in rows {
            let mut with = book.clone();
            let mut may_hurt = false;
            match &row.more {
                More::Unit(kind) => {
                    let mut unit =
                        book.equipment.iter().find(|unit| unit.kinds.contains(kind)).expect("a unit").clone();
                    may_hurt = unit.moves == Moves::Towed;
                    unit.id = "another".to_owned();
                    unit.out.clear();
                    with.equipment.push(unit);
                }
                More::Crew(id) => {
                    let mut crew = book.crews.iter().find(|crew| crew.id == *id).expect("a crew").clone();
                    crew.id = "another".to_owned();
                    with.crews.push(crew);
                }
                More::Truck => {
                    let mut truck = book.trucks.iter().max_by_key(|truck| truck.tow_lb).expect("a truck").clone();
                    truck.id = "another".to_owned();
                    truck.crew = None;
                    truck.out.clear();
                    with.trucks.push(truck);
                }
                other => panic!("{other:?}"),
            }
            let with = shop(&with, &[]);
            let best = plan(&with, "", &Limits::steps(STEPS), &mut |_| {});
            assert!(best.proven, "{seed}: {:?}", row.more);
            let saved = base.cost - best.cost;
            assert_eq!((row.least, row.most), (saved, saved), "{seed}: {:?}", row.more);
            assert!(may_hurt || saved >= Cents::ZERO, "{seed}: {:?} {saved}", row.more);
            assert!(saved <= Cents::ZERO || row.when.is_some(), "{seed}: {:?}", row.more);
            assert_eq!(check(&with, &best).costs.total(), best.cost);
            asked += 1;
            saves += usize::from(saved > Cents::ZERO);
            only_then += usize::from(row.only_then);
        }
    }
    assert!(
        asked >= 500 && saves >= 40 && only_then >= 10,
        "{asked} asked, {saves} save, {only_then} on some dates only"
    );
}
