//! A week's rows and cells: places with their work, roads and units; crews with where they go.

use std::collections::BTreeSet;

use yardless_plan::shop::{CrewId, Id, JobId, Part, PlaceId, UnitId};

use super::course::{At, Course, Novelty, UnitState, Work};
use super::grid::{CellSpan, Says, WeekRow};
use super::roads::Mark;
use super::words::{BROKEN, short_crew};

/// The half-days of a week's working days, and what is drawn in them.
pub struct Week<'a> {
    course: &'a Course<'a>,
    /// Their indices.
    pub columns: Vec<usize>,
    /// The places in the order of the week's work; after them those where only equipment stands.
    pub places: Vec<PlaceId>,
    /// The marks that are the same at all of these.
    everywhere: Vec<Option<Mark>>,
    /// What needs explaining under the table: each mark that was used.
    pub legend: BTreeSet<&'static str>,
}

/// What a work shows in a half-day.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shown {
    Work(usize),
    Pause(usize, &'static str, &'static str),
    Dropped(usize),
    /// Several works in this half-day, by its index.
    Several(usize),
    Away,
}

impl<'a> Week<'a> {
    /// The week by its position in the horizon.
    pub fn new(course: &'a Course<'a>, week: usize) -> Self {
        let shop = course.shop;
        let work_days: Vec<chrono::Weekday> = shop.book.shop.work_days.iter().map(|day| (*day).into()).collect();
        let columns = (week * 14..(week + 1) * 14)
            .filter(|h| work_days.contains(&chrono::Datelike::weekday(&shop.horizon.date(*h))))
            .collect();
        let mut week = Self { course, columns, places: Vec::new(), everywhere: Vec::new(), legend: BTreeSet::new() };
        week.places = week.places_shown();
        let marks: Vec<Vec<Option<Mark>>> = week.places.iter().map(|place| week.marks(*place)).collect();
        week.everywhere = (0..week.columns.len())
            .map(|c| {
                let first = marks.first().and_then(|of| of[c]);
                first.filter(|_| marks.iter().all(|of| of[c] == first))
            })
            .collect();
        week
    }

    /// Whether no crew works and nothing is hauled, nor was to.
    pub fn is_empty(&self) -> bool {
        let Course { works, trips, dropped, .. } = self.course;
        let hauled = |h: &usize| trips.iter().chain(&dropped.trips).any(|trip| trip.at == *h);
        !works.iter().chain(&dropped.works).any(|work| self.shows(work)) && !self.columns.iter().any(hauled)
    }

    fn places_shown(&self) -> Vec<PlaceId> {
        let Course { shop, standing, .. } = self.course;
        let mut found: Vec<(usize, PlaceId)> = Vec::new();
        for place in shop.places.ids() {
            let first = self.works_at(place).map(|work| work.start).min();
            let stands = |unit: UnitId| self.columns.iter().any(|h| stands_at(standing[unit][*h], place));
            if let Some(first) = first {
                found.push((first, place));
            } else if shop.units.ids().any(stands) {
                found.push((usize::MAX, place));
            }
        }
        found.sort_by_key(|(first, place)| (*first, place.index()));
        found.into_iter().map(|(_, place)| place).collect()
    }

    /// All rows of a place.
    pub fn place(&mut self, place: PlaceId) -> Vec<WeekRow> {
        let shop = self.course.shop;
        let name = &shop.places[place].name;
        let mut jobs: Vec<JobId> = Vec::new();
        for work in self.works_at(place) {
            if !jobs.contains(&work.job) {
                jobs.push(work.job);
            }
        }
        let mut rows: Vec<WeekRow> = jobs.iter().flat_map(|job| self.lanes(*job)).collect();
        match rows.first_mut() {
            Some(first) => first.label.insert(0, name.clone()),
            None => rows.push(WeekRow { label: vec![name.clone()], spans: Vec::new() }),
        }
        rows.extend(self.roads(place));
        rows.extend(self.units(place));
        rows
    }

