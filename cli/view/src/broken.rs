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

#[cfg(test)]
mod tests {
    use super::super::desk::desk;
    use super::super::diagram::{DAY, Diagram, SEASON, Strip, WEEK};
    use super::*;

    #[test]
    fn drawing_marks_the_rows_that_do_not_hold_and_no_others() {
        let (shop, plan) = desk();
        let weeks = shop.horizon.weeks() as usize;
        let mut touched = Touched::default();
        let (step, haul) = (&plan.steps[0], &plan.hauls[0]);
        touched.steps.insert((step.job.clone(), step.step.clone(), 1));
        touched.hauls.insert((haul.unit.clone(), haul.at, haul.evening));
        let course = Course::new(&shop, &plan).marking(&touched);
        let days = (0..weeks).flat_map(|week| Diagram::days(&course, week, DAY));
        let by_week = (0..weeks).map(|week| Diagram::new(&course, week..week + 1, WEEK));
        let whole = Diagram::new(&course, 0..weeks, SEASON);
        for drawings in [days.collect(), by_week.collect(), vec![whole]] {
            let drawings: Vec<Diagram> = drawings;
            let marked = |strip: &Strip| strip.ids == (step.job.clone(), step.step.clone());
            for strip in drawings.iter().flat_map(|of| &of.strips) {
                assert_eq!(strip.broken, marked(strip), "{}", strip.what);
                assert_eq!(strip.spoken().ends_with(", does not hold"), strip.broken, "{}", strip.spoken());
                let begins = strip.lines.first().is_none_or(|line| line.who.starts_with("! ") == strip.broken);
                assert!(begins, "{:?}", strip.lines);
            }
            assert!(drawings.iter().flat_map(|of| &of.strips).any(|strip| strip.broken));
            let lines = || drawings.iter().flat_map(|of| &of.lines);
            let signs: Vec<_> = lines().flat_map(|of| of.hauls.iter().map(move |haul| (of.number, haul))).collect();
            let broken: Vec<_> = signs.iter().filter(|(_, haul)| haul.broken.is_some()).collect();
            let [(number, slant)] = broken[..] else { panic!("one haul is marked: {broken:?}") };
            assert_eq!(Some(*number), shop.units.ids().position(|unit| shop.units[unit].id == haul.unit));
            let (x, y) = slant.broken.expect("its sign");
            let between = |n: i32, a: i32, b: i32| (a.min(b)..=a.max(b)).contains(&n);
            assert!(between(x, slant.from.0, slant.to.0) && between(y, slant.from.1, slant.to.1), "{slant:?}");
            let said = lines().flat_map(|of| &of.stays).filter(|stay| stay.says.contains("DOES NOT HOLD")).count();
            assert!(said > 0, "and words say so");
        }
    }
}
