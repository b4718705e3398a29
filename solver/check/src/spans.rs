//! Whether each row of a step is worked when it says: rules W2, W3, W7 and W10.

use yardless_plan::Rule;
use yardless_plan::shop::{Amount, Obstacle, Shop, StepId, Team};

use super::fact::OfSpan;
use super::ids::when;
use super::rows::KnownRow;
use super::{Found, help, history};

/// Judges a row between the one before and the one after it of its step. `left` is what the one before has left to do;
/// given back is what this one leaves, as the way is counted, where it is known.
pub(super) fn judge(
    shop: &Shop,
    step: StepId,
    (before, work, after): (Option<&KnownRow>, &KnownRow, Option<&KnownRow>),
    left: Option<i64>,
    found: &mut Found,
) -> Option<i64> {
    if !work.comes_back() && history::between_spans(shop, step) {
        found.say(Rule::W10, OfSpan::Between { step, start: work.row.start });
        return None;
    }
    let left = if work.comes_back() {
        comes_back(shop, step, before, work, left, found)?
    } else {
        amount(shop, step, work.way)
    };
    if work.row.span > 2 || work.row.span == 0 {
        found.say(Rule::W10, OfSpan::NoSuch { step, span: work.row.span });
    }
    within(shop, step, work, found)?;
    if after.is_some() {
        leaves(shop, step, work, left, found)
    } else {
        ends(shop, step, work, left, found);
        None
    }
}

/// W10: a second span is of a step that may split, by the same crew in the same way, and leaves a half-day between. What
/// it has to do.
fn comes_back(
    shop: &Shop,
    step: StepId,
    before: Option<&KnownRow>,
    work: &KnownRow,
    left: Option<i64>,
    found: &mut Found,
) -> Option<i64> {
    let facts = &shop.steps[step];
    if !facts.may_split {
        found.say(Rule::W10, OfSpan::MayNot { step });
        return None;
    }
    let Some(before) = before else {
        if facts.going.is_none() {
            found.say(Rule::W10, OfSpan::NotBegun { step });
            return None;
        }
        // In progress, it is let go: it was last worked on before now. Between its spans it has been left already.
        if work.span.is_some_and(|(start, _)| start <= shop.now) && !history::between_spans(shop, step) {
            found.say(Rule::W10, OfSpan::AtOnce { step, start: work.row.start });
        }
        return Some(amount(shop, step, work.way));
    };
    if (work.team.crew, &work.row.way) != (before.team.crew, &before.row.way) {
        let (way, back_way) = (before.row.way.clone(), work.row.way.clone());
        let otherwise = OfSpan::Otherwise { step, crew: before.team.crew, way, back_crew: work.team.crew, back_way };
        found.say(Rule::W10, otherwise);
        return None;
    }
    if let (Some((_, last)), Some((start, _))) = (before.span, work.span)
        && start < last + 2
    {
        found.say(Rule::W10, OfSpan::NothingBetween { step, end: before.row.end, start: work.row.start });
    }
    left
}

/// W3: the row lies within the horizon, and begins in a half-day in which it may be worked on.
fn within(shop: &Shop, step: StepId, work: &KnownRow, found: &mut Found) -> Option<()> {
    let (first, end) = (work.row.start, work.row.end);
    let Some((start, _)) = work.span else {
        let fact = if end < first {
            OfSpan::EndsBeforeStart { step, start: first, end }
        } else {
            OfSpan::Outside { step, start: first, end }
        };
        found.say(Rule::W3, fact);
        return None;
    };
    let goes_on = shop.steps[step].going.is_some() && !work.comes_back();
    if !goes_on && let Some(obstacle) = shop.obstacle(step, work.way, &work.team, start) {
        found.say(forbids(obstacle), OfSpan::CannotStart { step, crew: work.team.crew, start: first, obstacle });
        return None;
    }
    Some(())
}

