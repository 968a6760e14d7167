/// A calendar day as a teacher writes it: "6 November 2026". A day that no calendar holds is told by its number.
#[must_use]
pub(super) fn date(day: i32) -> String {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = jiff::Span::new().try_days(day).and_then(|days| epoch.checked_add(days));
    date.map_or_else(|_| format!("day {day}"), |date| date.strftime("%-d %B %Y").to_string())
}

#[cfg(test)]
mod tests {
    use super::date;

    #[test]
    fn days_are_named_by_the_calendar() {
        // ISO 8601's calendar, as GNU date counts it from the epoch.
        for (day, named) in [(0, "1 January 1970"), (11_016, "29 February 2000"), (20_785, "28 November 2026")] {
            assert_eq!(date(day), named);
        }
    }
}
