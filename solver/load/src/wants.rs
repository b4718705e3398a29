//! What steps want in each half-day that they are worked on (L2).

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, StepId};

use crate::rounds::{Rounds, Working};

/// Things of one kit that a crew wants in a half-day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Want {
    /// By index: the half-day.
    pub h: usize,
    /// The crew.
    pub crew: CrewId,
    /// The place; of a crew that goes among several in the half-day the first.
    pub place: PlaceId,
    /// Whether it must be in the crew's truck, as it goes among several places.
    pub along: bool,
    /// The kit.
    pub kit: String,
    /// How many.
    pub count: u32,
    /// The steps that ask for it.
    pub steps: Vec<StepId>,
}

/// What makes wants one: half-day, crew, place, whether they go along, kit.
type Key<'a> = (usize, CrewId, PlaceId, bool, &'a str);

/// All wants of a plan, in the order of time.
#[derive(Debug, Default)]
pub struct Wants(pub Vec<Want>);

impl Wants {
    /// Of a plan from its now on.
    pub fn new(shop: &Shop, working: &[Working], rounds: &Rounds) -> Self {
        let mut all: BTreeMap<Key, (u32, Vec<StepId>)> = BTreeMap::new();
        for of in working {
            let crew = of.team.crew;
            let text = &shop.book.jobs[shop.steps[of.step].job.index()].steps[shop.steps[of.step].listed];
            for h in (0..shop.len()).filter(|h| of.works[*h]) {
                let places = rounds.places(crew, h);
                let truck = rounds.at(h, crate::moves::Moment::Start).iter().find(|round| round.crew == Some(crew));
                let along = places.len() > 1 && truck.is_some_and(|round| round.truck.is_some());
                let place = if along { places[0] } else { of.place };
                for (n, kit) in text.takes.iter().enumerate().filter(|(n, kit)| !text.takes[..*n].contains(kit)) {
                    let count = text.takes[n..].iter().filter(|other| *other == kit).count() as u32;
                    let (most, steps) = all.entry((h, crew, place, along, kit)).or_default();
                    *most = count.max(*most);
                    steps.push(of.step);
                }
            }
        }
        let one = |((h, crew, place, along, kit), (count, steps)): (Key, _)| Want {
            h,
            crew,
            place,
            along,
            kit: kit.to_owned(),
            count,
            steps,
        };
        Self(all.into_iter().map(one).collect())
    }
}
