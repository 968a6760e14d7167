//! Figures of answers that had to come in time, as bytes. Each row is three numbers (u32, little-endian): beats of warning,
//! [`ROUND`] or [`BY_EAR`]; how many answers came right; of how many. Besides, what a second task cost.

use crate::coach::{PairedSums, TapCounts, TaskCost};
use crate::report::SittingFigures;

/// Stands in place of the beats of warning where the row is of a round without a stop.
const ROUND: u32 = u32::MAX;
/// Stands in place of the beats of warning where the row is of answers by ear alone.
const BY_EAR: u32 = u32::MAX - 1;

/// The figures of keys told late, of rounds without a stop and of answers by ear alone, as bytes of the index.
pub(super) fn bytes(figures: &SittingFigures) -> Vec<u8> {
    let rounds = figures.rounds.iter().map(|(right, of)| (ROUND, *right, *of));
    let by_ear = Some(figures.by_ear).filter(|it| it.1 > 0).map(|(whole, of)| (BY_EAR, whole, of));
    let rows = figures.late.iter().copied().chain(rounds).chain(by_ear);
    rows.flat_map(|(what, right, of)| [what, right, of]).flat_map(u32::to_le_bytes).collect()
}

/// The rows of keys that were told late: beats of warning, how many answers came right, of how many.
pub(super) fn late(bytes: &[u8]) -> Vec<(u32, u32, u32)> {
    rows(bytes).filter(|row| row.0 < BY_EAR).collect()
}

/// How many answers by ear alone came whole, of how many.
pub(super) fn by_ear(bytes: &[u8]) -> (u32, u32) {
    rows(bytes).find(|row| row.0 == BY_EAR).map_or((0, 0), |row| (row.1, row.2))
}

/// The rows of rounds without a stop: how many answers came right, of how many.
pub(super) fn rounds(bytes: &[u8]) -> Vec<(u32, u32)> {
    rows(bytes).filter(|row| row.0 == ROUND).map(|row| (row.1, row.2)).collect()
}

/// What a second task cost, as bytes: pairs (u32), sum and sum of squares (f64) of three differences, then the four counts.
pub(super) fn task_bytes(task: Option<&(TaskCost, TapCounts)>) -> Vec<u8> {
    let Some((cost, counts)) = task else { return Vec::new() };
    let sums = [cost.right, cost.late, cost.uneven].into_iter().flat_map(|it| {
        let pairs = it.pairs.to_le_bytes().into_iter();
        pairs.chain(it.sum.to_le_bytes()).chain(it.squares.to_le_bytes())
    });
    let counts = [counts.blocks, counts.right, counts.off, counts.unsaid];
    sums.chain(counts.into_iter().flat_map(u32::to_le_bytes)).collect()
}

/// What a second task cost; `None` where there was none.
pub(super) fn task(bytes: &[u8]) -> Option<(TaskCost, TapCounts)> {
    let count = |at: usize| Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?));
    let real = |at: usize| Some(f64::from_le_bytes(*bytes.get(at..)?.first_chunk()?));
    let sums = |at: usize| Some(PairedSums { pairs: count(at)?, sum: real(at + 4)?, squares: real(at + 12)? });
    let cost = TaskCost { right: sums(0)?, late: sums(20)?, uneven: sums(40)? };
    let counts = TapCounts { blocks: count(60)?, right: count(64)?, off: count(68)?, unsaid: count(72)? };
    Some((cost, counts))
}

fn rows(bytes: &[u8]) -> impl Iterator<Item = (u32, u32, u32)> {
    let number = |at: &[u8]| at.iter().rev().fold(0, |sum, byte| sum << 8 | u32::from(*byte));
    bytes.chunks_exact(12).map(move |row| (number(&row[..4]), number(&row[4..8]), number(&row[8..])))
}
