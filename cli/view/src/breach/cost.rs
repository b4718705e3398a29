//! What a plan says wrongly of its cost, in words.

use yardless_check::fact::OfCost;
use yardless_plan::Rule;

pub(super) fn says(rule: Rule, fact: &OfCost) -> String {
    match fact {
        OfCost::Term { said, is } => format!("{}: the plan says ${said}, it is ${is}", term(rule)),
        OfCost::Cost { said, is } => format!("the plan says that it costs ${said}, it costs ${is}"),
        OfCost::Above { bound, cost } => {
            format!("it says that no plan costs less than ${bound}, and costs ${cost} itself")
        }
        OfCost::Apart { .. } => "the plan says that it is proven best, and also that a cheaper one may be".to_owned(),
    }
}

/// What a rule of cost counts.
fn term(rule: Rule) -> &'static str {
    match rule {
        Rule::C1 => "late",
        Rule::C2 => "left out",
        Rule::C3 => "hauls",
        Rule::C4 => "crews",
        Rule::C5 => "waiting",
        Rule::C6 => "ways",
        Rule::C7 => "changes",
        Rule::C8 => "overtime",
        Rule::C9 => "returns",
        other => other.text(),
    }
}
