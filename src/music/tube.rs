//! Brass tubes: how far a partial lies from equal temperament, and how far valves pressed together miss it, because the lengths of
//! their tubes add up and their half steps do not (physics of an open tube).

use crate::units::Cents;

/// The half steps from the fundamental up to the equal-tempered note nearest to a partial, 12 for the second partial: twelve times the
/// binary logarithm of the partial's number, rounded.
pub(super) fn partial_half_steps(partial: u32) -> i32 {
    (12.0 * f64::from(partial).log2()).round() as i32
}

/// How far a partial lies from equal temperament: +2 cents for the third, -14 for the fifth, -31 for the seventh.
pub(super) fn partial_cents(partial: u32) -> Cents {
    Cents(1200.0 * f64::from(partial).log2() - 100.0 * f64::from(partial_half_steps(partial)))
}

/// How far valves pressed together miss the sum of their half steps: above zero is sharp.
///
/// `alone` is how far each pressed valve lowers the pitch alone; `half_steps` is how far the combination is meant to lower it.
pub(super) fn combination_cents(alone: &[Cents], half_steps: i32) -> Cents {
    let added: f64 = alone.iter().map(|cents| (cents.0 / 1200.0).exp2() - 1.0).sum();
    Cents(100.0 * f64::from(half_steps) - 1200.0 * (1.0 + added).log2())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn partials_miss_equal_temperament_as_the_acoustics_tables_say() {
        // 1200 log2(n) against the nearest hundred: the harmonic series.
        for (partial, cents) in [
            (2, 0.0),
            (3, 2.0),
            (4, 0.0),
            (5, -13.7),
            (6, 2.0),
            (7, -31.2),
            (8, 0.0),
            (9, 3.9),
            (10, -13.7),
            (11, -48.7),
            (12, 2.0),
        ] {
            assert!((partial_cents(partial).0 - cents).abs() < 0.06, "partial {partial}");
        }
    }

    #[test]
    fn valves_together_are_too_short_by_the_sum_of_their_tubes() {
        // Valves 1 and 2 are in tune alone; the third is in tune alone, or with the second (the classical compromises).
        for (third, table) in [(300.0, [10.6, 15.5, 30.3, 53.6]), (316.0, [10.6, 0.0, 15.5, 39.4])] {
            let valve = |n: usize| Cents([200.0, 100.0, third][n - 1]);
            let sets: [(&[usize], i32); 4] = [(&[1, 2], 3), (&[2, 3], 4), (&[1, 3], 5), (&[1, 2, 3], 6)];
            for ((set, half_steps), expected) in sets.into_iter().zip(table) {
                let alone: Vec<Cents> = set.iter().map(|n| valve(*n)).collect();
                let cents = combination_cents(&alone, half_steps).0;
                assert!((cents - expected).abs() < 0.6, "{set:?} with {third}: {cents}");
            }
        }
    }
}
