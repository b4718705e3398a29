//! How much a thread has worked: on a machine that does other things too, seconds on the clock say little about that, and
//! what the engine does next must not hang on them.

use std::time::{Duration, Instant};

/// The work of the thread that began it; told truly on that thread alone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effort {
    began: Instant,
    had_worked: Duration,
}

/// Clock seconds that a second of work is taken to last at most: a thread that has been waiting is not slow.
const SLOWEST: f64 = 20.0;

impl Effort {
    pub(super) fn begin() -> Self {
        Self { began: Instant::now(), had_worked: thread_time() }
    }

    /// The time for which a core has worked for this thread since the beginning.
    pub(super) fn worked(&self) -> Duration {
        thread_time().saturating_sub(self.had_worked)
    }

    /// How long so much work lasts by the clock, at the pace since the beginning: as long on a quiet machine.
    pub(super) fn by_clock(&self, work: Duration) -> Duration {
        let (worked, clock) = (self.worked().as_secs_f64(), self.began.elapsed().as_secs_f64());
        let slow = if worked > 0.01 { (clock / worked).clamp(1.0, SLOWEST) } else { 1.0 };
        work.mul_f64(slow)
    }
}

/// The time for which a core has worked for this thread.
#[cfg(unix)]
fn thread_time() -> Duration {
    use rustix::time::{ClockId, clock_gettime};
    Duration::try_from(clock_gettime(ClockId::ThreadCPUTime)).unwrap_or_default()
}

/// Where the machine does not tell: the clock's time.
#[cfg(not(unix))]
fn thread_time() -> Duration {
    use std::sync::LazyLock;
    static FIRST: LazyLock<Instant> = LazyLock::new(Instant::now);
    FIRST.elapsed()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn waiting_is_no_work() {
        let effort = Effort::begin();
        std::thread::sleep(Duration::from_millis(60));
        assert!(effort.worked() < Duration::from_millis(50), "{:?}", effort.worked());
        let work = Instant::now();
        while effort.worked() < Duration::from_millis(20) {
            std::hint::black_box(work.elapsed());
        }
        // 60 ms of the clock went by without work, so that work lasts longer than itself.
        assert!(effort.by_clock(Duration::from_millis(100)) > Duration::from_millis(200));
    }
}
