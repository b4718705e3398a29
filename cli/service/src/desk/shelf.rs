//! What is laid aside between two requests of somebody, until it is decided on. It is not stored: a service that begins anew
//! begins without.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// Most that are kept, and most of one account: the oldest go.
const MOST: usize = 64;
const MOST_OF_ONE: usize = 16;

/// Things laid aside, each under a name that nobody guesses.
pub struct Shelf<T>(Mutex<VecDeque<OnShelf<T>>>);

struct OnShelf<T> {
    name: String,
    account: i64,
    what: Arc<T>,
}

impl<T> Default for Shelf<T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<T> Shelf<T> {
    /// Lays something aside for an account.
    pub fn put(&self, account: i64, name: String, what: impl Into<Arc<T>>) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.push_back(OnShelf { name, account, what: what.into() });
        if all.iter().filter(|of| of.account == account).count() > MOST_OF_ONE
            && let Some(oldest) = all.iter().position(|of| of.account == account)
        {
            all.remove(oldest);
        }
        if all.len() > MOST {
            all.pop_front();
        }
    }

    /// What an account has laid aside under a name.
    pub fn get(&self, account: i64, name: &str) -> Option<Arc<T>> {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.iter().find(|of| of.account == account && of.name == name).map(|of| Arc::clone(&of.what))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_account_has_its_own_and_the_oldest_go_first() {
        let shelf = Shelf::default();
        for n in 0..=MOST_OF_ONE {
            shelf.put(1, format!("a{n}"), n);
        }
        assert_eq!((shelf.get(1, "a0"), shelf.get(1, "a1").as_deref()), (None, Some(&1)));
        assert_eq!(shelf.get(2, "a1"), None, "another one's");
        for account in 2..=MOST as i64 {
            shelf.put(account, "b".to_owned(), 0);
        }
        assert_eq!((shelf.get(1, "a1"), shelf.get(MOST as i64, "b").as_deref()), (None, Some(&0)));
    }
}
