//! The runs of a step: from each start the half-days worked and the end (W3), in overtime (W9), and going on (N1).

use super::amount::{Amount, MILLIONTHS};
use super::{Shop, StepId, Team, TeamId};

/// Every run of a step by one team in one way: start -> end (W3).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Runs {
    /// Whether the half-day is workable (W2), by index.
    pub workable: Vec<bool>,
    /// The end of the run that starts at each index; `None` where none does, or none ends within the horizon.
    pub end: Vec<Option<u16>>,
    /// Half-days of overtime that its crews work before each index; empty where there is none.
    overtime_before: Vec<u16>,
    /// Half-days before each index in which a helper works whose help costs (C11); empty where none does.
    help_before: Vec<u16>,
}

impl Runs {
    /// The half-days of overtime that the crews of a run work (C8).
    pub(super) fn overtime(&self, start: usize, end: usize) -> i64 {
        within(&self.overtime_before, start, end)
    }
    /// The half-days in which its helpers work whose help costs (C11).
    pub(super) fn help(&self, start: usize, end: usize) -> i64 {
        within(&self.help_before, start, end)
    }
    /// The run that starts at an index.
    pub fn end_of(&self, start: usize) -> Option<usize> {
        self.end.get(start).copied().flatten().map(usize::from)
    }
    /// All runs, by start.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (usize, usize)> + '_ {
        self.end.iter().enumerate().filter_map(|(start, end)| end.map(|end| (start, usize::from(end))))
    }
    /// The half-days that a run works, pauses apart.
    pub fn worked(&self, start: usize, end: usize) -> impl Iterator<Item = usize> + Clone + '_ {
        (start..=end).filter(|h| self.workable[*h])
    }
}

/// What is counted from a half-day to another, by what is counted before each.
fn within(before: &[u16], start: usize, end: usize) -> i64 {
    let before = |h: usize| before.get(h).copied().map_or(0, i64::from);
    before(end + 1) - before(start)
}

/// What is counted before each half-day; empty where there is nothing.
fn counted_before(len: usize, count: impl Fn(usize) -> usize) -> Vec<u16> {
    let mut before = vec![0; len + 1];
    for h in 0..len {
        before[h + 1] = before[h] + count(h) as u16;
    }
    if before[len] == 0 { Vec::new() } else { before }
}

impl Shop {
    /// W3: what a workable half-day gives to a step, as its way is counted ([`Amount::total`]).
    pub fn done_in(&self, step: StepId, way: usize, team: &Team, h: usize) -> i64 {
        let facts = &self.steps[step];
        match facts.ways[way].amount {
            Amount::HalfDays(_) => 1,
            Amount::Hours(_) => {
                let people = self.present(team, h).min(facts.max_people.unwrap_or(u32::MAX));
                i64::from(people) * self.half_day_hours()
            }
        }
    }

    /// What one person gives in a half-day, in millionths of an hour.
    pub fn half_day_hours(&self) -> i64 {
        (self.book.shop.half_day_hours * MILLIONTHS).round() as i64
    }
}

/// W3, W9, W11 and N1 for every step, way and team.
pub(super) fn fill_runs(shop: &mut Shop) {
    for step in shop.steps.ids().filter(|step| !shop.is_later(*step)).collect::<Vec<_>>() {
        let facts = &shop.steps[step];
        let by_way = (0..facts.ways.len()).flat_map(|way| facts.teams.iter().map(move |team| (way, *team)));
        let runs = by_way.map(|(way, team)| runs(shop, step, way, team)).collect();
        shop.steps[step].runs = runs;
    }
}

fn runs(shop: &Shop, step: StepId, way: usize, team: TeamId) -> Runs {
    let (facts, team) = (&shop.steps[step], &shop.teams[team]);
    if facts.going.is_none() && team.helpers.len() > facts.ways[way].help {
        return Runs { workable: vec![false; shop.len()], end: vec![None; shop.len()], ..Runs::default() };
    }
    let workable: Vec<bool> = (0..shop.len()).map(|h| shop.obstacle(step, way, team, h).is_none()).collect();
    let done_in = |h: usize| shop.done_in(step, way, team, h);
    let mut end = ends(&workable, facts.ways[way].amount.total(), done_in);
    let in_overtime = facts.ways[way].overtime;
    let count =
        |counts: &dyn Fn(usize) -> usize| counted_before(shop.len(), |h| if workable[h] { counts(h) } else { 0 });
    let overtime_before = if in_overtime {
        count(&|h| if shop.overtime[h] { shop.working(team, h).count() } else { 0 })
    } else {
        Vec::new()
    };
    let help_before = count(&|h| shop.paid_helpers(team, h).count());
    if facts.goes_on() {
        // It holds its units from now on, whenever its first workable half-day comes.
        let first = end.iter().copied().find(Option::is_some).flatten();
        end.fill(None);
        end[shop.now] = first;
    }
    let mut runs = Runs { workable, end, overtime_before, help_before };
    for start in 0..runs.end.len() {
        let Some(end) = runs.end_of(start) else { continue };
        // Without a half-day of overtime the run is that of the plain way.
        let plain = in_overtime && runs.overtime(start, end) == 0;
        if plain || facts.going.is_none() && shop.absent(team, runs.worked(start, end)) != 0 {
            runs.end[start] = None;
        }
    }
    runs
}

/// The end of the run from each workable half-day: the first at which the work done since reaches `total`.
/// A later start never ends earlier, so that one pass with two pointers finds them all.
pub(super) fn ends(workable: &[bool], total: i64, done_in: impl Fn(usize) -> i64) -> Vec<Option<u16>> {
    let mut ends = vec![None; workable.len()];
    let (mut done, mut next) = (0, 0);
    for start in 0..workable.len() {
        if !workable[start] {
            continue;
        }
        while done < total && next < workable.len() {
            if workable[next] {
                done += done_in(next);
            }
            next += 1;
        }
        if done < total {
            break;
        }
        ends[start] = Some((next - 1) as u16);
        done -= done_in(start);
    }
    ends
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_work_every_workable_half_day_until_done() {
        // Workable at 0, 2, 3, 5. Two half-days from 0 end at 2; from 2 at 3; from 3 at 5; from 5 never.
        let workable = [true, false, true, true, false, true];
        assert_eq!(ends(&workable, 2, |_| 1), [Some(2), None, Some(3), Some(5), None, None]);
        // 5 hours with 4, -, 1, 3, -, 8 an index: from 0: 4 + 1 = 5 at 2; from 2: 1 + 3 + 8 at 5; from 3: 3 + 8 at 5; from
        // 5: 8 at 5.
        let hours = [4, 0, 1, 3, 0, 8];
        assert_eq!(ends(&workable, 5, |h| hours[h]), [Some(2), None, Some(5), Some(5), None, Some(5)]);
    }
}
