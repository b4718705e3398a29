//! What a crew's week comes to, half-days kept open (C14), and its day, the round from its home (C15).

use super::tables::Tables;
use super::{Search, SearchState};

/// As far as the search has come, crew by crew.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) struct CrewDays {
    /// Half-days of this week that it may still work without a charge; `None`: none of them is charged.
    may_work: Vec<Option<usize>>,
    /// Where it worked in the am, while the pm is not over: the place of a crew whose rounds count.
    am: Vec<Option<usize>>,
}

impl CrewDays {
    /// Before anything: of a week that began before now nothing is charged.
    pub fn at_first(t: &Tables) -> Self {
        let crews = t.own.len();
        let mut days = Self { may_work: vec![None; crews], am: vec![None; crews] };
        days.begin(t, t.now);
        days
    }

    /// A half-day begins, and a week with it at times.
    pub fn begin(&mut self, t: &Tables, h: usize) {
        if h < t.len && h.is_multiple_of(14) {
            self.may_work = (0..self.may_work.len()).map(|crew| t.plain.may_work(crew, h..h + 14)).collect();
        }
    }

    pub fn no_round_is_open(&self) -> bool {
        self.am.iter().all(Option::is_none)
    }
}

impl Search<'_> {
    /// C14 and C15 of a half-day of which it is known who works where, in cents; `None` where a round cannot be driven.
    pub(super) fn work_of_half_day(&self, state: &SearchState, days: &mut CrewDays) -> Option<i64> {
        let (t, h) = (&self.tables, state.h);
        let (plain, at) = (&t.plain, t.plain.at(h));
        let mut cost = 0;
        for crew in 0..t.own.len() {
            let works = |run: &&super::Run| run.crews_at(h) >> crew & 1 == 1;
            let mut at_work = self.others(state, usize::MAX).filter(works).peekable();
            if let Some(left) = days.may_work[crew].as_mut().filter(|_| at_work.peek().is_some() && plain.works(at)) {
                cost += if *left == 0 { plain.book.prices.reserve_half_day.0 } else { 0 };
                *left = left.saturating_sub(1);
            }
            let Some(home) = plain.home(crew) else { continue };
            let place = at_work.find(|run| run.stop.is_none()).map(|run| run.place);
            if at.is_pm() {
                cost += plain.round_cost(home, days.am[crew].take(), place)?;
            } else {
                days.am[crew] = place;
            }
        }
        Some(cost)
    }
}
