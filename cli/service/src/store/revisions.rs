//! Books and plans as revisions: who kept which text, when, and what changed.

use chrono::{DateTime, Utc};
use rusqlite::{OptionalExtension, Row, Transaction, TransactionBehavior, named_params, params};
use yardless_edit::trouble::Trouble;

use super::{Store, now};

/// What is kept in revisions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The book.
    Book,
    /// The plan given out.
    Plan,
}

impl Kind {
    /// Its name, as stored and said.
    pub fn name(self) -> &'static str {
        match self {
            Self::Book => "book",
            Self::Plan => "plan",
        }
    }
}

/// One state that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Revision {
    /// Its number, from 1.
    pub number: i64,
    /// When it was kept.
    pub at: DateTime<Utc>,
    /// Who kept it.
    pub who: String,
    /// What changed, in a sentence.
    pub what: String,
}

/// A text that is to be kept.
#[derive(Clone, Copy, Debug)]
pub struct NewText<'a> {
    /// The revision that it was made from; `None`: there is none yet.
    pub made_from: Option<i64>,
    /// What changes, in a sentence.
    pub what: &'a str,
    /// It.
    pub text: &'a str,
}

/// What became of a text that was to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Added {
    /// It is the latest revision now.
    Kept(Revision),
    /// Somebody kept another one meanwhile; nothing was written.
    Stale,
    /// The same form was kept before; nothing was written again.
    Twice,
}

impl Store {
    /// The number of the latest revision; 0 before the first.
    pub fn number(&self, kind: Kind) -> Result<i64, Trouble> {
        self.reader()
            .prepare_cached("SELECT ifnull(max(number), 0) FROM revision WHERE kind = ?1")
            .and_then(|mut query| query.query_row([kind.name()], |row| row.get(0)))
            .map_err(|e| self.failed(&e))
    }

    /// The latest revision and its text.
    pub fn latest(&self, kind: Kind) -> Result<Option<(Revision, String)>, Trouble> {
        self.one(
            "SELECT number, at, who, what, text FROM revision WHERE kind = ?1 AND (?2 IS NULL OR number = ?2)
             ORDER BY number DESC LIMIT 1",
            kind,
            None,
        )
    }

    /// A revision by its number, and its text.
    pub fn revision(&self, kind: Kind, number: i64) -> Result<Option<(Revision, String)>, Trouble> {
        self.one("SELECT number, at, who, what, text FROM revision WHERE kind = ?1 AND number = ?2", kind, Some(number))
    }

    fn one(&self, query: &str, kind: Kind, number: Option<i64>) -> Result<Option<(Revision, String)>, Trouble> {
        self.reader()
            .prepare_cached(query)
            .and_then(|mut query| {
                query.query_row(params![kind.name(), number], |row| Ok((revision(row)?, row.get("text")?))).optional()
            })
            .map_err(|e| self.failed(&e))
    }

    /// Up to so many revisions before a number (`None`: the latest), the last one first.
    pub fn revisions(&self, kind: Kind, before: Option<i64>, most: usize) -> Result<Vec<Revision>, Trouble> {
        self.reader()
            .prepare_cached(
                "SELECT number, at, who, what FROM revision WHERE kind = ?1 AND (?2 IS NULL OR number < ?2)
                 ORDER BY number DESC LIMIT ?3",
            )
            .and_then(|mut query| query.query_map(params![kind.name(), before, most as i64], revision)?.collect())
            .map_err(|e| self.failed(&e))
    }

    /// Keeps a text as the next revision, if the latest is still the one it was made from (`None`: there is none yet).
    /// `form`: what names the form it came with, so that it is taken once however often it is sent.
    pub fn add(
        &self,
        kind: Kind,
        made_from: Option<i64>,
        who: &str,
        what: &str,
        text: &str,
        form: Option<&str>,
    ) -> Result<Added, Trouble> {
        let new = NewText { made_from, what, text };
        self.whole(form, |whole| {
            let Some(number) = next(whole, kind, new)? else { return Ok(Added::Stale) };
            Ok(Added::Kept(put(whole, kind, number, (who, new), (form, None))?))
        })
    }

    /// Keeps a book and the plan that came with it, both or neither: the plan's revision.
    pub fn add_both(
        &self,
        book: NewText,
        plan: NewText,
        who: &str,
        form: Option<&str>,
    ) -> Result<(Added, Option<Revision>), Trouble> {
        let mut kept = None;
        let added = self.whole(form, |whole| {
            let (Some(book_number), Some(number)) = (next(whole, Kind::Book, book)?, next(whole, Kind::Plan, plan)?)
            else {
                return Ok(Added::Stale);
            };
            kept = Some(put(whole, Kind::Book, book_number, (who, book), (None, Some(number)))?);
            Ok(Added::Kept(put(whole, Kind::Plan, number, (who, plan), (form, None))?))
        })?;
        Ok((added, kept))
    }

    /// The number of the plan that came with a revision of the book; `None`: none did.
    pub fn with_plan(&self, book: i64) -> Result<Option<i64>, Trouble> {
        self.reader()
            .prepare_cached("SELECT with_plan FROM revision WHERE kind = 'book' AND number = ?1")
            .and_then(|mut query| query.query_row([book], |row| row.get(0)).optional())
            .map(Option::flatten)
            .map_err(|e| self.failed(&e))
    }

