//! Which steps are later (W12), read off the rule: the soonest end of every step, over and over until nothing changes.

use yardless_book::{PowerFrom, Step};

use super::runs::{Run, RunPart};
use super::tables::Tables;
use crate::plain::ways;

impl Tables<'_> {
    /// Whether a job is done in part, where it is done: some of its steps are later.
    pub fn in_part(&self, job: usize) -> bool {
        self.steps_of(job).any(|step| self.steps[step].later)
    }

    /// Whether all that is left of it is later.
    pub fn rests(&self, job: usize) -> bool {
        self.in_part(job) && self.steps_of(job).all(|step| self.steps[step].later || self.is_done(step))
    }

    fn may_be_in_part(&self, job: usize) -> bool {
        self.plain.book.jobs[job].in_part.unwrap_or(self.plain.book.shop.in_part)
    }

    fn text(&self, step: usize) -> &Step {
        let job = self.steps[step].job;
        &self.plain.book.jobs[job].steps[step - self.steps_of(job).start]
    }

    fn is_done(&self, step: usize) -> bool {
        self.text(step).done.is_some()
    }

    /// Neither done nor in progress.
    fn unbegun(&self, step: usize) -> bool {
        !self.is_done(step) && self.text(step).progress.is_none()
    }

    /// Marks what is later, steps and jobs.
    pub fn mark_later(&mut self) {
        let (jobs, steps) = (self.jobs.len(), self.steps.len());
        let never: Vec<bool> = (0..steps).map(|step| self.unbegun(step) && self.at_no_date(step)).collect();
        // Jobs for which other jobs' steps wait in vain.
        let mut vain: Vec<bool> =
            (0..jobs).map(|job| self.jobs[job].later || self.steps_of(job).any(|step| never[step])).collect();
        let mut late;
        loop {
            let ends = self.soonest_ends(&vain);
            late = self.late(&ends, &never);
            let more: Vec<bool> = (0..jobs)
                .map(|job| {
                    let mut open = self.steps_of(job).filter(|step| !self.is_done(*step));
                    let whole = !self.may_be_in_part(job) && open.any(|step| ends[step].is_none());
                    vain[job] || whole || self.all_late(job, &late)
                })
                .collect();
            if more == vain {
                break;
            }
            vain = more;
        }
        for job in 0..jobs {
            let some = self.steps_of(job).any(|step| late[step]);
            if self.jobs[job].later || self.all_late(job, &late) {
                self.jobs[job].later = true;
            } else if some {
                self.jobs[job].end_cost = (0..self.len).map(|end| self.plain.waiting(end as i64)).collect();
                for step in self.steps_of(job).filter(|step| late[*step]) {
                    self.steps[step].later = true;
                }
            }
        }
    }

    /// Every step is later, and none has begun.
    fn all_late(&self, job: usize, late: &[bool]) -> bool {
        self.may_be_in_part(job) && !self.jobs[job].started && self.steps_of(job).all(|step| late[step])
    }

    fn soonest_ends(&self, vain: &[bool]) -> Vec<Option<i64>> {
        let mut ends: Vec<Option<i64>> = vec![None; self.steps.len()];
        for &step in &self.order {
            let table = &self.steps[step];
            if let Some(done) = table.history.as_ref().and_then(|history| history.end) {
                ends[step] = Some(done);
                continue;
            }
            let mut from = Some(i64::MIN);
            for link in &table.after {
                let other = self.steps[link.step].job;
                let mut end = ends[link.step];
                if other != table.job && !self.is_done(link.step) && vain[other] {
                    end = None;
                }
                // N1: a started job waits for no job that is not done, but one in part may come later itself.
                if end.is_none()
                    && other != table.job
                    && self.jobs[table.job].started
                    && !self.may_be_in_part(table.job)
                {
                    continue;
                }
                from = from.zip(end).map(|(from, end)| from.max(end + 1 + link.wait));
            }
            let ends_it = |run: &Run| !run.overtime && !matches!(run.part, RunPart::First { .. });
            let away = table.let_go.is_some() && table.goes_on.is_empty();
            let second = |n: usize| table.rests.iter().any(|rest| rest.seconds.contains(&n));
            let runs = table.runs.iter().enumerate().filter(|(n, run)| ends_it(run) && second(*n) == away);
            ends[step] = from.and_then(|from| {
                let in_time = runs.filter(|(_, run)| run.start as i64 >= from);
                in_time.map(|(_, run)| run.end as i64).min()
            });
        }
        ends
    }

    fn late(&self, ends: &[Option<i64>], never: &[bool]) -> Vec<bool> {
        let may: Vec<bool> = (0..self.steps.len())
            .map(|step| self.unbegun(step) && !never[step] && self.may_be_in_part(self.steps[step].job))
            .collect();
        let mut late: Vec<bool> = (0..self.steps.len())
            .map(|step| self.jobs[self.steps[step].job].later || may[step] && ends[step].is_none())
            .collect();
        loop {
            let before = late.clone();
            for step in 0..late.len() {
                for link in &self.steps[step].after {
                    if late[link.step] && may[step] {
                        late[step] = true;
                    }
                    if late[step] && link.within.is_some() && may[link.step] {
                        late[link.step] = true;
                    }
                }
            }
            if late == before {
                return late;
            }
        }
    }

    /// In no way that is fixed are there both people, helpers among them, and units enough.
    fn at_no_date(&self, step: usize) -> bool {
        let (plain, text) = (&self.plain, self.text(step));
        let place = plain.place(&plain.book.jobs[self.steps[step].job].place);
        let units =
            |want: Option<&str>| (0..plain.book.equipment.len()).filter(|unit| plain.serves(*unit, want)).count();
        let fixed = text.fixed.as_ref();
        for (n, way) in ways(text).iter().enumerate() {
            let id = text.ways.as_ref().map_or("usual", |ways| &ways[n].id);
            if fixed.and_then(|fixed| fixed.way.as_ref()).is_some_and(|fixed| fixed != id) {
                continue;
            }
            // Of a shared kind one unit serves them all (E8).
            let of_kind = |kind: &str| {
                let counts = || way.needs.iter().filter(|need| need.kind == kind).map(|need| need.count as usize);
                let shared = plain.book.kinds.iter().any(|known| known.id == kind && known.shared);
                if shared { counts().max().unwrap_or(0) } else { counts().sum() }
            };
            let dark = plain.book.places[place].power_from == Some(PowerFrom::Never);
            let enough = way.needs.iter().all(|need| units(Some(&need.kind)) >= of_kind(&need.kind))
                && (!dark || units(None) >= way.power as usize);
            let able = plain.teams(way).into_iter().any(|team| {
                let crew = &plain.book.crews[team.crew];
                let helpers = team.helpers.iter().map(|helper| plain.book.crews[*helper].people);
                crew.skills.contains(&text.skill)
                    && fixed.and_then(|fixed| fixed.crew.as_ref()).is_none_or(|fixed| *fixed == crew.id)
                    && crew.people + helpers.sum::<u32>() >= plain.least_people(text, way, team.crew).max(1)
            });
            if enough && able {
                return false;
            }
        }
        true
    }
}
