//! What a plan looks like: from shop and plan to rows and cells, and their writing out as plain text.

mod acts;
mod asks;
mod assumed;
pub mod breach;
mod broken;
mod cautions;
mod cells;
mod chances;
mod changed;
mod contacts;
mod course;
mod crew_day;
mod crew_message;
mod crew_route;
mod deadlines;
#[cfg(test)]
mod desk;
pub mod diagram;
mod foot;
mod free_units;
mod grid;
mod hauls;
mod in_part;
mod in_short;
mod in_time;
pub mod lacks;
mod licence;
mod lift;
mod load_json;
mod load_list;
mod load_sheet;
pub mod matters;
mod must_move;
mod names;
mod obstacle;
mod offers;
mod open_sites;
mod posted_roads;
mod reached;
mod reports;
mod roads;
mod sheet;
mod standing;
mod table;
mod to_tell;
mod told;
mod trip;
mod week;
mod why;
mod word_given;
mod words;
mod worth;

pub use acts::MOVE;
pub use asks::{Ask, asks};
pub use assumed::{assumed, assumed_on_page};
pub use cautions::WHO_DECIDES;
pub use chances::{chances, chances_json};
pub use changed::{changed, choices};
pub use contacts::Contact;
pub use crew_day::{CrewDay, DayItem, SiteCare, WorkItem, crew_days};
pub use crew_message::{CrewSheet, crew_message};
pub use crew_route::{CrewRoute, RouteStop, routes};
pub use foot::not_planned;
pub use free_units::FreeUnits;
pub use in_short::to_ask;
pub use load_json::{load_json, where_json};
pub use load_list::BOX;
pub use load_sheet::{load_sheet, whereabouts};
pub use offers::{OfferRow, offer_rows, offers, offers_json};
pub use reached::Reached;
pub use reports::{AlertFile, ReportSheet, ahead, easing, end, event_table};
pub use sheet::{Sheet, whole};
pub use to_tell::{ToTell, crews_to_tell, customers_to_tell, told_otherwise};
pub use told::{Block, Grid, Told};
pub use why::{why, why_json};
pub use words::{ReadOn, day, half, list, span, together};
pub use worth::{worth, worth_json};

use std::ops::Range;

use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use course::Course;

/// The calendar: a sheet for each of the weeks (by position; `None`: all), then the plan as a whole. `broken`: the rows that
/// do not hold any more, each of which is marked.
pub fn calendar(shop: &Shop, plan: &Plan, broken: &Touched, weeks: Option<Range<usize>>) -> String {
    sheets(&Course::new(shop, plan).marking(broken), weeks)
}

/// The calendar of a new plan, with what is moved, new and dropped against the kept one marked.
pub fn calendar_beside(shop: &Shop, plan: &Plan, kept: &Plan) -> String {
    sheets(&Course::beside(shop, plan, kept), None)
}

fn sheets(course: &Course, weeks: Option<Range<usize>>) -> String {
    let weeks = weeks.unwrap_or(0..course.shop.horizon.weeks() as usize);
    let first = weeks.start;
    let mut text: String = weeks.map(|week| week::sheet(course, week, week == first) + "\n").collect();
    text.push_str(&foot::foot(course, true).text());
    text
}