    /// The week's works at a place; after them what is dropped there.
    fn works_at(&self, place: PlaceId) -> impl Iterator<Item = &Work> {
        let Course { shop, works, dropped, .. } = self.course;
        works.iter().chain(&dropped.works).filter(move |work| shop.jobs[work.job].place == place && self.shows(work))
    }

    fn shows(&self, work: &Work) -> bool {
        self.columns.iter().any(|h| (work.start..=work.end).contains(h))
    }

    /// The rows of a job: one, or more where its steps are worked on at the same time.
    fn lanes(&mut self, job: JobId) -> Vec<WeekRow> {
        let course = self.course;
        let facts = &course.shop.jobs[job];
        let mut lanes: Vec<Vec<Option<Shown>>> = Vec::new();
        let mut all: Vec<Vec<Option<Shown>>> = Vec::new();
        for (w, work) in course.works.iter().enumerate().filter(|(_, work)| work.job == job) {
            all.push(self.columns.iter().map(|h| self.shown(w, work, *h)).collect());
        }
        for (d, work) in course.dropped.works.iter().enumerate().filter(|(_, work)| work.job == job) {
            let told = |h: &usize| (work.start..=work.end).contains(h) && course.shop.works[*h];
            all.push(self.columns.iter().map(|h| told(h).then_some(Shown::Dropped(d))).collect());
        }
        for cells in all.into_iter().filter(|cells| cells.iter().any(Option::is_some)) {
            let apart =
                |lane: &&mut Vec<Option<Shown>>| lane.iter().zip(&cells).all(|(a, b)| a.is_none() || b.is_none());
            match lanes.iter_mut().find(apart) {
                Some(lane) => lane.iter_mut().zip(cells).for_each(|(a, b)| *a = (*a).or(b)),
                None => lanes.push(cells),
            }
        }
        let named = facts.name != course.shop.places[facts.place].name;
        lanes
            .into_iter()
            .enumerate()
            .map(|(n, lane)| {
                let label = if n == 0 && named { vec![format!(" {}", facts.name)] } else { Vec::new() };
                WeekRow { label, spans: self.spans(&lane, Week::job_cell) }
            })
            .collect()
    }

    fn shown(&self, w: usize, work: &Work, h: usize) -> Option<Shown> {
        let shop = self.course.shop;
        if !(work.start..=work.end).contains(&h) {
            None
        } else if work.works_at(shop, h) || work.broken {
            Some(Shown::Work(w))
        } else {
            let why = work.waits_for(shop, h);
            let short = match why {
                "unit out" => "out",
                "no access" => "no acc.",
                "no travel" => "nobody",
                short => short,
            };
            Some(Shown::Pause(w, why, short))
        }
    }

    fn job_cell(&mut self, shown: Shown) -> Says {
        let shop = self.course.shop;
        match shown {
            Shown::Work(w) => {
                let work = &self.course.works[w];
                Says::Words(work.who(shop), self.step_words(work))
            }
            Shown::Pause(_, why, short) => {
                self.legend.insert("(word) the step waits, and why");
                Says::Fitting(vec![
                    format!("(waits: {why})"),
                    format!("({why})"),
                    format!("({short})"),
                    short.to_owned(),
                ])
            }
            Shown::Dropped(d) => {
                let work = &self.course.dropped.works[d];
                self.legend.insert("- dropped: told, and not done now");
                Says::Text(format!("- {}", work.name(shop)))
            }
            Shown::Away | Shown::Several(_) => Says::Fitting(vec!["away".to_owned()]),
        }
    }

