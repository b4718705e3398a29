//! What a week's plan asks care for, each line with its source. The program never clears a road, a staging or an hour.
//!
//! The book says of skills and kinds which cautions they call for; where it says nothing, words in their names do
//! ([`Caution::words`]).

use std::ops::Range;

use yardless_book::Caution;
use yardless_plan::shop::{CrewId, JobId, UnitId};

use super::course::{Course, Occupancy, Trip, Work};
use super::licence::licences;
use super::posted_roads;

/// The head of every list of cautions.
pub const WHO_DECIDES: &str = "Driver and competent person on site decide; local codes and licensed practice rule.";

/// A crew that works where a low of this or less is reported works in cold, degrees Fahrenheit.
const COLD_F: f64 = 32.0;

const TOWING: &str = "ratings, brakes, hitch and tongue weight by the makers' manuals (10-15 % of the loaded trailer in \
    two of them, read second hand); licence and posted roads by your state. The driver may refuse.";
const ON_STAGING: &str = "a competent person inspects it before each shift and after a storm (29 CFR 1926.451(f)(3), read \
    second hand); in storm or high wind only by that person's word and with fall arrest, on snow or ice only to clear it \
    (Mich. R 408.41212; your state's may differ).";
const GENERATOR: &str = "outdoors only, 20 ft or more from the building, never in a garage or crawl space: carbon monoxide \
    kills in minutes (CPSC warning text, read second hand).";
const COMBUSTION: &str = "where there are combustion appliances, their zone is tested at the end of each day of air sealing \
    (Building America Solution Center, PNNL); a failed test stops the job.";
const ON_FOAM: &str = "no re-entry time is established; occupants and other trades stay out as the product's maker says \
    (EPA, archived page).";
const PACKING: &str = "first no live knob-and-tube, no unshielded heat source, no leak, openings blocked (Standard Work \
    Specification 4.0202.1); before 1978 its lead procedure (4.1103.4).";
const COLD: &str = "warm-up breaks, nobody alone (common practice, no source); skin freezes within 30 min at a wind chill \
    of -18 °F (footnote of a wind chill chart, read second hand).";

const NO_DRIVE: &str = "nothing can be hauled there or from there: neither drive minutes nor coordinates are entered.";

/// What asks for care: a word, where or of what, and a line with its source.
pub struct Care {
    /// The word.
    pub word: &'static str,
    /// The places, or the trailers.
    pub at: Vec<String>,
    /// The line.
    pub line: &'static str,
}

/// The cautions that apply in some half-days, to all crews or to one: a word, and a line with its source.
pub fn cautions(course: &Course, half_days: Range<usize>, crew: Option<CrewId>) -> Vec<[String; 2]> {
    let licences = licences(course, &half_days, crew);
    let posted = posted_roads::caution(course, &half_days, crew);
    let all = care(course, half_days, crew).into_iter();
    let all = all.map(|Care { word, at, line }| [word.to_owned(), format!("{}: {line}", at.join(", "))]);
    all.chain(licences).chain(posted).collect()
}

/// The same by where they apply.
pub fn care(course: &Course, half_days: Range<usize>, crew: Option<CrewId>) -> Vec<Care> {
    let scene = Scene { course, half_days, crew };
    [
        ("Towing", scene.towed(), TOWING),
        ("Staging", scene.asked(Caution::Staging), ON_STAGING),
        ("Generator", scene.held(|unit| course.shop.units[unit].power), GENERATOR),
        ("Combustion", scene.asked(Caution::Combustion), COMBUSTION),
        ("Foam", scene.asked(Caution::Foam), ON_FOAM),
        ("Dense pack", scene.asked(Caution::DensePack), PACKING),
        ("Cold", scene.worked(|work| scene.is_cold(work)), COLD),
        ("No drive", scene.cut_off(), NO_DRIVE),
    ]
    .into_iter()
    .filter(|(_, at, _)| !at.is_empty())
    .map(|(word, at, line)| Care { word, at, line })
    .collect()
}

