//! What published reports would change in the book, and what became of each of them.

use std::fmt::Write;

use chrono::{DateTime, Duration, Utc};
use chrono_tz::Tz;
use yardless_book::half_day::Range;
use yardless_book::{Book, Place, Report, RoadReport, Weather};
use yardless_weather::{Easing, Effect, EventEffect, Outcome, Ruling, Verdict};

use super::table::table;
use super::words::{count, day, half, list};

/// The caution under every sheet of reports.
const CAUTION: &str =
    "A forecast is not the road. What is not reported is not known, and not calm. Whoever drives decides.\n";

/// Most alerts that are listed of each sort.
const MOST_ROWS: usize = 40;

/// A file of alerts: where it came from, how many it has, when it was published where it says so.
pub struct AlertFile {
    /// The file or address as given.
    pub source: String,
    /// How many alerts it has.
    pub alerts: usize,
    /// When it was published.
    pub updated: Option<DateTime<Utc>>,
    /// Whether all of it could be read.
    pub whole: bool,
}

/// What is printed of an outcome.
pub struct ReportSheet<'a> {
    /// The book.
    pub book: &'a Book,
    /// The shop's time zone.
    pub zone: Tz,
    /// As of when.
    pub now: DateTime<Utc>,
    /// Where the alerts came from.
    pub files: &'a [AlertFile],
    /// What the reports mean.
    pub outcome: &'a Outcome,
    /// What was done with the entries, in a sentence.
    pub done: &'a str,
}

