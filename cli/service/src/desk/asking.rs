//! The questions under way that pages wait for: each goes on in the background, and ends by itself once nobody looks any
//! more.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::watch;
use tokio::task::AbortHandle;

use crate::refusal::Refusal;

/// How often it is looked whether anybody still asks.
pub const TICK: Duration = Duration::from_millis(500);
/// Without a page that asks for so long, a question ends, and an answer that nobody fetched is forgotten.
const LEFT: Duration = Duration::from_secs(15);

/// Whose it is, and what it asks.
pub type Key = (i64, String);
/// An answer, shared by whoever asks the same.
pub type Answer<T> = Result<Arc<T>, Refusal>;

/// The questions under way.
pub struct Asking<T>(Mutex<BTreeMap<Key, Arc<Question<T>>>>);

impl<T> Default for Asking<T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<T: Send + Sync + 'static> Asking<T> {
    /// The question that is under way, or has just been answered.
    pub fn find(&self, key: &Key) -> Option<Arc<Question<T>>> {
        locked(&self.0).get(key).cloned()
    }
    /// The same; begun where it is not.
    pub fn find_or_begin(&self, key: &Key, begin: impl FnOnce() -> Arc<Question<T>>) -> Arc<Question<T>> {
        let mut all = locked(&self.0);
        all.retain(|_, of| !of.stopped() && (of.running() || !of.left()));
        Arc::clone(all.entry(key.clone()).or_insert_with(begin))
    }
    /// Forgets one.
    pub fn remove(&self, key: &Key) -> Option<Arc<Question<T>>> {
        locked(&self.0).remove(key)
    }
}

/// A question under way.
pub struct Question<T> {
    began: Instant,
    asked: Mutex<Instant>,
    came: watch::Receiver<Option<Answer<T>>>,
    task: Mutex<Option<AbortHandle>>,
}

fn locked<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<T: Send + Sync + 'static> Question<T> {
    /// One whose answer is worked out from now on, as long as anybody asks.
    pub fn begin(answer: impl Future<Output = Result<T, Refusal>> + Send + 'static) -> Arc<Self> {
        let (tell, came) = watch::channel(None);
        let now = Instant::now();
        let new = Arc::new(Self { began: now, asked: Mutex::new(now), came, task: Mutex::default() });
        let of = Arc::downgrade(&new);
        let task = tokio::spawn(async move {
            tokio::pin!(answer);
            loop {
                tokio::select! {
                    answer = &mut answer => {
                        tell.send_replace(Some(answer.map(Arc::new)));
                        return;
                    }
                    () = tokio::time::sleep(TICK) => {
                        // Nobody looks any more: what is not waited for ends.
                        if of.upgrade().is_none_or(|of| of.left()) {
                            return;
                        }
                    }
                }
            }
        });
        *locked(&new.task) = Some(task.abort_handle());
        new
    }
    /// Somebody still asks.
    pub fn touch(&self) {
        *locked(&self.asked) = Instant::now();
    }
    /// Whether it is still being answered.
    pub fn running(&self) -> bool {
        self.came.borrow().is_none() && !self.stopped()
    }
    /// Seconds since it was asked.
    pub fn elapsed(&self) -> u64 {
        self.began.elapsed().as_secs()
    }
    /// Its answer, whenever it comes.
    pub fn came(&self) -> watch::Receiver<Option<Answer<T>>> {
        self.came.clone()
    }
    /// Stops it.
    pub fn stop(&self) {
        if let Some(task) = &*locked(&self.task) {
            task.abort();
        }
    }
    fn stopped(&self) -> bool {
        self.came.borrow().is_none() && self.came.has_changed().is_err()
    }
    fn left(&self) -> bool {
        locked(&self.asked).elapsed() > LEFT
    }
}
