//! What a step can do when: rules W2, W3, W5, W7, W8 and E5 as tables of runs.

use super::{CrewId, JobId, KindId, Link, Shop, StepId, UnitFacts};
use crate::half_day::HalfDay;
use crate::money::Cents;

/// One step of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct StepFacts {
    /// Its id within the job.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Its job.
    pub job: JobId,
    /// The skill it takes (W5).
    pub skill: String,
    /// The crews that have it.
    pub crews: Vec<CrewId>,
    /// The steps it comes after (W6).
    pub after: Vec<Link>,
    /// The ways to do it, one at least.
    pub ways: Vec<WayFacts>,
    /// Most people whose hours count.
    pub max_people: Option<u32>,
    /// Whether job and step give access, by half-day index (W2).
    pub access: Vec<bool>,
    /// The index before which `earliest` forbids work.
    pub early: usize,
    /// Done outside.
    pub outside: bool,
    /// Must stay dry.
    pub dry: bool,
    /// Gusts above this stop it.
    pub max_gust_mph: Option<f64>,
    /// A low under this stops it.
    pub min_low_f: Option<f64>,
    /// Whether it takes power (E5).
    pub needs_power: bool,
    /// What the owner has fixed (W8).
    pub fixed: Fixed,
    /// Its runs by way and crew, in the order of `ways` x `crews`.
    pub(super) runs: Vec<Runs>,
}

/// One way to do a step.
#[derive(Clone, Debug, PartialEq)]
pub struct WayFacts {
    /// Its id within the step.
    pub id: String,
    /// How much work it is.
    pub amount: Amount,
    /// The units held (E2), power apart.
    pub needs: Vec<Need>,
    /// Fewest people present.
    pub min_people: u32,
    /// What it costs besides (C6).
    pub extra: Cents,
}

/// How much work a step is (W3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// Worked half-days.
    HalfDays(u32),
    /// Labor hours, in millionths of an hour: whole numbers add up without error.
    Hours(i64),
}

const MILLIONTHS: f64 = 1e6;

impl Amount {
    /// From the book's two fields, of which the reader has made sure that just one is given.
    pub(super) fn of(half_days: Option<u32>, labor_hours: Option<f64>) -> Self {
        match (half_days, labor_hours) {
            (_, Some(hours)) => Self::Hours(((hours * MILLIONTHS).round() as i64).max(1)),
            (days, None) => Self::HalfDays(days.unwrap_or(1)),
        }
    }
}

/// So many units that can serve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// What they serve as.
    pub want: Want,
    /// How many.
    pub count: usize,
}

/// What a unit is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Want {
    /// As a unit of this kind.
    Kind(KindId),
    /// For its power: any unit of a kind marked so (E5).
    Power,
}

/// What the owner has fixed of a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Fixed {
    /// The crew.
    pub crew: Option<CrewId>,
    /// The start; it may lie outside the horizon, which leaves the job out.
    pub start: Option<HalfDay>,
    /// The way, by its position in `ways`.
    pub way: Option<usize>,
}

/// What keeps a step from being worked on in a half-day, in the order in which it is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// The shop does not work.
    Closed,
    /// Too few of the crew are present: so many are.
    FewPeople(u32),
    /// Before `earliest`.
    Early,
    /// No access.
    NoAccess,
    /// Nobody travels.
    NoTravel,
    /// A storm, and the step is outside.
    Storm,
    /// Too much wind.
    Gust,
    /// Too cold.
    Cold,
    /// Rain, and the step must stay dry.
    Rain,
}

/// Every run of a step by one crew in one way: start -> end (W3).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Runs {
    /// Whether the half-day is workable (W2), by index.
    pub workable: Vec<bool>,
    /// The end of the run that starts at each index; `None` where none does, or none ends within the horizon.
    pub end: Vec<Option<u16>>,
}

impl Runs {
    /// The run that starts at an index.
    pub fn end_of(&self, start: usize) -> Option<usize> {
        self.end.get(start).copied().flatten().map(usize::from)
    }
    /// All runs, by start.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (usize, usize)> + '_ {
        self.end.iter().enumerate().filter_map(|(start, end)| end.map(|end| (start, usize::from(end))))
    }
    /// The half-days that a run works, pauses apart.
    pub fn worked(&self, start: usize, end: usize) -> impl Iterator<Item = usize> + '_ {
        (start..=end).filter(|h| self.workable[*h])
    }
}

impl Shop {
    /// W2 and W7: what keeps the crew from working on the step in this way at an index, if anything does.
    pub fn obstacle(&self, step: StepId, way: usize, crew: CrewId, h: usize) -> Option<Obstacle> {
        let facts = &self.steps[step];
        let now = &self.places[self.jobs[facts.job].place].weather[h];
        let present = self.crews[crew].people[h];
        if !self.works[h] {
            Some(Obstacle::Closed)
        } else if present < facts.ways[way].min_people.max(1) {
            Some(Obstacle::FewPeople(present))
        } else if h < facts.early {
            Some(Obstacle::Early)
        } else if !facts.access[h] {
            Some(Obstacle::NoAccess)
        } else if now.no_travel {
            Some(Obstacle::NoTravel)
        } else if facts.outside && now.storm {
            Some(Obstacle::Storm)
        } else if facts.max_gust_mph.is_some_and(|most| now.gust_mph.is_some_and(|gust| gust > most)) {
            Some(Obstacle::Gust)
        } else if facts.min_low_f.is_some_and(|least| now.low_f.is_some_and(|low| low < least)) {
            Some(Obstacle::Cold)
        } else if facts.dry && now.rain {
            Some(Obstacle::Rain)
        } else {
            None
        }
    }

