//! What holds a job: the chain, and what it rests on.

use serde_json::{Value, json};
use yardless_answer::Given;
use yardless_answer::why::{ChainLink, Hold, Holds, Rests};
use yardless_book::Job;
use yardless_book::half_day::HalfDay;
use yardless_check::Breach;

use super::breach::{first, in_order, on_sheet};
use super::lift;
use super::names::{Names, Style};
use super::obstacle;
use super::told::Told;
use super::words::{ReadOn, day, half, list};

/// For people: what it rests on in a sentence, then the chain from the job back to the root.
pub fn why(given: &Given, job: &Job, links: &[ChainLink], rests: Option<&Rests>, on: ReadOn) -> Told {
    let name = job.name.as_ref().unwrap_or(&job.id);
    let told = Told::says(&match rests {
        Some(rests) if given.ends(&job.id).is_some_and(|ends| ends <= rests.by) => {
            format!("{name} is finished by {} already, by the plan given out.", day(HalfDay::am(rests.by)))
        }
        Some(rests) => rests_says(given, name, rests, on),
        None => format!("{name} ends now, or on the next day that the shop works."),
    });
    if links.is_empty() {
        let why = given.plan.left_out.iter().find(|row| row.job == job.id);
        return match why {
            Some(row) => told.say(&format!("The plan given out leaves it out: {}.", row.why)),
            None => told,
        };
    }
    let rows: Vec<[String; 2]> = links
        .iter()
        .map(|link| {
            let step = step_name(given, &link.job, &link.step);
            [format!("{step}, {}", half(link.start)), hold_says(given, link)]
        })
        .collect();
    let could = matches!(rests, Some(Rests { found: Holds::These(_), .. }));
    let told = if could { told.gap().say(COULD) } else { told };
    told.gap().head("Link by link, in the plan given out").rows(2, rows, [44, 0])
}

/// What is meant by what could be.
const COULD: &str = "“Could” means here: without any other job ending on a later date than in the plan given out.";

fn rests_says(given: &Given, name: &str, rests: &Rests, on: ReadOn) -> String {
    let by = day(HalfDay::am(rests.by));
    let found = if rests.proven { "" } else { " (as far as was searched, not proven)" };
    match &rests.found {
        Holds::Nothing => {
            let more = match on {
                ReadOn::Terminal => "`yardless offer` says what it takes.",
                ReadOn::Page => "What it takes is said by the question of a date to offer.",
            };
            format!(
                "{name} can be finished by {by}, and nobody else ends on a later date: the plan given out does otherwise. \
                 {more}"
            )
        }
        Holds::These(lifts) => {
            let spoken = Names { shop: given.shop, style: Style::Spoken };
            let facts: Vec<String> = lifts.iter().map(|lift| lift::says(&spoken, lift)).collect();
            match facts.as_slice() {
                [one] => {
                    format!("{name} is not finished by {by} because of one fact: {one}. Without it it could be{found}.")
                }
                _ => format!(
                    "{name} is not finished by {by} because of {} facts together: {}. Without all of them it could be, \
                     without all but any one it could not{found}.",
                    facts.len(),
                    list(&facts)
                ),
            }
        }
        Holds::More if rests.proven => {
            format!("{name} cannot be finished by {by} even without all the facts that were looked at.")
        }
        Holds::More => format!(
            "Even without all the facts that were looked at no plan was found in which {name} is finished by {by}; \
             nothing proves that there is none."
        ),
    }
}

fn step_name(given: &Given, job: &str, step: &str) -> String {
    let book = &given.shop.book;
    let Some(of) = book.jobs.iter().find(|of| of.id == job) else { return format!("{job}/{step}") };
    let name = of.steps.iter().find(|of| of.id == step).map_or(step, |of| of.name.as_ref().unwrap_or(&of.id));
    format!("{name} at {}", of.name.as_ref().unwrap_or(&of.id))
}

