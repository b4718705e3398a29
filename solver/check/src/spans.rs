//! Whether each row of a step is worked when it says: rules W2, W3, W7 and W10.

use yardless_plan::shop::{Amount, CrewId, Obstacle, Shop, StepId};

use super::Found;
use super::history;
use super::ids::{step_name, when};
use super::work::Work;

/// Judges a row between the one before and the one after it of its step. `left` is what the one before has left to do;
/// given back is what this one leaves, as the way is counted, where it is known.
pub(super) fn judge(
    shop: &Shop,
    step: StepId,
    (before, work, after): (Option<&Work>, &Work, Option<&Work>),
    left: Option<i64>,
    found: &mut Found,
) -> Option<i64> {
    let name = step_name(shop, step);
    if !work.comes_back() && history::between_spans(shop, step) {
        found.say("W10", format!("{name} is between its spans, and the plan has it go on from {}", work.row.start));
        return None;
    }
    let left = if work.comes_back() {
        comes_back(shop, step, before, work, left, found)?
    } else {
        amount(shop, step, work.way)
    };
    if work.row.span > 2 || work.row.span == 0 {
        found.about(
            shop.steps[step].job,
            "W10",
            format!("{name} is done in span {}; there is a first one, and may be a second", work.row.span),
        );
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
    before: Option<&Work>,
    work: &Work,
    left: Option<i64>,
    found: &mut Found,
) -> Option<i64> {
    let (name, facts) = (step_name(shop, step), &shop.steps[step]);
    if !facts.may_split {
        found.about(shop.steps[step].job, "W10", format!("{name} is left and come back to, and may not be"));
        return None;
    }
    let Some(before) = before else {
        if facts.going.is_none() {
            found.about(shop.steps[step].job, "W10", format!("{name} is come back to without having been begun"));
            return None;
        }
        // In progress, it is let go: it was last worked on before now. Between its spans it has been left already.
        if work.span.is_some_and(|(start, _)| start <= shop.now) && !history::between_spans(shop, step) {
            found.about(
                shop.steps[step].job,
                "W10",
                format!("{name} is come back to at once, on {}; that is no leaving", work.row.start),
            );
        }
        return Some(amount(shop, step, work.way));
    };
    if (work.crew, &work.row.way) != (before.crew, &before.row.way) {
        let says = format!(
            "{name} is begun by {} the way `{}`, and come back to by {} the way `{}`",
            shop.crews[before.crew].name, before.row.way, shop.crews[work.crew].name, work.row.way
        );
        found.about(shop.steps[step].job, "W10", says);
        return None;
    }
    if let (Some((_, last)), Some((start, _))) = (before.span, work.span)
        && start < last + 2
    {
        let says = format!(
            "{name} is left on {} and come back to on {}: no half-day lies between",
            before.row.end, work.row.start
        );
        found.about(shop.steps[step].job, "W10", says);
    }
    left
}

/// W3: the row lies within the horizon, and begins in a half-day in which it may be worked on.
fn within(shop: &Shop, step: StepId, work: &Work, found: &mut Found) -> Option<()> {
    let (name, row) = (step_name(shop, step), work.row);
    let Some((start, _)) = work.span else {
        let says = if row.end < row.start {
            format!("{name} ends on {}, before it starts on {}", row.end, row.start)
        } else {
            format!("{name}, {} to {}, is not within the horizon", row.start, row.end)
        };
        found.about(shop.steps[step].job, "W3", says);
        return None;
    };
    let goes_on = shop.steps[step].going.is_some() && !work.comes_back();
    if !goes_on && let Some(obstacle) = shop.obstacle(step, work.way, work.crew, start) {
        let (rule, why) = told(obstacle, &shop.crews[work.crew].name);
        found.about(shop.steps[step].job, rule, format!("{name} cannot start on {}: {why}", row.start));
        return None;
    }
    Some(())
}

/// W10: a first span ends with a half-day worked, and leaves something to do.
fn leaves(shop: &Shop, step: StepId, work: &Work, left: i64, found: &mut Found) -> Option<i64> {
    let (name, (start, end)) = (step_name(shop, step), work.span?);
    last_half_day(shop, step, work, end, found)?;
    let worked = (start..=end).filter(|h| shop.obstacle(step, work.way, work.crew, *h).is_none());
    let left = left - worked.map(|h| gives(shop, step, work.way, work.crew, h)).sum::<i64>();
    if left <= 0 {
        found.about(
            shop.steps[step].job,
            "W10",
            format!("{name} is done by {}, and nothing is left to come back to", work.row.end),
        );
        return None;
    }
    Some(left)
}

/// W3: the row ends when what is left is done, neither sooner nor later.
fn ends(shop: &Shop, step: StepId, work: &Work, left: i64, found: &mut Found) {
    let (name, row, crew) = (step_name(shop, step), work.row, &shop.crews[work.crew].name);
    let Some((start, end)) = work.span else { return };
    let true_end = end_of_run(shop, step, work.way, work.crew, start, left);
    if true_end == Some(end) {
        return;
    }
    last_half_day(shop, step, work, end, found);
    let says = match true_end {
        Some(true_end) => {
            format!("{name}, started by {crew} on {}, ends on {}, not {}", row.start, when(shop, true_end), row.end)
        }
        None => format!("{name}, started by {crew} on {}, cannot end within the horizon", row.start),
    };
    found.about(shop.steps[step].job, "W3", says);
}

/// W2, W7: the last half-day is one in which it may be worked on.
fn last_half_day(shop: &Shop, step: StepId, work: &Work, end: usize, found: &mut Found) -> Option<()> {
    let Some(obstacle) = shop.obstacle(step, work.way, work.crew, end) else { return Some(()) };
    let (rule, why) = told(obstacle, &shop.crews[work.crew].name);
    let name = step_name(shop, step);
    found.about(
        shop.steps[step].job,
        rule,
        format!("{name} cannot be worked on in its last half-day, {}: {why}", work.row.end),
    );
    None
}

/// W2 or W7: what stops a step, in words.
fn told(obstacle: Obstacle, crew: &str) -> (&'static str, String) {
    match obstacle {
        Obstacle::Past => ("N1", "it is before now".to_owned()),
        Obstacle::UnitOut => ("N1", "a unit that it holds is out".to_owned()),
        Obstacle::Closed => ("W2", "the shop does not work then".to_owned()),
        Obstacle::FewPeople(0) => ("W2", format!("{crew} is away")),
        Obstacle::FewPeople(n) => ("W2", format!("of {crew} only {n} present, fewer than it takes")),
        Obstacle::Early => ("W2", "it is before `earliest`".to_owned()),
        Obstacle::NoAccess => ("W2", "there is no access then".to_owned()),
        Obstacle::NoTravel => ("W7", "there is no travel".to_owned()),
        Obstacle::Storm => ("W7", "there is a storm and it is outside".to_owned()),
        Obstacle::Gust => ("W7", "the gusts are over its limit".to_owned()),
        Obstacle::Cold => ("W7", "it is colder than its limit".to_owned()),
        Obstacle::Rain => ("W7", "it rains and it must stay dry".to_owned()),
    }
}

/// What a step takes, or what is left of one in progress: half-days, or millionths of an hour.
fn amount(shop: &Shop, step: StepId, way: usize) -> i64 {
    match shop.steps[step].ways[way].amount {
        Amount::HalfDays(n) => i64::from(n),
        Amount::Hours(millionths) => millionths,
    }
}

/// What a half-day gives, as the way is counted.
fn gives(shop: &Shop, step: StepId, way: usize, crew: CrewId, h: usize) -> i64 {
    let facts = &shop.steps[step];
    let person_hours = (shop.book.shop.half_day_hours * 1e6).round() as i64; // millionths, as `Amount::Hours`
    match facts.ways[way].amount {
        Amount::HalfDays(_) => 1,
        Amount::Hours(_) => {
            let people = shop.crews[crew].people[h].min(facts.max_people.unwrap_or(u32::MAX));
            i64::from(people).saturating_mul(person_hours)
        }
    }
}

/// W3: walks from a workable start over every workable half-day until the work is done.
fn end_of_run(shop: &Shop, step: StepId, way: usize, crew: CrewId, start: usize, mut left: i64) -> Option<usize> {
    for h in (start..shop.len()).filter(|h| shop.obstacle(step, way, crew, *h).is_none()) {
        left -= gives(shop, step, way, crew, h);
        if left <= 0 {
            return Some(h);
        }
    }
    None
}
