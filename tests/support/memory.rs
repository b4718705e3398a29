//! What a process holds and a thread has worked, as the system tells.

use std::time::Duration;

/// The most memory that a process ever held, in MB, by its id or `self`.
pub fn peak_mb(process: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(peak.trim().strip_suffix(" kB")?.parse::<u64>().ok()? / 1000)
}

/// How long this thread has had a core: the same whatever else the machine does.
pub fn worked() -> Option<Duration> {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    told.split_whitespace().next()?.parse().ok().map(Duration::from_nanos)
}

/// How long it has had one since then; nothing where the system does not tell.
pub fn worked_since(then: Option<Duration>) -> Duration {
    worked().zip(then).map(|(now, then)| now.saturating_sub(then)).unwrap_or_default()
}
