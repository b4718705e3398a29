//! The chance that a plan keeps its dates: it is run through many seasons, as the crews would run it.
//!
//! In a season each step takes so much more or less than the book says, by its spread, and storms and days on which
//! roads are closed to trailers come as the climate has them. The crews keep to the plan's order: no step starts and no
//! unit is hauled before the plan has it, a crew and a unit go from one step to the next in the order planned, and what
//! is late makes late what waits for it: through crews, units, trucks and roads. Nobody plans again meanwhile.
//! Not simulated: spots for trailers (E6), `within_half_days` (W6), and the next crew or unit that would do as well.

mod course;
mod pert;
mod season;

use std::num::NonZeroUsize;

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Chance};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use course::Course;
pub use pert::mean_and_variance;

/// How many seasons, and which.
#[derive(Clone, Copy, Debug)]
pub struct Seasons {
    /// How many, one at least.
    pub count: u32,
    /// The same seed gives the same seasons.
    pub seed: u64,
}

/// The chances of a plan's dates.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chances {
    /// Seasons run.
    pub seasons: u32,
    /// A row for each job that the plan does from now on, in the book's order.
    pub jobs: Vec<JobChance>,
}

/// The chances of one job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobChance {
    /// The job's id.
    pub job: String,
    /// When the plan ends it.
    pub planned: HalfDay,
    /// Its due date, where it has one within the horizon: of a later one these weeks tell nothing.
    pub due: Option<NaiveDate>,
    /// In how many seasons it ended in each half-day; the rest did not end within the horizon.
    ends: Vec<(HalfDay, u32)>,
    seasons: u32,
}

/// So many of so many seasons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// Seasons in which it was so.
    pub of: u32,
    /// Seasons run.
    pub all: u32,
}

impl JobChance {
    /// In how many seasons it ended by the end of a date.
    pub fn by(&self, date: NaiveDate) -> Share {
        let of = self.ends.iter().filter(|(end, _)| end.date() <= date).map(|(_, count)| count).sum();
        Share { of, all: self.seasons }
    }

    /// The chance that it ends by its due date.
    pub fn by_due(&self) -> Option<Share> {
        self.due.map(|due| self.by(due))
    }

    /// The half-day by which it ended in so many of a hundred seasons; `None`: not within these weeks.
    pub fn quantile(&self, of_a_hundred: u32) -> Option<HalfDay> {
        let wanted = u64::from(self.seasons) * u64::from(of_a_hundred);
        let mut so_far = 0u64;
        self.ends.iter().find_map(|(end, count)| {
            so_far += u64::from(*count);
            (so_far * 100 >= wanted && so_far > 0).then_some(*end)
        })
    }
}

/// Whether a book gives any spread or climate: without, every season is the plan itself.
pub fn varies(book: &Book) -> bool {
    let weather = |chance: &Chance| chance.climate.iter().any(|row| row.storm_days > 0.0 || row.closed_days > 0.0);
    let all = book.chance.as_ref().is_some_and(|chance| chance.low < 1.0 || chance.high > 1.0 || weather(chance));
    let spreads =
        |spread: &yardless_book::Spread| spread.low < spread.high || spread.likely < 1.0 || spread.likely > 1.0;
    let mut steps = book.jobs.iter().flat_map(|job| &job.steps);
    all || steps.any(|step| step.spread.as_ref().is_some_and(spreads))
}

/// Runs the plan through seasons, on all cores; `None` where the plan does not hold for the shop.
pub fn chances(shop: &Shop, plan: &Plan, seasons: Seasons) -> Option<Chances> {
    let course = Course::new(shop, plan)?;
    let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get) as u32;
    let counts = std::thread::scope(|scope| {
        let run = |t: u32| {
            let course = &course;
            move || season::run(course, (t..seasons.count).step_by(threads as usize), seasons.seed)
        };
        let others: Vec<_> = (1..threads).map(|t| scope.spawn(run(t))).collect();
        let mut counts = run(0)();
        for other in others {
            let more = other.join().ok()?;
            counts.iter_mut().flatten().zip(more.into_iter().flatten()).for_each(|(a, b)| *a += b);
        }
        Some(counts)
    })?;
    let jobs = course.jobs.iter().zip(counts).map(|(job, counts)| JobChance {
        job: shop.jobs[job.job].id.clone(),
        planned: shop.horizon.half_day(job.end),
        due: shop.jobs[job.job].due.filter(|due| *due <= shop.horizon.last_date()),
        ends: counts
            .into_iter()
            .enumerate()
            .filter(|(h, count)| *count > 0 && *h < shop.len())
            .map(|(h, count)| (shop.horizon.half_day(h), count))
            .collect(),
        seasons: seasons.count,
    });
    Some(Chances { seasons: seasons.count, jobs: jobs.collect() })
}
