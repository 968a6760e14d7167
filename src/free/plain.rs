//! What a plain line has by chance, whatever the line is that was played.

/// A plain line has a move of so many half steps, up and down together, with this chance: about six moves of ten are steps, and the
/// wider a skip is, the rarer it comes (Huron, "Sweet Anticipation", 2006, chapter 5, of melodies of many kinds; from memory).
const PLAIN: [f64; 13] = [0.05, 0.21, 0.36, 0.13, 0.09, 0.06, 0.01, 0.04, 0.01, 0.01, 0.005, 0.005, 0.02];

/// The chance of these moves one after another in a plain line.
pub(super) fn plain_chance(moves: &[i32]) -> f64 {
    let one = |by: &i32| {
        let both = PLAIN.get(by.unsigned_abs() as usize).copied().unwrap_or(0.001);
        if *by == 0 { both } else { both / 2.0 }
    };
    moves.iter().map(one).product()
}
