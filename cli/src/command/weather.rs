//! `yardless weather`: published alerts and forecasts made into weather entries of the book.

use std::path::Path;

use chrono::{DateTime, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Tz;
use serde_json::{Value, json};
use yardless_book::Book;
use yardless_edit::book_file;
use yardless_edit::clock;
use yardless_edit::trouble::words::near;
use yardless_edit::trouble::{OfSource, Trouble};
use yardless_edit::{append_weather, change};
use yardless_view::{AlertFile, ReportSheet, easing, event_table};
use yardless_weather::{Alert, FileFault, Forecast, LARGEST, Outcome, Verdict, forecast};

use crate::answer::Answer;
use crate::args::WeatherArgs;
use crate::exit::Exit;
use crate::source::Sources;
use crate::written::words;

/// Shows what the reports would change, or changes it.
pub fn run(path: &Path, args: &WeatherArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(path)?;
    let book = &file.written.book;
    if args.events {
        return Ok(Answer::new(event_table(&yardless_weather::table(book))));
    }
    let places = places(book, args)?;
    // The reader knows only real time zones.
    let zone: Tz = book.shop.time_zone.parse().unwrap_or(Tz::UTC);
    let now = now(zone, args.now)?;
    let read = read(args, &places)?;
    let outcome = yardless_weather::weigh(book, &read.alerts, &read.forecasts, now);
    let mut faults = read.faults;
    faults.extend(outcome.faults.iter().map(|fault| (Exit::BadInput, told("", fault))));
    let done = match (args.write, outcome.entries.len()) {
        _ if !faults.is_empty() => {
            "NOT EVERY REPORT COULD BE READ (the notes say which): nothing is written.".to_owned()
        }
        (true, 0) => "Nothing was written.".to_owned(),
        (true, n) => {
            change(path, &file, &append_weather(&outcome.entries), words())?;
            format!("Wrote {} to {}.", entries(n), path.display())
        }
        (false, 0) => "There is nothing to write.".to_owned(),
        (false, n) => format!("Nothing was written; with --write {} to {}.", adds(n), path.display()),
    };
    let sheet = ReportSheet { book, zone, now, files: &read.files, outcome: &outcome, done: &done };
    let written = args.write && faults.is_empty() && !outcome.entries.is_empty();
    let mut answer = Answer::new(if args.json { as_json(&outcome, &faults, written, now) } else { sheet.text() });
    if let Some(worst) = faults.iter().map(|(exit, _)| *exit).max_by_key(|exit| *exit == Exit::BadInput) {
        answer.exit = worst;
    }
    answer.notes = faults.into_iter().map(|(_, says)| says).collect();
    Ok(answer)
}

fn entries(n: usize) -> String {
    if n == 1 { "1 entry".to_owned() } else { format!("{n} entries") }
}
fn adds(n: usize) -> String {
    if n == 1 { "1 entry is added".to_owned() } else { format!("{n} entries are added") }
}

/// The places that the forecasts are for, by id.
fn places(book: &Book, args: &WeatherArgs) -> Result<Vec<String>, Trouble> {
    if args.forecast.len() != args.at.len() {
        return Err(OfSource::Places { forecasts: args.forecast.len(), places: args.at.len() }.into());
    }
    let find = |asked: &String| {
        let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
        let named = book.places.iter().find(|place| same(&place.id) || place.name.as_deref().is_some_and(same));
        named.map(|place| place.id.clone()).ok_or_else(|| {
            let known = book.places.iter().flat_map(|place| [Some(place.id.as_str()), place.name.as_deref()]).flatten();
            let (near, known) = (near(asked, known), book.places.iter().map(|place| place.id.clone()).collect());
            OfSource::NoPlace { word: asked.clone(), near, known }.into()
        })
    };
    args.at.iter().map(find).collect()
}

fn now(zone: Tz, asked: Option<NaiveDateTime>) -> Result<DateTime<Utc>, Trouble> {
    let Some(asked) = asked else { return Ok(clock::now()) };
    let local = zone.from_local_datetime(&asked).earliest();
    Ok(local.map(|local| local.with_timezone(&Utc)).ok_or(OfSource::NoTime { at: asked })?)
}

/// What the sources gave.
#[derive(Default)]
struct Read {
    alerts: Vec<Alert>,
    files: Vec<AlertFile>,
    forecasts: Vec<(String, Forecast)>,
    faults: Vec<(Exit, String)>,
}

/// Reads every source. One that cannot be read keeps nothing back of what the others say; but then nothing is written.
fn read(args: &WeatherArgs, places: &[String]) -> Result<Read, Trouble> {
    let sources = || args.alerts.iter().chain(&args.forecast);
    if sources().filter(|source| *source == "-").count() > 1 {
        return Err(OfSource::StdinTwice.into());
    }
    let reader = Sources::new(args, LARGEST);
    let mut read = Read::default();
    let mut troubles = Vec::new();
    for source in &args.alerts {
        match reader.read(source) {
            Ok(bytes) => {
                let reading = yardless_weather::read_alerts(&bytes);
                read.faults.extend(reading.faults.iter().map(|fault| (Exit::BadInput, told(source, fault))));
                read.files.push(AlertFile {
                    source: source.clone(),
                    alerts: reading.alerts.len(),
                    updated: reading.updated,
                    whole: reading.faults.is_empty(),
                });
                read.alerts.extend(reading.alerts);
            }
            Err(trouble) => troubles.push(trouble),
        }
    }
    for (source, place) in args.forecast.iter().zip(places) {
        match reader.read(source).map(|bytes| forecast::read(&bytes)) {
            Ok(Ok(forecast)) => read.forecasts.push((place.clone(), forecast)),
            Ok(Err(faults)) => read.faults.extend(faults.iter().map(|fault| (Exit::BadInput, told(source, fault)))),
            Err(trouble) => troubles.push(trouble),
        }
    }
    if troubles.len() == sources().count() && troubles.len() == 1 {
        return troubles.pop().map_or(Ok(read), Err);
    }
    read.faults.extend(troubles.iter().map(|trouble| (Exit::from(trouble.cause()), trouble.in_one_line())));
    Ok(read)
}

/// A fault of a file in one line.
fn told(source: &str, fault: &FileFault) -> String {
    let source = if source == "-" { "stdin" } else { source };
    let comma = if source.is_empty() { "" } else { ", " };
    format!("weather::unreadable: {source}{comma}{}: {}; {}", fault.at, fault.says, fault.help)
}

fn as_json(outcome: &Outcome, faults: &[(Exit, String)], written: bool, now: DateTime<Utc>) -> String {
    let alerts = outcome.alerts.iter().map(|told| {
        let (verdict, why) = match &told.verdict {
            Verdict::Counts(_) => ("counts", None),
            Verdict::Shown(why) => ("shown", Some(why)),
            Verdict::PassedOver(why) => ("passed over", Some(why)),
        };
        json!({
            "id": told.id, "event": told.event, "sender": told.sender, "sent": told.sent, "sent_after_now": told.ahead,
            "severity": told.severity, "headline": told.headline, "on": told.on, "open_ended": told.open_ended,
            "shortened": told.shortened, "places": told.places[..], "unsure": told.unsure[..], "verdict": verdict, "why": why,
        })
    });
    let forecasts = outcome.forecasts.iter().map(|told| {
        json!({
            "place": told.place, "updated": told.updated, "age_minutes": told.age.map(|age| age.num_minutes()),
            "stale": told.stale, "outside": told.outside, "missing": told.missing, "until": told.until, "partly": told.partly,
        })
    });
    let eased =
        outcome.eased.iter().map(|eased| json!({ "place": eased.place, "on": eased.on, "says": easing(eased.by) }));
    let found = json!({
        "now": now, "entries": outcome.entries, "alerts": alerts.collect::<Value>(), "forecasts": forecasts.collect::<Value>(),
        "eased": eased.collect::<Value>(), "unmatched": outcome.unmatched, "written": written,
        "faults": faults.iter().map(|(_, says)| says).collect::<Vec<_>>(),
    });
    format!("{found:#}\n")
}
