//! Project files in the format of PSPLIB, read and planned as books by the bench of that name.

#[path = "../../benches/psplib/project.rs"]
mod project;
#[path = "../../benches/psplib/read.rs"]
mod read;
#[path = "../../benches/psplib/works.rs"]
mod works;

use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::{Limits, plan};

use project::Activity;
use read::read;
use works::Works;

/// Made up for this test; 1, 4 and 7 are marks that take no time.
///
/// Of the first resource there are two units, of the second one. 2 takes both units of the first for 3 periods, and all
/// others want one of them: 2 is alone. 3 takes 2 periods. Through the mark 4 it comes before 5 and 6, which take 1
/// period each and both want the unit of the second: one after the other. So the makespan is 3 + 2 + 1 + 1 = 7.
/// Without the mark's order it would be 3 + 2 = 5, without the second resource 3 + 2 + 1 = 6, without the first 4.
const PROJECT: &str = "\
************************************************************************
jobs (incl. supersource/sink ):  7
horizon                       :  7
RESOURCES
  - renewable                 :  2   R
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           7
   3        1          1           4
   4        1          2           5   6
   5        1          1           7
   6        1          1           7
   7        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------------------------------------------------------------------
  1      1     0       0    0
  2      1     3       2    0
  3      1     2       1    0
  4      1     0       0    0
  5      1     1       1    1
  6      1     1       1    1
  7      1     0       0    0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1  R 2
    2    1
************************************************************************
";

fn works() -> Works {
    Works::of(&read(PROJECT).expect("a project")).expect("a book")
}

#[test]
fn project_is_read_with_its_order_through_marks() {
    let project = read(PROJECT).expect("a project");
    assert_eq!(project.units, [2, 1]);
    let order: Vec<(usize, Vec<usize>)> = project
        .with_predecessors()
        .into_iter()
        .map(|(activity, before)| (activity.number, before.into_iter().collect()))
        .collect();
    assert_eq!(order, [(2, vec![]), (3, vec![]), (5, vec![3]), (6, vec![3])]);
    let five = Activity { number: 5, duration: 1, demands: vec![1, 1], successors: vec![7] };
    assert_eq!(project.activities[4], five);
}

#[test]
fn project_is_planned_with_the_least_makespan() {
    let works = works();
    let plan = plan(&works.shop, "", &Limits::steps(2_000), &mut |_| {});
    assert!(check(&works.shop, &plan).holds());
    assert_eq!(works.makespan(&plan), Some(7));
    // A half-day costs $1 (4 steps x 14 half-days = 56 cents at most, below a dollar), the end is index 6, and a cent
    // an index for each step's end is least with 2 last: 3, 5, 6 and 2 end at 1, 2, 3 and 6, 12 in all.
    assert_eq!(plan.cost, Cents(612));
    assert_eq!(works.makespan_at(plan.cost), 7);
    assert!(works.least_makespan(plan.bound.expect("a bound")) <= 7);
}

#[test]
fn bound_on_the_makespan_follows_from_the_bound_on_cost() {
    let works = works();
    let least = |cents| works.least_makespan(Cents(cents));
    // A makespan of 6 ends at index 5 and costs 5 x (100 + 4 steps) = 520 cents at most.
    assert_eq!([least(0), least(520), least(521), least(612)], [1, 6, 7, 7]);
}

/// A change of the text, and what is then said.
#[track_caller]
fn wrong(from: &str, to: &str, line: usize, says: &str) {
    assert!(PROJECT.contains(from));
    let fault = read(&PROJECT.replacen(from, to, 1)).expect_err("a fault");
    assert_eq!(fault.line, line, "{fault}");
    assert!(fault.says.contains(says), "{fault}");
}

#[test]
fn faults_name_line_and_remedy() {
    wrong("   3        1          1           4", "   3        2          1           4", 11, "single-mode file");
    wrong(
        "   3        1          1           4",
        "   3        1          2           4",
        11,
        "2 successors and lists 1",
    );
    wrong("   3        1          1           4", "   3        1          1           2", 11, "higher numbers");
    wrong("   3        1          1           4", "   3        1          1           9", 11, "give it a row");
    wrong("  3      1     2       1    0", "  3      1     2       3    0", 22, "which has 2");
    wrong("  3      1     2       1    0", "  3      1     2       1", 22, "2 resources, and has 1");
    wrong("  3      1     2       1    0", "  3      1     x       1    0", 22, "`x` is no whole number");
    wrong("  3      1     2       1    0\n", "", 11, "REQUESTS/DURATIONS");
    wrong("ABILITIES:\n  R 1  R 2", "ABILITIES:\n  R 1  N 2", 29, "renewable");
    wrong("RESOURCEAVAILABILITIES:", "", 31, "RESOURCEAVAILABILITIES");
}
