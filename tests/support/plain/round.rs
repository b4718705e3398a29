//! What a crew's week and its days cost: half-days kept open (C14), and the round from its home (C15).

use std::ops::Range;

use super::Plain;

impl Plain<'_> {
    /// C14: how many half-days of a week a crew may work without a charge; `None`: it keeps none open.
    pub fn may_work(&self, crew: usize, week: Range<usize>) -> Option<usize> {
        let keeps = self.book.crews[crew].keep_open as usize;
        let there = week.filter(|h| self.people(crew, *h, false) > 0).count();
        (keeps > 0 && self.book.crews[crew].own).then(|| there - keeps.min(there))
    }

    /// C15: a crew's home, where its rounds count.
    pub fn home(&self, crew: usize) -> Option<usize> {
        let facts = &self.book.crews[crew];
        let home = facts.home.as_ref().filter(|_| facts.own && self.book.prices.drive_minute.0 > 0);
        home.map(|id| self.place(id))
    }

    /// Minutes of the drive alone (H6); from a place to itself there are none.
    fn drive(&self, from: usize, to: usize) -> Option<u32> {
        if from == to { Some(0) } else { self.drive_minutes(from, to) }
    }

    /// C15, in cents: from home to the place of the am's work, of the pm's, and home; `None` where it cannot be driven.
    pub fn round_cost(&self, home: usize, am: Option<usize>, pm: Option<usize>) -> Option<i64> {
        if let (Some(am), Some(pm)) = (am, pm)
            && self.drive(am, pm)? > self.book.shop.noon_minutes
        {
            return None;
        }
        let mut at = home;
        let mut minutes = 0;
        for next in am.into_iter().chain(pm).chain([home]) {
            minutes += i64::from(self.drive(at, next)?);
            at = next;
        }
        Some(minutes * self.book.prices.drive_minute.0)
    }
}
