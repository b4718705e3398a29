//! What stands under a field: the schema's own words without what is of the file, and how it is filled in.

use std::fmt::Write;

use serde_json::Value;
use yardless_edit::spoken::words_for_fields;

use super::widget::{STEPS, Widget};

/// What stands under a field of one of the book's objects.
pub fn hint(of: &str, name: &str, widget: &Widget, schema: &Value) -> String {
    let says = match own(of, name) {
        Some(says) => says.to_owned(),
        None => words_for_fields(of, &plainly(schema["description"].as_str().unwrap_or_default())),
    };
    let how = match widget {
        Widget::Ranges => " Without a last day it is one day, or goes on where that is ticked.",
        Widget::Coordinates => " Degrees; an address of a map can be pasted into the first.",
        Widget::One(STEPS) | Widget::After => " A new step can be chosen once it is saved.",
        _ => "",
    };
    format!("{says}{how}")
}

/// Where the schema speaks of the file.
fn own(of: &str, name: &str) -> Option<&'static str> {
    Some(match (of, name) {
        ("StepWay", "id") => "As it is printed; unlike those of the step's other ways.",
        ("Skill", "id") => "One that a crew has.",
        (_, "id") => "Unlike all others of its sort; made from the name where it is left empty.",
        (_, "note") => "For yourselves.",
        (_, "name" | "address") => "As it is printed.",
        ("WaitsOn", "who") => "From whom it comes.",
        ("ShopFacts", "time_zone") => "By whose clock the shop works.",
        ("ShopFacts", "hours") => "The first row is the morning, the second the afternoon.",
        ("Place", "at") => "Drives that are not listed are estimated from it.",
        ("Place", "zones") => "Codes of the forecast zones and counties that it lies in; published alerts name them.",
        ("Place", "power_from") => "Where a site has no power yet: when it comes. Nothing said: it has power.",
        ("Climate" | "Posted", "on") | ("Road", "no_trailers") => "It may go over the end of the year.",
        ("Weather", "on") => "It needs an end.",
        ("Reports", "events") => "What each published alert does here; one that is not listed does what is usual.",
        ("Job" | "Step", "earliest") => "No work before this day.",
        ("Job", "left_out") => "Nothing said: as the job's rank says, else it is worked out.",
        ("Rank", "left_out") => "Nothing said: it is worked out from the job.",
        ("Step", "after") => "None chosen: after the step that is listed before it.",
        ("AfterStep", "step") => "",
        ("Step", "needs_power") => "Started before the place has power, it takes so many along.",
        ("Crew", "own") => "Not so of an inspector, an electrician or another firm.",
        _ => return None,
    })
}

/// Without the rules' numbers: `(C1)`.
fn plainly(text: &str) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut plain = String::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once(" (") {
        plain.push_str(before);
        let (inside, next) = after.split_once(')').unwrap_or((after, ""));
        let rule = |word: &str| {
            word.len() >= 2
                && word.starts_with(|c: char| c.is_ascii_uppercase())
                && word[1..].bytes().all(|byte| byte.is_ascii_digit())
        };
        if !inside.split(", ").all(rule) {
            let _ = write!(plain, " ({inside})");
        }
        rest = next;
    }
    plain.push_str(rest);
    plain
}
