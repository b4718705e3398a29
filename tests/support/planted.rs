//! Planted books of any size: a plan is made up first, and then a book around it in which that plan holds.

mod tighten;

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_check::check;
use yardless_plan::shop::{Id, PlaceId, Shop, StepId, Table, TeamId, TruckId, UnitId};
use yardless_plan::{Done, Draft, Haul, ParkedUnit, Plan, write};

use super::draw::Draw;
use super::{book, monday};

/// How large a planted book is.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    pub jobs: usize,
    pub weeks: u32,
    pub crews: usize,
}

/// A book and the plan that was hidden in it, with its cost.
pub struct Planted {
    pub book: Book,
    pub plan: Plan,
}

const KINDS: [(&str, bool); 3] = [("blower", false), ("tools", true), ("generator", false)];

/// Makes a plan up, job after job, and a book around it. The same size and seed give the same.
pub fn planted(size: Size, seed: u64) -> Planted {
    let mut draw = Draw::new(seed);
    let mut hidden = Hidden::new(&mut draw, size);
    for _ in 0..size.jobs {
        hidden.one_more_job(&mut draw);
    }
    let json = hidden.bare_book();
    let hidden = Made { steps: hidden.done, parked: hidden.parked, hauls: hidden.hauls, horizon: hidden.horizon };
    let loose = hidden.within(&json).expect("the made-up plan holds in the bare book");
    let (book, plan) = tighten::tighten(&mut draw, json, loose, &hidden);
    Planted { book, plan }
}

/// The made-up plan, without a book.
struct Made {
    steps: Vec<Done>,
    parked: Vec<Vec<UnitId>>,
    hauls: Vec<Haul>,
    horizon: Horizon,
}

/// Each unit for a need of its own.
fn parked(units: &[UnitId]) -> Vec<ParkedUnit> {
    units.iter().enumerate().map(|(need, unit)| ParkedUnit { need, unit: *unit }).collect()
}

impl Made {
    /// The book, and the plan with its cost; `None` where it does not hold in this book.
    fn within(&self, json: &Value) -> Option<(Book, Plan)> {
        let book = book(json.clone());
        let shop = Shop::new(&book, self.horizon).ok()?;
        let draft = Draft {
            steps: self.steps.iter().cloned().map(Some).collect(),
            parked: self.parked.iter().map(|units| parked(units)).collect::<Table<_, _>>(),
            hauls: self.hauls.clone(),
        };
        if shop.jobs.iter().any(|job| job.later) {
            return None;
        }
        let mut plan = write(&shop, "", &draft, |_| String::new());
        plan.costs = check(&shop, &plan).costs;
        plan.cost = plan.costs.total();
        check(&shop, &plan).holds().then_some((book, plan))
    }
    fn done(&self, step: StepId) -> &Done {
        &self.steps[step.index()]
    }
}

/// A unit, as the plan is made up: where it stands, and the first half-day at whose start it may leave.
#[derive(Clone)]
struct Unit {
    kind: usize,
    place: usize,
    free: usize,
    /// The half-day in which its last hold ended, to leave that evening.
    ended: Option<usize>,
}

struct Hidden {
    horizon: Horizon,
    minutes: Vec<Vec<usize>>,
    crew_free: Vec<usize>,
    units: Vec<Unit>,
    homes: Vec<usize>,
    done: Vec<Done>,
    parked: Vec<Vec<UnitId>>,
    hauls: Vec<Haul>,
    jobs: Vec<Value>,
}

/// Hauls of a truck in a half-day in the bare book, towed and carried alike.
const TRIPS: usize = 3;
const SAME_HALF_DAY: usize = 120;

impl Hidden {
    fn new(draw: &mut Draw, size: Size) -> Self {
        let places = size.jobs + 1;
        let mut minutes = vec![vec![0; places]; places];
        for (p, q) in (0..places).flat_map(|p| (0..p).map(move |q| (p, q))) {
            minutes[p][q] = if draw.chance(12) { draw.between(80, 130) } else { draw.between(5, 60) };
            minutes[q][p] = minutes[p][q];
        }
        let units: Vec<Unit> =
            (0..size.crews + 2).map(|u| Unit { kind: u % 3, place: 0, free: 0, ended: None }).collect();
        Self {
            horizon: Horizon::new(monday(), size.weeks).expect("a horizon"),
            minutes,
            crew_free: vec![0; size.crews],
            homes: vec![0; units.len()],
            units,
            done: Vec::new(),
            parked: Vec::new(),
            hauls: Vec::new(),
            jobs: Vec::new(),
        }
    }

    /// The first half-day from an index on that the bare shop works: Monday to Friday.
    fn worked(from: usize) -> usize {
        if from % 14 < 10 { from } else { from.next_multiple_of(14) }
    }
    fn end(start: usize, half_days: usize) -> usize {
        (start..).filter(|h| h % 14 < 10).nth(half_days - 1).expect("there is always another week")
    }

