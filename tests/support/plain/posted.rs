//! Weights posted on roads (H8), read off the book.

use super::Plain;

impl Plain<'_> {
    /// The least weight posted at either end of a haul in a half-day.
    pub fn posted(&self, from: usize, to: usize, h: usize) -> Option<u32> {
        [from, to].into_iter().filter_map(|place| self.posted_at(place, h)).min()
    }

    fn posted_at(&self, place: usize, h: usize) -> Option<u32> {
        let id = self.book.places[place].road.as_ref()?;
        let road = self.book.roads.iter().find(|road| road.id == *id)?;
        let now = self.at(h);
        let low = self.said(place, h, |entry, old| entry.low_f.over(old));
        let frozen = !now.is_pm() && low.is_some_and(|low| low < 32.0);
        let mut least = None;
        for posted in &road.posted {
            if posted.on.holds(now.date()) && !(frozen && posted.frozen_mornings) {
                least = Some(least.map_or(posted.pounds, |least: u32| least.min(posted.pounds)));
            }
        }
        least
    }

    /// Every weight that is posted on some road.
    pub fn weights_posted(&self) -> Vec<u32> {
        self.book.roads.iter().flat_map(|road| &road.posted).map(|posted| posted.pounds).collect()
    }
}
