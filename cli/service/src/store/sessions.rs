//! Who is signed in, and links that sign in once. Only digests of tokens are stored: who reads the file cannot sign in.

use chrono::TimeDelta;
use rusqlite::{Connection, OptionalExtension, params};
use yardless_edit::trouble::{OfStore, Trouble};

use super::accounts::{Account, OF_ACCOUNT, account, forget};
use super::devices::{is_known, remember};
use super::token::{Token, digest, hex, token};
use super::{Store, now};

/// How long somebody stays signed in.
pub const SIGNED_IN: TimeDelta = TimeDelta::days(30);

/// Somebody who is signed in.
#[derive(Clone, Debug)]
pub struct Session {
    /// Who.
    pub account: Account,
    /// What every form of theirs carries.
    pub form: String,
}

/// Somebody who has just signed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entered {
    /// The account.
    pub account: i64,
    /// The session's token.
    pub session: Token,
    /// By which the device is known from now on.
    pub device: Token,
}

impl Store {
    /// Signs somebody in whose password had this hash, on a device that the account may know. `None`: the password is
    /// another one by now.
    pub fn sign_in(&self, account: i64, hash: &str, device: Option<&str>) -> Result<Option<Entered>, Trouble> {
        let mut new = Entered { account, session: token()?, device: token()? };
        let mut writer = self.writer();
        let made = || -> rusqlite::Result<bool> {
            let whole = writer.transaction()?;
            if let Some(device) = device
                && is_known(&whole, device, account)?
            {
                device.clone_into(&mut new.device);
            }
            let made = begin(&whole, &new, hash)?;
            whole.commit()?;
            Ok(made)
        }();
        made.map(|made| made.then_some(new)).map_err(|e| self.failed(&e))
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
        done.map_err(|e| self.failed(&e))?;
        self.signed_out.send_replace(());
        Ok(())
    }

    /// A link that signs in once, for so long: to an account, or where there is no owner yet as the first of them. Of
    /// the links to one account only the last holds; to one that is closed there is none.
    pub fn add_link(&self, account: Option<i64>, holds: TimeDelta) -> Result<Token, Trouble> {
        let new = token()?;
        let mut writer = self.writer();
        let made = || -> rusqlite::Result<bool> {
            let whole = writer.transaction()?;
            whole
                .execute("DELETE FROM link WHERE account IS ?1 OR until < ?2", params![account, now().to_rfc3339()])?;
            let made = whole.execute(
                "INSERT INTO link (token, account, until) SELECT ?1, ?2, ?3
                 WHERE ?2 IS NULL OR EXISTS (SELECT 1 FROM account WHERE id = ?2 AND closed IS NULL)",
                params![digest(&new), account, (now() + holds).to_rfc3339()],
            )?;
            whole.commit()?;
            Ok(made == 1)
        }();
        if made.map_err(|e| self.failed(&e))? {
            return Ok(new);
        }
        Err(OfStore::Closed.into())
    }

