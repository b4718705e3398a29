//! What crews tell their owner beside their steps: each waits until the owner has taken it over.

use chrono::{DateTime, Utc};
use rusqlite::{Row, params};
use yardless_edit::trouble::Trouble;

use super::{Store, now};

/// Most that wait; of more nothing is taken until the owner has seen some.
pub const MOST_WAITING: usize = 200;

/// What is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The crew, by its id.
    pub crew: String,
    /// What it is about: a word of ours.
    pub about: String,
    /// The unit that it is about, by its id; empty: none.
    pub unit: String,
    /// The place, by its id; empty: none.
    pub place: String,
    /// What was typed.
    pub says: String,
}

/// The same as it waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waiting {
    /// Its number.
    pub id: i64,
    /// When it was told.
    pub at: DateTime<Utc>,
    /// By whom.
    pub who: String,
    /// What.
    pub told: Told,
}

impl Store {
    /// Keeps what is told; `None`: too much waits already. A form that is sent twice is taken once.
    pub fn tell(&self, who: &str, told: &Told, form: Option<&str>) -> Result<Option<()>, Trouble> {
        let waiting = "SELECT count(*) FROM told WHERE taken IS NULL";
        let writer = self.writer();
        let many: i64 = writer.query_row(waiting, [], |row| row.get(0)).map_err(|e| self.failed(&e))?;
        if many >= MOST_WAITING as i64 {
            return Ok(None);
        }
        let done = writer.execute(
            "INSERT OR IGNORE INTO told (at, who, crew, about, unit, place, says, form) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![now().to_rfc3339(), who, told.crew, told.about, told.unit, told.place, told.says, form],
        );
        done.map(|_| Some(())).map_err(|e| self.failed(&e))
    }

    /// What waits, of one crew or of all, the first told first.
    pub fn waiting(&self, crew: Option<&str>) -> Result<Vec<Waiting>, Trouble> {
        let one = |row: &Row| {
            let at: String = row.get(1)?;
            Ok(Waiting {
                id: row.get(0)?,
                at: at.parse().unwrap_or_else(|_| now()),
                who: row.get(2)?,
                told: Told {
                    crew: row.get(3)?,
                    about: row.get(4)?,
                    unit: row.get(5)?,
                    place: row.get(6)?,
                    says: row.get(7)?,
                },
            })
        };
        let reader = self.reader();
        let all = reader
            .prepare_cached(
                "SELECT id, at, who, crew, about, unit, place, says FROM told
                 WHERE taken IS NULL AND (?1 IS NULL OR crew = ?1) ORDER BY id LIMIT 200",
            )
            .and_then(|mut query| query.query_map([crew], one)?.collect());
        all.map_err(|e| self.failed(&e))
    }

    /// The owner has taken it over: whether it waited.
    pub fn take_over(&self, id: i64, who: &str) -> Result<bool, Trouble> {
        let sql = "UPDATE told SET taken = ?2, taker = ?3 WHERE id = ?1 AND taken IS NULL";
        let done = self.writer().execute(sql, params![id, now().to_rfc3339(), who]);
        done.map(|rows| rows == 1).map_err(|e| self.failed(&e))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_waits_until_it_is_taken_over_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let told = |crew: &str, says: &str| Told {
            crew: crew.to_owned(),
            about: "else".to_owned(),
            unit: String::new(),
            place: String::new(),
            says: says.to_owned(),
        };
        let tell = |crew: &str, says: &str, form: &str| store.tell("Ann", &told(crew, says), Some(form)).expect("kept");
        assert_eq!((tell("north", "one", "a"), tell("north", "one", "a")), (Some(()), Some(())));
        tell("south", "two", "b");
        let says = |crew: Option<&str>| -> Vec<String> {
            store.waiting(crew).expect("read").into_iter().map(|of| of.told.says).collect()
        };
        assert_eq!(
            (says(None), says(Some("south"))),
            (vec!["one".to_owned(), "two".to_owned()], vec!["two".to_owned()])
        );
        let first = store.waiting(None).expect("read")[0].id;
        assert!(store.take_over(first, "Rae").expect("taken") && !store.take_over(first, "Rae").expect("not again"));
        assert_eq!(says(None), ["two"]);
        for n in 0..MOST_WAITING {
            tell("north", "more", &n.to_string());
        }
        assert_eq!((tell("north", "too much", "z"), says(None).len()), (None, MOST_WAITING));
    }
}
