//! What alerts are to each other: which stands there twice, which is replaced or taken back. Looked up by id, each message
//! once, so that many alerts take no longer than they must.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use super::alert::{Alert, Info, Kind, Message, Status};
use super::shown;

/// All alerts beside each other.
pub(super) struct Others<'a> {
    alerts: &'a [Alert],
    /// Whether an alert stands there already, by its position.
    again: Vec<bool>,
    /// The latest message that replaces or takes back an id: of a sender, of no sender said.
    by: BTreeMap<(&'a str, Option<&'a str>), &'a Message>,
    /// The same, whoever the sender.
    by_any: BTreeMap<&'a str, &'a Message>,
}

impl<'a> Others<'a> {
    pub(super) fn of(alerts: &'a [Alert]) -> Self {
        let mut messages: Vec<&Message> = Vec::new();
        // The message of each alert, by its position among the messages; those of one message stand side by side.
        let mut of: Vec<usize> = Vec::with_capacity(alerts.len());
        for (index, alert) in alerts.iter().enumerate() {
            if index == 0 || !Arc::ptr_eq(&alerts[index - 1].message, &alert.message) {
                messages.push(&alert.message);
            }
            of.push(messages.len() - 1);
        }
        let first = firsts(&messages, |message| fingerprint(|hasher| message.hash(hasher)));
        let said: Vec<(usize, &Info)> = of.iter().zip(alerts).map(|(at, alert)| (first[*at], &alert.info)).collect();
        let again = firsts(&said, |(message, info)| {
            fingerprint(|hasher| {
                message.hash(hasher);
                // Numbers with a point have no hash of their own.
                let _ = write!(Into(hasher), "{info:?}");
            })
        });
        let again = again.into_iter().enumerate().map(|(index, first)| first < index).collect();
        let mut others = Self { alerts, again, by: BTreeMap::new(), by_any: BTreeMap::new() };
        // A test takes nothing back, and no message itself.
        let takes = |message: &&&Message| {
            message.status == Status::Actual && matches!(message.kind, Kind::Update | Kind::Cancel)
        };
        for message in messages.iter().filter(takes) {
            for reference in message.references.iter().filter(|reference| reference.id != message.id) {
                latest(&mut others.by, (&reference.id, reference.sender.as_deref()), message);
                latest(&mut others.by_any, &reference.id, message);
            }
        }
        others
    }

    /// Why an alert is no longer in force, whatever order they come in.
    pub(super) fn dropped(&self, index: usize) -> Option<String> {
        if self.again[index] {
            return Some("the same alert is there already".to_owned());
        }
        let message = &self.alerts[index].message;
        let id = message.id.as_str();
        let found = if message.sender.is_empty() {
            self.by_any.get(id).into_iter().chain(None)
        } else {
            self.by.get(&(id, None)).into_iter().chain(self.by.get(&(id, Some(message.sender.as_str()))))
        };
        // No message takes back what was sent after it.
        let by = found.max_by_key(|by| (by.sent, &by.id)).filter(|by| by.sent >= message.sent)?;
        let how = if by.kind == Kind::Cancel { "taken back by" } else { "replaced by" };
        Some(format!("{how} {}", shown(&by.id)))
    }
}

fn latest<'a, K: Ord>(by: &mut BTreeMap<K, &'a Message>, key: K, message: &'a Message) {
    let kept = by.entry(key).or_insert(message);
    if (message.sent, &message.id) > (kept.sent, &kept.id) {
        *kept = message;
    }
}

/// For each of them the position of the first that is equal, compared only where the fingerprints are.
fn firsts<T: PartialEq>(all: &[T], fingerprint: impl Fn(&T) -> u64) -> Vec<usize> {
    let mut seen: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
    let first = all.iter().enumerate().map(|(index, one)| {
        let alike = seen.entry(fingerprint(one)).or_default();
        let first = alike.iter().find(|other| all[**other] == *one).copied();
        first.unwrap_or_else(|| {
            alike.push(index);
            index
        })
    });
    first.collect()
}

fn fingerprint(feed: impl FnOnce(&mut DefaultHasher)) -> u64 {
    let mut hasher = DefaultHasher::new();
    feed(&mut hasher);
    hasher.finish()
}

/// Writes into a hasher.
struct Into<'h>(&'h mut DefaultHasher);

impl Write for Into<'_> {
    fn write_str(&mut self, text: &str) -> std::fmt::Result {
        self.0.write(text.as_bytes());
        Ok(())
    }
}
