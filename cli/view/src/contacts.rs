//! Where jobs are, and whom to call there.

use std::ops::Range;

use yardless_book::Job;
use yardless_plan::shop::{JobId, Shop};

use super::course::Course;
use super::reached::Reached;

/// A job, where it is and whom to call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contact {
    /// The place.
    pub place: String,
    /// The job.
    pub job: String,
    /// The place's address; empty: not entered.
    pub address: String,
    /// How the customer is reached; empty: not entered.
    pub reached: String,
}

impl Contact {
    /// Of a job.
    pub fn of(shop: &Shop, job: JobId) -> Self {
        let facts = &shop.jobs[job];
        let place = &shop.places[facts.place];
        let contact = shop.book.jobs.iter().find(|job| job.id == facts.id).and_then(|job: &Job| job.contact.as_deref());
        let address = shop.book.places.iter().find(|of| of.id == place.id).and_then(|of| of.address.as_deref());
        let text = |known: Option<&str>| known.unwrap_or_default().to_owned();
        Self { place: place.name.clone(), job: facts.name.clone(), address: text(address), reached: text(contact) }
    }

    /// Whom to call, with the number apart.
    pub fn reached(&self) -> Option<Reached> {
        (!self.reached.is_empty()).then(|| Reached::of(&self.reached))
    }

    /// All but the place, as far as it is known.
    pub fn rest(&self) -> String {
        let known = [&self.job, &self.address, &self.reached].into_iter().filter(|known| !known.is_empty());
        known.map(String::as_str).collect::<Vec<_>>().join(", ")
    }
}

/// Of the jobs that are worked on in some half-days, by place as the week comes to them.
pub fn contacts(course: &Course, half_days: &Range<usize>) -> Vec<Contact> {
    let mut jobs: Vec<JobId> = Vec::new();
    for work in course.works.iter().filter(|work| work.start < half_days.end && work.end >= half_days.start) {
        if !jobs.contains(&work.job) {
            jobs.push(work.job);
        }
    }
    let place = |job: &JobId| course.shop.jobs[*job].place;
    let first = jobs.clone();
    jobs.sort_by_key(|job| first.iter().position(|of| place(of) == place(job)));
    jobs.into_iter().map(|job| Contact::of(course.shop, job)).collect()
}
