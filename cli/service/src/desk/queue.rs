//! A queue for work of one kind: so many places, so many who wait, and for so long. Who finds it full is told at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::timeout;

use crate::refusal::Refusal;

/// A turn at the work, until it is dropped.
pub type Permit = OwnedSemaphorePermit;

/// Places for work, first come first served.
pub struct Queue {
    places: Arc<Semaphore>,
    waiting: AtomicUsize,
    most: usize,
    patience: Duration,
}

impl Queue {
    /// With so many places, and so many who may wait for one for so long.
    pub fn new(places: usize, most: usize, patience: Duration) -> Self {
        Self { places: Arc::new(Semaphore::new(places)), waiting: AtomicUsize::new(0), most, patience }
    }

    /// A turn; refused where too many wait already, or it does not come soon. Nothing was begun then.
    pub async fn turn(&self) -> Result<Permit, Refusal> {
        if let Ok(turn) = Arc::clone(&self.places).try_acquire_owned() {
            return Ok(turn);
        }
        let waiting = InQueue(&self.waiting);
        if self.waiting.fetch_add(1, Ordering::Relaxed) >= self.most {
            return Err(Refusal::busy());
        }
        let turn = timeout(self.patience, Arc::clone(&self.places).acquire_owned()).await;
        drop(waiting);
        turn.ok().and_then(Result::ok).ok_or_else(Refusal::busy)
    }
}

/// Who waits, also where the wait is broken off.
struct InQueue<'q>(&'q AtomicUsize);

impl Drop for InQueue<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn turn_comes_in_order_and_who_finds_the_queue_full_is_refused_at_once() {
        let queue = Arc::new(Queue::new(1, 2, Duration::from_secs(3600)));
        let first = queue.turn().await.expect("a place");
        let ask = || {
            let queue = Arc::clone(&queue);
            tokio::spawn(async move { queue.turn().await })
        };
        let (second, third) = (ask(), ask());
        while queue.waiting.load(Ordering::Relaxed) < 2 {
            tokio::task::yield_now().await;
        }
        let refused = queue.turn().await.expect_err("full");
        assert!(refused.status == 503 && refused.wait.is_some(), "{refused:?}");
        drop(first);
        let second = second.await.expect("it ends").expect("its turn");
        // Who has gone away does not count any more.
        third.abort();
        assert!(third.await.is_err() && queue.waiting.load(Ordering::Relaxed) == 0);
        drop(second);
        assert!(queue.turn().await.is_ok());
    }

    #[tokio::test]
    async fn turn_that_does_not_come_soon_is_waited_for_no_longer() {
        let queue = Queue::new(1, 2, Duration::from_millis(20));
        let _kept = queue.turn().await.expect("a place");
        assert!(queue.turn().await.is_err() && queue.waiting.load(Ordering::Relaxed) == 0);
    }
}
