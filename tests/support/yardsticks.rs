//! Two published scheduling problems written as books: half-days stand for time units.
//!
//! All work is one job at one place, its steps the activities; each machine or unit of a resource is a piece of
//! equipment that stands there. The job's end alone is dear, so that the best plan is one of least makespan.

use serde_json::{Value, json};
use yardless_book::Book;

use super::book;

/// A half-day of makespan in dollars: more than all the cents of C5 together (36 steps x at most 70 cents are 25.20).
pub const HALF_DAY: i64 = 1000;
/// More than any end costs, in dollars.
const LEFT_OUT: i64 = 1_000_000;

/// Fisher and Thompson's 6 x 6 job shop (1963; in Muth and Thompson, eds., *Industrial Scheduling*, Prentice-Hall). The
/// least makespan is 55. A row a job, each operation (machine, duration), in order.
const FISHER_THOMPSON: [[(usize, usize); 6]; 6] = [
    [(2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)],
    [(1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)],
    [(2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)],
    [(1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)],
    [(2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)],
    [(1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)],
];

/// The job shop as a book. Six crews: no more than one operation of each of the six jobs is ever at work.
pub fn fisher_thompson() -> Book {
    let steps = FISHER_THOMPSON.iter().enumerate().flat_map(|(j, operations)| {
        operations.iter().enumerate().map(move |(k, (machine, duration))| {
            let after: Vec<String> = (k > 0).then(|| format!("{j}.{}", k - 1)).into_iter().collect();
            step(&format!("{j}.{k}"), *duration, &[&format!("machine {machine}")], &after)
        })
    });
    let machines: Vec<String> = (0..6).map(|machine| format!("machine {machine}")).collect();
    works(&machines, 6, HALF_DAY, LEFT_OUT, &steps.collect::<Vec<_>>())
}

/// Patterson's problem 1 (*Management Science* 30(7), 1984): three resources of 2, 1 and 2 units. The least makespan is
/// 19. Each activity from 2 on: duration, units of each resource, successors; 1 and 14 are the source and the sink.
const PATTERSON: [(usize, usize, [usize; 3], &[usize]); 12] = [
    (2, 6, [1, 0, 0], &[9, 10]),
    (3, 4, [0, 0, 0], &[5, 6, 7]),
    (4, 3, [0, 0, 0], &[8, 11]),
    (5, 1, [0, 0, 0], &[10]),
    (6, 6, [1, 0, 1], &[12]),
    (7, 2, [1, 0, 0], &[8, 11]),
    (8, 1, [0, 0, 0], &[13]),
    (9, 4, [0, 1, 1], &[]),
    (10, 3, [0, 0, 1], &[12]),
    (11, 2, [0, 0, 1], &[12]),
    (12, 3, [0, 1, 0], &[13]),
    (13, 5, [0, 0, 0], &[]),
];

/// Patterson's problem as a book. Five crews: no six activities are free of one another (2, 4, 5, 6 and 7 are five).
pub fn patterson() -> Book {
    let kinds = ["first", "second", "third"];
    let steps = PATTERSON.iter().map(|(id, duration, units, _)| {
        let before = PATTERSON.iter().filter(|(_, _, _, successors)| successors.contains(id));
        let needs: Vec<&str> = kinds.iter().zip(units).filter(|(_, n)| **n > 0).map(|(kind, _)| *kind).collect();
        step(&id.to_string(), *duration, &needs, &before.map(|(id, ..)| id.to_string()).collect::<Vec<_>>())
    });
    let units = ["first", "first", "second", "third", "third"].map(str::to_owned);
    works(&units, 5, HALF_DAY, LEFT_OUT, &steps.collect::<Vec<_>>())
}

fn step(id: &str, half_days: usize, kinds: &[&str], after: &[String]) -> Value {
    let needs: Vec<Value> = kinds.iter().map(|kind| json!({ "kind": kind })).collect();
    json!({ "id": id, "skill": "work", "half_days": half_days, "needs": needs, "after": after })
}

/// One job at one place, every day worked: units of these kinds, so many like crews, and what each half-day of its end
/// and leaving it out cost, in dollars.
pub fn works(kinds: &[String], crews: usize, half_day: i64, left_out: i64, steps: &[Value]) -> Book {
    let units = kinds
        .iter()
        .enumerate()
        .map(|(u, kind)| json!({ "id": format!("u{u}"), "kinds": [kind], "moves": "carried", "place": "works" }));
    let crews = (0..crews).map(|c| json!({ "id": format!("c{c}"), "people": 1, "skills": ["work"] }));
    book(json!({
        "book": 1,
        "shop": { "name": "Works", "time_zone": "America/New_York", "work_days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] },
        "prices": { "extra_crew": 0, "wait_half_day": half_day },
        "places": [{ "id": "works" }],
        "crews": crews.collect::<Vec<_>>(),
        "trucks": [],
        "equipment": units.collect::<Vec<_>>(),
        "jobs": [{ "id": "all", "place": "works", "left_out": left_out, "steps": steps }]
    }))
}
