//! What is laid aside between two requests of somebody, until it is decided on. It is not stored: a service that begins anew
//! begins without.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// Things laid aside, each under a name that nobody guesses; at most so many of one account, and four times as many of all:
/// the oldest go.
pub struct Shelf<T> {
    of_one: usize,
    all: Mutex<VecDeque<OnShelf<T>>>,
}

struct OnShelf<T> {
    name: String,
    account: i64,
    what: Arc<T>,
}

impl<T> Shelf<T> {
    /// With room for so many of one account.
    pub fn for_each(of_one: usize) -> Self {
        Self { of_one, all: Mutex::new(VecDeque::new()) }
    }

    /// Lays something aside for an account.
    pub fn put(&self, account: i64, name: String, what: impl Into<Arc<T>>) {
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.push_back(OnShelf { name, account, what: what.into() });
        if all.iter().filter(|of| of.account == account).count() > self.of_one
            && let Some(oldest) = all.iter().position(|of| of.account == account)
        {
            all.remove(oldest);
        }
        if all.len() > 4 * self.of_one {
            all.pop_front();
        }
    }

    /// What an account has laid aside under a name.
    pub fn get(&self, account: i64, name: &str) -> Option<Arc<T>> {
        let all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.iter().find(|of| of.account == account && of.name == name).map(|of| Arc::clone(&of.what))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_account_has_its_own_and_the_oldest_go_first() {
        let shelf = Shelf::for_each(3);
        for n in 0..=3 {
            shelf.put(1, format!("a{n}"), n);
        }
        let get = |account: i64, name: &str| shelf.get(account, name).map(|what| *what);
        assert_eq!((get(1, "a0"), get(1, "a1")), (None, Some(1)));
        assert_eq!(get(2, "a1"), None, "another one's");
        for account in 2..=11 {
            shelf.put(account, "b".to_owned(), 0);
        }
        assert_eq!((get(1, "a1"), get(1, "a2"), get(11, "b")), (None, Some(2), Some(0)));
    }
}