/// W10: a first span ends with a half-day worked, and leaves something to do.
fn leaves(shop: &Shop, step: StepId, work: &KnownRow, left: i64, found: &mut Found) -> Option<i64> {
    let (_, end) = work.span?;
    last_half_day(shop, step, work, end, found)?;
    let left = left - work.worked(shop, step).map(|h| gives(shop, step, work.way, &work.team, h)).sum::<i64>();
    if left <= 0 {
        found.say(Rule::W10, OfSpan::NothingLeft { step, end: work.row.end });
        return None;
    }
    Some(left)
}

/// W3: the row ends when what is left is done, neither sooner nor later.
fn ends(shop: &Shop, step: StepId, work: &KnownRow, left: i64, found: &mut Found) {
    let (row, crew) = (work.row, work.team.crew);
    let Some((start, end)) = work.span else { return };
    let true_end = end_of_run(shop, step, work.way, &work.team, start, left);
    if true_end == Some(end) {
        return;
    }
    last_half_day(shop, step, work, end, found);
    let fact = match true_end {
        Some(is) => OfSpan::OtherEnd { step, crew, start: row.start, is: when(shop, is), said: row.end },
        None => OfSpan::NoEnd { step, crew, start: row.start },
    };
    found.say(Rule::W3, fact);
}

/// W2, W7: the last half-day is one in which it may be worked on.
fn last_half_day(shop: &Shop, step: StepId, work: &KnownRow, end: usize, found: &mut Found) -> Option<()> {
    let Some(obstacle) = shop.obstacle(step, work.way, &work.team, end) else { return Some(()) };
    found.say(forbids(obstacle), OfSpan::CannotEnd { step, crew: work.team.crew, end: work.row.end, obstacle });
    None
}

/// The rule by which something stops a step.
fn forbids(obstacle: Obstacle) -> Rule {
    match obstacle {
        Obstacle::Past | Obstacle::UnitOut => Rule::N1,
        Obstacle::Closed | Obstacle::FewPeople(_) | Obstacle::Early | Obstacle::NoAccess => Rule::W2,
        Obstacle::Hot => Rule::W15,
        Obstacle::NoTravel | Obstacle::Storm | Obstacle::Gust | Obstacle::Cold | Obstacle::Rain => Rule::W7,
    }
}

/// What a step takes, or what is left of one in progress: half-days, or millionths of an hour.
pub(super) fn amount(shop: &Shop, step: StepId, way: usize) -> i64 {
    match shop.steps[step].ways[way].amount {
        Amount::HalfDays(n) => i64::from(n),
        Amount::Hours(millionths) => millionths,
    }
}

/// What a half-day gives, as the way is counted.
pub(super) fn gives(shop: &Shop, step: StepId, way: usize, team: &Team, h: usize) -> i64 {
    let facts = &shop.steps[step];
    let person_hours = (shop.book.shop.half_day_hours * 1e6).round() as i64; // millionths, as `Amount::Hours`
    match facts.ways[way].amount {
        Amount::HalfDays(_) => 1,
        Amount::Hours(_) => {
            let people = people(shop, team, h).min(facts.max_people.unwrap_or(u32::MAX));
            i64::from(people).saturating_mul(person_hours)
        }
    }
}

/// W11: the people of a crew and its helpers, in a half-day in which the crew itself has some there.
fn people(shop: &Shop, team: &Team, h: usize) -> u32 {
    help::who_works(shop, team, h).map(|crew| shop.crews[crew].people[h]).sum()
}

/// W3: walks from a workable start over every workable half-day until the work is done.
pub(super) fn end_of_run(
    shop: &Shop,
    step: StepId,
    way: usize,
    team: &Team,
    start: usize,
    mut left: i64,
) -> Option<usize> {
    for h in (start..shop.len()).filter(|h| shop.obstacle(step, way, team, *h).is_none()) {
        left -= gives(shop, step, way, team, h);
        if left <= 0 {
            return Some(h);
        }
    }
    None
}
