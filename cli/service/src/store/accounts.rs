//! Who may sign in, and as what. Names are told apart without regard to capitals; nobody is ever deleted.

use chrono::{DateTime, Utc};
use rusqlite::{Connection, ErrorCode, OptionalExtension, Row, params};
use yardless_edit::trouble::Trouble;

use super::devices::Wrong;
use super::role::Role;
use super::{Store, now};

/// Somebody who may sign in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// Its number.
    pub id: i64,
    /// The name to sign in with, and that revisions carry.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// Whether it may not sign in any more.
    pub closed: bool,
    /// Whether it has chosen a password yet.
    pub has_password: bool,
    /// Wrong passwords that were given for its name, until it has seen them.
    pub wrong: Option<Wrong>,
}

const COLUMNS: &str =
    "id, name, role, crew, closed IS NOT NULL AS closed, password IS NOT NULL AS has_password, wrong, wrong_since";

impl Store {
    /// All accounts, by name.
    pub fn accounts(&self) -> Result<Vec<Account>, Trouble> {
        self.reader()
            .prepare_cached(&format!("SELECT {COLUMNS} FROM account ORDER BY name COLLATE NOCASE"))
            .and_then(|mut query| query.query_map([], account)?.collect())
            .map_err(|e| self.failed(&e))
    }

    /// Whether somebody can sign in as owner.
    pub fn has_owner(&self) -> Result<bool, Trouble> {
        Ok(self.accounts()?.iter().any(|of| of.role == Role::Owner && of.has_password && !of.closed))
    }

    /// An account that is not closed, and its password's hash, by its name.
    pub fn to_sign_in(&self, name: &str) -> Result<Option<(Account, String)>, Trouble> {
        self.reader()
            .prepare_cached(&format!(
                "SELECT {COLUMNS}, password FROM account WHERE name = ?1 AND closed IS NULL AND password IS NOT NULL"
            ))
            .and_then(|mut query| query.query_row([name], |row| Ok((account(row)?, row.get("password")?))).optional())
            .map_err(|e| self.failed(&e))
    }

    /// One more account, without a password yet; `None`: another one has the name.
    pub fn add_account(&self, name: &str, role: &Role) -> Result<Option<i64>, Trouble> {
        let writer = self.writer();
        let added = writer.execute(
            "INSERT INTO account (name, role, crew, since) VALUES (?1, ?2, ?3, ?4)",
            params![name, role.name(), role.crew(), now().to_rfc3339()],
        );
        match added {
            Ok(_) => Ok(Some(writer.last_insert_rowid())),
            Err(rusqlite::Error::SqliteFailure(e, _)) if e.code == ErrorCode::ConstraintViolation => Ok(None),
            Err(e) => Err(self.failed(&e)),
        }
    }

    /// Sets the password's hash; whoever is signed in so far is signed out, and no device is known any more.
    pub fn set_password(&self, account: i64, hash: &str) -> Result<(), Trouble> {
        let sql = "UPDATE account SET password = ?2, wrong = 0, wrong_since = NULL WHERE id = ?1";
        self.and_sign_out(account, sql, hash)
    }

    /// Closes an account, or opens it again; whoever is signed in is signed out.
    pub fn close_account(&self, account: i64, closed: bool) -> Result<(), Trouble> {
        let sql = if closed {
            "UPDATE account SET closed = ?2 WHERE id = ?1"
        } else {
            "UPDATE account SET closed = NULL WHERE id = ?1 AND ?2 IS NOT NULL"
        };
        self.and_sign_out(account, sql, &now().to_rfc3339())
    }

    fn and_sign_out(&self, account: i64, sql: &str, value: &str) -> Result<(), Trouble> {
        let mut writer = self.writer();
        let done = || -> rusqlite::Result<()> {
            let whole = writer.transaction()?;
            whole.execute(sql, params![account, value])?;
            forget(&whole, account)?;
            whole.commit()
        }();
        done.map_err(|e| self.failed(&e))?;
        self.signed_out.send_replace(());
        Ok(())
    }
}

/// Ends all ways in of an account but its password: sessions, links, known devices.
pub(super) fn forget(writer: &Connection, account: i64) -> rusqlite::Result<()> {
    for table in ["session", "link", "device"] {
        writer.execute(&format!("DELETE FROM {table} WHERE account = ?1"), [account])?;
    }
    Ok(())
}

/// An account from a row with [`COLUMNS`].
pub(super) fn account(row: &Row) -> rusqlite::Result<Account> {
    let role: String = row.get("role")?;
    let role = match (role.as_str(), row.get::<_, Option<String>>("crew")?) {
        ("owner", _) => Role::Owner,
        (_, Some(crew)) => Role::Crew(crew),
        _ => Role::Reader,
    };
    let since: Option<DateTime<Utc>> = row.get::<_, Option<String>>("wrong_since")?.and_then(|at| at.parse().ok());
    let count = row.get("wrong")?;
    Ok(Account {
        id: row.get("id")?,
        name: row.get("name")?,
        role,
        closed: row.get("closed")?,
        has_password: row.get("has_password")?,
        wrong: since.filter(|_| count > 0).map(|since| Wrong { count, since }),
    })
}

/// The columns of [`account`], from a table of that name.
pub(super) const OF_ACCOUNT: &str = "account.id, account.name, account.role, account.crew,
    account.closed IS NOT NULL AS closed, account.password IS NOT NULL AS has_password,
    account.wrong, account.wrong_since";
