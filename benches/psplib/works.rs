//! A project as a book: half-days stand for periods, and the end of the one job is dear enough that the best plan has
//! the least makespan.
//!
//! Each unit of a resource is a piece of equipment that is carried and stands at the works, where all is done; each
//! activity is a step. Every weekday is worked, and there are crews enough that none is ever waited for.

use serde_json::{Value, json};
use yardless_book::half_day::{Horizon, MOST_WEEKS};
use yardless_book::money::Cents;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::project::Project;
use yardless_support::yardsticks;

pub struct Works {
    pub shop: Shop,
    /// Steps.
    steps: i64,
    /// Cents that the job's end costs for each half-day that it is later (C5).
    half_day: i64,
}

impl Works {
    /// The project over as many weeks as it can ever take.
    pub fn of(project: &Project) -> Result<Self, String> {
        let activities = project.with_predecessors();
        let weeks = project.longest().div_ceil(14).max(1) as u32;
        if weeks > MOST_WEEKS {
            return Err(format!("it may take {weeks} weeks of 14 periods: at most {MOST_WEEKS} can be planned"));
        }
        if activities.is_empty() {
            return Err("no activity takes time: there is nothing to plan".to_owned());
        }
        // Dearer than all the cents of the steps' ends together.
        let half_days = 14 * weeks as usize;
        let dollars = activities.len() * half_days / 100 + 1;
        let steps: Vec<Value> = activities
            .iter()
            .map(|(activity, before)| {
                let demands = (1..).zip(&activity.demands).filter(|(_, units)| **units > 0);
                let needs: Vec<Value> = demands.map(|(r, n)| json!({ "kind": format!("R{r}"), "count": n })).collect();
                let after: Vec<String> = before.iter().map(ToString::to_string).collect();
                let id = activity.number.to_string();
                json!({ "id": id, "skill": "work", "half_days": activity.duration, "needs": needs, "after": after })
            })
            .collect();
        let kinds: Vec<String> =
            (1..).zip(&project.units).flat_map(|(r, count)| std::iter::repeat_n(format!("R{r}"), *count)).collect();
        // As many crews as there are activities: more are never at work at a time. Leaving the job out costs ten times
        // what the last half-day as an end would.
        let book = yardsticks::works(&kinds, steps.len(), dollars as i64, (10 * dollars * half_days) as i64, &steps);
        let monday = Horizon::monday_of(chrono::NaiveDate::default());
        let horizon = Horizon::new(monday, weeks).map_err(|e| e.to_string())?;
        let shop = Shop::new(&book, horizon).map_err(|faults| format!("{faults:?}"))?;
        Ok(Self { shop, steps: activities.len() as i64, half_day: 100 * dollars as i64 })
    }

    /// Periods from the beginning to the end of all; `None` where the job is left out.
    pub fn makespan(&self, plan: &Plan) -> Option<usize> {
        plan.steps.iter().filter_map(|row| self.shop.horizon.index(row.end)).max().map(|last| last + 1)
    }

    /// The makespan of a plan by its cost; too long for any horizon where the job is left out.
    ///
    /// A job that ends at index E costs E half-days, and less than one more for the cents of its steps' ends.
    pub fn makespan_at(&self, cost: Cents) -> usize {
        (cost.0 / self.half_day + 1) as usize
    }

    /// What no makespan is below where no plan costs less than the bound.
    ///
    /// A job that ends at index E costs E half-days and, for its n steps, at most n E cents. So E is at least
    /// bound / (half-day + n).
    pub fn least_makespan(&self, bound: Cents) -> usize {
        let most = self.half_day + self.steps;
        // Rounded up.
        ((bound.0.max(0) + most - 1) / most + 1) as usize
    }
}
