//! A plan laid out to be run through seasons: what each span and each haul waits for.

use yardless_book::Moves;
use yardless_check::check;
use yardless_plan::shop::{
    Amount, CrewId, JobId, ParkedNeed, Part, PlaceId, Shop, StepId, Table, TeamId, TruckId, UnitId,
};
use yardless_plan::{Draft, ParkedUnit, Plan, read};

use super::pert::Spread;

/// A plan laid out to be run through seasons.
pub(super) struct Course<'s> {
    pub(super) shop: &'s Shop,
    /// Spans of steps by their planned start.
    pub(super) works: Vec<SeasonSpan>,
    /// For each crew its spans, those in which it helps too, in the order of the plan.
    pub(super) by_crew: Table<CrewId, Vec<usize>>,
    pub(super) hauls: Vec<SeasonHaul>,
    pub(super) jobs: Vec<PlannedJob>,
    pub(super) climate: Vec<Day>,
}

/// A job that the plan does.
pub(super) struct PlannedJob {
    pub(super) job: JobId,
    /// Index of its planned end.
    pub(super) end: usize,
    /// Its spans.
    pub(super) works: Vec<usize>,
}

/// A span of a step.
pub(super) struct SeasonSpan {
    pub(super) step: StepId,
    pub(super) team: TeamId,
    /// What it takes of a half-day of each crew that works on it (W13, W16).
    pub(super) load: Table<CrewId, u64>,
    pub(super) place: PlaceId,
    pub(super) start: usize,
    /// What it takes by the book, in millionths of a half-day or labor hour; of a first span what it does before it is
    /// left.
    pub(super) amount: i64,
    /// For the second span of a step, the first: it takes what that leaves.
    pub(super) first: Option<usize>,
    /// In progress: it has begun before the season does.
    pub(super) going: bool,
    /// Left before it is done: takes its amount whatever the season.
    pub(super) left: bool,
    pub(super) spread: Spread,
    /// What it comes after: span and half-days to wait.
    pub(super) after: Vec<(usize, usize)>,
    /// Earliest index that done steps allow (W6).
    pub(super) from: usize,
    /// What it holds, each with what must have let it go: spans before it, and jobs that park it.
    pub(super) units: Vec<HeldUnit>,
    pub(super) outside: bool,
    /// What its crews do in each half-day; 0 where nothing can be done.
    pub(super) done_in: Vec<i64>,
}

/// A unit held by a span, or from a job's first span on.
pub(super) struct HeldUnit {
    pub(super) unit: UnitId,
    pub(super) after: Release,
}

/// What must be over before a unit can be had, or hauled away.
#[derive(Clone, Default)]
pub(super) struct Release {
    pub(super) works: Vec<usize>,
    pub(super) jobs: Vec<usize>,
}

pub(super) struct SeasonHaul {
    pub(super) unit: UnitId,
    pub(super) to: PlaceId,
    pub(super) at: usize,
    pub(super) evening: bool,
    pub(super) truck: TruckId,
    pub(super) towed: bool,
    /// Takes all its half-day.
    pub(super) long: bool,
    pub(super) after: Release,
    /// Whether it may go in each half-day, weather of the season apart.
    pub(super) open: Vec<bool>,
}

/// The chances of a date: a storm, and roads closed to trailers.
#[derive(Clone, Copy, Default)]
pub(super) struct Day {
    pub(super) storm: f64,
    pub(super) closed: f64,
}

