//! Figures of answers that had to come in time, as bytes. Each row is three numbers (u32, little-endian): beats of warning, or
//! [`ROUND`]; how many answers came right; of how many.

use crate::report::SittingFigures;

/// Stands in place of the beats of warning where the row is of a round without a stop.
const ROUND: u32 = u32::MAX;

/// The figures of keys told late and of rounds without a stop, as bytes of the index.
pub(super) fn bytes(figures: &SittingFigures) -> Vec<u8> {
    let rounds = figures.rounds.iter().map(|(right, of)| (ROUND, *right, *of));
    let rows = figures.late.iter().copied().chain(rounds);
    rows.flat_map(|(what, right, of)| [what, right, of]).flat_map(u32::to_le_bytes).collect()
}

/// The rows of keys that were told late: beats of warning, how many answers came right, of how many.
pub(super) fn late(bytes: &[u8]) -> Vec<(u32, u32, u32)> {
    rows(bytes).filter(|row| row.0 != ROUND).collect()
}

/// The rows of rounds without a stop: how many answers came right, of how many.
pub(super) fn rounds(bytes: &[u8]) -> Vec<(u32, u32)> {
    rows(bytes).filter(|row| row.0 == ROUND).map(|row| (row.1, row.2)).collect()
}

fn rows(bytes: &[u8]) -> impl Iterator<Item = (u32, u32, u32)> {
    let number = |at: &[u8]| at.iter().rev().fold(0, |sum, byte| sum << 8 | u32::from(*byte));
    bytes.chunks_exact(12).map(move |row| (number(&row[..4]), number(&row[4..8]), number(&row[8..])))
}
