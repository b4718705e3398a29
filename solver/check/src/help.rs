//! Whether a step's helpers may help, and what their help costs: rules W11 and C11.

use std::ops::RangeInclusive;

use yardless_book::Step;
use yardless_plan::Rule;
use yardless_plan::shop::{CrewId, Id, Shop, StepId, Team};

use super::fact::OfWork;
use super::rows::{KnownRow, Rows};
use super::{Found, history};

/// W11: who works on a step in a half-day in which it is worked on: the crew, and each helper that has people there.
pub(super) fn who_works<'t>(shop: &'t Shop, team: &'t Team, h: usize) -> impl Iterator<Item = CrewId> + 't {
    team.crews().filter(move |crew| shop.crews[*crew].people[h] > 0)
}

/// W11 of every step. What is in progress goes on with those that help it, whoever they are (N1).
pub(super) fn judge(shop: &Shop, steps: &Rows, found: &mut Found) {
    for (step, rows) in steps.pairs() {
        let in_progress = history::written(shop, step).progress.is_some();
        for work in rows.iter().filter(|work| !work.team.helpers.is_empty() && !in_progress) {
            of_row(shop, step, work, found);
        }
        let Some(first) = rows.first() else { continue };
        if rows.iter().any(|work| work.team.helpers != first.team.helpers) {
            found.say(Rule::W11, OfWork::OtherHelpers { step });
        } else if !in_progress {
            absent(shop, step, rows, found);
        }
    }
}

fn of_row(shop: &Shop, step: StepId, work: &KnownRow, found: &mut Found) {
    let most = most_help(history::written(shop, step), &work.row.way);
    let Team { crew, helpers } = &work.team;
    if helpers.len() > most {
        let (most, are) = (most as u64, helpers.len() as u64);
        found.say(Rule::W11, OfWork::TooManyHelpers { step, most, are });
    }
    for (nth, helper) in helpers.iter().enumerate() {
        if helper == crew || helpers[..nth].contains(helper) {
            found.say(Rule::W11, OfWork::HelperTwice { step, crew: *helper });
        }
    }
    for other in work.team.crews().filter(|crew| !shop.book.crews[crew.index()].own) {
        found.say(Rule::W11, OfWork::HelperNotOwn { step, crew: other });
    }
}

/// Each helper has people there in one half-day at least of those in which the step is worked on; where it is worked on in
/// none, that is told of the crew (W2).
fn absent(shop: &Shop, step: StepId, rows: &[KnownRow], found: &mut Found) {
    let Some(first) = rows.first() else { return };
    let worked: Vec<usize> = rows.iter().flat_map(|work| work.worked(shop, step)).collect();
    for helper in first.team.helpers.iter().filter(|_| !worked.is_empty()) {
        if worked.iter().all(|h| shop.crews[*helper].people[*h] == 0) {
            found.say(Rule::W11, OfWork::HelperNeverThere { step, crew: *helper });
        }
    }
}

/// C11: the half-days at or after now in which helpers of a row work that do not work with its crew as a rule.
pub(super) fn paid(shop: &Shop, step: StepId, work: &KnownRow) -> i64 {
    let crew = work.team.crew;
    let names = |a: CrewId, b: CrewId| shop.book.crews[a.index()].usual_with.contains(&shop.crews[b].id);
    let paid = |helper: &CrewId| !names(crew, *helper) && !names(*helper, crew);
    let worked = work.worked(shop, step).filter(|h| *h >= shop.now);
    let there = |helper: &CrewId, h: usize| paid(helper) && shop.crews[*helper].people[h] > 0;
    worked.map(|h| work.team.helpers.iter().filter(|helper| there(helper, h)).count() as i64).sum()
}

/// W11: the most helpers of a step done in a way; a stop has none (W16).
fn most_help(text: &Step, way: &str) -> usize {
    let of_way = text.ways.iter().flatten().find(|of| of.id == way);
    let stop = of_way.map_or(text.hours, |of| of.hours).is_some();
    if stop { 0 } else { of_way.and_then(|of| of.help).unwrap_or(text.help) as usize }
}

/// W11: the teams in which a crew may do a step in a way: alone, and with each set of other own crews that is not too
/// large.
pub(super) fn teams(shop: &Shop, text: &Step, way: &str, crew: CrewId) -> Vec<Team> {
    let most = most_help(text, way);
    let own = |crew: &CrewId| shop.book.crews[crew.index()].own;
    let others: Vec<CrewId> = shop.crews.ids().filter(|other| *other != crew && own(other)).collect();
    let mut teams = vec![Team::new(crew, Vec::new())];
    let mut next = 0;
    while let Some(team) = teams.get(next).cloned().filter(|_| own(&crew)) {
        next += 1;
        if team.helpers.len() < most {
            let last = team.helpers.last().copied();
            let more = others.iter().filter(|other| last.is_none_or(|last| **other > last));
            teams.extend(more.map(|other| Team::new(crew, [&team.helpers[..], &[*other]].concat())));
        }
    }
    teams
}

/// Whether some helper has nobody there in any half-day of a run in which its step is worked on. What is in progress needs
/// nobody there again.
pub(super) fn somebody_never_there(
    shop: &Shop,
    (step, way, team): (StepId, usize, &Team),
    run: RangeInclusive<usize>,
) -> bool {
    let worked: Vec<usize> = run.filter(|h| shop.obstacle(step, way, team, *h).is_none()).collect();
    let there = |helper: &CrewId| worked.iter().any(|h| shop.crews[*helper].people[*h] > 0);
    history::written(shop, step).progress.is_none() && !team.helpers.iter().all(there)
}
