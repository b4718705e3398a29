//! The rules T, W, E5, E8, E9, H and C read plainly off the book: slow, in the rules' own order, and apart from the shop's tables.

mod cost;
mod history;
mod home;
mod posted;
mod ratings;
mod round;
mod team;
mod when;

use chrono::{Datelike, NaiveDate, Weekday};
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Job, Moves, Need, PowerFrom, RoadReport, Step};

pub use history::{KeptRow, may_split, way_position};
use ratings::{weighs, within_ratings};
pub use team::Team;
use when::held;

/// A book and the half-days that are planned. Crews, units and so on go by their position in the book.
pub struct Plain<'a> {
    pub book: &'a Book,
    pub horizon: Horizon,
}

/// One way to do a step, as the rules read it.
pub struct Way<'a> {
    pub half_days: Option<u32>,
    pub labor_hours: Option<f64>,
    /// Of a stop (W16).
    pub hours: Option<f64>,
    /// The way's own, else the step's (W11).
    pub help: u32,
    pub needs: &'a [Need],
    /// The way's own, else the step's.
    pub min_people: Option<u32>,
    /// Units of power, where the place has none (E9).
    pub power: u32,
    pub extra: i64,
}

/// The ways of a step; its own duration and needs are its only one where it gives none.
pub fn ways(step: &Step) -> Vec<Way<'_>> {
    match &step.ways {
        None => vec![Way {
            half_days: step.half_days,
            labor_hours: step.labor_hours,
            hours: step.hours,
            help: step.help,
            needs: &step.needs,
            min_people: step.min_people,
            power: step.needs_power.units(),
            extra: 0,
        }],
        Some(ways) => ways
            .iter()
            .map(|way| Way {
                half_days: way.half_days,
                labor_hours: way.labor_hours,
                hours: way.hours,
                help: way.help.unwrap_or(step.help),
                needs: &way.needs,
                min_people: way.min_people.or(step.min_people),
                power: way.needs_power.unwrap_or(step.needs_power).units(),
                extra: way.extra.0,
            })
            .collect(),
    }
}

