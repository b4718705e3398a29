//! One season of a plan, half-day by half-day.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, RngExt, SeedableRng};
use yardless_plan::shop::{CrewId, PlaceId, Table, TruckId, UnitId};

use super::course::{Course, Release, SeasonSpan};

/// A season's weather by half-day.
struct Weather {
    storm: Vec<bool>,
    closed: Vec<bool>,
}

/// For each job of a course, in how many of some seasons it ended in each half-day; past the last: not within the horizon.
pub(super) fn run(course: &Course, seasons: impl Iterator<Item = u32>, seed: u64) -> Vec<Vec<u32>> {
    let len = course.shop.len();
    let mut counts = vec![vec![0; len + 1]; course.jobs.len()];
    let mut state = SeasonState::new(course);
    for season in seasons {
        // A season is the same whichever thread runs it.
        let mut rng = ChaCha8Rng::seed_from_u64(seed ^ (u64::from(season) << 32));
        state.run(course, &mut rng);
        for (job, counts) in course.jobs.iter().zip(&mut counts) {
            let end = job.works.iter().map(|w| state.end[*w]).max().unwrap_or(len);
            counts[end.min(len)] += 1;
        }
    }
    counts
}

/// What has happened in a season so far.
struct SeasonState {
    /// What is left of each span, and what was drawn for it.
    left: Vec<i64>,
    /// What is left of what the book says, or of what was drawn where that is less: to be done in any case.
    least: Vec<i64>,
    drawn: Vec<i64>,
    started: Vec<bool>,
    /// The half-day in which each ended; the horizon's length while it has not.
    end: Vec<usize>,
    /// Where each unit is; `None`: on the road.
    at: Table<UnitId, Option<PlaceId>>,
    hauled: Vec<bool>,
    /// From when on each unit may be hauled: at a start, in an evening (H1).
    leaves: Table<UnitId, (usize, usize)>,
    /// Units on the road to a place until the next half-day.
    arriving: Vec<(UnitId, PlaceId)>,
    /// Hauls of this half-day by truck: towed, carried.
    trucks: Table<TruckId, (u32, u32)>,
}

impl SeasonState {
    fn new(course: &Course) -> Self {
        let shop = course.shop;
        let n = course.works.len();
        Self {
            left: vec![0; n],
            least: vec![0; n],
            drawn: vec![0; n],
            started: vec![false; n],
            end: vec![shop.len(); n],
            at: shop.units.iter().map(|unit| Some(unit.place)).collect(),
            hauled: vec![false; course.hauls.len()],
            leaves: Table::filled(shop.units.len(), (0, 0)),
            arriving: Vec::new(),
            trucks: Table::filled(shop.trucks.len(), (0, 0)),
        }
    }

    fn run(&mut self, course: &Course, rng: &mut impl Rng) {
        let shop = course.shop;
        self.begin(course, rng);
        let weather = weather(course, rng);
        let mut open = course.works.len();
        for h in shop.now..shop.len() {
            for (unit, place) in std::mem::take(&mut self.arriving) {
                self.at[unit] = Some(place);
            }
            self.trucks.iter_mut().for_each(|made| *made = (0, 0));
            self.haul(course, &weather, h, false);
            open -= self.work(course, &weather, h);
            if open == 0 {
                break;
            }
            if shop.horizon.half_day(h).is_pm() {
                self.haul(course, &weather, h, true);
            }
        }
    }

    fn begin(&mut self, course: &Course, rng: &mut impl Rng) {
        let shop = course.shop;
        for (w, work) in course.works.iter().enumerate() {
            let factor = work.spread.draw(rng);
            self.drawn[w] = if work.left { work.amount } else { (work.amount as f64 * factor).round() as i64 };
        }
        for (w, work) in course.works.iter().enumerate() {
            let before = work.first.map_or(0, |first| self.drawn[first]);
            self.left[w] = (self.drawn[w] - before).max(1);
            self.least[w] = (self.drawn[w].min(work.amount) - before).max(1);
        }
        for (started, work) in self.started.iter_mut().zip(&course.works) {
            *started = work.going;
        }
        self.leaves.iter_mut().for_each(|leaves| *leaves = (0, 0));
        self.end.fill(shop.len());
        self.hauled.fill(false);
        self.arriving.clear();
        for (at, unit) in self.at.iter_mut().zip(&shop.units) {
            *at = Some(unit.place);
        }
    }

    /// Whether all that held a unit has ended before a half-day.
    fn released(&self, course: &Course, release: &Release, before: usize) -> bool {
        release.works.iter().all(|w| self.end[*w] < before)
            && release.jobs.iter().all(|j| course.jobs[*j].works.iter().all(|w| self.end[*w] < before))
    }

