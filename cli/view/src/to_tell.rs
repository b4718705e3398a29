//! Who must be told of a plan that is given out: crews and customers, each with a text that is ready to be sent.

use std::collections::BTreeSet;

use yardless_answer::changes;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::Touched;
use yardless_plan::shop::{JobFacts, Shop};
use yardless_plan::{Plan, StepRow};

use super::changed::{soon, upset};
use super::crew_message::crew_message;
use super::reached::Reached;
use super::word_given::words_broken;
use super::words::{day, half};

/// Somebody who must be told.
#[derive(Clone, Debug, PartialEq)]
pub struct ToTell {
    /// Who: a crew, or a customer by the job's name.
    pub who: String,
    /// The id of the crew or the job.
    pub id: String,
    /// How they are reached, as the book has it; empty: not entered, as for every crew.
    pub contact: String,
    /// What is otherwise for them.
    pub what: String,
    /// What to send them.
    pub text: String,
}

impl ToTell {
    /// How they are reached, with the number that a telephone dials.
    pub fn reached(&self) -> Reached {
        Reached::of(&self.contact)
    }
}

/// Weeks that are read out to a crew at once.
const MOST_WEEKS: usize = 2;

/// The crews that work or haul otherwise than by the plan given out before; without one, all that do anything.
pub fn crews_to_tell(shop: &Shop, plan: &Plan, before: Option<&Plan>) -> Vec<ToTell> {
    let nothing = nothing(plan);
    let kept = before.unwrap_or(&nothing);
    let soon = soon(shop);
    let tell = |(id, at): (String, BTreeSet<HalfDay>)| {
        let crew = shop.find_crew(&id)?;
        let first = *at.first()?;
        let mut weeks: BTreeSet<usize> = at.iter().filter_map(|at| shop.horizon.index(*at)).map(|h| h / 14).collect();
        weeks.retain(|week| *week >= shop.now / 14);
        let texts =
            weeks.into_iter().take(MOST_WEEKS).map(|week| crew_message(shop, plan, &Touched::default(), crew, week));
        let what = match before {
            None => format!("Works from {} on", half(first)),
            Some(_) if first <= soon => "The next two days change".to_owned(),
            Some(_) => format!("Changes from {} on", half(first)),
        };
        let text = texts.collect::<Vec<_>>().join("\n");
        Some(ToTell { who: shop.crews[crew].name.clone(), id, contact: String::new(), what, text })
    };
    // Who must know soonest comes first.
    let mut crews: Vec<_> = upset(shop, &changes(shop, kept, plan), kept, plan).into_iter().collect();
    crews.sort_by_key(|(_, at)| at.first().copied());
    crews.into_iter().filter_map(tell).collect()
}

/// The customers whose work begins or ends otherwise than by the plan given out before; without one, all.
pub fn customers_to_tell(shop: &Shop, plan: &Plan, before: Option<&Plan>) -> Vec<ToTell> {
    let jobs = shop.jobs.iter().filter(|job| !job.over());
    jobs.filter_map(|job| {
        let was = before.and_then(|before| Dates::of(before, job));
        let is = Dates::of(plan, job);
        let (what, says) = match (was, is) {
            (None, None) => return None,
            (Some(was), Some(is)) if was.same(is, job.started) => return None,
            (None, Some(is)) => (is.what(job.started), format!("We plan {}.", is.plan(None, job.started))),
            (Some(was), Some(is)) => {
                let what = format!("{}; was {}", is.what(job.started), was.what(job.started));
                (what, format!("Our plan has changed. We now plan {}.", is.plan(Some(was), job.started)))
            }
            (Some(was), None) => {
                let why = plan.left_out.iter().find(|row| row.job == job.id).map_or("", |row| row.why.as_str());
                let what = format!("not within these weeks; was {}: {why}", was.what(job.started));
                let says = format!(
                    "We cannot keep the dates that we gave you ({}). We will call with new ones.",
                    was.what(job.started)
                );
                (what.trim_end_matches(": ").to_owned(), says)
            }
        };
        let of_book = shop.book.jobs.iter().find(|of| of.id == job.id);
        let place = &shop.places[job.place].name;
        let about = if *place == job.name { place.clone() } else { format!("{} at {place}", job.name) };
        let text = format!(
            "Hello, this is {}, about {about}. {says} Weather and roads may move this; we will tell you if they do.",
            shop.book.shop.name
        );
        let contact = of_book.and_then(|of| of.contact.clone()).unwrap_or_default();
        Some(ToTell { who: job.name.clone(), id: job.id.clone(), contact, what, text })
    })
    .collect()
}

/// Those who were told of a step on other dates than the plan given out before keeps, or without one, than this plan keeps.
pub fn told_otherwise(shop: &Shop, plan: &Plan, before: Option<&Plan>) -> Vec<ToTell> {
    let before = before.map_or_else(Vec::new, |before| words_broken(shop, before));
    let new = words_broken(shop, plan).into_iter().filter(|word| !before.contains(word));
    new.map(|word| {
        let says = match word.starts {
            Some(at) => {
                format!("We told you other dates for {}. It is now planned to start on {}.", word.step, day(at))
            }
            None => format!("We cannot keep the dates that we gave you for {}. We will call with new ones.", word.step),
        };
        let text = format!(
            "Hello, this is {}, about {}. {says} Weather and roads may move this; we will tell you if they do.",
            shop.book.shop.name, word.job_name
        );
        let what = format!("{}: {}", word.step, word.what());
        ToTell { who: word.job_name, id: word.job, contact: word.contact, what, text }
    })
    .collect()
}

