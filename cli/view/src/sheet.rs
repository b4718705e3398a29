//! Weeks of a plan as a page shows them: the drawing, and in words what it draws.

use std::ops::Range;

use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::acts::acts;
use super::cautions::cautions;
use super::contacts::{Contact, contacts};
use super::course::Course;
use super::diagram::{DAY, Diagram, Scale};
use super::foot::foot;
use super::hauls::rows;
use super::in_short::in_short;
use super::told::Told;

/// Some weeks of a plan.
pub struct Sheet {
    /// The drawing.
    pub diagram: Diagram,
    /// Each date of a single week by itself, for narrow screens.
    pub days: Vec<Diagram>,
    /// The hauls: date, time of day, unit, from where to where, truck, remarks.
    pub hauls: Vec<[String; 6]>,
    /// What asks for care: a word, and a line with its source.
    pub cautions: Vec<[String; 2]>,
    /// Whether a row is marked that does not hold any more.
    pub broken: bool,
    /// The jobs that are worked on, where they are and whom to call.
    pub contacts: Vec<Contact>,
    /// What the owner acts on by the plan: a word, and a line.
    pub acts: Vec<[String; 2]>,
    /// The same in a few words each.
    pub short: Vec<String>,
}

impl Sheet {
    /// Of the weeks by their position in the plan. `broken`: the rows that do not hold any more, each of which is marked.
    pub fn new(shop: &Shop, plan: &Plan, broken: &Touched, weeks: Range<usize>, scale: Scale) -> Self {
        Self::of(&Course::new(shop, plan).marking(broken), weeks, scale)
    }

    /// The same of a plan beside the kept one.
    pub fn beside(shop: &Shop, plan: &Plan, kept: &Plan, weeks: Range<usize>, scale: Scale) -> Self {
        Self::of(&Course::beside(shop, plan, kept), weeks, scale)
    }

    fn of(course: &Course, weeks: Range<usize>, scale: Scale) -> Self {
        let half_days = weeks.start * 14..weeks.end * 14;
        let meets = |first: usize, last: usize| first < half_days.end && half_days.start <= last;
        let works = course.works.iter().any(|work| work.broken && meets(work.start, work.end));
        let trips = course.trips.iter().any(|trip| trip.broken() && meets(trip.at, trip.at));
        Self {
            diagram: Diagram::new(course, weeks.clone(), scale),
            days: if weeks.len() == 1 { Diagram::days(course, weeks.start, DAY) } else { Vec::new() },
            hauls: rows(course, half_days.clone()),
            contacts: contacts(course, &half_days),
            acts: acts(course, &half_days),
            short: in_short(course, &half_days),
            cautions: cautions(course, half_days, None),
            broken: works || trips,
        }
    }
}

impl Sheet {
    /// With a line for the half-day that it is, by its index in the plan; none, where that is not drawn.
    #[must_use]
    pub fn at(mut self, now: Option<usize>) -> Self {
        for drawing in self.days.iter_mut().chain([&mut self.diagram]) {
            drawing.tell_now(now);
        }
        self
    }
}

/// The plan as a whole, in words; its chances are a question of their own.
pub fn whole(shop: &Shop, plan: &Plan) -> Told {
    foot(&Course::new(shop, plan), false)
}
