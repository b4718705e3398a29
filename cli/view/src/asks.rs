//! What is waited on and not confirmed: whom to ask this week, and what rests on it (W14).

use chrono::NaiveDate;
use yardless_book::{WaitsOn, visible};
use yardless_plan::shop::{Id, Shop, StepId};

use super::words::{count, list};

/// Something to ask for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// The job's printed name.
    pub job: String,
    /// What is waited on.
    pub what: String,
    /// From whom; empty: not entered.
    pub who: String,
    /// When it is expected; `None`: no date is known.
    pub expected: Option<NaiveDate>,
    /// Whether that date has passed.
    pub overdue: bool,
    /// The printed names of the steps that rest on it.
    pub steps: Vec<String>,
}

/// The waits to ask about now, those without a date first, then by date.
pub fn asks(shop: &Shop) -> Vec<Ask> {
    let today = shop.horizon.date(shop.now);
    let due = |wait: &&WaitsOn| {
        let soon = |date: NaiveDate| date < today || shop.worked_dates(today, date) <= i64::from(wait.ask_days);
        !wait.confirmed && wait.expected.is_none_or(soon)
    };
    let mut asks = Vec::new();
    for (id, facts) in shop.jobs.pairs() {
        let job = &shop.book.jobs[id.index()];
        let all = facts.step_ids().chain(facts.later_ids());
        let open: Vec<StepId> = all.filter(|step| shop.steps[*step].going.is_none()).collect();
        let name = |step: StepId| shop.steps[step].name.clone();
        let ask = |wait: &WaitsOn, steps: Vec<String>| Ask {
            job: facts.name.clone(),
            what: visible(&wait.what),
            who: wait.who.as_deref().map_or_else(String::new, visible),
            expected: wait.expected,
            overdue: wait.expected.is_some_and(|date| date < today),
            steps,
        };
        if !open.is_empty() {
            let all = || open.iter().map(|step| name(*step)).collect();
            asks.extend(job.waits_on.iter().filter(due).map(|wait| ask(wait, all())));
        }
        for step in open {
            let waits = job.steps[shop.steps[step].listed].waits();
            asks.extend(waits.filter(|wait| due(&&**wait)).map(|wait| ask(&wait, vec![name(step)])));
        }
    }
    asks.sort_by_key(|ask| ask.expected);
    asks
}

impl Ask {
    /// In a sentence: whom to ask, for what, by when, and what rests on it.
    pub fn says(&self) -> String {
        let Self { job, what, who, expected, overdue, steps } = self;
        let whom = if who.is_empty() { "nobody is entered to ask".to_owned() } else { format!("ask {who}") };
        let when = match expected {
            None => "no date is known".to_owned(),
            Some(date) => {
                let date = date.format("%a %-d %b");
                if *overdue { format!("was expected {date}") } else { format!("expected {date}, not confirmed") }
            }
        };
        let rests = match steps.len() {
            0..=3 => format!("{} {} on it", list(steps), if steps.len() == 1 { "rests" } else { "rest" }),
            n => format!("{} rest on it", count(n, "step", "steps")),
        };
        format!("{job}, {what}: {whom}; {when}; {rests}.")
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};
    use yardless_book::half_day::{Horizon, parse_date};

    use super::*;

    /// The asks of a shop on Monday 7 December 2026 whose only job has a step that waits so.
    fn asked(wait: &Value) -> Vec<Ask> {
        let book = json!({
            "book": 1, "shop": { "name": "Made up", "time_zone": "America/New_York" }, "places": [{ "id": "a" }],
            "crews": [{ "id": "c", "people": 1, "skills": ["s"] }], "trucks": [], "equipment": [],
            "jobs": [{ "id": "elm", "name": "Elm attic", "place": "a", "steps": [
                { "id": "blow", "skill": "s", "half_days": 1, "waits_on": [wait] }, { "id": "look", "skill": "s", "half_days": 1 }
            ] }]
        });
        let book = serde_json::from_value(book).expect("a book");
        let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 3).expect("a Monday");
        asks(&Shop::new(&book, horizon).expect("no fault"))
    }

    #[test]
    fn what_is_not_confirmed_is_asked_for_five_worked_dates_ahead() {
        let on = |date: &str| asked(&json!({ "what": "wiring", "expected": date })).len();
        // After Monday 7: Tuesday 8, 9, 10, 11 and Monday 14 are five; Tuesday 15 is the sixth.
        assert_eq!((on("2026-12-07"), on("2026-12-14"), on("2026-12-15")), (1, 1, 0));
        let more = json!({ "what": "wiring", "expected": "2026-12-15", "ask_days": 6 });
        let confirmed = json!({ "what": "wiring", "expected": "2026-12-08", "confirmed": true });
        assert_eq!((asked(&more).len(), asked(&confirmed).len()), (1, 0));
    }

    #[test]
    fn an_ask_says_who_when_and_what_rests_on_it() {
        let says = |wait: Value| asked(&wait)[0].says();
        assert_eq!(
            says(json!({ "what": "the wiring", "who": "Sparks Example, 555-0102", "expected": "2026-12-08" })),
            "Elm attic, the wiring: ask Sparks Example, 555-0102; expected Tue 8 Dec, not confirmed; blow rests on it."
        );
        assert_eq!(
            says(json!({ "what": "windows", "expected": "2026-12-04" })),
            "Elm attic, windows: nobody is entered to ask; was expected Fri 4 Dec; blow rests on it."
        );
        assert!(says(json!({ "what": "windows" })).contains("no date is known"));
    }

    #[test]
    fn what_steers_a_terminal_is_printed_and_does_nothing() {
        let says = asked(&json!({ "what": "wiring\u{1b}[2J", "who": "Sam\u{202e}" }))[0].says();
        assert!(says.contains("wiring\\u001b[2J: ask Sam\\u202e;"), "{says}");
    }
}
