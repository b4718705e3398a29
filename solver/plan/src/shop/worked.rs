//! Half-days on some weekdays and in no closed range, counted by whole weeks and not one by one: dates may lie centuries
//! apart.

use yardless_book::WeekDay;

/// Half-days are indices from a Monday's am, before it too.
#[derive(Clone, Debug)]
pub(super) struct Worked {
    /// How many half-days of a week, from Monday's am on, lie on the weekdays before each one; last, those of all.
    in_week: [i64; 15],
    /// What is closed: apart from one another, in their order.
    closed: Vec<Closed>,
}

#[derive(Clone, Copy, Debug)]
struct Closed {
    from: i64,
    /// The first half-day after it.
    to: i64,
    /// How many half-days on the weekdays are closed before it.
    lost: i64,
}

impl Worked {
    /// The half-days on the weekdays, without those from the first of each pair up to the second, which is not one of
    /// them. Pairs may overlap, and stand in any order.
    pub(super) fn new(days: &[WeekDay], mut closed: Vec<(i64, i64)>) -> Self {
        let on = days.iter().fold([false; 7], |mut on, day| {
            on[chrono::Weekday::from(*day).num_days_from_monday() as usize] = true;
            on
        });
        let mut in_week = [0; 15];
        for h in 0..14 {
            in_week[h + 1] = in_week[h] + i64::from(on[h / 2]);
        }
        closed.sort_unstable();
        let mut worked = Self { in_week, closed: Vec::new() };
        for (from, to) in closed.into_iter().filter(|(from, to)| from < to) {
            match worked.closed.last_mut() {
                Some(last) if from <= last.to => last.to = last.to.max(to),
                last => {
                    let (before, last) = last.map_or((0, (0, 0)), |last| (last.lost, (last.from, last.to)));
                    let lost = before + worked.on_weekdays(last.1) - worked.on_weekdays(last.0);
                    worked.closed.push(Closed { from, to, lost });
                }
            }
        }
        worked
    }

    /// Whether a half-day is one of them.
    pub(super) fn holds(&self, h: i64) -> bool {
        let slot = h.rem_euclid(14) as usize;
        self.in_week[slot] < self.in_week[slot + 1] && self.closed_at_or_before(h).is_none_or(|closed| closed.to <= h)
    }

    /// How many there are from one half-day on up to another, which is not counted; 0 where that is not later.
    pub(super) fn between(&self, from: i64, to: i64) -> i64 {
        if from < to { self.before(to) - self.before(from) } else { 0 }
    }

    /// What is closed, joined where it touches: the first half-day, and the first one after it.
    pub(super) fn gaps(&self) -> impl Iterator<Item = (i64, i64)> {
        self.closed.iter().map(|closed| (closed.from, closed.to))
    }

    /// Those before a half-day, up to a constant.
    fn before(&self, h: i64) -> i64 {
        let lost = self
            .closed_at_or_before(h)
            .map_or(0, |closed| closed.lost + self.on_weekdays(closed.to.min(h)) - self.on_weekdays(closed.from));
        self.on_weekdays(h) - lost
    }

    fn closed_at_or_before(&self, h: i64) -> Option<&Closed> {
        self.closed[..self.closed.partition_point(|closed| closed.from <= h)].last()
    }

    /// Half-days on the weekdays from index 0 on, negative before it, whether closed or not.
    fn on_weekdays(&self, h: i64) -> i64 {
        h.div_euclid(14) * self.in_week[14] + self.in_week[h.rem_euclid(14) as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardless_book::WeekDay::{Fri, Mon, Sat, Sun, Thu, Tue, Wed};

    /// The same by going through them.
    fn one_by_one(days: &[WeekDay], closed: &[(i64, i64)], from: i64, to: i64) -> i64 {
        let all = [Mon, Tue, Wed, Thu, Fri, Sat, Sun];
        let on = |h: i64| days.contains(&all[h.rem_euclid(14) as usize / 2]);
        let open = |h: i64| closed.iter().all(|(first, after)| h < *first || *after <= h);
        (from..to).filter(|h| on(*h) && open(*h)).count() as i64
    }

    #[test]
    fn half_days_are_counted_as_if_one_by_one() {
        let mut random = fastrand::Rng::with_seed(1);
        for _ in 0..2_000 {
            let all = [Mon, Tue, Wed, Thu, Fri, Sat, Sun];
            let days: Vec<WeekDay> = all.into_iter().filter(|_| random.u8(..3) > 0).collect();
            // Overlapping, touching, within one another, empty, also before index 0.
            let closed: Vec<(i64, i64)> = (0..random.usize(..7))
                .map(|_| (random.i64(-90..90), random.i64(0..30)))
                .map(|(from, length)| (from, from + length))
                .collect();
            let worked = Worked::new(&days, closed.clone());
            for _ in 0..20 {
                let (from, to) = (random.i64(-120..120), random.i64(-120..120));
                let counted = one_by_one(&days, &closed, from, to);
                assert_eq!(worked.between(from, to), counted, "{days:?} {closed:?} {from}..{to}");
                assert_eq!(worked.holds(from), one_by_one(&days, &closed, from, from + 1) == 1, "{closed:?} {from}");
            }
        }
    }
}
