//! The schema in numbered steps: a file of any older version is brought up when it is opened.

use std::path::Path;

use rusqlite::Connection;
use yardless_edit::trouble::{OfStore, Trouble};

use super::unopened;

/// The steps from an empty file to the newest schema. One that has been released is never changed.
const STEPS: [&str; 6] = [
    // Books and plans: every text that was ever kept.
    "CREATE TABLE revision (
        kind TEXT NOT NULL CHECK (kind IN ('book', 'plan')),
        number INTEGER NOT NULL CHECK (number > 0),
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        what TEXT NOT NULL,
        text TEXT NOT NULL,
        PRIMARY KEY (kind, number)
    ) STRICT, WITHOUT ROWID;",
    // People: who may sign in, as what, and for how long they have.
    "CREATE TABLE account (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        role TEXT NOT NULL CHECK (role IN ('owner', 'crew', 'reader')),
        crew TEXT CHECK ((role = 'crew') = (crew IS NOT NULL)),
        password TEXT,
        since TEXT NOT NULL,
        closed TEXT
    ) STRICT;
    CREATE TABLE session (
        token BLOB PRIMARY KEY,
        account INTEGER NOT NULL REFERENCES account (id),
        form TEXT NOT NULL,
        until TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE link (
        token BLOB PRIMARY KEY,
        account INTEGER REFERENCES account (id),
        until TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;",
    // A form that is sent twice is taken once.
    "ALTER TABLE revision ADD COLUMN form TEXT;
    CREATE UNIQUE INDEX revision_form ON revision (form) WHERE form IS NOT NULL;",
    // Devices that somebody has signed in on, wrong passwords since they were last looked at; and what closed accounts
    // have left behind goes.
    "CREATE TABLE device (
        token BLOB PRIMARY KEY,
        account INTEGER NOT NULL REFERENCES account (id),
        until TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    ALTER TABLE account ADD COLUMN wrong INTEGER NOT NULL DEFAULT 0;
    ALTER TABLE account ADD COLUMN wrong_since TEXT;
    DELETE FROM session WHERE account IN (SELECT id FROM account WHERE closed IS NOT NULL);
    DELETE FROM link WHERE account IN (SELECT id FROM account WHERE closed IS NOT NULL);",
    // What crews tell beside their steps, until it is taken over.
    "CREATE TABLE told (
        id INTEGER PRIMARY KEY,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        crew TEXT NOT NULL,
        about TEXT NOT NULL,
        unit TEXT NOT NULL,
        place TEXT NOT NULL,
        says TEXT NOT NULL,
        form TEXT UNIQUE,
        taken TEXT,
        taker TEXT
    ) STRICT;
    CREATE INDEX told_waiting ON told (id) WHERE taken IS NULL;",
    // A change of the book that came with a plan: that plan's number. Both are taken back together.
    "ALTER TABLE revision ADD COLUMN with_plan INTEGER;",
];

/// What marks a file as ours, in its header: `Yard`.
const MARK: i64 = 0x5961_7264;

/// Refuses a file that holds something else.
pub fn is_ours(connection: &Connection, path: &Path) -> Result<(), Trouble> {
    let failed = |e: rusqlite::Error| unopened(path, &e);
    let number = |pragma: &str| connection.query_row(pragma, [], |row| row.get::<_, i64>(0));
    let mark = number("PRAGMA application_id").map_err(failed)?;
    let tables = number("SELECT count(*) FROM sqlite_schema").map_err(failed)?;
    if mark == MARK || (mark == 0 && tables == 0) {
        return Ok(());
    }
    Err(OfStore::Other { path: path.display().to_string() }.into())
}

/// Takes the steps that the file has not seen yet, each whole or not at all.
pub fn bring_up(connection: &mut Connection, path: &Path) -> Result<(), Trouble> {
    let failed = |e: rusqlite::Error| unopened(path, &e);
    let version: usize = version(connection).map_err(failed)?;
    if version > STEPS.len() {
        let path = path.display().to_string();
        return Err(OfStore::Newer { path, schema: version, known: STEPS.len() }.into());
    }
    for (taken, step) in STEPS.iter().enumerate().skip(version) {
        take(connection, taken + 1, step).map_err(failed)?;
    }
    Ok(())
}

fn version(connection: &Connection) -> rusqlite::Result<usize> {
    connection.query_row("PRAGMA user_version", [], |row| row.get::<_, i64>(0)).map(|version| version.max(0) as usize)
}

