//! How a page tells what is refused: the sentence is the one of the command line, what to do about it is the page's own.

use yardless_edit::trouble::words::some;
use yardless_edit::trouble::{Help, OfName, OfNote, OfPlan, OfQuestion, OfStore, OfStorm, Topic, Trouble, Unsaid};

/// What to do about it on pages; empty where only the command line can do anything.
pub fn help(trouble: &Trouble) -> String {
    let own = match trouble {
        Trouble::Question(of) => of_question(of),
        Trouble::Note(of) => of_note(of),
        Trouble::Name(OfName::Several { found, .. }) => {
            let found: Vec<String> = found.iter().map(|(list, id)| format!("the {} `{id}`", list.word())).collect();
            Some(format!("say which: {}", found.join(" or ")))
        }
        Trouble::Storm(of) => of_storm(of),
        Trouble::Plan(OfPlan::Outside { .. } | OfPlan::Before { .. } | OfPlan::NoWeeks { .. }) => {
            Some("give a half-day of the plan, or none".to_owned())
        }
        Trouble::Store(OfStore::PlanBreaks { .. }) => Some(PLAN_AGAIN.to_owned()),
        _ => None,
    };
    own.unwrap_or_else(|| match trouble.told().map(Topic::help) {
        Ok(Help::Plain(help)) => help,
        Ok(Help::Command(_)) | Err(_) => String::new(),
    })
}

const PLAN_AGAIN: &str = "Plan again; what happened otherwise than planned is noted on the crews' sheets first.";

fn of_question(of: &OfQuestion) -> Option<String> {
    match of {
        OfQuestion::Breaks { .. } | OfQuestion::FreeBreaks { .. } | OfQuestion::FoundBreaks { .. } => {
            Some(PLAN_AGAIN.to_owned())
        }
        OfQuestion::NotNoted { steps, .. } => {
            let of = if steps.is_empty() { String::new() } else { format!(" ({})", some(steps)) };
            Some(format!(
                "Say on the crews' sheets how each step went{of}, or under Plan again that all went as planned after all."
            ))
        }
        OfQuestion::NotBegun { .. } => {
            Some("Plan again; where they have begun, say so on the crews' sheets first.".to_owned())
        }
        OfQuestion::Unknown { known, .. } => {
            Some(format!("the book has {}", yardless_edit::trouble::words::all(known)))
        }
        _ => None,
    }
}

fn of_storm(of: &OfStorm) -> Option<String> {
    match of {
        OfStorm::Gust { .. } => Some("give gusts of 0 to 300 miles per hour".to_owned()),
        OfStorm::Past { .. } => {
            Some("a storm is reported for what is to come; what happened is noted on the crews' sheets".to_owned())
        }
        OfStorm::Range(_) | OfStorm::None { .. } => None,
    }
}

fn of_note(of: &OfNote) -> Option<String> {
    match of {
        OfNote::NoPlan => Some("Plan, then give the plan out.".to_owned()),
        OfNote::Missing { what, plan, .. } => {
            let why = plan.as_ref().map_or_else(
                || "no plan has been given out".to_owned(),
                |plan| format!("{} does not have it", plan.plan()),
            );
            Some(format!("{why}: give {}", given(what)))
        }
        OfNote::Ahead { what, .. } => {
            let what: Vec<Unsaid> = what.iter().map(|(what, _)| *what).collect();
            Some(format!("say when it was: give {}", given(&what)))
        }
        OfNote::Order { .. } => Some(format!("give {}", given(&[Unsaid::Start, Unsaid::End]))),
        OfNote::NotParked { kinds, .. } => {
            let kinds: Vec<String> = kinds.iter().map(|(kind, count)| format!("{count} of `{kind}`")).collect();
            Some(format!("name the units that are parked: {}", kinds.join(", ")))
        }
        OfNote::People { all, .. } => Some(format!("give 1 to {all} people, or none for all")),
        _ => None,
    }
}

fn given(what: &[Unsaid]) -> String {
    let of = |what: &Unsaid| match what {
        Unsaid::Crew => "its crew",
        Unsaid::Way => "the way it is done",
        Unsaid::Start => "the half-day in which it started",
        Unsaid::End => "the half-day in which it ended",
        Unsaid::Units => "the units that it holds",
    };
    what.iter().map(of).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use yardless_edit::List;
    use yardless_edit::trouble::words::Called;

    use super::*;

    #[test]
    fn page_names_no_command_and_no_option() {
        let now = "2026-12-09 am".parse().expect("a half-day");
        let (step, plan) = ("elm-attic/seal".to_owned(), Some(Called::GivenOut));
        let all = [Unsaid::Crew, Unsaid::Way, Unsaid::Start, Unsaid::End, Unsaid::Units];
        let troubles: Vec<Trouble> = vec![
            OfNote::NoPlan.into(),
            OfNote::Missing { step: step.clone(), what: all.to_vec(), plan: None }.into(),
            OfNote::Ahead { step: step.clone(), plan, what: all.map(|what| (what, now)).to_vec(), now }.into(),
            OfNote::Order { step, start: now, end: now }.into(),
            OfNote::NotParked { job: "elm".to_owned(), kinds: vec![("trailer".to_owned(), 2)], as_planned: true }
                .into(),
            OfNote::People { crew: "north".to_owned(), away: 4, all: 3 }.into(),
            OfName::Several { word: "a".to_owned(), found: vec![(List::Unit, "a".into()), (List::Crew, "a".into())] }
                .into(),
            OfPlan::Before { now, first: now }.into(),
            OfPlan::NotJson { plan: Called::GivenOut, why: "it ends".to_owned() }.into(),
            OfQuestion::Breaks { plan: Called::GivenOut, first: None }.into(),
            OfQuestion::NotBegun { plan: Called::GivenOut, steps: 2, now }.into(),
            OfQuestion::NotNoted {
                plan: Called::GivenOut,
                steps: vec!["elm-attic/seal".to_owned()],
                until: now,
                why: "a storm".to_owned(),
            }
            .into(),
            OfQuestion::OfferDone { job: "elm".to_owned() }.into(),
            OfStorm::Gust { gust: 400.0 }.into(),
        ];
        for trouble in troubles {
            let says = trouble.told().map(Topic::says).expect("a topic");
            for text in [says, help(&trouble)] {
                assert!(!text.contains("yardless") && !text.contains("--"), "{trouble:?}: {text}");
                assert!(!text.contains("`the plan given out`"), "{trouble:?}: {text}");
            }
        }
        let count = OfQuestion::Count { count: 3, kind: "A".to_owned(), owned: vec!["A 1".into(), "A 2".into()] };
        assert_eq!(help(&count.into()), "ask for up to 2: A 1, A 2");
    }
}