    /// Hauls at the start of a half-day, or in its evening: those due and possible, in the order of the plan.
    fn haul(&mut self, course: &Course, weather: &Weather, h: usize, evening: bool) {
        for (i, haul) in course.hauls.iter().enumerate() {
            // One planned for the evening goes at the earliest then; one late takes the first chance.
            let due = haul.at < h || (haul.at == h && (haul.evening == evening || evening));
            if self.hauled[i] || !due || !haul.open[h] || (evening && haul.long) {
                continue;
            }
            if haul.towed && (weather.storm[h] || weather.closed[h]) {
                continue;
            }
            let before =
                course.hauls[..i].iter().zip(&self.hauled).any(|(other, done)| other.unit == haul.unit && !done);
            let there = self.at[haul.unit].is_some();
            let (start, in_evening) = self.leaves[haul.unit];
            let stands = h >= if evening { in_evening } else { start };
            if before || !there || !stands || !self.released(course, &haul.after, h + usize::from(evening)) {
                continue;
            }
            let (towed, carried) = self.trucks[haul.truck];
            let facts = &course.shop.trucks[haul.truck];
            let full = if haul.towed { towed >= facts.tows } else { carried >= facts.carries };
            if full {
                continue;
            }
            self.trucks[haul.truck] = if haul.towed { (towed + 1, carried) } else { (towed, carried + 1) };
            self.hauled[i] = true;
            // What comes late in a half-day has stood there to the end of the next one before it leaves at a start.
            self.leaves[haul.unit] = if evening || haul.long { (h + 2, h + 1) } else { (h + 1, h + 1) };
            if evening || haul.long {
                self.at[haul.unit] = None;
                self.arriving.push((haul.unit, haul.to));
            } else {
                self.at[haul.unit] = Some(haul.to);
            }
        }
    }

    /// Each crew works on what it has begun, else begins what comes next, as far as its half-day goes; what has helpers
    /// is worked on where all that are there come to it. How many spans end.
    fn work(&mut self, course: &Course, weather: &Weather, h: usize) -> usize {
        let shop = course.shop;
        let mut come = vec![0; course.works.len()];
        for (crew, works) in course.by_crew.pairs() {
            self.choose(course, weather, (crew, works), h, |w| come[w] += 1);
        }
        let mut ended = 0;
        for (w, (work, come)) in course.works.iter().zip(come).enumerate() {
            if come == 0 || come < shop.working(&shop.teams[work.team], h).count() {
                continue;
            }
            self.started[w] = true;
            let done = can(work, weather, h);
            self.left[w] -= done;
            self.least[w] -= done;
            // What runs over by no more than half of a half-day's work is made up in it (S1).
            if self.least[w] <= 0 && self.left[w] * 2 <= done {
                self.end[w] = h;
                ended += 1;
            }
        }
        ended
    }

    /// What a crew comes to in a half-day.
    fn choose(
        &self,
        course: &Course,
        weather: &Weather,
        (crew, works): (CrewId, &[usize]),
        h: usize,
        mut comes_to: impl FnMut(usize),
    ) {
        let shop = course.shop;
        let mut room = shop.capacity(crew);
        for w in works.iter().copied().filter(|w| self.end[*w] == shop.len()) {
            let work = &course.works[w];
            let may = can(work, weather, h) > 0 && (self.started[w] || self.may_start(course, work, h));
            if may && work.load[crew] <= room {
                room -= work.load[crew];
                comes_to(w);
            }
            // No other is begun before the next in order, but by those who work on several at once.
            if room == 0 || (!may && !self.started[w] && shop.crews[crew].at_once == 1) {
                break;
            }
        }
    }

    fn may_start(&self, course: &Course, work: &SeasonSpan, h: usize) -> bool {
        h >= work.start
            && h >= work.from
            && work.after.iter().all(|(before, wait)| self.end[*before] + 1 + wait <= h)
            && work
                .units
                .iter()
                .all(|held| self.at[held.unit] == Some(work.place) && self.released(course, &held.after, h))
    }
}

/// What a span's crews can do in a half-day.
fn can(work: &SeasonSpan, weather: &Weather, h: usize) -> i64 {
    if work.outside && weather.storm[h] { 0 } else { work.done_in[h] }
}

/// The storms and closed days of a season: a date at a time, both its halves.
fn weather(course: &Course, rng: &mut impl Rng) -> Weather {
    let len = course.shop.len();
    let mut weather = Weather { storm: vec![false; len], closed: vec![false; len] };
    for h in (0..len).step_by(2) {
        let day = course.climate[h];
        if day.storm > 0.0 || day.closed > 0.0 {
            let (storm, closed) = (rng.random::<f64>() < day.storm, rng.random::<f64>() < day.closed);
            for half in [h, h + 1] {
                weather.storm[half] = storm;
                weather.closed[half] = closed;
            }
        }
    }
    weather
}