    /// The step's name, its way where there are several, an arrow where it goes over the week's edge, and a sign where
    /// it is not as told.
    fn step_words(&mut self, work: &Work) -> String {
        let step = &self.course.shop.steps[work.step];
        let mut words = work.name(self.course.shop);
        if work.part != Part::Whole {
            self.legend.insert("begun, the rest: the crew leaves a step and comes back to it");
        }
        if step.ways.len() > 1 {
            words = format!("{words} ({})", step.ways[work.way].id);
        }
        let (first, last) = (self.columns.first().copied(), self.columns.last().copied());
        if first.is_some_and(|first| work.start < first) {
            words = format!("→ {words}");
            self.legend.insert("→ from last week, or on into the next");
        }
        if last.is_some_and(|last| work.end > last) {
            words = format!("{words} →");
            self.legend.insert("→ from last week, or on into the next");
        }
        if let Some(mark) = work.mark {
            let (sign, legend) = match mark {
                Novelty::Moved => ("*", "* moved: told otherwise"),
                Novelty::New => ("+", "+ new: not told"),
            };
            words = format!("{sign} {words}");
            self.legend.insert(legend);
        }
        if work.broken {
            words = format!("! {BROKEN}: {words}");
            self.legend.insert("! does not hold: what breaks is listed above");
        }
        words
    }

    /// A row of what closes a place's road to trailers, or stops all there; what holds everywhere stands in the head.
    fn roads(&mut self, place: PlaceId) -> Option<WeekRow> {
        let marks =
            self.marks(place).into_iter().zip(&self.everywhere).map(|(here, all)| here.filter(|_| here != *all));
        self.mark_row("  weather, road", &marks.collect::<Vec<_>>())
    }

    /// The same for all the places that the week shows.
    pub fn roads_everywhere(&mut self) -> Option<WeekRow> {
        self.mark_row("everywhere", &self.everywhere.clone())
    }

    fn mark_row(&mut self, label: &str, marks: &[Option<Mark>]) -> Option<WeekRow> {
        self.legend.extend(marks.iter().flatten().map(|mark| mark.legend));
        let spans: Vec<CellSpan> = runs(marks)
            .into_iter()
            .map(|(first, last, mark)| {
                let texts = [mark.long, mark.short, &mark.short[..1]].map(str::to_owned);
                CellSpan { first, last, says: Says::Fitting(texts.to_vec()) }
            })
            .collect();
        (!spans.is_empty()).then(|| WeekRow { label: vec![label.to_owned()], spans })
    }

    fn marks(&self, place: PlaceId) -> Vec<Option<Mark>> {
        self.columns.iter().map(|h| Mark::of(&self.course.shop.places[place], *h)).collect()
    }

    /// A row for each unit that is here in part of the week or held, and one for all that only wait here all week.
    fn units(&mut self, place: PlaceId) -> Vec<WeekRow> {
        let course = self.course;
        let mut rows = Vec::new();
        let mut waiting: Vec<String> = Vec::new();
        for (unit, facts) in course.shop.units.pairs() {
            let states: Vec<Option<UnitState>> = self.columns.iter().map(|h| self.unit_at(unit, place, *h)).collect();
            if states.iter().all(Option::is_none) {
                continue;
            }
            if states.iter().all(|state| *state == Some(UnitState::Waits)) {
                waiting.push(facts.name.clone());
                continue;
            }
            let spans = self.spans(&states, Week::unit_cell);
            rows.push(WeekRow { label: vec![format!("  {}", facts.name)], spans });
        }
        if let Some(last) = self.columns.len().checked_sub(1).filter(|_| !waiting.is_empty()) {
            let says = Says::Text(waiting.join(", "));
            rows.push(WeekRow {
                label: vec!["  here, not in use".to_owned()],
                spans: vec![CellSpan { first: 0, last, says }],
            });
        }
        rows
    }

    fn unit_at(&self, unit: UnitId, place: PlaceId, h: usize) -> Option<UnitState> {
        stands_at(self.course.standing[unit][h], place).then(|| self.course.unit_state(unit, h))
    }

    fn unit_cell(&mut self, state: UnitState) -> Says {
        let (says, legend) = match state {
            UnitState::Held => (Says::Fill('━'), "━━ unit held for the work"),
            UnitState::Waits => (Says::Fill('·'), "·· unit waits here"),
            UnitState::Out => {
                (Says::Fitting(vec!["out of service".to_owned(), "out".to_owned()]), "out: in repair or lent")
            }
            UnitState::Road => (Says::Fitting(vec!["on road".to_owned(), "road".to_owned()]), "on road: coming here"),
        };
        self.legend.insert(legend);
        says
    }

