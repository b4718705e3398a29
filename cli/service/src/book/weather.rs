//! The weather: storms marked and taken back, other reports entered, alerts brought in and accepted.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde_json::{Map, Value, json};
use tokio::sync::Semaphore;
use yardless_book::Path;
use yardless_book::half_day::{Range, parse_date};
use yardless_edit::clock;
use yardless_edit::spoken::{self, label, range as days};
use yardless_edit::storm::{self, Storm};
use yardless_edit::trouble::{OfStorm, Trouble};
use yardless_edit::{Edit, value};
use yardless_view::{ahead, end};
use yardless_weather::Verdict;

use crate::book::form::{PARTS, plain};
use crate::book::keep::{Change, ChangeOutcome};
use crate::book::key;
use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Reads, Who};
use crate::shown::frame::{Frame, escaped, html, on_to};
use crate::shown::refused::{self, RefusedHere};
use crate::store::token;

#[derive(Template)]
#[template(path = "weather.html")]
struct WeatherPage {
    frame: Frame,
    /// Where an entry is changed, and its cells.
    entries: Vec<(String, Vec<String>)>,
    heads: Vec<String>,
    places: Vec<(String, String)>,
    /// The date now.
    today: String,
    form: String,
    /// Alerts that were read: what they would add, and what became of each.
    read: Option<Read>,
    /// What was typed and could not be kept, in the form of a storm and in that of another report.
    storm: Typed,
    report: Typed,
    refused: Option<RefusedHere>,
}

/// What stands in a form: what was typed, else what it begins with.
#[derive(Default)]
struct Typed(Option<Fields>);

impl Typed {
    fn text<'t>(&'t self, name: &str, first: &'t str) -> &'t str {
        self.0.as_ref().map_or(first, |fields| fields.get(name))
    }
    fn is(&self, name: &str, value: &str) -> bool {
        self.0.as_ref().is_some_and(|fields| fields.all(name).any(|of| of == value))
    }
    fn ticked(&self, name: &str) -> bool {
        self.0.as_ref().is_some_and(|fields| fields.ticked(name))
    }
}

/// Alerts that were brought in.
struct Read {
    /// The name under which its entries are laid aside.
    name: String,
    /// Entries to accept, in words.
    entries: Vec<String>,
    /// Event, when, places, verdict.
    alerts: Vec<[String; 4]>,
    faults: Vec<String>,
    more: usize,
}

/// Most alerts that are listed.
const MOST: usize = 60;

fn shown(desk: &Desk, standing: &Standing, who: &Who, read: Option<Read>) -> Result<WeatherPage, Refusal> {
    let columns = PARTS.iter().find(|part| part.field == "weather").map_or(&[][..], |part| part.columns);
    let entries = standing.value["weather"].as_array().into_iter().flatten().enumerate();
    let entries = entries.map(|(n, entry)| {
        let cells = columns.iter().map(|column| match entry.get(*column) {
            None if *column == "at" => "everywhere".to_owned(),
            None => String::new(),
            Some(value) => spoken::value(&standing.value, "Weather", column, value),
        });
        (format!("/book/weather/of/{}", escaped(&key(entry, n))), cells.collect())
    });
    let places = standing.book.written.book.places.iter();
    Ok(WeatherPage {
        frame: Frame::new("Weather", "/weather", who, Some(standing)),
        entries: entries.collect(),
        heads: columns.iter().map(|column| label("Weather", column)).collect(),
        places: places.map(|of| (of.id.clone(), of.name.clone().unwrap_or_else(|| of.id.clone()))).collect(),
        today: desk.now(standing).date().to_string(),
        form: token()?,
        read,
        storm: Typed::default(),
        report: Typed::default(),
        refused: None,
    })
}

/// What a form says is kept; else the page again, with what is wrong and what was typed.
async fn kept(
    desk: Arc<Desk>,
    who: Who,
    fields: Fields,
    typed: fn(&mut WeatherPage) -> &mut Typed,
    keeps: impl FnOnce(&Desk, &Who, &Fields) -> Result<(), Refusal> + Send + 'static,
) -> Result<Response, Refusal> {
    let done = desk.change(move |desk| match keeps(desk, &who, &fields) {
        Err(refusal) if refusal.status.is_client_error() => {
            let standing = desk.book()?;
            let mut page = shown(desk, &standing, &who, None)?;
            page.refused = Some(RefusedHere::of(&refusal, &standing.value));
            *typed(&mut page) = Typed(Some(fields));
            Ok(Some(refused::within(&refusal, html(&page)?)))
        }
        kept => kept.map(|()| None),
    });
    Ok(done.await?.unwrap_or_else(|| on_to("/weather#kept")))
}

fn place_name(standing: &Standing, id: &Value) -> String {
    let found = standing.book.written.book.places.iter().find(|place| *id == *place.id);
    found.and_then(|place| place.name.clone()).unwrap_or_else(|| plain(id))
}

