//! Plans crews, trucks and shared equipment over half-days and places.
//!
//! A small contractor has no shop: machines and trailers stand at job sites and move from one to the next.
//! Time is half-days, N weeks of them from a Monday. A *job* is work at one *place*, in *steps*; each step is done by
//! one *crew* with the skill, in one of its *ways*, without a break but for half-days in which it cannot be worked on.
//! While a step is done it holds *units* of the kinds it needs, and they must stand at its place; some stay *parked*
//! there for the whole job. A unit moves by a *haul*, made by a truck strong enough, over roads that are open to it:
//! in winter most are closed to trailers most of the time. A job may be left out, at a price.
//! The plan is the cheapest choice of who does what when and which hauls bring what where: lateness, jobs left out,
//! haul minutes, extra crews, waiting and dearer ways all cost. `RULES.md` says all of it exactly.
//!
//! In reading order: [`book`] is the file the owner writes, with half-days and money; [`weather`] turns published reports
//! into entries of it; [`plan`] is the book made ready ([`plan::shop`], where the rules live as tables) and what comes out;
//! [`check`] judges that; [`engine`] finds plans and proves how good they are, by a mathematical model
//! ([`engine::encode`]) and beside it; [`answer`] asks them what an owner asks.
//!
//! ```
//! use yardless_solver::book::half_day::{Horizon, parse_date};
//! use yardless_solver::plan::shop::Shop;
//! use yardless_solver::{book, check, engine};
//!
//! let text = br#"{
//!   "book": 1,
//!   "shop": { "name": "Example", "time_zone": "America/New_York" },
//!   "places": [{ "id": "lot" }, { "id": "mill-street" }],
//!   "drives": [{ "from": "lot", "to": "mill-street", "minutes": 20 }],
//!   "crews": [{ "id": "north", "people": 2, "skills": ["insulation"] }],
//!   "trucks": [{ "id": "truck-1", "crew": "north" }],
//!   "equipment": [{ "id": "blower-1", "kinds": ["blowing machine"], "moves": "carried", "place": "lot" }],
//!   "jobs": [{ "id": "attic", "place": "mill-street", "steps": [
//!     { "id": "blow", "skill": "insulation", "half_days": 1, "needs": [{ "kind": "blowing machine" }] }] }]
//! }"#;
//! let written = book::read(text).expect("a book without fault");
//! let monday = parse_date("2026-12-07").expect("a date");
//! let horizon = Horizon::new(monday, 1).expect("a Monday");
//! let shop = Shop::new(&written.book, horizon).expect("a book that can be planned");
//! let plan = engine::plan(&shop, &written.digest, &engine::Limits::seconds(10.0), &mut |_| {});
//! // Done in the first half-day (no waiting); one haul of 20 + 15 minutes at 25 cents.
//! assert_eq!(plan.cost.to_string(), "8.75");
//! assert!(plan.proven && check::check(&shop, &plan).holds());
//! ```

pub use yardless_answer as answer;
pub use yardless_book as book;
pub use yardless_check as check;
pub use yardless_engine as engine;
pub use yardless_plan as plan;
pub use yardless_weather as weather;