    /// Does all of it or nothing, and nothing where the form was taken before.
    fn whole(
        &self,
        form: Option<&str>,
        does: impl FnOnce(&Transaction) -> rusqlite::Result<Added>,
    ) -> Result<Added, Trouble> {
        let mut writer = self.writer();
        let added = || -> rusqlite::Result<Added> {
            let whole = writer.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let sent = |form: &str| whole.query_row("SELECT 1 FROM revision WHERE form = ?1", [form], |_| Ok(()));
            if form.is_some_and(|form| sent(form).is_ok()) {
                return Ok(Added::Twice);
            }
            let added = does(&whole)?;
            if matches!(added, Added::Kept(_)) {
                whole.commit()?;
            }
            Ok(added)
        }();
        added.map_err(|e| self.failed(&e))
    }
}

/// The number of the next revision; `None`: the latest is not the one that a text was made from.
fn next(whole: &Transaction, kind: Kind, of: NewText) -> rusqlite::Result<Option<i64>> {
    let latest: i64 =
        whole.query_row("SELECT ifnull(max(number), 0) FROM revision WHERE kind = ?1", [kind.name()], |row| {
            row.get(0)
        })?;
    Ok((latest == of.made_from.unwrap_or(0)).then_some(latest + 1))
}

fn put(
    whole: &Transaction,
    kind: Kind,
    number: i64,
    (who, of): (&str, NewText),
    (form, with_plan): (Option<&str>, Option<i64>),
) -> rusqlite::Result<Revision> {
    let new = Revision { number, at: now(), who: who.to_owned(), what: of.what.to_owned() };
    whole.execute(
        "INSERT INTO revision (kind, number, at, who, what, text, form, with_plan)
         VALUES (:kind, :number, :at, :who, :what, :text, :form, :with_plan)",
        named_params! {
            ":kind": kind.name(), ":number": number, ":at": new.at.to_rfc3339(), ":who": who, ":what": of.what,
            ":text": of.text, ":form": form, ":with_plan": with_plan,
        },
    )?;
    Ok(new)
}

fn revision(row: &Row) -> rusqlite::Result<Revision> {
    let at: String = row.get("at")?;
    let at = DateTime::parse_from_rfc3339(&at).map(|at| at.with_timezone(&Utc)).unwrap_or_default();
    Ok(Revision { number: row.get("number")?, at, who: row.get("who")?, what: row.get("what")? })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn store() -> (tempfile::TempDir, Store) {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        (folder, store)
    }

    #[test]
    fn text_is_kept_once_and_only_upon_the_latest() {
        let (_folder, store) = store();
        let add =
            |from, text, form| store.add(Kind::Book, from, "somebody", "a change", text, form).expect("no failure");
        assert!(matches!(add(None, "a", Some("f1")), Added::Kept(Revision { number: 1, .. })));
        assert!(matches!(add(Some(1), "b", Some("f2")), Added::Kept(Revision { number: 2, .. })));
        assert_eq!(add(Some(2), "c", Some("f1")), Added::Twice);
        assert_eq!(add(Some(1), "c", Some("f3")), Added::Stale);
        assert_eq!(add(None, "c", None), Added::Stale);
        // Plans are numbered by themselves.
        let plan = store.add(Kind::Plan, None, "somebody", "given out", "p", None).expect("no failure");
        assert!(matches!(plan, Added::Kept(Revision { number: 1, .. })));
        let text = |number| store.revision(Kind::Book, number).expect("no failure").map(|(_, text)| text);
        assert_eq!((text(1).as_deref(), text(2).as_deref(), text(3)), (Some("a"), Some("b"), None));
        assert_eq!(store.latest(Kind::Book).expect("no failure").map(|(of, _)| of.number), Some(2));
        assert_eq!((store.number(Kind::Book).expect("2"), store.number(Kind::Plan).expect("1")), (2, 1));
        assert_eq!((store.with_plan(1).expect("none"), store.with_plan(9).expect("none")), (None, None));
        // A book and its plan come together, or not at all.
        let both = |book, plan, form| {
            let new = |made_from, text| NewText { made_from, what: "both", text };
            store.add_both(new(book, "d"), new(plan, "q"), "somebody", form).expect("no failure")
        };
        assert_eq!(both(Some(2), None, None), (Added::Stale, None));
        assert_eq!(both(Some(1), Some(1), None), (Added::Stale, None));
        assert_eq!(text(3), None);
        let (plan, book) = both(Some(2), Some(1), Some("f4"));
        assert!(matches!(plan, Added::Kept(Revision { number: 2, .. })) && book.is_some_and(|book| book.number == 3));
        assert_eq!(both(Some(3), Some(2), Some("f4")), (Added::Twice, None));
        assert_eq!((store.with_plan(3).expect("2"), store.with_plan(2).expect("none")), (Some(2), None));
        let before: Vec<i64> =
            store.revisions(Kind::Book, Some(2), 9).expect("no failure").iter().map(|of| of.number).collect();
        assert_eq!(before, [1]);
    }
}