/// When a job's work begins and ends by a plan.
#[derive(Clone, Copy, PartialEq)]
struct Dates {
    begins: HalfDay,
    ends: HalfDay,
    /// Whether more of it comes after the plan's weeks (W12).
    goes_on: bool,
}

impl Dates {
    fn of(plan: &Plan, job: &JobFacts) -> Option<Self> {
        let rows = || plan.steps.iter().filter(|row: &&StepRow| row.job == job.id);
        let goes_on = plan.parts().any(|row| row.job == job.id);
        // What is done of it is nothing to look forward to.
        let ahead = rows().any(|row| job.past.iter().all(|past| past.id != row.step));
        let ends = rows().map(|row| row.end).max().filter(|_| ahead || !goes_on)?;
        Some(Self { begins: rows().map(|row| row.start).min()?, ends, goes_on })
    }

    /// Whether the customer notices nothing; that a job begins is over where it has begun.
    fn same(self, other: Self, begun: bool) -> bool {
        (self.ends, self.goes_on) == (other.ends, other.goes_on) && (begun || self.begins == other.begins)
    }

    fn what(self, begun: bool) -> String {
        let ends = format!("{}{}", half(self.ends), if self.goes_on { ", the rest later" } else { "" });
        match (begun, self.goes_on) {
            (true, false) => format!("to end {ends}"),
            (true, true) => format!("until {ends}"),
            (false, _) => format!("{} to {ends}", half(self.begins)),
        }
    }

    /// `to begin on Wed 9 Dec in the morning and to finish on Fri 11 Dec (before: Thu 10 Dec)`.
    fn plan(self, was: Option<Self>, begun: bool) -> String {
        let part = |at: HalfDay| format!("{} in the {}", day(at), if at.is_pm() { "afternoon" } else { "morning" });
        let beside = |is: String, was: Option<String>| match was {
            Some(was) if was != is => format!("{is} (before: {was})"),
            _ => is,
        };
        let ends = beside(day(self.ends), was.map(|was| day(was.ends)));
        let ends = if self.goes_on {
            format!("to work until {ends}, and will call about the rest")
        } else {
            format!("to finish on {ends}")
        };
        if begun {
            return ends;
        }
        format!("to begin on {} and {ends}", beside(part(self.begins), was.map(|was| part(was.begins))))
    }
}

/// The plan as if nothing were planned.
fn nothing(plan: &Plan) -> Plan {
    Plan { steps: Vec::new(), parked: Vec::new(), hauls: Vec::new(), left_out: Vec::new(), ..plan.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::desk;

    fn moved(plan: &Plan, step: &str, to: &str) -> Plan {
        let mut plan = plan.clone();
        let row = plan.steps.iter_mut().find(|row| row.step == step).expect("a step");
        (row.start, row.end) = (to.parse().expect("a half-day"), to.parse().expect("a half-day"));
        plan
    }

    fn names(all: &[ToTell]) -> Vec<&str> {
        all.iter().map(|of| of.who.as_str()).collect()
    }

    #[test]
    fn first_plan_is_told_to_all_who_work_and_wait() {
        let (shop, plan) = desk();
        assert_eq!(names(&crews_to_tell(&shop, &plan, None)), ["North crew", "South crew", "Inspector"]);
        let customers = customers_to_tell(&shop, &plan, None);
        assert_eq!(names(&customers), ["Elm attic", "Hill dense pack", "Mill wall"], "none of those that are not done");
        let elm = &customers[0];
        assert_eq!((elm.contact.as_str(), customers[1].contact.as_str()), ("Ms. Example, 555-0100", ""));
        let says =
            "Elm attic at 12 Elm Street. We plan to begin on Mon 7 Dec in the morning and to finish on Wed 9 Dec.";
        assert!(elm.text.contains(says), "{}", elm.text);
    }

    #[test]
    fn later_plan_is_told_to_those_whom_it_moves() {
        let (shop, plan) = desk();
        assert_eq!(
            (crews_to_tell(&shop, &plan, Some(&plan)), customers_to_tell(&shop, &plan, Some(&plan))),
            (vec![], vec![])
        );
        let new = moved(&plan, "inspect", "2026-12-10 am");
        let crews = crews_to_tell(&shop, &new, Some(&plan));
        assert_eq!((names(&crews), crews[0].what.as_str()), (vec!["Inspector"], "Changes from Wed 9 Dec am on"));
        assert!(crews[0].text.starts_with("Inspector, week of Mon 7 Dec"), "{}", crews[0].text);
        let customers = customers_to_tell(&shop, &new, Some(&plan));
        assert_eq!(names(&customers), ["Elm attic"]);
        assert!(customers[0].text.contains("to finish on Thu 10 Dec (before: Wed 9 Dec)"), "{}", customers[0].text);
        assert!(!customers[0].text.contains("(before: Mon"), "it begins as it did: {}", customers[0].text);
        // One who is not served any more is not given another date.
        let mut without = plan.clone();
        without.steps.retain(|row| row.job != "elm-attic");
        let customers = customers_to_tell(&shop, &without, Some(&plan));
        assert_eq!(names(&customers), ["Elm attic"]);
        assert!(customers[0].text.contains("We cannot keep the dates that we gave you"), "{}", customers[0].text);
        let crews = crews_to_tell(&shop, &without, Some(&plan));
        assert_eq!(
            (names(&crews), crews[0].what.as_str()),
            (vec!["North crew", "Inspector"], "The next two days change")
        );
    }
}