impl<'s> Course<'s> {
    pub(super) fn new(shop: &'s Shop, plan: &Plan) -> Option<Self> {
        if !check(shop, plan).holds() {
            return None;
        }
        let draft = read(shop, plan);
        let mut works = works(shop, &draft);
        let jobs: Vec<PlannedJob> = shop
            .jobs
            .ids()
            .filter_map(|job| {
                let of: Vec<usize> = (0..works.len()).filter(|w| shop.steps[works[*w].step].job == job).collect();
                let end = shop.jobs[job].step_ids().filter_map(|step| Some(draft.steps[step].as_ref()?.end)).max()?;
                Some(PlannedJob { job, end, works: of })
            })
            .collect();
        link(shop, &draft, &mut works);
        let mut hauls = hauls(shop, &draft);
        holds(shop, &draft, &jobs, &mut works, &mut hauls);
        // E4: while a unit is out, what holds it waits.
        for work in &mut works {
            for held in &work.units {
                let out = shop.units[held.unit].out.iter();
                work.done_in.iter_mut().zip(out).filter(|(_, out)| **out).for_each(|(done, _)| *done = 0);
            }
        }
        let of = |crew: CrewId| {
            (0..works.len()).filter(|w| shop.teams[works[*w].team].crews().any(|of| of == crew)).collect()
        };
        let by_crew = shop.crews.ids().map(of).collect();
        Some(Self { shop, works, by_crew, hauls, jobs, climate: climate(shop) })
    }
}

fn works(shop: &Shop, draft: &Draft) -> Vec<SeasonSpan> {
    let chance = shop.book.chance.as_ref();
    let mut works: Vec<SeasonSpan> = Vec::new();
    for (step, done) in draft.steps.pairs() {
        let Some(done) = done else { continue };
        let facts = &shop.steps[step];
        let spread = shop.book.jobs.iter().find(|job| job.id == shop.jobs[facts.job].id);
        let spread = spread.and_then(|job| job.steps.get(facts.listed)).and_then(|step| step.spread.as_ref());
        let spread = match (spread, chance) {
            (Some(own), _) => Spread::new(own.low, own.likely, own.high),
            (None, Some(all)) => Spread::new(all.low, 1.0, all.high),
            (None, None) => Spread::Always(1.0),
        };
        for held in done.spans().filter(|held| held.span.part != Part::LetGo) {
            let span = held.span;
            let amount = facts.ways[span.way].amount;
            let scale = if matches!(amount, Amount::HalfDays(_)) { MILLIONTHS } else { 1 };
            let done_in: Vec<i64> = (0..shop.len())
                .map(|h| match shop.obstacle(step, span.way, &shop.teams[done.team], h) {
                    None => shop.done_in(step, span.way, &shop.teams[done.team], h) * scale,
                    Some(_) => 0,
                })
                .collect();
            let left = span.part == Part::First;
            works.push(SeasonSpan {
                step,
                team: done.team,
                load: shop.crews.ids().map(|crew| shop.load(step, span.way, crew)).collect(),
                place: shop.jobs[facts.job].place,
                start: span.start,
                amount: if left { done_in[span.start..=span.end].iter().sum() } else { amount.total() * scale },
                first: None,
                going: facts.goes_on() && span.part != Part::Second,
                left,
                spread: spread.clone(),
                after: Vec::new(),
                from: facts.start_from,
                units: held.units.iter().map(|unit| HeldUnit { unit: *unit, after: Release::default() }).collect(),
                outside: facts.outside,
                done_in,
            });
        }
    }
    works.sort_by_key(|work| work.start);
    // Only a step in two spans has two, the second after the first.
    for w in 0..works.len() {
        works[w].first = works[..w].iter().position(|other| other.step == works[w].step);
    }
    works
}

/// A factor may take part of a half-day: labor hours are counted so already.
const MILLIONTHS: i64 = 1_000_000;

/// W6: what each span comes after.
fn link(shop: &Shop, draft: &Draft, works: &mut [SeasonSpan]) {
    let last_of = |works: &[SeasonSpan], step: StepId| works.iter().rposition(|work| work.step == step);
    for w in 0..works.len() {
        if let Some(first) = works[w].first {
            works[w].after.push((first, 1));
            continue;
        }
        let step = works[w].step;
        if shop.steps[step].going.is_some() {
            continue;
        }
        for link in &shop.steps[step].after {
            if draft.steps[link.before].is_some()
                && let Some(before) = last_of(works, link.before)
            {
                works[w].after.push((before, link.wait));
            }
        }
    }
}

