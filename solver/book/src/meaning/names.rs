//! Ids that must be known and must not be used twice; kinds that some unit has, skills that some crew has.

use std::collections::BTreeMap;

use super::super::fault::{Code, Fault, Path};
use super::super::near::{nearest, shown};
use super::super::{Book, Job, Need, Step, USUAL};
use super::{Judge, top};

/// Most names compared for drives to places that the book does not have: 2,500 old places beside 400 known ones.
const MOST_COMPARED: usize = 1_000_000;

/// The names that a list gives.
pub(super) struct Known<'b> {
    /// What one of them is called, with the words around it: `no place`, `no crew has the skill`.
    none: String,
    /// What the owner can do instead of correcting the name.
    help: String,
    /// Each name with its index in the list.
    names: BTreeMap<&'b str, usize>,
    /// Whether the list could be read whole.
    whole: bool,
    code: Code,
}

impl<'b> Known<'b> {
    /// The ids of a list; an id that is there twice is a fault.
    pub(super) fn ids(judge: &mut Judge, noun: &str, list: &Path, ids: impl Iterator<Item = &'b str>) -> Self {
        let mut names = BTreeMap::new();
        // An empty id is a fault already, or stands in for one that could not be read.
        for (index, id) in ids.enumerate().filter(|(_, id)| !id.is_empty()) {
            let first = *names.entry(id).or_insert(index);
            if first != index {
                let (path, other) = (list.index(index).field("id"), list.index(first));
                let says = format!("another {noun} has the id `{}` already", shown(id));
                let fault = Fault::new(Code::DuplicateId, path.clone(), says)
                    .help(format!("the first is {other}; give this one an id of its own"));
                judge.fault(&[], fault);
            }
        }
        let whole = judge.is_whole(list, "id");
        let help = format!("correct the name, or add the {noun}");
        Self { none: format!("no {noun}"), help, names, whole, code: Code::UnknownId }
    }

    /// The ids of a top list, whose doubles have been told elsewhere.
    pub(super) fn of(noun: &str, judge: &mut Judge, list: &str, ids: impl Iterator<Item = &'b str>) -> Self {
        let whole = judge.is_whole(&top(list), "id");
        let names = ids.enumerate().filter(|(_, id)| !id.is_empty()).map(|(index, id)| (id, index)).collect();
        let help = format!("correct the name, or add the {noun}");
        Self { none: format!("no {noun}"), help, names, whole, code: Code::UnknownId }
    }

    /// Where in the list the name stands.
    pub(super) fn index(&self, name: &str) -> Option<usize> {
        self.names.get(name).copied()
    }

    /// The kits that things count as.
    pub(super) fn kits(judge: &mut Judge, kits: impl Iterator<Item = Option<&'b str>>) -> Self {
        Self {
            none: "no thing counts as the kit".into(),
            help: "correct the name, or add it to the `counts_as` of a thing".into(),
            names: kits.enumerate().filter_map(|(index, kit)| Some((kit?, index))).collect(),
            whole: judge.is_whole(&top("things"), "counts_as"),
            code: Code::UnknownKit,
        }
    }

    /// Whether the name is among them.
    pub(super) fn has(&self, name: &str) -> bool {
        self.names.contains_key(name)
    }

    /// Whether all of them could be read.
    pub(super) fn whole(&self) -> bool {
        self.whole
    }

    /// All of them.
    pub(super) fn all(&self) -> impl Iterator<Item = &'b str> + use<'_, 'b> {
        self.names.keys().copied()
    }

    /// A fault where the name is not among them.
    pub(super) fn expect(&self, judge: &mut Judge, path: Path, name: &str) {
        if self.whole && !self.has(name) {
            let says = format!(
                "{} `{}`{}",
                self.none,
                shown(name),
                judge.suggest.did_you_mean(name, self.names.keys().copied())
            );
            judge.fault(&[], Fault::new(self.code, path, says).help(self.help.as_str()));
        }
    }
}

