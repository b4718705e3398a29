//! The round that a crew drives on a date, from home over its work and back: rule C15.

use yardless_book::money::Cents;

use super::{CrewId, Drive, PlaceId, Shop, StepId, Team};

impl Shop {
    /// The drive between two places; `None`: not known (H6).
    pub fn drive(&self, from: PlaceId, to: PlaceId) -> Option<Drive> {
        self.drives.between(from, to)
    }

    /// Whether some crew's drives are counted.
    pub fn counts_driving(&self) -> bool {
        self.crews.iter().any(|crew| crew.home.is_some())
    }

    /// Where a step done in a way leads a crew whose drives are counted: its place; a stop is passed over.
    pub fn drives_to(&self, step: StepId, way: usize, crew: CrewId) -> Option<PlaceId> {
        let counts = self.crews[crew].home.is_some() && !self.steps[step].ways[way].stop;
        counts.then(|| self.jobs[self.steps[step].job].place)
    }

    /// What the round of a date costs by where a crew works in the am and in the pm; `None`: it cannot be driven, or the
    /// drive at noon is too long.
    pub fn round_cost(&self, crew: CrewId, am: Option<PlaceId>, pm: Option<PlaceId>) -> Option<Cents> {
        let Some(home) = self.crews[crew].home else { return Some(Cents::ZERO) };
        let minutes = |a: PlaceId, b: PlaceId| self.drives.between(a, b).map(|drive| i64::from(drive.minutes));
        let noon = match (am, pm) {
            (Some(am), Some(pm)) => minutes(am, pm).filter(|noon| *noon <= i64::from(self.book.shop.noon_minutes))?,
            _ => 0,
        };
        let (Some(first), Some(last)) = (am.or(pm), pm.or(am)) else { return Some(Cents::ZERO) };
        Some(self.book.prices.drive_minute * (minutes(home, first)? + noon + minutes(last, home)?))
    }

    /// Whether each crew of a team whose drives are counted can drive to a step's place and back at all.
    pub(super) fn can_drive(&self, step: StepId, way: usize, team: &Team) -> bool {
        let there = |crew: CrewId| self.drives_to(step, way, crew);
        team.crews().all(|crew| there(crew).is_none_or(|place| self.round_cost(crew, Some(place), None).is_some()))
    }
}
