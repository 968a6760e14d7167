//! What "lately" means wherever a key is called weak, slow or left behind.

use std::collections::BTreeSet;

/// Number of its latest days by which a key is judged, as a key holds by its last three; and of the days of practice without an answer
/// after which a key is left behind.
pub(super) const LATEST_DAYS: usize = 3;
/// Smallest ratio to the middle of other keys at which a key is slow, or quick; less is chance.
pub(super) const APART: f64 = 1.25;

/// The third-last of these days, each counted once; the first of them where they are fewer.
pub(super) fn latest_since(days: impl IntoIterator<Item = i32>) -> Option<i32> {
    let days: BTreeSet<i32> = days.into_iter().collect();
    days.iter().rev().nth(LATEST_DAYS - 1).or(days.first()).copied()
}

/// The third-last of these days, each counted once; `None` where they are fewer.
pub(super) fn third_last(days: impl IntoIterator<Item = i32>) -> Option<i32> {
    let days: BTreeSet<i32> = days.into_iter().collect();
    days.iter().rev().nth(LATEST_DAYS - 1).copied()
}

/// The largest of these values on the latest three of all `days`; each day comes with a value or without one.
pub(super) fn best_lately(days: &[(i32, Option<f64>)]) -> Option<f64> {
    let since = latest_since(days.iter().map(|(day, _)| *day))?;
    days.iter().filter(|(day, _)| *day >= since).filter_map(|(_, value)| *value).reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_as_quick_as_the_best_of_the_latest_three_days_on_which_it_was_answered() {
        // Each day begins slowly; the fourth day back held more, but that is long ago; on the last day nothing went up.
        let days = [(1, Some(150.0)), (4, Some(60.0)), (4, Some(96.0)), (6, Some(60.0)), (6, Some(90.0)), (9, None)];
        assert_eq!(best_lately(&days), Some(96.0));
        assert_eq!(best_lately(&days[5..]), None);
        let on = |days: &[i32]| (latest_since(days.iter().copied()), third_last(days.iter().copied()));
        assert_eq!(on(&[1, 1, 4, 6, 9, 9]), (Some(4), Some(4)));
        assert_eq!(on(&[6, 9, 9]), (Some(6), None));
    }
}