fn hold_says(given: &Given, link: &ChainLink) -> String {
    let shop = given.shop;
    let sooner = link.sooner.map_or(String::new(), |sooner| format!(", so not on {}", half(sooner)));
    let waits_for =
        |name: &str, does: &str, end: HalfDay| format!("waits for {name}, which {does} until {}{sooner}", half(end));
    match &link.hold {
        Hold::After { job, step, end } => {
            format!("comes after {}, which ends {}{sooner}", step_name(given, job, step), half(*end))
        }
        Hold::Crew { crew, job, step, end } => {
            waits_for(shop.crew_name(crew), &format!("is at {}", step_name(given, job, step)), *end)
        }
        Hold::Unit { unit, job, step: Some(step), end } => {
            waits_for(shop.unit_name(unit), &format!("{} holds", step_name(given, job, step)), *end)
        }
        Hold::Unit { unit, job, step: None, end } => {
            waits_for(shop.unit_name(unit), &format!("is parked at {}", shop.job_name(job)), *end)
        }
        Hold::Haul { unit, from, at, breaks } => {
            let (unit, from) = (shop.unit_name(unit), shop.place_name(from));
            format!("waits for {unit}, hauled from {from} on {}: {}{sooner}", half(*at), no_haul_sooner(given, breaks))
        }
        Hold::Stopped { last, by } => {
            format!("cannot be worked on before: {} on {}", obstacle::why(*by), half(*last))
        }
        Hold::Fixed => "is fixed to start then".to_owned(),
        Hold::Now => "starts now, or has begun".to_owned(),
        Hold::AfterDone => {
            "would break a rule sooner: what it comes after is done, and it waits so long after that".to_owned()
        }
        Hold::Rule(breaks) => {
            let breaks = in_order(shop, breaks.clone());
            let says: Vec<String> = breaks.iter().take(MOST_BREAKS).map(|breach| on_sheet(shop, breach)).collect();
            format!("would break a rule sooner: {}{sooner}", list(&says))
        }
        Hold::Nothing => {
            format!("could start on {} by itself, as far as the rules go", link.sooner.map_or(String::new(), half))
        }
    }
}

/// How many rules are told that a step or a haul would break sooner.
const MOST_BREAKS: usize = 2;

/// What stands against hauls sooner, a rule for each half-day, the nearest first.
fn no_haul_sooner(given: &Given, breaks: &[Vec<Breach>]) -> String {
    if breaks.is_empty() {
        return "one sooner would do, as far as the rules go".to_owned();
    }
    let mut told: Vec<&Breach> = Vec::new();
    for breach in breaks.iter().filter_map(|breaks| first(given.shop, breaks)) {
        if told.len() < MOST_BREAKS && !told.contains(&breach) {
            told.push(breach);
        }
    }
    let says: Vec<String> = told.into_iter().map(|breach| on_sheet(given.shop, breach)).collect();
    list(&says)
}

/// For programs.
pub fn why_json(given: &Given, job: &Job, links: &[ChainLink], rests: Option<&Rests>) -> Value {
    let chain: Vec<Value> = links
        .iter()
        .map(|link| {
            json!({
                "job": link.job, "step": link.step, "start": link.start.to_string(),
                "sooner": link.sooner.map(|sooner| sooner.to_string()), "says": hold_says(given, link),
            })
        })
        .collect();
    let written = Names { shop: given.shop, style: Style::Written };
    let rests = rests.map(|rests| {
        let facts = match &rests.found {
            Holds::These(lifts) => lifts.iter().map(|lift| lift::says(&written, lift)).collect(),
            _ => Vec::new(),
        };
        let found = match &rests.found {
            Holds::Nothing => "nothing",
            Holds::These(_) => "these",
            Holds::More => "more",
        };
        json!({ "by": rests.by, "found": found, "facts": facts, "proven": rests.proven })
    });
    json!({ "job": job.id, "chain": chain, "rests_on": rests })
}
