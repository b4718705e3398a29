//! The book as of a half-day, with what nobody noted taken to have gone as planned; refused where that cannot be.

use yardless_book::half_day::HalfDay;
use yardless_edit::assumed::{NotAsPlanned, Then, Why, assumed};
use yardless_edit::book_file::BookFile;
use yardless_edit::plan_file::PlanFile;
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{OfQuestion, Trouble};
use yardless_view::breach::{first, says};

/// The book as of a half-day, beside the plan given out.
pub fn then(file: &BookFile, stored: &PlanFile, called: &Called, until: HalfDay) -> Result<Then, Trouble> {
    assumed(file, stored, until).map_err(|NotAsPlanned { steps, why }| {
        let why = match why {
            Why::Refused(why) => why.in_one_line(),
            Why::Breaks(by, breaches) => first(&by, &breaches).map_or_else(String::new, |breach| says(&by, breach)),
            Why::TooOften(plans) => format!("{plans} plans in a row were made without a note"),
        };
        OfQuestion::NotNoted { plan: called.clone(), steps, until, why }.into()
    })
}
