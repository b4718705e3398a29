//! What is remembered of signing in: the devices that somebody has signed in on, as digests, and the wrong passwords that
//! were given for a name since its holder last looked.

use chrono::{DateTime, TimeDelta, Utc};
use rusqlite::{Connection, OptionalExtension, params};
use yardless_edit::trouble::Trouble;

use super::token::{Token, digest, token};
use super::{Store, now};

/// How long a device is known: as long as browsers keep a cookie.
pub const KNOWN: TimeDelta = TimeDelta::days(400);
/// Devices of an account that are known; the one that was there longest ago is forgotten first.
const MOST_DEVICES: i64 = 50;

/// Wrong passwords that were given for a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// How many.
    pub count: i64,
    /// When the first of them was.
    pub since: DateTime<Utc>,
}

impl Store {
    /// Whether the account with a name has signed in on a device before.
    pub fn knows(&self, device: &str, name: &str) -> Result<bool, Trouble> {
        self.reader()
            .prepare_cached(
                "SELECT 1 FROM device JOIN account ON account.id = device.account
                 WHERE device.token = ?1 AND device.until >= ?2 AND account.name = ?3 AND account.closed IS NULL",
            )
            .and_then(|mut query| {
                query.query_row(params![digest(device), now().to_rfc3339(), name], |_| Ok(())).optional()
            })
            .map(|found| found.is_some())
            .map_err(|e| self.failed(&e))
    }

    /// One more wrong password for an account.
    pub fn wrong_password(&self, account: i64) -> Result<(), Trouble> {
        let sql = "UPDATE account SET wrong = wrong + 1, wrong_since = ifnull(wrong_since, ?2) WHERE id = ?1";
        let done = self.writer().execute(sql, params![account, now().to_rfc3339()]);
        done.map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// Its holder has seen them.
    pub fn wrong_seen(&self, account: i64) -> Result<(), Trouble> {
        let done = self.writer().execute("UPDATE account SET wrong = 0, wrong_since = NULL WHERE id = ?1", [account]);
        done.map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// The device on which somebody is signed in, known from now on.
    pub fn add_device(&self, account: i64) -> Result<Token, Trouble> {
        let new = token()?;
        let writer = self.writer();
        remember(&writer, &new, account).map_err(|e| self.failed(&e))?;
        Ok(new)
    }
}

/// Whether a device is known to an account.
pub(super) fn is_known(writer: &Connection, device: &str, account: i64) -> rusqlite::Result<bool> {
    let sql = "SELECT 1 FROM device WHERE token = ?1 AND account = ?2 AND until >= ?3";
    let found = writer.query_row(sql, params![digest(device), account, now().to_rfc3339()], |_| Ok(()));
    found.optional().map(|found| found.is_some())
}

/// A device is known to an account from now on.
pub(super) fn remember(writer: &Connection, device: &str, account: i64) -> rusqlite::Result<()> {
    writer.execute("DELETE FROM device WHERE until < ?1", [now().to_rfc3339()])?;
    writer.execute(
        "INSERT OR REPLACE INTO device (token, account, until) VALUES (?1, ?2, ?3)",
        params![digest(device), account, (now() + KNOWN).to_rfc3339()],
    )?;
    writer.execute(
        "DELETE FROM device WHERE account = ?1 AND token NOT IN
         (SELECT token FROM device WHERE account = ?1 ORDER BY until DESC LIMIT ?2)",
        params![account, MOST_DEVICES],
    )?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::Role;
    use super::*;

    #[test]
    fn device_is_known_to_its_own_account_until_the_password_is_another_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let add = |name: &str| store.add_account(name, &Role::Owner).expect("added").expect("a new name");
        let (one, other) = (add("One"), add("Other"));
        store.set_password(one, "hash").expect("set");
        let knows = |device: &str, name: &str| store.knows(device, name).expect("no failure");
        let first = store.sign_in(one, "hash", None).expect("no failure").expect("signed in").device;
        assert!(knows(&first, "one") && !knows(&first, "Other") && !knows("0", "One"));
        // Signed in there again it is the same device.
        let again = store.sign_in(one, "hash", Some(&first)).expect("no failure").expect("signed in").device;
        assert_eq!(again, first);
        // One that somebody brings along who has never signed in there is none.
        let planted = store.add_device(other).expect("a device");
        let new = store.sign_in(one, "hash", Some(&planted)).expect("no failure").expect("signed in").device;
        assert!(new != planted && !knows(&planted, "One"));
        for _ in 0..MOST_DEVICES + 5 {
            store.add_device(one).expect("a device");
        }
        let count = |account: i64| -> i64 {
            let sql = "SELECT count(*) FROM device WHERE account = ?1";
            store.reader().query_row(sql, [account], |row| row.get(0)).expect("a number")
        };
        assert_eq!((count(one), count(other)), (MOST_DEVICES, 1));
        store.set_password(one, "new").expect("set");
        assert_eq!((count(one), count(other)), (0, 1));
    }

    #[test]
    fn wrong_passwords_are_counted_until_they_are_seen() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("a.db")).expect("a store");
        let id = store.add_account("One", &Role::Reader).expect("added").expect("a new name");
        let wrong = || store.accounts().expect("accounts")[0].wrong;
        assert_eq!(wrong(), None);
        (0..3).for_each(|_| store.wrong_password(id).expect("counted"));
        assert!(wrong().is_some_and(|wrong| wrong.count == 3 && wrong.since <= now()));
        store.wrong_seen(id).expect("seen");
        assert_eq!(wrong(), None);
    }
}
