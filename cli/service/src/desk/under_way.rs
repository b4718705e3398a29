//! What is known of the request under way: whether a change has begun that may be kept whatever becomes of the answer,
//! and the turn that a large one has.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use crate::desk::queue::Permit;

tokio::task_local! {
    static REQUEST: Arc<Request>;
}

/// One request.
#[derive(Default)]
pub struct Request {
    begun: AtomicBool,
    large: Mutex<Option<Permit>>,
}

impl Request {
    /// Answers within it.
    pub async fn within<T>(self: &Arc<Self>, answer: impl Future<Output = T>) -> T {
        REQUEST.scope(Arc::clone(self), answer).await
    }

    /// Whether a change has begun.
    pub fn has_begun(&self) -> bool {
        self.begun.load(Ordering::Relaxed)
    }
}

/// A change begins: it goes on whatever becomes of the request, and takes the turn of a large one along.
pub fn begins() -> Option<Permit> {
    let begun = REQUEST.try_with(|of| {
        of.begun.store(true, Ordering::Relaxed);
        of.large.lock().unwrap_or_else(PoisonError::into_inner).take()
    });
    begun.ok().flatten()
}

/// The request is a large one, and has its turn until it has ended.
pub fn is_large(turn: Permit) {
    let _ = REQUEST.try_with(|of| of.large.lock().unwrap_or_else(PoisonError::into_inner).replace(turn));
}
