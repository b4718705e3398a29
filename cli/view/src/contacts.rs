//! Where jobs are, and whom to call there.

use std::ops::Range;

use yardless_book::Job;
use yardless_plan::shop::{JobId, Shop};

use super::course::Course;

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

/// Whom to call: a name, and a number to be dialled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reached {
    /// What stands before the number, and behind it.
    pub name: String,
    /// The number as it is written; empty: none was found.
    pub number: String,
    /// The same as an address of the `tel` scheme.
    pub tel: String,
}

/// Fewest digits of a telephone number.
const FEWEST_DIGITS: usize = 6;

impl Reached {
    /// Of a text in which a number may stand.
    pub fn of(text: &str) -> Self {
        let within = |c: char| c.is_ascii_digit() || "+-() ./".contains(c);
        let digits = |piece: &str| piece.chars().filter(char::is_ascii_digit).count();
        let pieces = text.split(|c: char| !within(c)).map(|piece| piece.trim_matches([' ', '-', '.', '/']));
        let number = pieces.max_by_key(|piece| digits(piece)).filter(|piece| digits(piece) >= FEWEST_DIGITS);
        let Some(number) = number else {
            return Self { name: text.to_owned(), number: String::new(), tel: String::new() };
        };
        let name = text.replacen(number, "", 1);
        let tel: String = number.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect();
        Self {
            name: name.trim_matches([',', ' ', ';', ':']).to_owned(),
            number: number.to_owned(),
            tel: format!("tel:{tel}"),
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_found_among_the_words() {
        let of = |text: &str| {
            let Reached { name, number, tel } = Reached::of(text);
            (name, number, tel)
        };
        let all = |a: &str, b: &str, c: &str| (a.to_owned(), b.to_owned(), c.to_owned());
        assert_eq!(of("Mrs. Example, 555-0102"), all("Mrs. Example", "555-0102", "tel:5550102"));
        assert_eq!(of("+1 (555) 010-0102 Mr. Sample"), all("Mr. Sample", "+1 (555) 010-0102", "tel:+15550100102"));
        assert_eq!(of("the caretaker, flat 12"), all("the caretaker, flat 12", "", ""));
    }
}