/// What a list of cautions is about.
struct Scene<'a> {
    course: &'a Course<'a>,
    half_days: Range<usize>,
    crew: Option<CrewId>,
}

impl Scene<'_> {
    /// The trailers towed.
    fn towed(&self) -> Vec<String> {
        let shop = self.course.shop;
        let ours = |trip: &&Trip| {
            self.half_days.contains(&trip.at)
                && shop.units[trip.unit].towed()
                && self.crew.is_none_or(|crew| shop.trucks[trip.truck].crew == Some(crew))
        };
        once(self.course.trips.iter().filter(ours).map(|trip| shop.units[trip.unit].name.clone()))
    }

    /// Where work is done and no drive leads.
    fn cut_off(&self) -> Vec<String> {
        let shop = self.course.shop;
        let alone = shop.book.cut_off();
        let at = |work: &Work| &shop.places[shop.jobs[work.job].place].id;
        self.worked(|work| alone.iter().any(|place| place.id == *at(work)))
    }

    /// Where units that fit are held.
    fn held(&self, fits: impl Fn(UnitId) -> bool) -> Vec<String> {
        let holds = self.course.holds.pairs().filter(|(unit, _)| fits(*unit)).flat_map(|(_, holds)| holds);
        once(holds.filter(|hold| self.meets(hold)).map(|hold| self.site(hold.job)))
    }

    fn meets(&self, hold: &Occupancy) -> bool {
        let works_there =
            |crew| self.works().any(|work| work.job == hold.job && work.team.crews().any(|of| of == crew));
        hold.first < self.half_days.end && hold.last >= self.half_days.start && self.crew.is_none_or(works_there)
    }

    /// Where works that fit are done.
    fn worked(&self, fits: impl Fn(&Work) -> bool) -> Vec<String> {
        once(self.works().filter(|work| fits(work)).map(|work| self.site(work.job)))
    }

    /// The works with a worked half-day here.
    fn works(&self) -> impl Iterator<Item = &Work> {
        self.course.works.iter().filter(|work| {
            self.crew.is_none_or(|crew| work.team.crews().any(|of| of == crew))
                && self.half_days.clone().any(|h| work.works_at(self.course.shop, h))
        })
    }

    fn site(&self, job: JobId) -> String {
        let shop = self.course.shop;
        shop.places[shop.jobs[job].place].name.clone()
    }

    /// Where work or units call for it: by what the book says of the skill or the kind, else by their names.
    fn asked(&self, caution: Caution) -> Vec<String> {
        let mut sites = self.held(|unit| self.unit_asks(unit, caution));
        sites.extend(self.worked(|work| self.work_asks(work, caution)));
        once(sites.into_iter())
    }

    fn unit_asks(&self, unit: UnitId, caution: Caution) -> bool {
        let shop = self.course.shop;
        shop.units[unit].kinds.iter().map(|kind| &shop.kinds[*kind]).any(|kind| match &kind.cautions {
            Some(said) => said.contains(&caution),
            None => caution == Caution::Staging && caution.named(&[&kind.id, &kind.name]),
        })
    }

    fn work_asks(&self, work: &Work, caution: Caution) -> bool {
        let step = &self.course.shop.steps[work.step];
        let skill = self.course.shop.book.skills.iter().find(|skill| skill.id == step.skill);
        match skill {
            Some(skill) => skill.cautions.contains(&caution),
            None => caution != Caution::Staging && caution.named(&[&step.skill, &step.id, &step.name]),
        }
    }

    fn is_cold(&self, work: &Work) -> bool {
        let shop = self.course.shop;
        let weather = &shop.places[shop.jobs[work.job].place].weather;
        let low = |h: usize| weather[h].low_f.is_some_and(|low| low <= COLD_F) && work.works_at(shop, h);
        shop.steps[work.step].min_low_f.is_some() || self.half_days.clone().any(low)
    }
}

/// Each name once, in the order of the first.
fn once(names: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen = Vec::new();
    for name in names {
        if !seen.contains(&name) {
            seen.push(name);
        }
    }
    seen
}
