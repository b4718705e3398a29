//! What is waited on and not confirmed: whom to ask this week, and what rests on it (W14).

use chrono::NaiveDate;
use yardless_book::WaitsOn;
use yardless_plan::shop::Shop;

use super::told::Told;
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
    for job in &shop.book.jobs {
        let open: Vec<_> = job.steps.iter().filter(|step| !step.started()).collect();
        let name = |step: &yardless_book::Step| step.name.clone().unwrap_or_else(|| step.id.clone());
        let ask = |wait: &WaitsOn, steps: Vec<String>| Ask {
            job: job.name.clone().unwrap_or_else(|| job.id.clone()),
            what: wait.what.clone(),
            who: wait.who.clone().unwrap_or_default(),
            expected: wait.expected,
            overdue: wait.expected.is_some_and(|date| date < today),
            steps,
        };
        if !open.is_empty() {
            let all = || open.iter().map(|step| name(step)).collect();
            asks.extend(job.waits_on.iter().filter(due).map(|wait| ask(wait, all())));
        }
        for step in open {
            asks.extend(step.waits_on.iter().filter(due).map(|wait| ask(wait, vec![name(step)])));
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

/// All of them under a head; nothing where there are none.
pub(super) fn ask_this_week(shop: &Shop) -> Told {
    let asks = asks(shop);
    if asks.is_empty() {
        return Told::default();
    }
    asks.iter().fold(Told::default().head("ASK THIS WEEK"), |told, ask| told.say(&ask.says())).gap()
}