    /// The account that a link is for, where it still holds: `Some(None)` is the first owner's.
    #[allow(clippy::option_option)] // no link, a link without an account, one with
    pub fn link(&self, token: &str) -> Result<Option<Option<Account>>, Trouble> {
        self.reader()
            .prepare_cached(&format!(
                "SELECT {OF_ACCOUNT}, link.account AS to_account FROM link LEFT JOIN account ON account.id = link.account
                 WHERE link.token = ?1 AND link.until >= ?2 AND account.closed IS NULL"
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

    /// Uses a link up: its account gets the password, the first owner's is made, all others of it are signed out, and
    /// whoever holds the link is signed in; all of that or nothing. `None`: the link does not hold any more, or the name
    /// is another one's. Of two who use it at once one does.
    pub fn enter(&self, link: &str, account: Option<i64>, name: &str, hash: &str) -> Result<Option<Entered>, Trouble> {
        let (session, device) = (token()?, token()?);
        let mut writer = self.writer();
        let done = || -> rusqlite::Result<Option<Entered>> {
            let whole = writer.transaction()?;
            let at = now().to_rfc3339();
            if whole.execute("DELETE FROM link WHERE token = ?1 AND until >= ?2", params![digest(link), at])? == 0 {
                return Ok(None);
            }
            let account = if let Some(account) = account {
                account
            } else {
                let made = "INSERT INTO account (name, role, since) VALUES (?1, 'owner', ?2) ON CONFLICT DO NOTHING";
                if whole.execute(made, params![name, at])? == 0 {
                    return Ok(None);
                }
                whole.last_insert_rowid()
            };
            let set = "UPDATE account SET password = ?2, wrong = 0, wrong_since = NULL WHERE id = ?1";
            whole.execute(set, params![account, hash])?;
            forget(&whole, account)?;
            let new = Entered { account, session, device };
            // Of an account that was closed meanwhile nothing is changed.
            if !begin(&whole, &new, hash)? {
                return Ok(None);
            }
            whole.commit()?;
            Ok(Some(new))
        }();
        let done = done.map_err(|e| self.failed(&e))?;
        self.signed_out.send_replace(());
        Ok(done)
    }
}

/// Begins a session of an account that has this password and is not closed, and knows the device: whether there was one.
fn begin(writer: &Connection, new: &Entered, hash: &str) -> rusqlite::Result<bool> {
    let mut form = [0; 32];
    getrandom::fill(&mut form).map_err(|e| rusqlite::Error::ToSqlConversionFailure(Box::new(e)))?;
    writer.execute("DELETE FROM session WHERE until < ?1", [now().to_rfc3339()])?;
    let made = writer.execute(
        "INSERT INTO session (token, account, form, until)
         SELECT ?1, id, ?2, ?3 FROM account WHERE id = ?4 AND password = ?5 AND closed IS NULL",
        params![digest(&new.session), hex(&form), (now() + SIGNED_IN).to_rfc3339(), new.account, hash],
    )?;
    if made == 1 {
        remember(writer, &new.device, new.account)?;
    }
    Ok(made == 1)
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
        assert_eq!(store.sign_in(id, "hash", None).expect("no failure"), None, "no password yet");
        store.set_password(id, "hash").expect("set");
        let sign_in = |hash: &str| store.sign_in(id, hash, None).expect("no failure").map(|of| of.session);
        let (first, second) = (sign_in("hash").expect("signed in"), sign_in("hash").expect("signed in"));
        let who = |token: &str| store.session(token).expect("no failure").map(|session| session.account.name);
        assert_eq!((who(&first).as_deref(), who(&second).as_deref(), who("0")), (Some("Owner"), Some("Owner"), None));
        store.sign_out(&first).expect("signed out");
        assert_eq!((who(&first), who(&second).as_deref()), (None, Some("Owner")));
        store.close_account(id, true).expect("closed");
        assert_eq!(who(&second), None);
        store.close_account(id, false).expect("opened");
        assert_eq!(who(&second), None, "signed out for good");
        let third = sign_in("hash").expect("signed in");
        store.set_password(id, "new").expect("set");
        assert_eq!(who(&third), None, "a new password signs all out");
        assert_eq!(sign_in("hash"), None, "who was about to sign in with the old one as well");
    }

    #[test]
    fn link_holds_once_and_the_last_one_only() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let first = store.add_link(None, TimeDelta::hours(1)).expect("a link");
        let last = store.add_link(None, TimeDelta::hours(1)).expect("a link");
        assert!(store.link(&first).expect("no failure").is_none());
        assert_eq!(store.link(&last).expect("no failure"), Some(None));
        let enter =
            |link: &str, account| store.enter(link, account, "Owner", "hash").expect("no failure").map(|of| of.session);
        let token = enter(&last, None).expect("signed in");
        let who = store.session(&token).expect("no failure").expect("somebody").account;
        assert_eq!((who.name.as_str(), &who.role, enter(&last, None)), ("Owner", &Role::Owner, None));
        let id = store.add_account("A", &Role::Crew("north".to_owned())).expect("added").expect("new");
        let of_account = store.add_link(Some(id), TimeDelta::hours(1)).expect("a link");
        let account = store.link(&of_account).expect("no failure").flatten().expect("an account");
        assert_eq!(account.role, Role::Crew("north".to_owned()));
        let over = store.add_link(Some(id), TimeDelta::hours(-1)).expect("a link");
        assert!(store.link(&over).expect("no failure").is_none() && enter(&over, Some(id)).is_none());
    }
}