impl ReportSheet<'_> {
    /// The sheet.
    pub fn text(&self) -> String {
        let mut text = format!("Published reports, as of {}\n", self.clock(self.now));
        let files: Vec<[String; 2]> = self.files.iter().map(|file| self.file(file)).collect();
        text += &table(2, &files, [60, 0]);
        text += &table(2, &self.forecasts(), [60, 0]);
        text += "\nFor the book's weather\n";
        text += &self.entries();
        let eased = self.outcome.eased.iter();
        let eased: Vec<[String; 3]> =
            eased.map(|eased| [range(eased.on), self.name(&eased.place), easing(eased.by)]).collect();
        section(&mut text, "Less than the book says now: look twice", &table(2, &eased, [30, 24, 0]));
        for (title, wanted) in [("Alerts that count", 0), ("In force, and nothing is done", 1), ("Passed over", 2)] {
            let mut rulings: Vec<&Ruling> =
                self.outcome.alerts.iter().filter(|ruling| rank(&ruling.verdict) == wanted).collect();
            // Alerts of elsewhere last: a country's file has hundreds.
            rulings.sort_by_key(|ruling| ruling.elsewhere());
            let more = rulings.len().saturating_sub(MOST_ROWS);
            let rows: Vec<[String; 4]> = rulings.iter().take(MOST_ROWS).map(|ruling| self.alert(ruling)).collect();
            section(&mut text, title, &table(2, &rows, [28, 26, 20, 0]));
            if more > 0 {
                let _ = writeln!(text, "  and {more} more; --json lists them all");
            }
        }
        text += &self.unsure();
        let _ = write!(text, "\n{}\n{CAUTION}", self.done);
        text
    }

    /// Where an outcome leaves a place in doubt.
    fn unsure(&self) -> String {
        let unmatched = &self.outcome.unmatched;
        let mut rows: Vec<[String; 2]> = Vec::new();
        if !unmatched.is_empty() {
            rows.push([self.names(unmatched), "cannot be matched to any alert; give `at` or `zones`".to_owned()]);
        }
        let asked = |ruling: &&Ruling| !ruling.unsure.is_empty() && rank(&ruling.verdict) < 2;
        let all = self.outcome.alerts.iter().filter(asked).count() + rows.len();
        for ruling in self.outcome.alerts.iter().filter(asked).take(MOST_ROWS - rows.len()) {
            // Where a place gives both already, no remedy of ours helps.
            let lacks =
                |place: &Place| ruling.unsure.contains(&place.id) && (place.at.is_none() || place.zones.is_empty());
            let remedy = if self.book.places.iter().any(lacks) { ": give the place both `at` and `zones`" } else { "" };
            let says = format!(
                "may lie in: {}, {} (its area is given in another way{remedy})",
                ruling.event,
                ruling.on.map_or(String::new(), range)
            );
            rows.push([self.names(&ruling.unsure), says]);
        }
        let mut text = String::new();
        let more = all - rows.len();
        section(&mut text, "Not known", &table(2, &rows, [30, 0]));
        if more > 0 {
            let _ = writeln!(text, "  and {more} more; --json lists them all");
        }
        text
    }

    fn clock(&self, moment: DateTime<Utc>) -> String {
        moment.with_timezone(&self.zone).format("%a %-d %b %Y %H:%M").to_string()
    }

    fn file(&self, file: &AlertFile) -> [String; 2] {
        let alerts = count(file.alerts, "alert", "alerts");
        let when = file.updated.map_or("does not say as of when".to_owned(), |updated| {
            let old = self.now - updated;
            let stale = self.book.reports.as_ref().map_or(12.0, |reports| reports.stale_hours);
            let late = match old.num_minutes() as f64 {
                ..0.0 => "; that is after now: is a clock wrong?",
                minutes if minutes > stale * 60.0 => "; newer ones may be in force",
                _ => "",
            };
            format!("published {}, {} old{late}", self.clock(updated), age(old))
        });
        let broken = if file.whole { "" } else { "NOT READ WHOLE: " };
        [file.source.clone(), format!("{broken}{alerts}, {when}")]
    }

    fn forecasts(&self) -> Vec<[String; 2]> {
        let told = self.outcome.forecasts.iter().map(|told| {
            let mut says = match (told.updated, told.age) {
                (Some(updated), Some(old)) => format!("made {}, {} old", self.clock(updated), age(old)),
                _ => "does not say when it was made".to_owned(),
            };
            if told.outside {
                says += "; THE PLACE LIES OUTSIDE ITS SQUARE: is it the right one?";
            }
            if told.stale {
                says += ": too old, so nothing in it is used";
            } else {
                says += &told
                    .until
                    .map_or("; says nothing of what is to come".to_owned(), |until| format!("; up to {}", half(until)));
                if !told.missing.is_empty() {
                    let _ = write!(says, "; not known: {}", told.missing.join(", "));
                }
                if !told.partly.is_empty() {
                    let halves: Vec<String> = told.partly.iter().map(|at| half(*at)).collect();
                    let _ = write!(says, "; known in part only, may be worse: {}", list(&halves));
                }
            }
            [format!("forecast for {}", self.name(&told.place)), says]
        });
        told.collect()
    }

    fn entries(&self) -> String {
        if self.outcome.entries.is_empty() {
            return "  nothing that it does not say already\n".to_owned();
        }
        let rows = self.outcome.entries.iter().map(|entry| {
            let places = entry.at.as_deref().map_or(String::new(), |at| self.names(at));
            [range(entry.on.range), places, says(entry)]
        });
        table(2, &rows.collect::<Vec<_>>(), [30, 34, 0]) + &self.no_longer_expected()
    }

    /// Up to the last report no road is expected clear (H2): what new entries take from those that were.
    fn no_longer_expected(&self) -> String {
        let mut text = String::new();
        for place in &self.book.places {
            let road = self.book.roads.iter().find(|road| Some(&road.id) == place.road.as_ref());
            let last = |entries: &[Weather]| {
                let here = entries.iter().filter(|entry| entry.at.as_ref().is_none_or(|at| at.contains(&place.id)));
                here.filter_map(|entry| entry.when().last()).max()
            };
            let (was, will) = (last(&self.book.weather), last(&self.outcome.entries));
            if let (Some(road), Some(will)) = (road.filter(|road| !road.expect_clear.is_empty()), will)
                && was.is_none_or(|was| was.date() < will.date())
            {
                let name = road.name.as_ref().unwrap_or(&road.id);
                let says = format!(
                    "{}: up to {} {name} is open to trailers in winter only where it is reported clear",
                    self.name(&place.id),
                    day(will)
                );
                text += &table(2, &[[says]], [0]);
            }
        }
        text
    }

    fn alert(&self, ruling: &Ruling) -> [String; 4] {
        let on = ruling.on.map_or(String::new(), |on| range(on) + end(ruling));
        let why = match &ruling.verdict {
            Verdict::Counts(effect) => effect_words(effect),
            Verdict::Shown(why) | Verdict::PassedOver(why) => why.clone(),
        };
        let event = if ruling.event.is_empty() { "(no event)".to_owned() } else { ruling.event.clone() };
        [event, on, self.names(&ruling.places), format!("{why}{} ({})", ahead(ruling), ruling.id)]
    }

    fn name(&self, id: &str) -> String {
        let place = self.book.places.iter().find(|place| place.id == id);
        place.and_then(|place| place.name.clone()).unwrap_or_else(|| id.to_owned())
    }
    fn names(&self, ids: &[String]) -> String {
        list(&ids.iter().map(|id| self.name(id)).collect::<Vec<_>>())
    }
}

