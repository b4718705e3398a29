//! Which alerts count, from when to when, and at which places.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use chrono_tz::Tz;

use super::alert::{Alert, Kind, Reference, Status};
use super::area::Match;
use super::clock::{half_day, touched};
use super::events::{self, Effect, Row};
use super::{Fault, shown};
use crate::book::Book;
use crate::half_day::{HalfDay, Range};

/// Longest that an alert may last, in days; longer is a slip of the pen.
const LONGEST: i64 = 60;

/// Why an alert of another region is passed over.
const ELSEWHERE: &str = "no place of the book lies in it";

/// What became of one alert.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// The event's name.
    pub event: String,
    /// Its identifier.
    pub id: String,
    /// Who sent it.
    pub sender: String,
    /// When it was sent.
    pub sent: DateTime<Utc>,
    /// As published.
    pub severity: String,
    /// One line for people.
    pub headline: Option<String>,
    /// The half-days from now on in which it holds, where it counts or is shown.
    pub on: Option<Range>,
    /// Its end is not given: it is taken to hold so long, until it is replaced.
    pub open_ended: bool,
    /// Places of the book that lie in it, by id.
    pub places: Vec<String>,
    /// Places of which that cannot be said: the alert names its area in a way that they give nothing for.
    pub unsure: Vec<String>,
    /// What became of it.
    pub verdict: Verdict,
}

impl Told {
    /// Whether it is passed over as no place of the book lies in it.
    pub fn elsewhere(&self) -> bool {
        matches!(&self.verdict, Verdict::PassedOver(why) if why == ELSEWHERE)
    }
}

/// What becomes of an alert.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// It counts: this is what it does.
    Counts(Effect),
    /// It is in force and does nothing by the table; the reason.
    Shown(String),
    /// It is not in force here; the reason.
    PassedOver(String),
}

/// Judges alerts one by one, in their order.
pub(super) struct Court<'b> {
    pub(super) book: &'b Book,
    pub(super) zone: Tz,
    pub(super) now: DateTime<Utc>,
    pub(super) rows: Vec<Row>,
}

impl Court<'_> {
    pub(super) fn judge(&self, alerts: &[Alert], faults: &mut Vec<Fault>) -> Vec<Told> {
        let others = Others::of(alerts);
        let judged = alerts.iter().enumerate().map(|(index, alert)| {
            let mut told = Told {
                event: shown(&alert.event),
                id: shown(&alert.id),
                sender: shown(&alert.sender),
                sent: alert.sent,
                severity: shown(&alert.severity),
                headline: alert.headline.as_deref().map(shown),
                on: None,
                open_ended: false,
                places: Vec::new(),
                unsure: Vec::new(),
                verdict: Verdict::PassedOver(String::new()),
            };
            let dropped = not_meant(alert).or_else(|| others.dropped(index));
            told.verdict = match dropped {
                Some(why) => Verdict::PassedOver(why),
                None => self.in_force(alert, &mut told, faults),
            };
            told
        });
        judged.collect()
    }

    fn in_force(&self, alert: &Alert, told: &mut Told, faults: &mut Vec<Fault>) -> Verdict {
        let (from, to, open_ended) = match span(alert) {
            Ok(span) => span,
            Err(says) => {
                let at = format!("the alert `{}`", shown(&alert.id));
                faults.push(Fault::new(at, says.clone(), "fetch it again from its publisher"));
                return Verdict::PassedOver(says);
            }
        };
        if to < self.now {
            return Verdict::PassedOver(format!("over since {}", self.clock(to)));
        }
        for place in &self.book.places {
            match alert.area.matches(place) {
                Match::In => told.places.push(place.id.clone()),
                // A place that gives nothing at all is told once, not with every alert.
                Match::Unknown if place.at.is_some() || !place.zones.is_empty() => told.unsure.push(place.id.clone()),
                Match::Unknown | Match::Out => {}
            }
        }
        if told.places.is_empty() && told.unsure.is_empty() {
            return Verdict::PassedOver(ELSEWHERE.to_owned());
        }
        let whole = touched(self.zone, from, to);
        let on = Range { first: whole.first.max(self.current()), last: whole.last };
        (told.on, told.open_ended) = (Some(on), open_ended);
        if told.places.is_empty() {
            let why = if alert.area.is_empty() { "it names no area" } else { "where it holds cannot be told" };
            return Verdict::Shown(why.to_owned());
        }
        match events::find(&self.rows, &alert.event) {
            Some(row) if !row.effect.is_nothing() => Verdict::Counts(row.effect),
            Some(row) if row.from_book => Verdict::Shown("the book's table gives it no effect".to_owned()),
            Some(row) => Verdict::Shown(row.why.to_owned()),
            None if alert.event.trim().to_lowercase().ends_with("watch") => {
                Verdict::Shown("a watch stops nothing by itself: have another plan ready".to_owned())
            }
            None => Verdict::Shown("the table of events has no row for it".to_owned()),
        }
    }

    /// The half-day of now.
    pub(super) fn current(&self) -> HalfDay {
        half_day(self.zone, self.now)
    }

    /// A moment on the shop's clock.
    pub(super) fn clock(&self, moment: DateTime<Utc>) -> String {
        moment.with_timezone(&self.zone).format("%Y-%m-%d %H:%M").to_string()
    }
}

