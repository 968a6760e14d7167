use crate::words::numbers::numbered;

/// A calendar day as a teacher writes it: "6 November 2026". A day that no calendar has is named by its number.
#[must_use]
pub fn date(day: i32) -> String {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = jiff::Span::new().try_days(day).and_then(|days| epoch.checked_add(days));
    date.map_or_else(|_| format!("day {day}"), |date| date.strftime("%-d %B %Y").to_string())
}

/// The day of a date such as 2026-12-07 (RFC 3339, full-date); `None` where no calendar has it.
#[must_use]
pub fn day_of(text: &str) -> Option<i32> {
    let date: jiff::civil::Date = text.parse().ok()?;
    let days = date.duration_since(jiff::civil::date(1970, 1, 1)).as_hours() / 24;
    i32::try_from(days).ok()
}

/// Two days and the time between them: "6 to 13 November 2026". A month or year that both share is said once.
#[must_use]
pub(super) fn dates(first: i32, last: i32) -> String {
    let (from, to) = (date(first), date(last));
    if first == last {
        return to;
    }
    let [from, to] = [from, to].map(|date| date.split(' ').map(str::to_owned).collect::<Vec<_>>());
    let same = from.iter().rev().zip(to.iter().rev()).take_while(|(a, b)| a == b).count().min(from.len() - 1);
    format!("{} to {}", from[..from.len() - same].join(" "), to.join(" "))
}

/// How long something sounded, in minutes, or below one minute in seconds.
pub(super) fn sounded(seconds: f64) -> String {
    let whole = |time: f64, unit: &str| numbered(time.round().max(0.0) as usize, unit);
    if seconds < 59.5 { whole(seconds, "second") } else { whole(seconds / 60.0, "minute") }
}

/// The Sunday with which the week of a day ends (ISO 8601: a week begins on Monday); the day itself where no calendar has it.
pub(super) fn sunday(day: i32) -> i32 {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = jiff::Span::new().try_days(day).and_then(|days| epoch.checked_add(days));
    date.map_or(day, |date| day.saturating_add(i32::from(6 - date.weekday().to_monday_zero_offset())))
}

#[cfg(test)]
mod tests {
    use super::{date, dates, day_of, sounded, sunday};

    #[test]
    fn a_date_is_the_day_that_it_names() {
        // GNU date: 2026-11-28 is day 20 785.
        assert_eq!(["2026-11-28", "1970-01-01", "2026-02-30", "soon"].map(day_of), [Some(20_785), Some(0), None, None]);
    }

    #[test]
    fn a_week_goes_from_monday_to_sunday() {
        // 1970-01-01 was a Thursday; 2026-11-29, day 20 786, is a Sunday (GNU date).
        assert_eq!([0, 3, 4, 10].map(sunday), [3, 3, 10, 10]);
        assert_eq!([20_780, 20_786, 20_787].map(sunday), [20_786, 20_786, 20_793]);
        assert_eq!(sunday(i32::MAX), i32::MAX);
    }

    #[test]
    fn ten_seconds_of_sound_are_no_minute_and_no_nothing() {
        assert_eq!(
            [10.2, 59.4, 59.6, 95.0, 0.0].map(sounded),
            ["10 seconds", "59 seconds", "1 minute", "2 minutes", "0 seconds"]
        );
    }

    #[test]
    fn days_are_named_by_the_calendar() {
        // ISO 8601's calendar, as GNU date counts it from the epoch.
        for (day, named) in [(0, "1 January 1970"), (11_016, "29 February 2000"), (20_785, "28 November 2026")] {
            assert_eq!(date(day), named);
        }
    }

    #[test]
    fn two_days_name_month_and_year_once() {
        assert_eq!(dates(20_771, 20_785), "14 to 28 November 2026");
        assert_eq!(dates(20_740, 20_785), "14 October to 28 November 2026");
        assert_eq!(dates(20_400, 20_785), format!("{} to 28 November 2026", date(20_400)));
        assert_eq!(dates(5, 5), "6 January 1970");
    }
}