impl Plain<'_> {
    pub fn at(&self, h: usize) -> HalfDay {
        self.horizon.half_day(h)
    }
    pub fn place(&self, id: &str) -> usize {
        self.book.places.iter().position(|place| place.id == id).expect("a known place")
    }

    /// T1.
    pub fn works(&self, half_day: HalfDay) -> bool {
        let today = half_day.date().weekday();
        self.book.shop.work_days.iter().any(|day| Weekday::from(*day) == today)
            && !held(&self.book.shop.closed, half_day)
    }

    /// W9: a half-day that the shop works in overtime only.
    pub fn overtime(&self, half_day: HalfDay) -> bool {
        let today = half_day.date().weekday();
        self.book.shop.overtime_days.iter().any(|day| Weekday::from(*day) == today)
            && !held(&self.book.shop.closed, half_day)
            && !self.works(half_day)
    }

    /// T2; `overtime`: also in half-days of overtime.
    pub fn people(&self, crew: usize, h: usize, overtime: bool) -> u32 {
        let (crew, now) = (&self.book.crews[crew], self.at(h));
        let works = self.works(now) || (overtime && self.overtime(now));
        if !works || crew.only.as_ref().is_some_and(|only| !held(only, now)) {
            return 0;
        }
        let away = crew.away.iter().filter(|away| when::is_away(away, now));
        away.fold(crew.people, |left, away| left.saturating_sub(away.people.unwrap_or(crew.people)))
    }

    /// What the weather entries say of one field: the last that gives it.
    fn said<T: Copy>(
        &self,
        place: usize,
        h: usize,
        field: impl Fn(&yardless_book::Weather, &mut Option<T>),
    ) -> Option<T> {
        let mut said = None;
        for entry in &self.book.weather {
            let here = entry.at.as_ref().is_none_or(|at| at.contains(&self.book.places[place].id));
            if here && when::reports(entry, self.at(h)) {
                field(entry, &mut said);
            }
        }
        said
    }
    fn no_travel(&self, place: usize, h: usize) -> bool {
        self.said(place, h, |entry, old| entry.no_travel.over(old)).unwrap_or(false)
    }
    fn storm(&self, place: usize, h: usize) -> bool {
        self.said(place, h, |entry, old| entry.storm.over(old)).unwrap_or(false)
    }

    /// W17: the fewest people present that may work; where nobody says, an own crew's are the shop's.
    pub fn least_people(&self, step: &Step, way: &Way, crew: usize) -> u32 {
        let shops = self.book.shop.min_people.min(step.max_people.unwrap_or(u32::MAX));
        way.min_people.unwrap_or(if self.book.crews[crew].own { shops } else { 1 })
    }

    /// W2, W7, W11 and W15; `overtime`: for a row that says so (W9).
    pub fn workable(&self, job: &Job, step: &Step, way: &Way, team: &Team, h: usize, overtime: bool) -> bool {
        let (now, place) = (self.at(h), self.place(&job.place));
        let early = |earliest: Option<NaiveDate>| earliest.is_some_and(|date| now < HalfDay::am(date));
        let gust = self.said(place, h, |entry, old| entry.gust_mph.over(old));
        let low = self.said(place, h, |entry, old| entry.low_f.over(old));
        let high = self.said(place, h, |entry, old| entry.high_f.over(old));
        let stopped = self.no_travel(place, h)
            || (step.outside && self.storm(place, h))
            || matches!((gust, step.max_gust_mph), (Some(gust), Some(most)) if gust > most)
            || matches!((low, step.min_low_f), (Some(low), Some(least)) if low < least)
            || matches!((high, step.max_high_f), (Some(high), Some(most)) if high > most)
            || (step.dry && self.said(place, h, |entry, old| entry.rain.over(old)) == Some(true));
        let access =
            !held(&job.no_access, now) && !held(&step.no_access, now) && !early(job.earliest) && !early(step.earliest);
        let there = self.people(team.crew, h, overtime) > 0
            && self.together(team, h, overtime) >= self.least_people(step, way, team.crew);
        there && access && !stopped
    }

    /// W14: whether all that the job and the step wait on is expected by a start.
    pub fn may_start(&self, job: &Job, step: &Step, start: usize) -> bool {
        let come = |expected: Option<NaiveDate>| expected.is_some_and(|date| self.at(start) >= HalfDay::am(date));
        job.waits_on.iter().all(|wait| come(wait.expected))
            && step.waits_on.iter().all(|wait| come(wait.expected))
            // What is on order is waited for (L7).
            && step.material.iter().all(|of| of.expected.is_none() || come(of.expected))
    }

    /// W5 and W8: whether the step may be done by a crew, in a way, from a start.
    pub fn allows(&self, step: &Step, way: usize, crew: usize, start: usize) -> bool {
        let who = &self.book.crews[crew];
        let way_id = step.ways.as_ref().map_or("usual", |ways| &ways[way].id);
        let as_fixed = step.fixed.as_ref().is_none_or(|fixed| {
            fixed.crew.as_ref().is_none_or(|id| *id == who.id)
                && fixed.way.as_ref().is_none_or(|id| id == way_id)
                && fixed.start.is_none_or(|half_day| half_day == self.at(start))
        });
        who.skills.contains(&step.skill) && as_fixed
    }

    /// W3: what a way takes, in labor hours or half-days; a stop is over in one (W16).
    pub fn takes(how: &Way) -> f64 {
        let half_days = if how.hours.is_some() { Some(1) } else { how.half_days };
        how.labor_hours.or(half_days.map(f64::from)).expect("a duration")
    }
    /// W3, W11: what a worked half-day gives towards that.
    pub fn gives(&self, step: &Step, how: &Way, team: &Team, h: usize, overtime: bool) -> f64 {
        let people = self.together(team, h, overtime).min(step.max_people.unwrap_or(u32::MAX));
        if how.labor_hours.is_some() { f64::from(people) * self.book.shop.half_day_hours } else { 1.0 }
    }

    /// E5, E9: how many units that give power a step holds, started at a half-day.
    pub fn power(&self, job: &Job, way: &Way, start: HalfDay) -> usize {
        let dark = match self.book.places[self.place(&job.place)].power_from {
            None => false,
            Some(PowerFrom::Never) => true,
            Some(PowerFrom::Date(date)) => start < HalfDay::am(date),
        };
        if dark { way.power as usize } else { 0 }
    }
    /// Whether a unit can serve as a kind; `None`: for its power.
    pub fn serves(&self, unit: usize, kind: Option<&str>) -> bool {
        self.book.equipment[unit].kinds.iter().any(|own| match kind {
            Some(kind) => own == kind,
            None => self.book.kinds.iter().any(|known| known.id == *own && known.power),
        })
    }
    /// E8: whether a unit serves any number of needs at a time.
    pub fn is_shared(&self, unit: usize) -> bool {
        let kinds = &self.book.equipment[unit].kinds;
        self.book.kinds.iter().any(|known| known.shared && kinds.contains(&known.id))
    }
    /// E4.
    pub fn out(&self, unit: usize, h: usize) -> bool {
        held(&self.book.equipment[unit].out, self.at(h))
    }

    /// H2, for the road at one place.
    fn open_to_trailers(&self, place: usize, h: usize) -> bool {
        let date = self.horizon.date(h);
        let roads = self.said(place, h, |entry, old| entry.roads.over(old));
        if self.storm(place, h) || self.no_travel(place, h) || roads == Some(RoadReport::Covered) {
            return false;
        }
        let here = &self.book.places[place];
        let Some(road) = self.book.roads.iter().find(|road| Some(&road.id) == here.road.as_ref()) else { return true };
        if !road.no_trailers.iter().any(|season| season.holds(date)) || roads == Some(RoadReport::Clear) {
            return true;
        }
        let covers = self.book.weather.iter().filter(|entry| entry.at.as_ref().is_none_or(|at| at.contains(&here.id)));
        let unreported = covers.filter_map(when::last_date).max().is_none_or(|last| date > last);
        unreported && road.expect_clear.iter().any(|day| Weekday::from(*day) == date.weekday())
    }

    /// H1 to H3 and E4 for a haul in a half-day; trucks and minutes apart.
    pub fn may_haul(&self, unit: usize, from: usize, to: usize, h: usize) -> bool {
        let roads = match self.book.equipment[unit].moves {
            Moves::Towed => self.open_to_trailers(from, h) && self.open_to_trailers(to, h),
            Moves::Carried => !self.no_travel(from, h) && !self.no_travel(to, h),
        };
        let now = self.at(h);
        from != to && roads && (self.works(now) || self.overtime(now)) && !self.out(unit, h)
    }

    /// H4, H7, H8: a truck for each haul of a half-day, a unit and what is posted on its way, if there are enough; tried one by one. `in_overtime`: the crews that
    /// work in the half-day on a step in overtime (W9), one bit each.
    pub fn trucks(&self, h: usize, hauls: &[(usize, Option<u32>)], in_overtime: u64) -> Option<Vec<usize>> {
        let mut chosen = Vec::new();
        self.give_truck(h, hauls, in_overtime, &mut chosen).then_some(chosen)
    }
    fn give_truck(&self, h: usize, hauls: &[(usize, Option<u32>)], in_overtime: u64, chosen: &mut Vec<usize>) -> bool {
        let Some((unit, posted)) = hauls.get(chosen.len()).copied() else { return true };
        let unit = &self.book.equipment[unit];
        for (t, truck) in self.book.trucks.iter().enumerate() {
            let crew = truck.crew.as_ref().and_then(|id| self.book.crews.iter().position(|crew| crew.id == *id));
            let so_far = |moves| {
                let others = chosen.iter().zip(hauls);
                others.filter(|(by, (other, _))| **by == t && self.book.equipment[*other].moves == moves).count()
            };
            let takes = match unit.moves {
                Moves::Towed => {
                    truck.tow_lb > 0 && truck.tow_lb >= weighs(unit) && so_far(Moves::Towed) < truck.tows as usize
                }
                Moves::Carried => so_far(Moves::Carried) < truck.carries as usize,
            };
            let there = if self.works(self.at(h)) {
                crew.is_none_or(|crew| self.people(crew, h, false) > 0)
            } else {
                self.overtime(self.at(h)) && crew.is_some_and(|crew| in_overtime >> crew & 1 == 1)
            };
            let free = there && !held(&truck.out, self.at(h));
            let light = posted.is_none_or(|most| truck.weight_lb.unwrap_or(0) + weighs(unit) <= most);
            if takes && free && light && within_ratings(truck, unit) {
                chosen.push(t);
                if self.give_truck(h, hauls, in_overtime, chosen) {
                    return true;
                }
                chosen.pop();
            }
        }
        false
    }

    /// H6; `None` where the drive is not known.
    fn drive_minutes(&self, from: usize, to: usize) -> Option<u32> {
        let (p, q) = (&self.book.places[from], &self.book.places[to]);
        let listed = self
            .book
            .drives
            .iter()
            .find(|drive| (&drive.from, &drive.to) == (&p.id, &q.id) || (&drive.from, &drive.to) == (&q.id, &p.id));
        match listed {
            Some(drive) => Some(drive.minutes),
            None => Some(estimate(p.at?, q.at?)),
        }
    }
    /// H5: minutes of a haul; `None` where the drive is not known.
    pub fn minutes(&self, unit: usize, from: usize, to: usize) -> Option<u32> {
        Some(
            self.drive_minutes(from, to)?
                + match self.book.equipment[unit].moves {
                    Moves::Towed => self.book.hauling.hitch_minutes,
                    Moves::Carried => self.book.hauling.load_minutes,
                },
        )
    }
    /// C3, in cents.
    pub fn haul_cost(&self, unit: usize, minutes: u32) -> i64 {
        i64::from(minutes)
            * match self.book.equipment[unit].moves {
                Moves::Towed => self.book.prices.tow_minute.0,
                Moves::Carried => self.book.prices.carry_minute.0,
            }
    }

    /// C12 of a half-day that the shop works: of a unit that stands at a place, or left it and is on the road; in cents.
    pub fn standing(&self, unit: usize, place: usize) -> i64 {
        match self.book.equipment[unit].moves {
            Moves::Towed => self.book.places[place].stand_half_day.0,
            Moves::Carried => 0,
        }
    }

    /// C13 of such a half-day; `None`: on the road.
    pub fn hire(&self, unit: usize, at: Option<usize>) -> i64 {
        let unit = &self.book.equipment[unit];
        let from = unit.hire_place.as_ref().map(|id| self.place(id));
        if at.is_some() && at == from { 0 } else { unit.hire_half_day.0 }
    }

    /// W1, W14; a started job never is (N1).
    pub fn later(&self, job: &Job) -> bool {
        let beyond = |date: NaiveDate| date > self.horizon.last_date();
        let started = job.steps.iter().any(|step| step.done.is_some() || step.progress.is_some());
        let waits = job.waits_on.iter().any(|wait| wait.expected.is_none_or(beyond));
        !started && (waits || job.earliest.is_some_and(beyond))
    }
}

/// H6, by the law of haversines.
fn estimate(from: [f64; 2], to: [f64; 2]) -> u32 {
    let ([a, b], [c, d]) = (from.map(f64::to_radians), to.map(f64::to_radians));
    let half_chord = ((c - a) / 2.0).sin().powi(2) + a.cos() * c.cos() * ((d - b) / 2.0).sin().powi(2);
    let km = 2.0 * 6371.0088 * half_chord.sqrt().asin();
    ((km * 1.3 / 50.0 * 60.0 * 100.0).round() / 100.0).ceil() as u32
}
