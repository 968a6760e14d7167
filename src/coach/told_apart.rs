/// How often chance alone may be taken for a difference, over all that is looked at together.
pub const CHANCE: f64 = 0.05;

/// Whether, of two counts of right answers as (right, of), the share of `less` lies below that of `more` by more than chance gives once in
/// `1 / chance` such comparisons: Fisher's exact test, one way (R. A. Fisher 1935, The Design of Experiments, from memory). With no answer
/// on one side it is never so.
#[must_use]
pub fn fewer_right(less: (u32, u32), more: (u32, u32), chance: f64) -> bool {
    let (mine, all) = (u64::from(less.1), u64::from(less.1) + u64::from(more.1));
    let right = u64::from(less.0.min(less.1)) + u64::from(more.0.min(more.1));
    if mine == 0 || mine == all {
        return false;
    }
    // Of `all` answers `right` are right; how likely is it that `mine`, drawn blindly, hold so few of them?
    let ways = |of: u64, some: u64| ln_factorial(of) - ln_factorial(some) - ln_factorial(of - some);
    let least = right.saturating_sub(all - mine);
    let one = |k: u64| (ways(mine, k) + ways(all - mine, right - k) - ways(all, right)).exp();
    let likely: f64 = (least..=u64::from(less.0.min(less.1))).map(one).sum();
    likely <= chance
}

fn ln_factorial(of: u64) -> f64 {
    (2..=of).map(|n| (n as f64).ln()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lady_who_tasted_tea_and_other_published_tables() {
        // Fisher 1935: four cups of eight, all named right, come by chance once in 70; three of four, 17 times in 70 or better.
        assert!(fewer_right((0, 4), (4, 4), 1.0 / 70.0 + 1e-9) && !fewer_right((0, 4), (4, 4), 1.0 / 70.0 - 1e-9));
        assert!(fewer_right((1, 4), (3, 4), 17.0 / 70.0 + 1e-9) && !fewer_right((1, 4), (3, 4), 17.0 / 70.0 - 1e-9));
        // His table of twins (1934): of 13 identical 10, of 17 others 2; one way, 619 in 1 330 665 (from memory).
        let chance = 619.0 / 1_330_665.0;
        assert!(fewer_right((2, 17), (10, 13), chance * 1.001) && !fewer_right((2, 17), (10, 13), chance * 0.999));
    }

    #[test]
    fn nothing_is_told_apart_from_nothing() {
        assert!(!fewer_right((0, 0), (9, 9), 0.05) && !fewer_right((0, 9), (0, 0), 0.05));
        assert!(!fewer_right((5, 9), (5, 9), 0.05));
    }
}
