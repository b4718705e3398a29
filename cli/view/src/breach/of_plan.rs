//! A plan as a whole, and what it names, in words.

use yardless_check::fact::OfPlan;

use crate::names::Names;

pub(super) fn says(names: &Names, fact: &OfPlan) -> String {
    let horizon = names.shop.horizon;
    match fact {
        OfPlan::Format { format } => format!("it is a plan of format {format}; this program knows format 1"),
        OfPlan::Weeks { weeks, from } => format!(
            "it is a plan of {weeks} weeks from {}, judged as one of {} weeks from {}",
            names.date(*from),
            horizon.weeks(),
            names.date(horizon.monday())
        ),
        OfPlan::Now { now } => {
            let from = now.map_or("the beginning".to_owned(), |now| names.half(now));
            let judged = names.half(horizon.half_day(names.shop.now));
            format!("it is a plan from {from} on, judged as one from {judged} on")
        }
        OfPlan::Unknown { noun, id } => format!("the book has no {} `{id}`", noun.text()),
        OfPlan::NoStep { job, id } => format!("{} has no step `{id}`", names.job(*job)),
    }
}
