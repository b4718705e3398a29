//! Work that takes long is done on one core, so that pages stay quick.

use crate::refusal::Refusal;

/// Does long work on a thread of its own, and all threads that it starts on the same core with it.
pub async fn on_one_core<T: Send + 'static>(does: impl FnOnce() -> T + Send + 'static) -> Result<T, Refusal> {
    let (done, came) = tokio::sync::oneshot::channel();
    spawn("asked", move || {
        let _ = done.send(does());
    })?;
    came.await.map_err(|e| Refusal::ours("web::stopped", e))
}

/// Starts long work on a thread of its own; see [`on_one_core`].
pub fn spawn(name: &str, does: impl FnOnce() + Send + 'static) -> Result<(), Refusal> {
    let work = move || {
        keep_to_one();
        does();
    };
    let started = std::thread::Builder::new().name(name.to_owned()).spawn(work);
    started.map(|_| ()).map_err(|e| Refusal::ours("web::no-thread", e))
}

/// Threads inherit the cores that they may use: the last of those that this one may.
#[cfg(target_os = "linux")]
fn keep_to_one() {
    use rustix::thread::{CpuSet, sched_getaffinity, sched_setaffinity};
    let Ok(may) = sched_getaffinity(None) else { return };
    let Some(last) = (0..CpuSet::MAX_CPU).rev().find(|cpu| may.is_set(*cpu)) else { return };
    if may.count() > 1 {
        let mut only = CpuSet::new();
        only.set(last);
        if let Err(e) = sched_setaffinity(None, &only) {
            tracing::warn!("long work is not kept to one core: {e}");
        }
    }
}
#[cfg(not(target_os = "linux"))]
fn keep_to_one() {}
