//! What it costs that units stand where they do as dates begin (C17, C18), as part of what a plan under construction costs.

use std::ops::Range;
use std::sync::Arc;

use yardless_plan::shop::{JobId, PlaceId, UnitId};

use super::{Timetable, Undo};
use crate::primal::route::RouteHaul;

/// What takes back the hauls of [`Timetable::settle`], and what was charged while they were made.
pub(crate) struct Settled {
    pub(super) undo: Undo,
    charged: Arc<[usize]>,
}

impl Timetable<'_> {
    /// From which half-day on each site is charged for, by the ends of the jobs done (C18); until then none is, and what that
    /// costs is not part of the plan's.
    pub(crate) fn charge(&mut self, end_of: impl Fn(JobId) -> Option<usize>) {
        let shop = self.shop;
        self.charge_from(shop.clearings.iter().map(|site| shop.clear_from(site, &end_of)).collect());
    }

    fn charge_from(&mut self, charged: Arc<[usize]>) {
        if self.charged != charged {
            let before = self.all_standing();
            self.charged = charged;
            self.cents += self.all_standing() - before;
        }
    }

    /// Takes the hauls back by which idle units stand cheaper; what makes them again.
    pub(crate) fn unsettle(&mut self) -> Settled {
        let undo = self.unsettle_hauls();
        let charged = Arc::clone(&self.charged);
        self.charge_from(Arc::default());
        Settled { undo, charged }
    }

    /// Makes them again, where all else is as it was.
    pub(crate) fn settle_again(&mut self, settled: Settled) {
        self.charge_from(settled.charged);
        self.settle_hauls_again(settled.undo);
    }

    fn all_standing(&self) -> i64 {
        let units = self.shop.units.ids().zip(&self.routes);
        units.map(|(unit, route)| self.standing_cents(unit, &route.trips)).sum()
    }

    /// C17 and C18 of a unit that stands at a place as half-days begin from one up to another, not counted.
    pub(super) fn late_at(&self, unit: UnitId, place: PlaceId, half_days: (usize, usize)) -> i64 {
        let (shop, facts) = (self.shop, &self.shop.units[unit]);
        let mut cents = shop.away_cost(unit, place, half_days).0;
        for (site, charged) in shop.clearings.iter().zip(&*self.charged) {
            if site.place == place && facts.towed() {
                cents += shop.uncleared_cost(site, *charged, half_days).0;
            }
        }
        cents
    }

    /// C17 and C18 of a unit that makes the trips, from one half-day up to another, both as they begin.
    pub(super) fn late_cents<'t>(
        &self,
        unit: UnitId,
        home: PlaceId,
        half_days: &Range<usize>,
        trips: impl IntoIterator<Item = &'t RouteHaul>,
    ) -> i64 {
        if self.shop.units[unit].home.is_none() && self.charged.is_empty() {
            return 0;
        }
        let before = (half_days.end + 1).min(self.shop.len());
        let (mut place, mut since, mut cents) = (home, half_days.start, 0);
        for trip in trips {
            // As its own half-day begins it is still where it was.
            let until = (trip.at + 1).clamp(since, before.max(since));
            cents += self.late_at(unit, place, (since, until));
            (place, since) = (trip.to, until);
        }
        cents + self.late_at(unit, place, (since, before))
    }
}