/// Rule families: ids, kinds, skills.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    let roads = Known::ids(judge, "road", &top("roads"), book.roads.iter().map(|road| road.id.as_str()));
    let ranks = Known::ids(judge, "rank", &top("ranks"), book.ranks.iter().map(|rank| rank.id.as_str()));
    let places = Known::ids(judge, "place", &top("places"), book.places.iter().map(|place| place.id.as_str()));
    let crews = Known::ids(judge, "crew", &top("crews"), book.crews.iter().map(|crew| crew.id.as_str()));
    Known::ids(judge, "kind", &top("kinds"), book.kinds.iter().map(|kind| kind.id.as_str()));
    Known::ids(judge, "skill", &top("skills"), book.skills.iter().map(|skill| skill.id.as_str()));
    Known::ids(judge, "truck", &top("trucks"), book.trucks.iter().map(|truck| truck.id.as_str()));
    Known::ids(judge, "unit", &top("equipment"), book.equipment.iter().map(|unit| unit.id.as_str()));
    let patterns = book.patterns.iter().map(|pattern| pattern.id.as_str());
    Known::ids(judge, "pattern", &top("patterns"), patterns);
    Known::ids(judge, "job", &top("jobs"), book.jobs.iter().map(|job| job.id.as_str()));
    let units = book.equipment.iter().enumerate();
    let kinds = Known {
        none: "no unit is of the kind".into(),
        help: "correct the name, or add it to the `kinds` of a unit".into(),
        names: units.flat_map(|(index, unit)| unit.kinds.iter().map(move |kind| (kind.as_str(), index))).collect(),
        whole: judge.is_whole(&top("equipment"), "kinds"),
        code: Code::UnknownKind,
    };
    let all = book.crews.iter().enumerate();
    let skills = Known {
        none: "no crew has the skill".into(),
        help: "correct the name, or add it to the `skills` of a crew".into(),
        names: all.flat_map(|(index, crew)| crew.skills.iter().map(move |skill| (skill.as_str(), index))).collect(),
        whole: judge.is_whole(&top("crews"), "skills"),
        code: Code::UnknownSkill,
    };
    for (index, skill) in book.skills.iter().enumerate() {
        skills.expect(judge, top("skills").index(index).field("id"), &skill.id);
    }

    for (index, place) in book.places.iter().enumerate() {
        if let Some(road) = &place.road {
            roads.expect(judge, top("places").index(index).field("road"), road);
        }
    }
    of_drives(book, &places, judge);
    for (index, truck) in book.trucks.iter().enumerate() {
        if let Some(crew) = &truck.crew {
            crews.expect(judge, top("trucks").index(index).field("crew"), crew);
        }
    }
    for (index, unit) in book.equipment.iter().enumerate() {
        let at = top("equipment").index(index);
        places.expect(judge, at.field("place"), &unit.place);
        if let Some(place) = &unit.hire_place {
            places.expect(judge, at.field("hire_place"), place);
        }
        if let Some(home) = &unit.home_by {
            places.expect(judge, at.field("home_by").field("place"), &home.place);
        }
    }
    for (index, weather) in book.weather.iter().enumerate() {
        for (nth, place) in weather.at.iter().flatten().enumerate() {
            places.expect(judge, top("weather").index(index).field("at").index(nth), place);
        }
    }
    for (index, job) in book.jobs.iter().enumerate() {
        let at = top("jobs").index(index);
        places.expect(judge, at.field("place"), &job.place);
        if let Some(rank) = &job.rank {
            ranks.expect(judge, at.field("rank"), rank);
        }
        for (nth, parked) in job.parked.iter().enumerate() {
            kinds.expect(judge, at.field("parked").index(nth).field("kind"), &parked.kind);
        }
        of_steps(book, job, &at.field("steps"), &kinds, &skills, &crews, judge);
    }
}

/// Places at the ends of drives.
fn of_drives<'b>(book: &'b Book, places: &Known<'b>, judge: &mut Judge) {
    let mut compared = 0;
    let mut misspelt: BTreeMap<&str, bool> = BTreeMap::new();
    // Of so many strange names no one can say which are meant for old places: then each has to be known.
    let mut near = |name: &str| {
        compared += places.names.len();
        compared > MOST_COMPARED || nearest(name, places.names.keys().copied()).is_some()
    };
    for (index, drive) in book.drives.iter().enumerate() {
        let at = top("drives").index(index);
        for (field, place) in [("from", &drive.from), ("to", &drive.to)] {
            // A drive that is kept for a place no longer in the book changes no plan; one whose name is nearly known was misspelt.
            if !places.has(place) && *misspelt.entry(place).or_insert_with(|| near(place)) {
                places.expect(judge, at.field(field), place);
            }
        }
    }
}

fn of_steps(book: &Book, job: &Job, list: &Path, kinds: &Known, skills: &Known, crews: &Known, judge: &mut Judge) {
    Known::ids(judge, "step", list, job.steps.iter().map(|step| step.id.as_str()));
    let needs = |judge: &mut Judge, at: &Path, needs: &[Need]| {
        for (nth, need) in needs.iter().enumerate() {
            kinds.expect(judge, at.field("needs").index(nth).field("kind"), &need.kind);
        }
    };
    for (index, step) in job.steps.iter().enumerate() {
        let at = list.index(index);
        skills.expect(judge, at.field("skill"), &step.skill);
        needs(judge, &at, &step.needs);
        let given = step.ways.iter().flatten();
        let mut ways = Known::ids(judge, "way", &at.field("ways"), given.clone().map(|way| way.id.as_str()));
        for (nth, way) in given.enumerate() {
            needs(judge, &at.field("ways").index(nth), &way.needs);
        }
        if step.ways.is_none() {
            ways.names.insert(USUAL, 0);
        }
        let Some(fixed) = &step.fixed else { continue };
        if let Some(way) = &fixed.way {
            ways.expect(judge, at.field("fixed").field("way"), way);
        }
        if let Some(crew) = &fixed.crew {
            crews.expect(judge, at.field("fixed").field("crew"), crew);
            if let Some(number) = crews.index(crew) {
                fixed_crew_can(book, step, &at, number, skills, judge);
            }
        }
    }
}

/// W8 with W5: a step is fixed to a crew that can do it.
fn fixed_crew_can(book: &Book, step: &Step, at: &Path, number: usize, skills: &Known, judge: &mut Judge) {
    let crew = &book.crews[number];
    if crew.skills.contains(&step.skill) || !skills.has(&step.skill) {
        return;
    }
    let path = at.field("fixed").field("crew");
    let says = format!(
        "the crew `{}` does not have the skill `{}` that this step asks for",
        shown(&crew.id),
        shown(&step.skill)
    );
    let relies_on = [at.field("skill"), top("crews").index(number).field("skills")];
    let help = "fix another crew, or add the skill to this one";
    judge.fault(&relies_on, Fault::new(Code::FixedStart, path, says).help(help));
}