/// Why a message counts for nothing by its own words.
fn not_meant(alert: &Alert) -> Option<String> {
    let status = match alert.status {
        Status::Actual => None,
        Status::Exercise => Some("it is part of an exercise (status Exercise)"),
        Status::System => Some("it is meant for the network alone (status System)"),
        Status::Test => Some("it is a test (status Test)"),
        Status::Draft => Some("it is not published yet (status Draft)"),
    };
    let kind = match alert.kind {
        Kind::Alert | Kind::Update => None,
        Kind::Cancel => Some("it takes other alerts back"),
        Kind::Ack => Some("it is a receipt (Ack)"),
        Kind::Error => Some("it says that a message was refused (Error)"),
    };
    status.or(kind).map(str::to_owned)
}

/// What alerts are to each other; looked up by id, so that many alerts take no longer than they must.
struct Others<'a> {
    alerts: &'a [Alert],
    /// Alerts of an id, by their position.
    same: BTreeMap<&'a str, Vec<usize>>,
    /// Who replaces or takes back an id.
    by: BTreeMap<&'a str, Vec<(&'a Alert, &'a Reference)>>,
}

impl<'a> Others<'a> {
    fn of(alerts: &'a [Alert]) -> Self {
        let mut others = Self { alerts, same: BTreeMap::new(), by: BTreeMap::new() };
        for (index, alert) in alerts.iter().enumerate() {
            others.same.entry(alert.id.as_str()).or_default().push(index);
            // A test takes nothing back.
            if alert.status == Status::Actual && matches!(alert.kind, Kind::Update | Kind::Cancel) {
                for reference in &alert.references {
                    others.by.entry(reference.id.as_str()).or_default().push((alert, reference));
                }
            }
        }
        others
    }

    /// Why an alert is no longer in force, whatever order they come in.
    fn dropped(&self, index: usize) -> Option<String> {
        let alert = &self.alerts[index];
        let same = self.same.get(alert.id.as_str()).into_iter().flatten();
        if same.take_while(|other| **other < index).any(|other| self.alerts[*other] == *alert) {
            return Some("the same alert is there already".to_owned());
        }
        let (by, _) = self.by.get(alert.id.as_str())?.iter().find(|(later, reference)| {
            let sender = reference.sender.as_ref();
            // No message takes back itself, or what was sent after it.
            later.id != alert.id
                && later.sent >= alert.sent
                && sender.is_none_or(|sender| alert.sender.is_empty() || *sender == alert.sender)
        })?;
        let how = if by.kind == Kind::Cancel { "taken back by" } else { "replaced by" };
        Some(format!("{how} {}", shown(&by.id)))
    }
}

/// From when to when an alert holds, and whether its end had to be assumed.
fn span(alert: &Alert) -> Result<(DateTime<Utc>, DateTime<Utc>, bool), String> {
    let from = alert.onset.or(alert.effective).unwrap_or(alert.sent);
    let open = from + Duration::hours(24);
    let (to, open_ended) = match (alert.ends, alert.expires) {
        (Some(ends), _) => (ends, false),
        (None, Some(expires)) if expires >= from => (expires, false),
        // The message lapses before the hazard begins, or never: it holds until it is replaced.
        (None, expires) => (expires.map_or(open, |expires| expires.max(open)), true),
    };
    if to < from {
        return Err(format!("it ends ({to}) before it begins ({from})"));
    }
    if to - from > Duration::days(LONGEST) {
        return Err(format!("it lasts from {from} to {to}, more than {LONGEST} days"));
    }
    Ok((from, to, open_ended))
}
