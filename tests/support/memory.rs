//! What a process holds, as the system tells.

/// The most memory that a process ever held, in MB, by its id or `self`.
pub fn peak_mb(process: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(peak.trim().strip_suffix(" kB")?.parse::<u64>().ok()? / 1000)
}
