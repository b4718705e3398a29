//! Where units stand, and when units, trucks and crews are out, away and back.

use chrono::Days;
use serde_json::{Value, json};
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, Path, When};

use super::step;
use super::subject::Subject;
use crate::Changes;
use crate::changes::BookChange;
use crate::trouble::words::near;
use crate::trouble::{OfName, OfNote, Trouble};
use crate::{Edit, value};

/// `UNIT at PLACE`.
pub fn stands(book: &Book, unit: usize, place: &str) -> Result<Changes, Trouble> {
    let place = place_id(book, place)?;
    let unit_is = &book.equipment[unit];
    let mut changes = Changes::default();
    step::set_place(&mut changes, unit, &unit_is.id, &unit_is.place, place);
    Ok(changes)
}

/// The id of a place that is named by its id or its name.
pub fn place_id<'b>(book: &'b Book, word: &str) -> Result<&'b str, Trouble> {
    let same = |name: &str| name.to_lowercase() == word.to_lowercase();
    let by_id = book.places.iter().find(|place| place.id == word);
    let found =
        by_id.or_else(|| book.places.iter().find(|place| same(&place.id) || place.name.as_deref().is_some_and(same)));
    found.map(|place| place.id.as_str()).ok_or_else(|| {
        let names = book.places.iter().flat_map(|place| [Some(place.id.as_str()), place.name.as_deref()]).flatten();
        let known = book.places.iter().map(|place| place.id.clone()).collect();
        OfName::Place { word: word.to_owned(), near: near(word, names), known }.into()
    })
}

/// The ranges in which something is out or away, as the book lists them.
struct Absence<'b> {
    id: &'b str,
    /// `out` or `away`.
    word: &'static str,
    list: Path,
    /// Each range, with the people of a crew who are away.
    ranges: Vec<(When, Option<u32>)>,
}

fn absence(book: &Book, subject: Subject) -> Option<Absence<'_>> {
    let top = |list: &str, n: usize| Path::default().field(list).index(n);
    let out = |ranges: &[When]| ranges.iter().map(|range| (*range, None)).collect();
    Some(match subject {
        Subject::Unit(n) => {
            let unit = &book.equipment[n];
            Absence { id: &unit.id, word: "out", list: top("equipment", n).field("out"), ranges: out(&unit.out) }
        }
        Subject::Truck(n) => {
            let truck = &book.trucks[n];
            Absence { id: &truck.id, word: "out", list: top("trucks", n).field("out"), ranges: out(&truck.out) }
        }
        Subject::Crew(n) => {
            let crew = &book.crews[n];
            let ranges = crew.away.iter().map(|away| (away.when(), away.people)).collect();
            Absence { id: &crew.id, word: "away", list: top("crews", n).field("away"), ranges }
        }
        Subject::Step(_) | Subject::Thing(_) => return None,
    })
}

/// `UNIT out RANGE`, `TRUCK out RANGE`, `CREW away RANGE`.
pub fn gone(book: &Book, subject: Subject, range: Range, people: Option<u32>) -> Result<Changes, Trouble> {
    let mut changes = Changes::default();
    let Some(Absence { id, list, ranges, .. }) = absence(book, subject) else { return Ok(changes) };
    if let (Subject::Crew(n), Some(away)) = (subject, people) {
        let all = book.crews[n].people;
        if away == 0 || away > all {
            return Err(OfNote::People { crew: id.to_owned(), away, all }.into());
        }
    }
    let covered = ranges.iter().any(|(known, of)| {
        let whole = known.whole().is_some_and(|known| known.first <= range.first && range.last <= known.last);
        whole && (of.is_none() || of.is_some() && *of == people)
    });
    if !covered {
        let entry = match (subject, people) {
            (Subject::Crew(_), Some(people)) => json!({ "on": value(&range), "people": people }),
            (Subject::Crew(_), None) => json!({ "on": value(&range) }),
            _ => value(&range),
        };
        changes.edits.push(Edit::Append(list, entry));
        let crew = matches!(subject, Subject::Crew(_));
        changes.tell(BookChange::Gone { of: id.to_owned(), crew, was: ranges, is: (range.into(), people) });
    }
    Ok(changes)
}

/// `UNIT back`, also of trucks and crews: from that half-day on.
pub fn back(book: &Book, subject: Subject, from: HalfDay) -> Result<Changes, Trouble> {
    let mut changes = Changes::default();
    let Some(Absence { id, word, list, ranges }) = absence(book, subject) else { return Ok(changes) };
    let mut ended: Vec<usize> = (0..ranges.len()).filter(|n| ranges[*n].0.holds(from)).collect();
    if ended.is_empty() {
        // Back before it went: the next range is off.
        let ahead = |n: &usize| ranges[*n].0.range.first > from;
        ended.extend((0..ranges.len()).filter(ahead).min_by_key(|n| ranges[*n].0.range.first));
    }
    if ended.is_empty() {
        let known = ranges.iter().map(|(range, _)| *range).collect();
        return Err(OfNote::NotOut { id: id.to_owned(), word, from, known }.into());
    }
    let crew = matches!(subject, Subject::Crew(_));
    // From the last one on, so that positions before it stay.
    let mut left = ranges.len();
    for n in ended.into_iter().rev() {
        let was = ranges[n];
        let when = was.0;
        let first = when.range.first;
        let shorter = (first < from).then(|| Range { first, last: before(from) });
        let is = shorter.and_then(|shorter| when.within(shorter));
        if let Some(shorter) = shorter {
            let at = list.index(n);
            let mut at = if crew { at.field("on") } else { at };
            if when.is_group() {
                at = at.field("on");
            }
            changes.edits.push(Edit::Set(at, Value::from(shorter.to_string())));
        } else {
            changes.edits.push(Edit::Remove(list.index(n)));
            left -= 1;
        }
        changes.tell(BookChange::Back { of: id.to_owned(), crew, was, is, from });
    }
    if left == 0 {
        changes.edits.push(Edit::Remove(list));
    }
    Ok(changes)
}

/// The half-day after.
pub fn after(half_day: HalfDay) -> HalfDay {
    let date = half_day.date();
    if half_day.is_pm() { HalfDay::am(date + Days::new(1)) } else { HalfDay::pm(date) }
}

/// The half-day before.
pub fn before(half_day: HalfDay) -> HalfDay {
    let date = half_day.date();
    if half_day.is_pm() { HalfDay::am(date) } else { HalfDay::pm(date - Days::new(1)) }
}