/// The page.
pub async fn page(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    html(&desk.work(move |desk| shown(desk, &*desk.book()?, &who, None)).await?)
}

/// The range that a form gives in four fields; the second date and halves may be left out. `at`: the fields of the two dates.
fn range(fields: &Fields, at: [&'static str; 2]) -> Result<String, Refusal> {
    let first = fields.get("first");
    if first.is_empty() {
        return Err(Refusal::input("storm::range", "No date is given.", "Give the first date.").at(at[0]));
    }
    for (name, at) in ["first", "last"].into_iter().zip(at) {
        let date = fields.get(name);
        if !date.is_empty() && parse_date(date).is_err() {
            let says = format!("There is no date `{date}` in the calendar.");
            return Err(Refusal::input("storm::range", says, "Choose one.").at(at));
        }
    }
    let last = if fields.get("last").is_empty() { first } else { fields.get("last") };
    if parse_date(last).ok() < parse_date(first).ok() {
        let says = format!("{} is before {}.", days(last), days(first));
        return Err(Refusal::input("storm::range", says, "Give the last date, or none where it is one day.").at(at[1]));
    }
    let half = |name: &str, or: &str| match fields.get(name) {
        "" => or.to_owned(),
        half => half.to_owned(),
    };
    let (from, to) = (half("first_half", "am"), half("last_half", "pm"));
    Ok(if first == last && from == to {
        format!("{first} {from}")
    } else {
        let head = if from == "am" { first.to_owned() } else { format!("{first} {from}") };
        let tail = if to == "pm" { last.to_owned() } else { format!("{last} {to}") };
        if head == tail { head } else { format!("{head}/{tail}") }
    })
}

/// A range as it is written.
pub fn range_of(text: &str) -> Result<Range, Refusal> {
    text.parse().map_err(|e| Trouble::from(OfStorm::Range(e)).into())
}

/// Marks a storm, or takes one back.
pub async fn storm(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let keeps = |desk: &Desk, who: &Who, fields: &Fields| {
        let on = range(fields, ["storm-first", "storm-last"])?;
        let no_speed = |text: &str| {
            let says = format!("`{text}` is no speed of gusts.");
            Refusal::input("storm::gust", says, "Give miles per hour, 0 to 300.").at("storm-gust")
        };
        let gust = match fields.get("gust_mph") {
            "" => None,
            text => {
                Some(text.parse::<f64>().ok().filter(|mph| (0.0..=300.0).contains(mph)).ok_or_else(|| no_speed(text))?)
            }
        };
        let storm = Storm {
            on: range_of(&on)?,
            at: fields.all("at").map(str::to_owned).collect(),
            no_travel: fields.ticked("no_travel"),
            covered: fields.ticked("covered"),
            gust,
            clear: fields.ticked("clear"),
            now: desk.settings.now,
        };
        let what = if storm.clear {
            format!("Took the storm of {} back", days(&on))
        } else {
            format!("Marked a storm, {}", days(&on))
        };
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        desk.keep_edits(&change, |standing| Ok(storm::changes(&standing.book, &storm)?.edits))
            .and_then(ChangeOutcome::or_refuse)
            .map_err(|refusal| refusal.at("storm-first"))
    };
    kept(desk, who, fields, |page| &mut page.storm, keeps).await
}

/// Enters another report: roads clear or covered, rain, gusts, a low, a high.
pub async fn report(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let keeps = |desk: &Desk, who: &Who, fields: &Fields| {
        let on = range(fields, ["report-first", "report-last"])?;
        let mut entry = Map::from_iter([("on".to_owned(), Value::from(on.as_str()))]);
        let at: Vec<&str> = fields.all("at").collect();
        if !at.is_empty() {
            entry.insert("at".to_owned(), json!(at));
        }
        if !fields.get("roads").is_empty() {
            entry.insert("roads".to_owned(), fields.get("roads").into());
        }
        for (name, at) in MEASURED {
            let text = fields.get(name);
            if !text.is_empty() {
                let number = text.parse::<f64>().ok().filter(|number| number.is_finite()).ok_or_else(|| {
                    Refusal::input("weather::number", format!("`{text}` is no number."), "Give one, as 25.").at(at)
                })?;
                entry.insert(name.to_owned(), value(&number));
            }
        }
        if fields.ticked("rain") {
            entry.insert("rain".to_owned(), true.into());
        }
        if entry.keys().all(|name| name == "on" || name == "at") {
            return Err(Refusal::input(
                "weather::nothing",
                "The report says nothing.",
                "Say what the roads or the weather are.",
            )
            .at("report-roads"));
        }
        append(desk, who, fields, &format!("Entered a report, {}", days(&on)), vec![entry.into()]).map_err(|refusal| {
            let about = |name: &str| refusal.problem.faults.iter().any(|fault| fault.path.ends_with(name));
            let at = MEASURED.iter().find(|(name, _)| about(name)).map_or("report-first", |(_, at)| at);
            refusal.at(at)
        })
    };
    kept(desk, who, fields, |page| &mut page.report, keeps).await
}

/// What a report measures: its field in the book, and where it stands on the page.
const MEASURED: [(&str, &str); 3] = [("gust_mph", "report-gust"), ("low_f", "report-low"), ("high_f", "report-high")];

fn append(desk: &Desk, who: &Who, fields: &Fields, what: &str, entries: Vec<Value>) -> Result<(), Refusal> {
    let change = Change { who: &who.account.name, what, form: fields.form() };
    let list = Path::default().field("weather");
    let edits: Vec<Edit> = entries.into_iter().map(|entry| Edit::Append(list.clone(), entry)).collect();
    desk.keep_edits(&change, |_| Ok(edits.clone()))?.or_refuse()
}

/// Files of alerts are read one at a time: each may take many times its size in memory.
static READING: Semaphore = Semaphore::const_new(1);

/// Reads alerts that were brought in; nothing is entered yet.
pub async fn alerts(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    // It is never closed, so that there is always a turn to wait for. The turn ends with the work, also where nobody waits
    // for its answer any more.
    let turn = READING.acquire().await.ok();
    let page = desk.work(move |desk| {
        let _turn = turn;
        let standing = desk.book()?;
        let (mut alerts, mut faults) = (Vec::new(), Vec::new());
        for file in fields.files("alerts") {
            let reading = yardless_weather::read_alerts(&file.bytes);
            faults
                .extend(reading.faults.iter().map(|of| format!("{}, {}: {}; {}", file.name, of.at, of.says, of.help)));
            alerts.extend(reading.alerts);
        }
        if alerts.is_empty() && faults.is_empty() {
            let help = "Choose a file of alerts, in CAP 1.2 or as GeoJSON of the weather service.";
            return Err(Refusal::input("weather::no-file", "No alerts were brought in.", help));
        }
        let outcome = yardless_weather::weigh(&standing.book.written.book, &alerts, &[], clock::now());
        faults.extend(outcome.faults.iter().map(|of| format!("{}: {}; {}", of.at, of.says, of.help)));
        let told = outcome.alerts.iter().take(MOST).map(|told| {
            let verdict = match &told.verdict {
                Verdict::Counts(_) => "counts".to_owned(),
                Verdict::Shown(why) => format!("in force, nothing is done: {why}"),
                Verdict::PassedOver(why) => format!("passed over: {why}"),
            };
            let places: Vec<String> = told.places.iter().map(|id| place_name(&standing, &id.as_str().into())).collect();
            let on = told.on.map_or_else(String::new, |on| days(&on.to_string()) + end(told));
            [told.event.clone(), on, places.join(", "), verdict + ahead(told)]
        });
        let entries: Vec<Value> = outcome.entries.iter().map(value).collect();
        let name = token()?;
        let read = Read {
            name: name.clone(),
            entries: entries.iter().map(|entry| says(&standing, entry)).collect(),
            alerts: told.collect(),
            more: outcome.alerts.len().saturating_sub(MOST),
            faults,
        };
        desk.alerts.put(who.account.id, name, entries);
        shown(desk, &standing, &who, Some(read))
    });
    html(&page.await?)
}

/// An entry in words.
fn says(standing: &Standing, entry: &Value) -> String {
    let fields = entry.as_object().into_iter().flatten().filter(|(name, _)| !name.starts_with("x_"));
    let words = fields.map(|(name, value)| match (name.as_str(), value) {
        ("on" | "at", is) => spoken::value(&standing.value, "Weather", name, is),
        (name, Value::Bool(true)) => label("Weather", name).to_lowercase(),
        (name, is) => {
            let says = spoken::value(&standing.value, "Weather", name, is);
            format!("{} {says}", label("Weather", name).to_lowercase())
        }
    });
    words.collect::<Vec<_>>().join("; ")
}

/// Enters what of the alerts was accepted.
pub async fn accept(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| {
        if !fields.ticked("entry") {
            return Err(Refusal::input("weather::nothing", "Nothing was accepted.", "Tick what is to be entered."));
        }
        let gone = || Refusal::input("weather::entry", "These alerts are not kept any more.", "Bring them in again.");
        let read = desk.alerts.get(who.account.id, fields.get("read")).ok_or_else(gone)?;
        let ticked = fields.all("entry").map(|number| read.get(number.parse::<usize>().ok()?).cloned());
        let entries: Vec<Value> = ticked.collect::<Option<_>>().ok_or_else(gone)?;
        let what =
            format!("Accepted {} from published alerts", if entries.len() == 1 { "a report" } else { "reports" });
        append(desk, &who, &fields, &what, entries)
    });
    done.await?;
    Ok(on_to("/weather#kept"))
}
