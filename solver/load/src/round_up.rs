//! The round-up: what lies at sites when a week ends, when it is wanted next, and who passes there (L8).

use yardless_plan::Plan;
use yardless_plan::shop::{CrewId, PlaceId, Shop};

use crate::items::Source;
use crate::lists::Loads;
use crate::moves::Moment;
use crate::spot::Spot;

/// A thing that lies at a job's place and does not belong there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lying {
    /// The item.
    pub item: usize,
    /// The place.
    pub place: PlaceId,
    /// Whether work is still planned, or to be planned, there.
    pub open: bool,
    /// The next want of its kit, anywhere, by its number.
    pub next: Option<usize>,
    /// Who passes there next, and in which half-day.
    pub passes: Option<(usize, CrewId)>,
    /// Whether that is before it is wanted.
    pub in_time: bool,
}

/// What lies at sites when the half-days before an index are over, by place.
pub fn round_up(shop: &Shop, plan: &Plan, loads: &Loads, end: usize) -> Vec<Lying> {
    let site = |place: PlaceId| shop.jobs.iter().any(|job| job.place == place);
    let mut all: Vec<Lying> = loads
        .items
        .iter()
        .enumerate()
        .filter(|(_, of)| matches!(of.source, Source::Thing(_)))
        .filter_map(|(item, of)| match loads.before(item, end)? {
            Spot::Place(place) if site(place) && of.home != Some(Spot::Place(place)) => Some((item, place)),
            _ => None,
        })
        .map(|(item, place)| {
            let (next, passes) = (loads.next_want(item, end), passes(shop, loads, place, end));
            let wanted = next.map(|n| (loads.wants[n].h, Moment::Start));
            let in_time = passes.is_some_and(|(h, moment, _)| wanted.is_none_or(|wanted| (h, moment) <= wanted));
            let passes = passes.map(|(h, _, crew)| (h, crew));
            Lying { item, place, open: open(shop, plan, place, end), next, passes, in_time }
        })
        .collect();
    all.sort_by_key(|of| (of.place, of.item));
    all
}

/// Whether work at a place is planned at or after an index, or is not planned yet.
fn open(shop: &Shop, plan: &Plan, place: PlaceId, end: usize) -> bool {
    shop.jobs.iter().filter(|job| job.place == place).any(|job| {
        let of_job = |id: &String| *id == job.id;
        let ends = |at| shop.horizon.offset(at) >= end as i64;
        plan.steps.iter().any(|row| of_job(&row.job) && ends(row.end))
            || plan.left_out.iter().any(|row| of_job(&row.job))
            || plan.later.iter().any(|row| of_job(&row.job))
    })
}

fn passes(shop: &Shop, loads: &Loads, place: PlaceId, end: usize) -> Option<(usize, Moment, CrewId)> {
    let moments = (end..shop.len()).flat_map(|h| [(h, Moment::Start), (h, Moment::Evening)]);
    moments.into_iter().find_map(|(h, moment)| {
        let mut rounds = loads.rounds.at(h, moment).iter().filter(|round| round.visits.contains(&place));
        rounds.find_map(|round| Some((h, moment, round.crew?)))
    })
}