fn take(connection: &mut Connection, number: usize, step: &str) -> rusqlite::Result<()> {
    let whole = connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
    // Another program may have been quicker.
    if version(&whole)? < number {
        whole.execute_batch(step)?;
        whole.pragma_update(None, "user_version", number as i64)?;
        whole.pragma_update(None, "application_id", MARK)?;
    }
    whole.commit()
}

#[cfg(test)]
mod tests {
    use super::super::{Kind, Role, Store};
    use super::*;

    /// What a file of each version can hold, as that version wrote it.
    const HELD: [&str; 6] = [
        "INSERT INTO revision (kind, number, at, who, what, text)
         VALUES ('book', 1, '2026-12-07T06:00:00Z', 'an owner', 'first', '{}');",
        "INSERT INTO account (id, name, role, crew, password, since) VALUES (1, 'Owner', 'owner', NULL, 'x', '2026-12-07T06:00:00Z');
         INSERT INTO account (id, name, role, since, closed)
         VALUES (2, 'Gone', 'reader', '2026-12-07T06:00:00Z', '2026-12-08T06:00:00Z');
         INSERT INTO link (token, account, until) VALUES (x'01', 1, '9999-01-01T00:00:00Z'), (x'02', 2, '9999-01-01T00:00:00Z');",
        "INSERT INTO revision (kind, number, at, who, what, text, form)
         VALUES ('book', 2, '2026-12-07T07:00:00Z', 'an owner', 'second', '{ }', 'abc');",
        "INSERT INTO device (token, account, until) VALUES (x'03', 1, '9999-01-01T00:00:00Z');
         UPDATE account SET wrong = 2, wrong_since = '2026-12-09T06:00:00Z' WHERE id = 1;",
        "INSERT INTO told (at, who, crew, about, unit, place, says)
         VALUES ('2026-12-09T06:00:00Z', 'a crew', 'north', 'else', '', '', 'the hose is worn');",
        "INSERT INTO revision (kind, number, at, who, what, text, with_plan)
         VALUES ('book', 3, '2026-12-07T08:00:00Z', 'an owner', 'third', '{  }', 1);",
    ];

    #[test]
    fn file_of_every_older_version_is_brought_up_with_all_that_it_holds() {
        let folder = tempfile::tempdir().expect("a folder");
        for old in 0..=STEPS.len() {
            let path = folder.path().join(format!("{old}.db"));
            'written: {
                // Before the first there is no file.
                if old == 0 {
                    break 'written;
                }
                let mut connection = Connection::open(&path).expect("a file");
                for (number, step) in STEPS.iter().enumerate().take(old) {
                    take(&mut connection, number + 1, step).expect("a step");
                    connection.execute_batch(HELD[number]).expect("what that version writes");
                }
            }
            let store = Store::open(&path).expect("brought up");
            assert_eq!(version(&store.reader()).expect("a version"), STEPS.len());
            let books = store.revisions(Kind::Book, None, 9).expect("revisions");
            let said: Vec<&str> = books.iter().map(|book| book.what.as_str()).collect();
            let expected: &[&str] = match old {
                0 => &[],
                1 | 2 => &["first"],
                3..=5 => &["second", "first"],
                _ => &["third", "second", "first"],
            };
            assert_eq!(said, expected, "from version {old}");
            let owners = store.accounts().expect("accounts").iter().filter(|of| of.role == Role::Owner).count();
            assert_eq!(owners, usize::from(old >= 2), "from version {old}");
            let links = "SELECT count(*) FROM link WHERE account = 2";
            let links: i64 = store.reader().query_row(links, [], |row| row.get(0)).expect("a number");
            assert_eq!(links, 0, "from version {old}: of a closed account");
            assert_eq!(store.waiting(None).expect("told").len(), usize::from(old >= 5), "from version {old}");
            // It is a file of this version: all of it can be written.
            store
                .add(Kind::Book, books.first().map(|book| book.number), "a test", "new", "{}", Some("f"))
                .expect("added");
        }
    }

    #[test]
    fn file_of_a_newer_version_is_left_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("new.db");
        drop(Store::open(&path).expect("a store"));
        Connection::open(&path).and_then(|c| c.pragma_update(None, "user_version", 99)).expect("newer");
        let refused = Store::open(&path).err().expect("refused").in_one_line();
        assert!(refused.contains("has schema 99"), "{refused}");
    }
}
