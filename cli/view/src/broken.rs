//! Marks on the rows that something is about which does not hold any more.

use yardless_check::fact::Touched;

use super::course::Course;
use super::trip::TripMark;

impl Course<'_> {
    /// With a mark on each row that something is about which does not hold any more.
    #[must_use]
    pub fn marking(mut self, touched: &Touched) -> Self {
        let shop = self.shop;
        for work in &mut self.works {
            let (job, step) = (&shop.jobs[work.job].id, &shop.steps[work.step].id);
            let span = if work.rest() { 2 } else { 1 };
            work.broken = touched.steps.contains(&(job.clone(), step.clone(), span));
        }
        for trip in &mut self.trips {
            let (unit, at) = (&shop.units[trip.unit].id, shop.horizon.half_day(trip.at));
            let is = touched.hauls.contains(&(unit.clone(), at, trip.evening));
            trip.mark = is.then_some(TripMark::Broken);
        }
        self
    }
}