/// What there is to say of the end of an alert, after its half-days.
pub fn end(ruling: &Ruling) -> &'static str {
    match (ruling.shortened, ruling.open_ended) {
        (true, _) => ", and longer: 60 days of it are taken, bring it in again by then",
        (false, true) => ", or until it is replaced (no end is given)",
        (false, false) => "",
    }
}

/// What there is to say of an alert that comes from the future, after what becomes of it.
pub fn ahead(ruling: &Ruling) -> &'static str {
    if ruling.ahead { "; sent after now: is a clock wrong?" } else { "" }
}

fn section(text: &mut String, title: &str, rows: &str) {
    if !rows.is_empty() {
        let _ = write!(text, "\n{title}\n{rows}");
    }
}

/// The table of events in effect.
pub fn event_table(rows: &[EventEffect]) -> String {
    let mut text = "What published events do: the shop's own policy, no published rule\n".to_owned();
    let rows: Vec<[String; 4]> = rows
        .iter()
        .map(|row| {
            let from = if row.from_book { "book" } else { "default" };
            [row.event.clone(), from.to_owned(), effect_words(&row.effect), row.why.to_owned()]
        })
        .collect();
    text += &table(2, &rows, [32, 7, 34, 0]);
    text += "An event without a row is shown and does nothing. A row of your own goes under `reports`, `events` in the book.\n";
    text
}

fn rank(verdict: &Verdict) -> u8 {
    match verdict {
        Verdict::Counts(_) => 0,
        Verdict::Shown(_) => 1,
        Verdict::PassedOver(_) => 2,
    }
}

fn effect_words(effect: &Effect) -> String {
    let yes = |said: bool| if said { Report::Said(true) } else { Report::Unsaid };
    let words = words(
        yes(effect.storm),
        yes(effect.no_travel),
        if effect.covered { Report::Said(RoadReport::Covered) } else { Report::Unsaid },
        effect.gust_mph.map_or(Report::Unsaid, Report::Said),
        effect.low_f.map_or(Report::Unsaid, Report::Said),
        Report::Unsaid,
        yes(effect.rain),
    );
    if words.is_empty() { "shown only".to_owned() } else { words }
}

fn says(entry: &Weather) -> String {
    words(entry.storm, entry.no_travel, entry.roads, entry.gust_mph, entry.low_f, entry.high_f, entry.rain)
}

fn words(
    storm: Report<bool>,
    no_travel: Report<bool>,
    roads: Report<RoadReport>,
    gust: Report<f64>,
    low: Report<f64>,
    high: Report<f64>,
    rain: Report<bool>,
) -> String {
    let mut all = Vec::new();
    for (said, yes, no) in [(storm, "storm", "no storm"), (no_travel, "no travel", "travel"), (rain, "rain", "no rain")]
    {
        match said {
            Report::Said(true) => all.push(yes.to_owned()),
            Report::Said(false) => all.push(no.to_owned()),
            _ => {}
        }
    }
    match roads {
        Report::Said(RoadReport::Covered) => all.push("roads covered".to_owned()),
        Report::Said(RoadReport::Clear) => all.push("roads clear".to_owned()),
        _ => {}
    }
    if let Report::Said(mph) = gust {
        all.push(format!("gust {mph} mph"));
    }
    if let Report::Said(low) = low {
        all.push(format!("low {low} °F"));
    }
    if let Report::Said(high) = high {
        all.push(format!("high {high} °F"));
    }
    all.join(", ")
}

/// `Tue 8 Dec`, `Tue 8 Dec pm`, `Tue 8 Dec pm to Wed 9 Dec am`.
fn range(on: Range) -> String {
    match (on.first.is_pm(), on.last.is_pm()) {
        _ if on.first == on.last => half(on.first),
        (false, true) if on.first.date() == on.last.date() => day(on.first),
        (false, true) => format!("{} to {}", day(on.first), day(on.last)),
        _ => format!("{} to {}", half(on.first), half(on.last)),
    }
}

/// `40 min`, `5 h`, `3 days`.
fn age(old: Duration) -> String {
    match old.num_minutes() {
        ..0 => "0 min".to_owned(),
        minutes @ 0..120 => format!("{minutes} min"),
        minutes @ 120..2880 => format!("{} h", minutes / 60),
        minutes => format!("{} days", minutes / 1440),
    }
}

/// What was said, and what is said now: `gust 58 -> 40 mph`.
pub fn easing(by: Easing) -> String {
    match by {
        Easing::Gust(was, is) => format!("gust {was} -> {is} mph"),
        Easing::Low(was, is) => format!("low {was} -> {is} °F"),
        Easing::High(was, is) => format!("high {was} -> {is} °F"),
        Easing::Rain => "rain -> no rain".to_owned(),
    }
}
