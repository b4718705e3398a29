//! Which alerts count, from when to when, and at which places.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Duration, Utc};
use chrono_tz::Tz;
use yardless_book::Book;
use yardless_book::half_day::{HalfDay, Range};

use super::alert::{Alert, Ended, Info, Kind, Message, Status};
use super::area::{Area, Match};
use super::clock::{half_day, touched};
use super::events::{Effect, Table};
use super::others::Others;
use super::{Faults, FileFault, shown};

/// Most days that an alert is taken to hold.
const LONGEST: i64 = 60;

/// Why an alert of another region is passed over.
const ELSEWHERE: &str = "no place of the book lies in it";

/// What became of one alert.
#[derive(Clone, Debug, PartialEq)]
pub struct Ruling {
    /// The event's name.
    pub event: String,
    /// Its identifier.
    pub id: String,
    /// Who sent it.
    pub sender: String,
    /// When it was sent.
    pub sent: DateTime<Utc>,
    /// It was sent after now: a clock is wrong, or now is not when it is weighed.
    pub ahead: bool,
    /// As published.
    pub severity: String,
    /// One line for people.
    pub headline: Option<String>,
    /// The half-days from now on in which it holds, where it counts or is shown.
    pub on: Option<Range>,
    /// Its end is not given: it is taken to hold so long, until it is replaced.
    pub open_ended: bool,
    /// It is given for longer than is taken in: `on` is its first 60 days, counted from now where it has begun.
    pub shortened: bool,
    /// Places of the book that lie in it, by id.
    pub places: Arc<[String]>,
    /// Places of which that cannot be said: the alert names its area in a way that they give nothing for.
    pub unsure: Arc<[String]>,
    /// What became of it.
    pub verdict: Verdict,
}

impl Ruling {
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
    pub(super) events: Table,
}

/// An alert that counts: where by positions, when, and the row that says what it does.
pub(super) struct Holding {
    pub(super) places: Arc<[usize]>,
    pub(super) on: Range,
    pub(super) row: usize,
}

/// Lists of places that are met again and again, each kept once.
#[derive(Default)]
struct PlaceLists(BTreeMap<Arc<[usize]>, Arc<[String]>>);

impl PlaceLists {
    fn list(&mut self, book: &Book, positions: Vec<usize>) -> (Arc<[usize]>, Arc<[String]>) {
        if let Some((positions, ids)) = self.0.get_key_value(positions.as_slice()) {
            return (Arc::clone(positions), Arc::clone(ids));
        }
        let ids: Arc<[String]> = positions.iter().map(|place| book.places[*place].id.clone()).collect();
        let positions: Arc<[usize]> = positions.into();
        self.0.insert(Arc::clone(&positions), Arc::clone(&ids));
        (positions, ids)
    }
}

