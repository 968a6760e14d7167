//! What had to come in time, as bytes: three numbers each (u32, little-endian), beats of warning or [`ROUND`], how many came right, of
//! how many.

use crate::report::SittingFigures;

/// In the place of a warning: a round without a stop.
const ROUND: u32 = u32::MAX;

/// The figures of keys told late as bytes of the index.
pub(super) fn bytes(figures: &SittingFigures) -> Vec<u8> {
    let rounds = figures.rounds.iter().map(|(right, of)| (ROUND, *right, *of));
    let rows = figures.late.iter().copied().chain(rounds);
    rows.flat_map(|(what, right, of)| [what, right, of]).flat_map(u32::to_le_bytes).collect()
}

/// Keys that were told late.
pub(super) fn late(bytes: &[u8]) -> Vec<(u32, u32, u32)> {
    rows(bytes).filter(|row| row.0 != ROUND).collect()
}

/// Rounds without a stop.
pub(super) fn rounds(bytes: &[u8]) -> Vec<(u32, u32)> {
    rows(bytes).filter(|row| row.0 == ROUND).map(|row| (row.1, row.2)).collect()
}

fn rows(bytes: &[u8]) -> impl Iterator<Item = (u32, u32, u32)> {
    let number = |at: &[u8]| at.iter().rev().fold(0, |sum, byte| sum << 8 | u32::from(*byte));
    bytes.chunks_exact(12).map(move |row| (number(&row[..4]), number(&row[4..8]), number(&row[8..])))
}
