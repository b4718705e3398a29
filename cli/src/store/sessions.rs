//! Who is signed in, and links that sign in once. Only digests of tokens are stored: who reads the file cannot sign in.

use std::fmt::Write;

use chrono::TimeDelta;
use rusqlite::{OptionalExtension, params};
use sha2::{Digest, Sha256};

use super::accounts::{Account, OF_ACCOUNT, account};
use super::{Store, now};
use crate::trouble::Trouble;

/// A secret that only its holder and nobody here knows: 64 hexadecimal digits.
pub type Token = String;

/// How long somebody stays signed in.
const SIGNED_IN: TimeDelta = TimeDelta::days(30);

/// Somebody who is signed in.
#[derive(Clone, Debug)]
pub struct Session {
    /// Who.
    pub account: Account,
    /// What every form of theirs carries.
    pub form: String,
}

/// A new secret.
pub fn token() -> Result<Token, Trouble> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|e| {
        Trouble::ours("store::chance", format!("the system gives no random bytes: {e}"), "start the machine anew")
    })?;
    Ok(hex(&bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn digest(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

impl Store {
    /// Signs somebody in: the session's token.
    pub fn sign_in(&self, account: i64) -> Result<Token, Trouble> {
        let (new, form) = (token()?, token()?);
        let writer = self.writer();
        writer
            .execute("DELETE FROM session WHERE until < ?1", [now().to_rfc3339()])
            .and_then(|_| {
                writer.execute(
                    "INSERT INTO session (token, account, form, until) VALUES (?1, ?2, ?3, ?4)",
                    params![digest(&new), account, form, (now() + SIGNED_IN).to_rfc3339()],
                )
            })
            .map_err(|e| self.failed(&e))?;
        Ok(new)
    }

    /// Who a session's token signs in.
    pub fn session(&self, token: &str) -> Result<Option<Session>, Trouble> {
        self.reader()
            .prepare_cached(&format!(
                "SELECT {OF_ACCOUNT}, session.form FROM session JOIN account ON account.id = session.account
                 WHERE session.token = ?1 AND session.until >= ?2 AND account.closed IS NULL"
            ))
            .and_then(|mut query| {
                query
                    .query_row(params![digest(token), now().to_rfc3339()], |row| {
                        Ok(Session { account: account(row)?, form: row.get("form")? })
                    })
                    .optional()
            })
            .map_err(|e| self.failed(&e))
    }

    /// Ends a session.
    pub fn sign_out(&self, token: &str) -> Result<(), Trouble> {
        let writer = self.writer();
        let done = writer.execute("DELETE FROM session WHERE token = ?1", [digest(token)]);
        done.map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// A link that signs in once, for so long: to an account, or where there is no owner yet as the first of them. Of
    /// the links to one account only the last holds.
    pub fn add_link(&self, account: Option<i64>, holds: TimeDelta) -> Result<Token, Trouble> {
        let new = token()?;
        let writer = self.writer();
        writer
            .execute("DELETE FROM link WHERE account IS ?1 OR until < ?2", params![account, now().to_rfc3339()])
            .and_then(|_| {
                writer.execute(
                    "INSERT INTO link (token, account, until) VALUES (?1, ?2, ?3)",
                    params![digest(&new), account, (now() + holds).to_rfc3339()],
                )
            })
            .map_err(|e| self.failed(&e))?;
        Ok(new)
    }

    /// The account that a link is for, where it still holds: `Some(None)` is the first owner's.
    #[allow(clippy::option_option)] // no link, a link without an account, one with
    pub fn link(&self, token: &str) -> Result<Option<Option<Account>>, Trouble> {
        self.reader()
            .prepare_cached(&format!(
                "SELECT {OF_ACCOUNT}, link.account AS to_account FROM link LEFT JOIN account ON account.id = link.account
                 WHERE link.token = ?1 AND link.until >= ?2"
            ))
            .and_then(|mut query| {
                query
                    .query_row(params![digest(token), now().to_rfc3339()], |row| {
                        row.get::<_, Option<i64>>("to_account")?.map(|_| account(row)).transpose()
                    })
                    .optional()
            })
            .map_err(|e| self.failed(&e))
    }

    /// Uses a link up: whether it still held. Of two who use it at once one does.
    pub fn use_link(&self, token: &str) -> Result<bool, Trouble> {
        let writer = self.writer();
        let used = writer
            .execute("DELETE FROM link WHERE token = ?1 AND until >= ?2", params![digest(token), now().to_rfc3339()]);
        used.map(|rows| rows > 0).map_err(|e| self.failed(&e))
    }
}

#[cfg(test)]
mod tests {
    use super::super::Role;
    use super::*;

    #[test]
    fn session_lasts_until_it_is_ended_or_the_account_closed() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let id = store.add_account("Owner", &Role::Owner).expect("added").expect("a new name");
        assert_eq!(store.add_account("OWNER", &Role::Reader).expect("no failure"), None);
        let first = store.sign_in(id).expect("signed in");
        let second = store.sign_in(id).expect("signed in");
        let who = |token: &str| store.session(token).expect("no failure").map(|session| session.account.name);
        assert_eq!((who(&first).as_deref(), who(&second).as_deref(), who("0")), (Some("Owner"), Some("Owner"), None));
        store.sign_out(&first).expect("signed out");
        assert_eq!((who(&first), who(&second).as_deref()), (None, Some("Owner")));
        store.close_account(id, true).expect("closed");
        assert_eq!(who(&second), None);
        store.close_account(id, false).expect("opened");
        assert_eq!(who(&second), None, "signed out for good");
        let third = store.sign_in(id).expect("signed in");
        store.set_password(id, "hash").expect("set");
        assert_eq!(who(&third), None, "a new password signs all out");
    }

    #[test]
    fn link_holds_once_and_the_last_one_only() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let first = store.add_link(None, TimeDelta::hours(1)).expect("a link");
        let last = store.add_link(None, TimeDelta::hours(1)).expect("a link");
        assert!(store.link(&first).expect("no failure").is_none());
        assert_eq!(store.link(&last).expect("no failure"), Some(None));
        assert!(store.use_link(&last).expect("used") && !store.use_link(&last).expect("no failure"));
        let id = store.add_account("A", &Role::Crew("north".to_owned())).expect("added").expect("new");
        let of_account = store.add_link(Some(id), TimeDelta::hours(1)).expect("a link");
        let account = store.link(&of_account).expect("no failure").flatten().expect("an account");
        assert_eq!(account.role, Role::Crew("north".to_owned()));
        let over = store.add_link(Some(id), TimeDelta::hours(-1)).expect("a link");
        assert!(store.link(&over).expect("no failure").is_none() && !store.use_link(&over).expect("no failure"));
    }
}
