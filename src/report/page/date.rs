/// A calendar day as a teacher writes it: "6 November 2026". A day that no calendar holds is told by its number.
#[must_use]
pub(super) fn date(day: i32) -> String {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = jiff::Span::new().try_days(day).and_then(|days| epoch.checked_add(days));
    date.map_or_else(|_| format!("day {day}"), |date| date.strftime("%-d %B %Y").to_string())
}

/// Two days and what lies between: "6 to 13 November 2026", with no more of the calendar than is needed.
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

#[cfg(test)]
mod tests {
    use super::{date, dates};

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