    /// A crew's row: where it goes, and for which step.
    pub fn crew(&mut self, crew: CrewId) -> Vec<WeekRow> {
        let course = self.course;
        let facts = &course.shop.crews[crew];
        let cells: Vec<Option<Shown>> = self
            .columns
            .iter()
            .map(|h| {
                let mut works = (0..course.works.len()).filter(|w| course.works[*w].by(course.shop, crew, *h));
                match (works.next(), works.next()) {
                    (Some(w), None) => Some(Shown::Work(w)),
                    (Some(_), Some(_)) => Some(Shown::Several(*h)),
                    (None, _) => (course.shop.works[*h] && facts.people[*h] == 0).then_some(Shown::Away),
                }
            })
            .collect();
        let all = facts.people.iter().copied().max().unwrap_or(0);
        let label = vec![facts.name.clone()];
        let mut rows = vec![WeekRow { label, spans: self.spans(&cells, |week, shown| week.crew_cell(crew, shown)) }];
        let fewer: Vec<Option<u32>> =
            self.columns.iter().map(|h| Some(facts.people[*h]).filter(|n| (1..all).contains(n))).collect();
        if fewer.iter().any(Option::is_some) {
            let spans = runs(&fewer)
                .into_iter()
                .map(|(first, last, n)| CellSpan { first, last, says: Says::Fitting(vec![format!("{n} of {all}")]) })
                .collect();
            rows.push(WeekRow { label: vec!["  people there".to_owned()], spans });
        }
        rows
    }

    fn crew_cell(&mut self, crew: CrewId, shown: Shown) -> Says {
        let course = self.course;
        match shown {
            Shown::Work(w) => {
                let (place, words) = self.at_work(crew, &course.works[w]);
                Says::Words(place, words)
            }
            Shown::Several(h) => {
                let works: Vec<String> = course
                    .works_of(crew, h)
                    .map(|work| {
                        let (place, words) = self.at_work(crew, work);
                        format!("{place}: {words}")
                    })
                    .collect();
                Says::Text(works.join("; "))
            }
            _ => Says::Fitting(vec!["away".to_owned()]),
        }
    }

    /// Where a crew works on something, and on what; whom it helps, where the step is another's.
    fn at_work(&mut self, crew: CrewId, work: &Work) -> (String, String) {
        let shop = self.course.shop;
        let (place, words) = (shop.places[shop.jobs[work.job].place].name.clone(), self.step_words(work));
        if work.team.crew == crew {
            return (place, words);
        }
        (place, format!("{words} (helps {})", short_crew(&shop.crews[work.team.crew])))
    }

    fn spans<K: Copy + PartialEq>(
        &mut self,
        cells: &[Option<K>],
        says: impl Fn(&mut Self, K) -> Says,
    ) -> Vec<CellSpan> {
        runs(cells).into_iter().map(|(first, last, key)| CellSpan { first, last, says: says(self, key) }).collect()
    }
}

/// Whether a unit is shown at a place: where it stands, or where it is going while on the road.
fn stands_at(at: At, place: PlaceId) -> bool {
    matches!(at, At::Place(here) | At::Road(here) if here == place)
}

/// Neighbouring cells that hold the same, as first, last and what they hold.
fn runs<K: Copy + PartialEq>(cells: &[Option<K>]) -> Vec<(usize, usize, K)> {
    let mut runs: Vec<(usize, usize, K)> = Vec::new();
    for (c, key) in cells.iter().enumerate() {
        let Some(key) = *key else { continue };
        match runs.last_mut() {
            Some((_, last, of)) if *last + 1 == c && *of == key => *last = c,
            _ => runs.push((c, c, key)),
        }
    }
    runs
}
