//! What is said of keys that were told late.

use crate::coach::{ShortestWarning, WarnedShare};
use crate::words::numbers::numbered;

/// How often answers came out right after each warning, one sentence for each warning.
#[must_use]
pub fn sentences(shares: &[WarnedShare]) -> Vec<String> {
    shares.iter().map(sentence).collect()
}

fn sentence(share: &WarnedShare) -> String {
    let beats = match share.warning {
        0 => "Told on the beat".to_owned(),
        some => format!("Told {} before", numbered(some as usize, "beat")),
    };
    let [low, high] = hundredths(share);
    format!("{beats}: {} of {} right and in time (likely {low} to {high} of 100).", share.right, share.of)
}

/// The count of right answers and the interval of its share, for a column of a table.
#[must_use]
pub fn brief(share: &WarnedShare) -> String {
    let [low, high] = hundredths(share);
    format!("{}/{} {low}-{high}", share.right, share.of)
}

/// The interval of the share, in hundredths.
fn hundredths(share: &WarnedShare) -> [String; 2] {
    [share.between.0, share.between.1].map(|bound| format!("{:.0}", 100.0 * bound))
}

/// The range, in beats, of the shortest warning that leaves .8 of the answers right; "or more" where its upper end is not known, "none"
/// where no warning is enough.
#[must_use]
pub fn shortest(found: &ShortestWarning) -> String {
    match (found.no_shorter_than, found.no_longer_than) {
        (None, _) => "none".to_owned(),
        (Some(from), None) => format!("{from} or more"),
        (Some(from), Some(to)) if from == to => from.to_string(),
        (Some(from), Some(to)) => format!("{from} to {to}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::Warned;

    #[test]
    fn a_share_is_never_told_without_its_spread() {
        let mut warned = Warned::default();
        (0..12).for_each(|n| warned.enter(2, n < 9));
        warned.enter(0, false);
        assert_eq!(
            sentences(&warned.shares()),
            [
                "Told 2 beats before: 9 of 12 right and in time (likely 47 to 91 of 100).",
                "Told on the beat: 0 of 1 right and in time (likely 0 to 79 of 100)."
            ]
        );
    }
}
