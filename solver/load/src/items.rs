//! What is loaded: the book's things, and material that lies elsewhere than where it is used.

use yardless_book::half_day::HalfDay;
use yardless_plan::Plan;
use yardless_plan::shop::{JobId, PlaceId, Shop, StepId};

use crate::spot::Spot;

/// Something that is loaded.
#[derive(Clone, Debug)]
pub struct Item {
    /// What it is.
    pub source: Source,
    /// How it is printed.
    pub name: String,
    /// The kit that it counts as; `None`: a thing that no step asks for, or material.
    pub kit: Option<String>,
    /// Where it is when the plan begins, and from which half-day on (by index); before that it is nowhere.
    pub is: Spot,
    /// By index: the half-day with whose start it is there. 0: from the beginning.
    pub from: usize,
    /// Where it belongs.
    pub home: Option<Spot>,
    /// Where it was seen after the plan began: the half-day with whose start that counts, and where.
    pub seen: Option<(usize, Spot)>,
    /// Of material: the place where it is wanted, and the half-day by whose work it must be there.
    pub wanted: Option<(usize, PlaceId)>,
}

/// What an item is in the book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// One of its things, by its number.
    Thing(usize),
    /// Material of a step, by its number in the step's list.
    Material(JobId, StepId, usize),
}

/// All of them: the things in the book's order, then material.
pub fn items(shop: &Shop, plan: &Plan) -> Vec<Item> {
    let mut all: Vec<Item> = (0..shop.book.things.len()).filter_map(|n| thing(shop, n)).collect();
    for row in plan.steps.iter().filter(|row| row.span == 1) {
        all.extend(material(shop, &row.job, &row.step, row.start));
    }
    all
}

fn thing(shop: &Shop, number: usize) -> Option<Item> {
    let of = &shop.book.things[number];
    let home = of.home.as_ref().and_then(|id| Spot::named(shop, id));
    let said = Spot::said(shop, of.at.as_ref(), of.rides_in.as_ref()).or(home);
    let seen = of.seen.as_ref().and_then(|seen| {
        let spot = Spot::said(shop, seen.at.as_ref(), seen.rides_in.as_ref())?;
        // It holds from the half-day after the one at whose end it was seen.
        Some((shop.horizon.offset(seen.when) + 1, spot))
    });
    let before = seen.filter(|(from, _)| *from <= shop.now as i64).map(|(_, spot)| spot);
    let later = seen.filter(|(from, _)| *from > shop.now as i64 && *from < shop.len() as i64);
    // One of which only a later word is known is taken to have been there all along.
    let is = before.or(said).or(seen.map(|(_, spot)| spot))?;
    Some(Item {
        source: Source::Thing(number),
        name: of.called().to_owned(),
        kit: of.counts_as.clone(),
        is,
        from: 0,
        home,
        seen: later.map(|(from, spot)| (from as usize, spot)),
        wanted: None,
    })
}

/// Material of a step that is to begin, where it has to be brought: it lies, or is delivered, elsewhere than at the job.
fn material(shop: &Shop, job: &str, step: &str, start: HalfDay) -> Vec<Item> {
    let Some(job) = shop.find_job(job) else { return Vec::new() };
    let Some(step) = shop.find_step(job, step).filter(|step| shop.steps[*step].going.is_none()) else {
        return Vec::new();
    };
    let Some(start) = shop.horizon.index(start).filter(|start| *start >= shop.now) else { return Vec::new() };
    let place = shop.jobs[job].place;
    let text = &shop.book.jobs[yardless_plan::shop::Id::index(job)].steps[shop.steps[step].listed];
    let brought = text.material.iter().enumerate().filter_map(|(n, of)| {
        let at = of.at.as_ref().or(of.to.as_ref().filter(|_| of.expected.is_some()))?;
        let at = shop.find_place(at).filter(|at| *at != place)?;
        let from = of.expected.map_or(0, |date| shop.horizon.offset(HalfDay::am(date)).max(0) as usize);
        Some(Item {
            source: Source::Material(job, step, n),
            name: of.called(),
            kit: None,
            is: Spot::Place(at),
            from,
            home: None,
            seen: None,
            wanted: Some((start, place)),
        })
    });
    brought.filter(|item| item.from < shop.len()).collect()
}