fn hauls(shop: &Shop, draft: &Draft) -> Vec<SeasonHaul> {
    let mut hauls: Vec<SeasonHaul> = draft
        .hauls
        .iter()
        .map(|haul| {
            let moves = shop.units[haul.unit].moves;
            let long = shop.haul_time(moves, haul.from, haul.to).is_some_and(|time| time.long);
            let open = |h: usize| {
                shop.open[h]
                    && shop.may_haul(haul.unit, haul.from, haul.to, h).is_some()
                    && shop.can_haul(haul.truck, haul.unit, (haul.from, haul.to), h)
                    && (shop.trucks[haul.truck].available[h] || (h == haul.at && shop.trucks[haul.truck].may_come(h)))
            };
            SeasonHaul {
                unit: haul.unit,
                to: haul.to,
                at: haul.at,
                evening: haul.evening,
                truck: haul.truck,
                towed: moves == Moves::Towed,
                long,
                after: Release::default(),
                open: (0..shop.len()).map(open).collect(),
            }
        })
        .collect();
    hauls.sort_by_key(|haul| (haul.at, haul.evening, haul.unit));
    hauls
}

/// For each unit: what holds it before each hold, and before each haul.
fn holds(shop: &Shop, draft: &Draft, jobs: &[PlannedJob], works: &mut [SeasonSpan], hauls: &mut [SeasonHaul]) {
    for unit in shop.units.ids() {
        // Holds in the order of the plan: first half-day, and the span or job.
        let mut held: Vec<(usize, usize, Option<usize>, Option<usize>)> = Vec::new();
        for (w, work) in works.iter().enumerate() {
            if work.units.iter().any(|held| held.unit == unit) {
                held.push((work.start, 1, Some(w), None));
            }
        }
        for (j, job) in jobs.iter().enumerate() {
            let whole = |parked: &&ParkedUnit| shop.jobs[job.job].parked.get(parked.need).is_none_or(ParkedNeed::whole);
            let parked = || draft.parked[job.job].iter().filter(|parked| parked.unit == unit);
            if parked().any(|parked| whole(&parked)) {
                let first = job.works.iter().map(|w| works[*w].start).min().unwrap_or(0);
                held.push((first, 0, None, Some(j)));
            }
            // Held between two steps: by what the plan has then (E7).
            for parked in parked().filter(|parked| !whole(parked)) {
                let Some((first, last)) = draft.parked_span(shop, job.job, parked.need) else { continue };
                let within = job.works.iter().filter(|w| (first..=last).contains(&works[**w].start));
                held.extend(within.map(|w| (works[*w].start, 1, Some(*w), None)));
            }
        }
        held.sort_unstable();
        let before = |at: usize| {
            let mut release = Release::default();
            for (start, _, work, job) in &held {
                if *start < at {
                    release.works.extend(work);
                    release.jobs.extend(job);
                }
            }
            release
        };
        for (start, _, work, job) in &held {
            // A shared unit serves others there meanwhile (E8).
            let release = if shop.units[unit].shared { Release::default() } else { before(*start) };
            match (work, job) {
                (Some(w), _) => {
                    let mut mine = works[*w].units.iter_mut().filter(|held| held.unit == unit).peekable();
                    if mine.peek().is_some() {
                        mine.for_each(|held| held.after = release.clone());
                    } else {
                        works[*w].units.push(HeldUnit { unit, after: release });
                    }
                }
                // What is parked is there before any step of the job starts.
                (None, Some(j)) => {
                    for w in &jobs[*j].works {
                        works[*w].units.push(HeldUnit { unit, after: release.clone() });
                    }
                }
                (None, None) => {}
            }
        }
        for haul in hauls.iter_mut().filter(|haul| haul.unit == unit) {
            haul.after = before(haul.at + usize::from(haul.evening));
        }
    }
}

/// The chance of storms and closed roads on each date; none where the weather is reported.
fn climate(shop: &Shop) -> Vec<Day> {
    let rows = shop.book.chance.iter().flat_map(|chance| &chance.climate);
    let known = shop.places.iter().filter_map(|place| place.last_report).max();
    let mut days = vec![Day::default(); shop.len()];
    for row in rows {
        for (h, day) in days.iter_mut().enumerate() {
            let date = shop.horizon.date(h);
            if row.on.holds(date) && known.is_none_or(|known| date > known) {
                *day = Day { storm: row.storm_days / 7.0, closed: row.closed_days / 7.0 };
            }
        }
    }
    days
}
