use jiff::ZonedDateTime;
use jiff::civil;

/// Now, on the player's own wall clock and calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Today {
    /// Days since 1970-01-01 in local time.
    pub day: i32,
    /// Local time with zone, RFC 3339, to the second.
    pub started: String,
}

impl Today {
    /// A seed that differs from sitting to sitting and can be read off the record: a hash of `started` after FNV-1a (Fowler, Noll
    /// and Vo), with a start value of its own.
    #[must_use]
    pub fn seed(&self) -> u64 {
        let started = self.started.bytes();
        started.fold(1_469_598_103_934_665_603, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(1_099_511_628_211))
    }
}

/// What day and time it is where the player is.
#[must_use]
pub fn today() -> Today {
    let now = ZonedDateTime::now();
    let days = now.date().duration_since(civil::date(1970, 1, 1)).as_hours() / 24;
    Today { day: i32::try_from(days).unwrap_or_default(), started: now.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string() }
}

/// A day, counted from 1970-01-01, as a date such as 2026-12-27 (RFC 3339, full-date); 1970-01-01 where the calendar does not reach
/// so far.
pub(super) fn date_of(day: i32) -> String {
    let epoch = civil::date(1970, 1, 1);
    let date = jiff::Span::new().try_days(day).and_then(|days| epoch.checked_add(days));
    date.unwrap_or(epoch).to_string()
}

#[cfg(test)]
mod tests {
    use super::today;

    #[test]
    fn today_is_after_the_day_this_was_written_and_reads_as_a_time_with_zone() {
        let today = today();
        assert!(today.day > 20_000, "{today:?}");
        assert_eq!(today.started.len(), "2026-11-25T18:30:00+01:00".len(), "{today:?}");
        let date: jiff::civil::Date = today.started[..10].parse().unwrap();
        let days = date.duration_since(jiff::civil::date(1970, 1, 1)).as_hours() / 24;
        assert!((days - i64::from(today.day)).abs() <= 1);
    }
}