impl Court<'_> {
    /// What becomes of each, and how those hold that count, by their position.
    pub(super) fn judge(&self, alerts: &[Alert], faults: &mut Faults) -> (Vec<Ruling>, Vec<(usize, Holding)>) {
        let others = Others::of(alerts);
        let (mut kept, mut holdings) = (PlaceLists::default(), Vec::new());
        let judged = alerts.iter().enumerate().map(|(index, alert)| {
            let (message, info) = (&*alert.message, &alert.info);
            let nowhere: Arc<[String]> = kept.list(self.book, Vec::new()).1;
            let mut ruling = Ruling {
                event: shown(&info.event),
                id: shown(&message.id),
                sender: shown(&message.sender),
                sent: message.sent,
                ahead: message.sent > self.now,
                severity: shown(&info.severity),
                headline: info.headline.as_deref().map(shown),
                on: None,
                open_ended: false,
                shortened: false,
                places: Arc::clone(&nowhere),
                unsure: nowhere,
                verdict: Verdict::PassedOver(String::new()),
            };
            let dropped = not_meant(message).or_else(|| others.dropped(index)).or_else(|| over(info));
            ruling.verdict = match dropped {
                Some(why) => Verdict::PassedOver(why),
                None => match self.in_force(alert, &mut ruling, &mut kept, faults) {
                    Ok(holding) => {
                        let effect = self.events.rows[holding.row].effect;
                        holdings.push((index, holding));
                        Verdict::Counts(effect)
                    }
                    Err(verdict) => verdict,
                },
            };
            ruling
        });
        (judged.collect(), holdings)
    }

    fn in_force(
        &self,
        alert: &Alert,
        ruling: &mut Ruling,
        kept: &mut PlaceLists,
        faults: &mut Faults,
    ) -> Result<Holding, Verdict> {
        let info = &alert.info;
        let (from, to, open_ended) = span(info, alert.message.sent);
        // One that ends before it begins is not over as long as it may begin.
        if to.max(from) < self.now {
            return Err(Verdict::PassedOver(format!("over since {}", self.clock(to))));
        }
        let (mut inside, mut unsure) = (Vec::new(), Vec::new());
        for (position, place) in self.book.places.iter().enumerate() {
            match info.area.matches(place) {
                Match::In => inside.push(position),
                // A place that gives nothing at all is told once, not with every alert.
                Match::Unknown if place.at.is_some() || !place.zones.is_empty() => unsure.push(position),
                Match::Unknown | Match::Out => {}
            }
        }
        if inside.is_empty() && unsure.is_empty() {
            return Err(Verdict::PassedOver(ELSEWHERE.to_owned()));
        }
        let (places, ids) = kept.list(self.book, inside);
        (ruling.places, ruling.unsure) = (ids, kept.list(self.book, unsure).1);
        if to < from {
            let says = format!("it ends ({to}) before it begins ({from})");
            let at = format!("the alert `{}`", ruling.id);
            faults.push(|| FileFault::new(at, says.clone(), "fetch it again from its publisher"));
            return Err(Verdict::PassedOver(says));
        }
        // What began long ago and still holds goes on from now.
        let most = from.max(self.now) + Duration::days(LONGEST);
        let whole = touched(self.zone, from, to.min(most));
        let on = Range { first: whole.first.max(self.current()), last: whole.last };
        (ruling.on, ruling.open_ended, ruling.shortened) = (Some(on), open_ended, to > most);
        if places.is_empty() {
            return Err(Verdict::Shown(no_place(&info.area)));
        }
        match self.events.find(&info.event) {
            Some(row) if !self.events.rows[row].effect.is_nothing() => Ok(Holding { places, on, row }),
            Some(row) if self.events.rows[row].from_book => {
                Err(Verdict::Shown("the book's table gives it no effect".to_owned()))
            }
            Some(row) => Err(Verdict::Shown(self.events.rows[row].why.to_owned())),
            None if info.event.trim().to_lowercase().ends_with("watch") => {
                Err(Verdict::Shown("a watch stops nothing by itself: have another plan ready".to_owned()))
            }
            None => Err(Verdict::Shown("the table of events has no row for it".to_owned())),
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

/// Why it cannot be said of any place that it lies in an area.
fn no_place(area: &Area) -> String {
    match (area.is_empty(), area.systems.is_empty()) {
        (false, _) => "where it holds cannot be told".to_owned(),
        (true, true) => "it gives neither an outline nor codes of its area".to_owned(),
        (true, false) => format!(
            "its area is given by codes of {}, and no place is known by these: they are by UGC and SAME codes, and by `at`",
            area.systems.join(", ")
        ),
    }
}

/// Why an alert says of itself that it is over.
fn over(info: &Info) -> Option<String> {
    let word = match info.ended? {
        Ended::AllClear => "response AllClear",
        Ended::Past => "urgency Past",
    };
    Some(format!("it says that it is over ({word})"))
}

/// Why a message counts for nothing by its own words.
fn not_meant(alert: &Message) -> Option<String> {
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

/// From when to when an alert holds, and whether its end had to be assumed.
fn span(info: &Info, sent: DateTime<Utc>) -> (DateTime<Utc>, DateTime<Utc>, bool) {
    let from = info.onset.or(info.effective).unwrap_or(sent);
    let open = from + Duration::hours(24);
    match (info.ends, info.expires) {
        (Some(ends), _) => (from, ends, false),
        (None, Some(expires)) if expires >= from => (from, expires, false),
        // The message lapses before the hazard begins, or never: it holds until it is replaced.
        (None, expires) => (from, expires.map_or(open, |expires| expires.max(open)), true),
    }
}
