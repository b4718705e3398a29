//! Who does a step together: a crew, and the crews that help it (W11).

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Index;

use yardless_book::{Book, Step};

use super::{CrewFacts, CrewId, Id, Shop, Table, TeamId};

/// A crew with those that help it on a step, or alone.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Team {
    /// The crew whose step it is: it has the skill, and is there whenever the step is worked on.
    pub crew: CrewId,
    /// Those that help, in the book's order.
    pub helpers: Vec<CrewId>,
}

impl Team {
    /// A crew and its helpers, in any order.
    pub fn new(crew: CrewId, mut helpers: Vec<CrewId>) -> Self {
        helpers.sort_unstable();
        Self { crew, helpers }
    }

    /// The crew, then its helpers.
    pub fn crews(&self) -> impl Iterator<Item = CrewId> + '_ {
        std::iter::once(self.crew).chain(self.helpers.iter().copied())
    }
}

/// Every team that may do some step, or does one.
#[derive(Clone, Debug, Default)]
pub struct Teams {
    /// First each crew alone, in the order of the crews.
    all: Table<TeamId, Team>,
    ids: BTreeMap<Team, TeamId>,
}

impl Index<TeamId> for Teams {
    type Output = Team;
    fn index(&self, id: TeamId) -> &Team {
        &self.all[id]
    }
}

impl Teams {
    /// Those of a book.
    pub(super) fn new(book: &Book, crews: &Table<CrewId, CrewFacts>) -> Self {
        let mut teams = Self::default();
        for crew in crews.ids() {
            teams.add(Team::new(crew, Vec::new()));
        }
        let steps = || book.jobs.iter().flat_map(|job| &job.steps);
        let may_help: BTreeSet<(&str, usize)> = steps().map(|step| (step.skill.as_str(), most_help(step))).collect();
        for (skill, help) in may_help.into_iter().filter(|(_, help)| *help > 0) {
            for crew in crews.ids().filter(|crew| crews[*crew].skills.iter().any(|has| has == skill)) {
                for helpers in helper_sets(crews, crew, help) {
                    teams.add(Team::new(crew, helpers));
                }
            }
        }
        for progress in steps().filter_map(|step| step.progress.as_ref()) {
            if let Some(team) = named(crews, &progress.crew, &progress.with) {
                teams.add(team);
            }
        }
        teams
    }

    /// All of them: first each crew alone, in the order of the crews.
    pub fn ids(&self) -> impl Iterator<Item = TeamId> + use<> {
        self.all.ids()
    }

    fn add(&mut self, team: Team) {
        if !self.ids.contains_key(&team) {
            let id = self.all.push(team.clone());
            self.ids.insert(team, id);
        }
    }

    /// The team by the ids of its crews; `None` where the book has none such, or no step for it.
    pub(super) fn named(&self, crews: &Table<CrewId, CrewFacts>, crew: &str, with: &[String]) -> Option<TeamId> {
        self.ids.get(&named(crews, crew, with)?).copied()
    }

    /// W5, W11: the teams that may do a step: each crew with the skill alone, then with at most so many helpers.
    pub(super) fn of_step(&self, crews: &Table<CrewId, CrewFacts>, step: &Step) -> Vec<TeamId> {
        let skilled = crews.ids().filter(|crew| crews[*crew].skills.contains(&step.skill));
        let teams = skilled.flat_map(|crew| {
            let sets = helper_sets(crews, crew, most_help(step));
            std::iter::once(Vec::new()).chain(sets).map(move |helpers| Team::new(crew, helpers))
        });
        teams.filter_map(|team| self.ids.get(&team).copied()).collect()
    }
}

fn named(crews: &Table<CrewId, CrewFacts>, crew: &str, with: &[String]) -> Option<Team> {
    let find = |id: &str| crews.find(|crew| crew.id == id);
    let helpers: Option<Vec<CrewId>> = with.iter().map(|helper| find(helper)).collect();
    Some(Team::new(find(crew)?, helpers?))
}

/// Most helpers in any way. A stop takes none (W16).
fn most_help(step: &Step) -> usize {
    (0..step.ways.as_ref().map_or(1, Vec::len)).map(|way| step.help(way)).max().unwrap_or(0) as usize
}

/// Sets of one helper or more, at most so many, the small ones first: own crews other than an own one (W11).
fn helper_sets(crews: &Table<CrewId, CrewFacts>, crew: CrewId, most: usize) -> Vec<Vec<CrewId>> {
    let others: Vec<CrewId> = crews.ids().filter(|other| *other != crew && crews[*other].own).collect();
    if !crews[crew].own {
        return Vec::new();
    }
    let mut sets: Vec<Vec<CrewId>> = Vec::new();
    let mut last: Vec<Vec<CrewId>> = vec![Vec::new()];
    for _ in 0..most.min(others.len()) {
        let larger = last.iter().flat_map(|set| {
            let after = others.iter().filter(|other| set.last().is_none_or(|last| *other > last));
            after.map(|other| set.iter().copied().chain([*other]).collect::<Vec<_>>())
        });
        last = larger.collect();
        sets.extend(last.iter().cloned());
    }
    sets
}

impl Shop {
    /// A crew without helpers.
    pub fn alone(&self, crew: CrewId) -> TeamId {
        TeamId::from_index(crew.index())
    }

    /// The id of a team; `None` where no step may be done by it.
    pub fn find_team(&self, team: &Team) -> Option<TeamId> {
        self.teams.ids.get(team).copied()
    }

    /// W11: the people of a team in a half-day; none where the crew itself has none there.
    pub fn present(&self, team: &Team, h: usize) -> u32 {
        if self.crews[team.crew].people[h] == 0 {
            return 0;
        }
        team.crews().map(|crew| self.crews[crew].people[h]).sum()
    }

    /// W11: the crews of a team that work in a half-day in which its step works: those with people there.
    pub fn working<'s>(&'s self, team: &'s Team, h: usize) -> impl Iterator<Item = CrewId> + 's {
        team.crews().filter(move |crew| self.crews[*crew].people[h] > 0)
    }

    /// C11: the helpers that work in a half-day in which their step works, but for those that work with its crew as a
    /// rule.
    pub(super) fn paid_helpers<'s>(&'s self, team: &'s Team, h: usize) -> impl Iterator<Item = CrewId> + 's {
        let usual = &self.crews[team.crew].usual_with;
        self.working(team, h).filter(move |crew| *crew != team.crew && !usual.contains(crew))
    }

    /// W11: the helpers, as bits by their position, that have nobody there in any of these half-days.
    pub(super) fn absent(&self, team: &Team, worked: impl Iterator<Item = usize>) -> u32 {
        let mut absent = (1 << team.helpers.len()) - 1;
        for h in worked {
            if absent == 0 {
                break;
            }
            for (n, helper) in team.helpers.iter().enumerate() {
                if self.crews[*helper].people[h] > 0 {
                    absent &= !(1 << n);
                }
            }
        }
        absent
    }
}
