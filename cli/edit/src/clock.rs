//! The machine's clock, also one that is set before 1970.

use std::time::SystemTime;

use chrono::{DateTime, Utc};

/// Now.
pub fn now() -> DateTime<Utc> {
    // `Utc::now` panics on a clock before 1970, as that of a machine without a battery may be set.
    of(SystemTime::now())
}

fn of(time: SystemTime) -> DateTime<Utc> {
    time.into()
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn clock_before_1970_is_told_as_it_is() {
        let before = SystemTime::UNIX_EPOCH - Duration::from_millis(86_400_500);
        assert_eq!(of(before).to_string(), "1969-12-30 23:59:59.500 UTC");
    }
}