    /// A job of 1 to 3 steps, one after the other, as soon as crew and units are there, or a little later.
    /// It is dropped where it does not end within the horizon.
    fn one_more_job(&mut self, draw: &mut Draw) {
        let (j, len) = (self.jobs.len(), self.horizon.len());
        let place = j + 1;
        let before = (self.units.clone(), self.crew_free.clone(), self.hauls.len());
        let parked: Vec<usize> = if draw.chance(25) { self.free_unit(draw, &[]).into_iter().collect() } else { vec![] };
        let mut ready = parked.iter().map(|unit| self.bring(draw, *unit, place)).max().unwrap_or(0);
        let (mut steps, mut done) = (Vec::new(), Vec::new());
        for s in 0..draw.between(1, 3) {
            let soonest = (0..self.crew_free.len()).min_by_key(|crew| self.crew_free[*crew]).expect("a crew");
            let crew = done.last().filter(|_| draw.chance(70)).map_or(soonest, |before: &Done| before.team.index());
            let mut held: Vec<usize> = Vec::new();
            for _ in 0..draw.below(3) {
                let taken: Vec<usize> = parked.iter().chain(&held).copied().collect();
                held.extend(self.free_unit(draw, &taken));
            }
            let there = held.iter().map(|unit| self.bring(draw, *unit, place)).max().unwrap_or(0);
            let slack = if draw.chance(30) { draw.below(4) } else { 0 };
            let start = Self::worked(ready.max(there).max(self.crew_free[crew]) + slack);
            let half_days = draw.between(1, 5);
            let end = Self::end(start, half_days);
            for unit in &held {
                (self.units[*unit].free, self.units[*unit].ended) = (end + 1, Some(end));
            }
            self.crew_free[crew] = end + 1;
            ready = end + 1;
            let needs: Vec<Value> =
                held.iter().map(|unit| json!({ "kind": KINDS[self.units[*unit].kind].0 })).collect();
            steps.push(json!({ "id": format!("s{s}"), "skill": format!("skill{}", s % 2), "half_days": half_days, "needs": needs }));
            let units = held.iter().map(|unit| UnitId::from_index(*unit)).collect();
            done.push(Done { way: 0, team: TeamId::from_index(crew), start, end, units, returns: None });
        }
        let last = done.last().expect("a step").end;
        for unit in &parked {
            (self.units[*unit].free, self.units[*unit].ended) = (last + 1, Some(last));
        }
        let needs: Vec<Value> = parked.iter().map(|unit| json!({ "kind": KINDS[self.units[*unit].kind].0 })).collect();
        if last >= len {
            (self.units, self.crew_free) = (before.0, before.1);
            self.hauls.truncate(before.2);
            return;
        }
        self.done.extend(done);
        self.parked.push(parked.into_iter().map(UnitId::from_index).collect());
        self.jobs.push(json!({ "id": format!("j{j}"), "place": format!("p{place}"), "left_out": 50_000, "parked": needs, "steps": steps }));
    }

    fn free_unit(&self, draw: &mut Draw, taken: &[usize]) -> Option<usize> {
        let free: Vec<usize> = (0..self.units.len()).filter(|unit| !taken.contains(unit)).collect();
        (!free.is_empty()).then(|| draw.pick(&free))
    }

    /// Hauls a unit to a place where it does not stand, and tells from when on it is there.
    fn bring(&mut self, draw: &mut Draw, unit: usize, place: usize) -> usize {
        let Unit { kind, place: from, free, ended } = self.units[unit];
        if from == place {
            return free;
        }
        let minutes = self.minutes[from][place] + if KINDS[kind].1 { 30 } else { 15 };
        let long = minutes > SAME_HALF_DAY;
        let haul = |at, evening| {
            let used =
                |truck: usize| self.hauls.iter().filter(|haul| haul.at == at && haul.truck.index() == truck).count();
            let truck = (0..=self.crew_free.len()).find(|truck| used(*truck) < TRIPS)?;
            let (unit, truck) = (UnitId::from_index(unit), TruckId::from_index(truck));
            let (from, to) = (PlaceId::from_index(from), PlaceId::from_index(place));
            Some(Haul { unit, from, to, at, evening, truck })
        };
        // Not where it came only that half-day: one haul a half-day (H1).
        let came = self.hauls.iter().rfind(|haul| haul.unit.index() == unit).map(|haul| haul.at);
        let in_evening = ended.filter(|end| !long && end % 2 == 1 && came != Some(*end) && draw.chance(60));
        let in_evening = in_evening.and_then(|end| haul(end, true));
        let made = in_evening.unwrap_or_else(|| {
            let mut at = Self::worked(free);
            loop {
                match haul(at, false) {
                    Some(haul) => break haul,
                    None => at = Self::worked(at + 1),
                }
            }
        });
        let there = made.at + usize::from(made.evening || long);
        self.hauls.push(made);
        self.units[unit] = Unit { kind, place, free: there, ended: None };
        there
    }

    fn bare_book(&self) -> Value {
        let places = self.minutes.len();
        let drives = (0..places).flat_map(|p| (0..p).map(move |q| (p, q)));
        let crews = self.crew_free.len();
        json!({
            "book": 1,
            "shop": { "name": "Planted", "time_zone": "America/New_York" },
            "roads": [{ "id": "hill", "no_trailers": ["11-15/04-15"] }],
            "places": (0..places).map(|p| json!({ "id": format!("p{p}") })).collect::<Vec<_>>(),
            "drives": drives.map(|(p, q)| json!({ "from": format!("p{p}"), "to": format!("p{q}"), "minutes": self.minutes[p][q] })).collect::<Vec<_>>(),
            "kinds": [{ "id": "generator", "power": true }],
            "crews": (0..crews).map(|c| json!({ "id": format!("c{c}"), "people": 3, "skills": ["skill0", "skill1"] })).collect::<Vec<_>>(),
            "trucks": (0..=crews).map(|t| json!({ "id": format!("t{t}"), "tow_lb": 9000, "tows": TRIPS, "carries": TRIPS })).collect::<Vec<_>>(),
            "equipment": self.units.iter().enumerate().map(|(u, unit)| json!({
                "id": format!("u{u}"), "kinds": [KINDS[unit.kind].0], "moves": if KINDS[unit.kind].1 { "towed" } else { "carried" },
                "weight_lb": 4000, "place": format!("p{}", self.homes[u])
            })).collect::<Vec<_>>(),
            "jobs": self.jobs
        })
    }
}
