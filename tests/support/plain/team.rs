//! Crews together (W11, C11), and what one crew may work on in a half-day (W4, W13, W16).

use super::{Plain, Way};

/// Who does a step: the crew of its row, and those that help it, in the book's order.
#[derive(Clone, PartialEq, Eq)]
pub struct Team {
    pub crew: usize,
    pub helpers: Vec<usize>,
}

impl Plain<'_> {
    fn crew(&self, id: &str) -> usize {
        self.book.crews.iter().position(|crew| crew.id == id).expect("a known crew")
    }

    /// The team that history names.
    pub fn team(&self, crew: &str, with: &[String]) -> Team {
        let mut helpers: Vec<usize> = with.iter().map(|id| self.crew(id)).collect();
        helpers.sort_unstable();
        Team { crew: self.crew(crew), helpers }
    }

    /// The ids of a team's helpers.
    pub fn with(&self, team: &Team) -> Vec<String> {
        team.helpers.iter().map(|crew| self.book.crews[*crew].id.clone()).collect()
    }

    /// W11: every team that a way has room for, whoever is there and whatever they can do. A stop has no helpers (W16).
    pub fn teams(&self, way: &Way) -> Vec<Team> {
        let crews = &self.book.crews;
        let most = if way.hours.is_some() { 0 } else { way.help };
        let mut teams = Vec::new();
        for crew in 0..crews.len() {
            let others: Vec<usize> = (0..crews.len()).filter(|other| *other != crew && crews[*other].own).collect();
            for chosen in 0..1_u64 << others.len() {
                let some = chosen == 0 || (crews[crew].own && chosen.count_ones() <= most);
                if some {
                    let is_in = |n: &usize| chosen >> n & 1 == 1;
                    let helpers = (0..others.len()).filter(is_in).map(|n| others[n]).collect();
                    teams.push(Team { crew, helpers });
                }
            }
        }
        teams
    }

    /// People present of the crew and its helpers together.
    pub fn together(&self, team: &Team, h: usize, overtime: bool) -> u32 {
        let helpers = team.helpers.iter().map(|helper| self.people(*helper, h, overtime));
        self.people(team.crew, h, overtime) + helpers.sum::<u32>()
    }

    /// The crews of a team that work in a half-day that the step works, one bit each.
    pub fn at_work(&self, team: &Team, h: usize, overtime: bool) -> u64 {
        let there = team.helpers.iter().filter(|helper| self.people(**helper, h, overtime) > 0);
        there.fold(1 << team.crew, |all, helper| all | 1 << helper)
    }

    /// C11 of a half-day in which some crews of a team work, in cents.
    pub fn help_cost(&self, team: &Team, at_work: u64) -> i64 {
        let crews = &self.book.crews;
        let named = |a: usize, b: usize| crews[a].usual_with.contains(&crews[b].id);
        let strange = |helper: &&usize| !named(**helper, team.crew) && !named(team.crew, **helper);
        let paid = team.helpers.iter().filter(|helper| at_work >> **helper & 1 == 1).filter(strange);
        paid.count() as i64 * self.book.prices.help_half_day.0
    }

    /// W13: how many steps a crew works on at once, where that is more than one.
    pub fn several_at_once(&self, crew: usize) -> Option<usize> {
        let crew = &self.book.crews[crew];
        (!crew.own && crew.at_once > 1).then_some(crew.at_once as usize)
    }

    /// W4, W13, W16: whether one half-day of a crew holds all of these, of each the hours where it is a stop.
    pub fn one_half_day_holds(&self, crew: usize, all: &[Option<f64>]) -> bool {
        if let Some(most) = self.several_at_once(crew) {
            return all.len() <= most;
        }
        let on_the_way = f64::from(self.book.shop.stop_minutes) / 60.0;
        let stops: Option<f64> = all.iter().map(|stop| stop.map(|hours| hours + on_the_way)).sum();
        all.len() <= 1 || stops.is_some_and(|hours| hours <= self.book.shop.half_day_hours + 1e-6)
    }
}