    /// The runs of a step by a crew with the skill, in one of its ways; what is fixed (W8) is not looked at.
    pub fn runs(&self, step: StepId, way: usize, crew: CrewId) -> Option<&Runs> {
        let facts = &self.steps[step];
        let position = facts.crews.iter().position(|c| *c == crew)?;
        facts.runs.get(way * facts.crews.len() + position)
    }

    /// The ways and crews that may do a step, as far as the owner has fixed them (W5, W8), with their runs.
    pub fn choices(&self, step: StepId) -> impl Iterator<Item = (usize, CrewId, &Runs)> + '_ {
        let facts = &self.steps[step];
        (0..facts.ways.len())
            .flat_map(move |way| facts.crews.iter().map(move |crew| (way, *crew)))
            .zip(&facts.runs)
            .map(|((way, crew), runs)| (way, crew, runs))
            .filter(move |(way, crew, _)| {
                facts.fixed.way.is_none_or(|fixed| fixed == *way) && facts.fixed.crew.is_none_or(|fixed| fixed == *crew)
            })
    }

    /// Whether a step may start at an index, as far as the owner has fixed its start (W8).
    pub fn start_allowed(&self, step: StepId, start: usize) -> bool {
        self.steps[step].fixed.start.is_none_or(|fixed| self.horizon.index(fixed) == Some(start))
    }

    /// What a step done in a way, from a start, holds: the way's needs, and power where there is none yet (E2, E5).
    pub fn needs(&self, step: StepId, way: usize, start: usize) -> impl Iterator<Item = Need> + '_ {
        let power = self.takes_power(step, start).then_some(Need { want: Want::Power, count: 1 });
        self.steps[step].ways[way].needs.iter().copied().chain(power)
    }

    /// Towed units that must stand at the step's place at once while it is worked on in a way, from a start: its own
    /// and those parked for its job (E2, E3, E5).
    pub fn trailers_at_once(&self, step: StepId, way: usize, start: usize) -> usize {
        let parked = self.jobs[self.steps[step].job].parked.iter().copied();
        let towed = |want| self.units.iter().filter(|unit| unit.serves(want)).all(UnitFacts::towed);
        self.needs(step, way, start).chain(parked).filter(|need| towed(need.want)).map(|need| need.count).sum()
    }

    /// Whether those trailers fit on the place's spots (E6).
    pub fn trailers_fit(&self, step: StepId, way: usize, start: usize) -> bool {
        let spots = self.places[self.jobs[self.steps[step].job].place].spots;
        spots.is_none_or(|spots| self.trailers_at_once(step, way, start) <= spots)
    }

    /// Whether the shop has what a run holds: of all that the step holds and its job has parked enough units that are
    /// not out in it (E4), and spots for the trailers among them (E6). Without, no plan has the run.
    pub fn equipped(&self, step: StepId, way: usize, start: usize, end: usize) -> bool {
        let enough = |need: Need| {
            self.units.iter().filter(|unit| unit.serves(need.want) && !unit.out_within(start, end)).count()
                >= need.count
        };
        let parked = self.jobs[self.steps[step].job].parked.iter().copied();
        self.needs(step, way, start).chain(parked).all(enough) && self.trailers_fit(step, way, start)
    }

    /// E5: whether the step, starting at the index, holds a unit that gives power.
    pub fn takes_power(&self, step: StepId, start: usize) -> bool {
        let facts = &self.steps[step];
        facts.needs_power && start < self.places[self.jobs[facts.job].place].power_from
    }
}

/// W3 for every step, way and crew.
pub(super) fn fill_runs(shop: &mut Shop) {
    let hours = (shop.book.shop.half_day_hours * MILLIONTHS).round() as i64;
    for step in shop.steps.ids() {
        let facts = &shop.steps[step];
        let runs = (0..facts.ways.len())
            .flat_map(|way| facts.crews.iter().map(move |crew| (way, *crew)))
            .map(|(way, crew)| {
                let workable: Vec<bool> =
                    (0..shop.len()).map(|h| shop.obstacle(step, way, crew, h).is_none()).collect();
                let people = &shop.crews[crew].people;
                let done_in = |h: usize| match facts.ways[way].amount {
                    Amount::HalfDays(_) => 1,
                    Amount::Hours(_) => i64::from(people[h].min(facts.max_people.unwrap_or(u32::MAX))) * hours,
                };
                let total = match facts.ways[way].amount {
                    Amount::HalfDays(n) => i64::from(n),
                    Amount::Hours(n) => n,
                };
                Runs { end: ends(&workable, total, done_in), workable }
            })
            .collect();
        shop.steps[step].runs = runs;
    }
}

/// The end of the run from each workable half-day: the first at which the work done since reaches `total`.
/// A later start never ends earlier, so that one pass with two pointers finds them all.
fn ends(workable: &[bool], total: i64, done_in: impl Fn(usize) -> i64) -> Vec<Option<u16>> {
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
        // 5 hours with 4, -, 1, 3, -, 8 an index: from 0: 4 + 1 = 5 at 2; from 2: 1 + 3 + 8 at 5; from 3: 3 + 8 at 5; from 5: 8 at 5.
        let hours = [4, 0, 1, 3, 0, 8];
        assert_eq!(ends(&workable, 5, |h| hours[h]), [Some(2), None, Some(5), Some(5), None, Some(5)]);
    }
}
