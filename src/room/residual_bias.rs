use crate::room::Canceller;
use crate::room::residual::ResidualSpectra;

/// Number of ratios that are kept, one for each block that shows the bias: four seconds of a cue that changes all the time.
const KEPT: usize = 256;
/// Number of ratios from which on the bias is estimated; with fewer it stays `USUAL`.
const ENOUGH: usize = 20;
/// This many of ten ratios lie below the bias; in the other blocks a player may play along.
const OF_TEN: usize = 7;
/// Blocks in which the echo changes by less than this do not show the bias: a tone that goes on is taken out far better than its
/// end.
const CHANGES: f32 = 0.1;
/// The bias where too little was heard, dB.
const USUAL: f64 = -7.0;

/// By how much the residual exceeds the echo that is estimated in it, while nothing but the cue sounds; learned over a cue, block
/// by block.
///
/// The canceller's own estimate follows a fast filter that is ready for a moving path, so it is mostly 10 to 30 dB too great, but too
/// small for a while after the path has changed.
#[derive(Debug, Clone)]
pub(super) struct ResidualBias {
    /// Ratios of the residual's power to that of the estimated echo, a ring.
    ratios: [f32; KEPT],
    /// Number of ratios since the cue began.
    count: usize,
    /// Memory for the ratios in order.
    ordered: [f32; KEPT],
    /// The bias, dB.
    db: f64,
}

impl ResidualBias {
    /// The usual bias, nothing heard yet.
    pub fn new() -> Self {
        Self { ratios: [0.0; KEPT], count: 0, ordered: [0.0; KEPT], db: USUAL }
    }

    /// Forgets what was heard, since another cue begins.
    pub fn clear(&mut self) {
        self.count = 0;
        self.db = USUAL;
    }

    /// Learns from the newest block, in which the cue sounds.
    pub fn learn(&mut self, residuals: &ResidualSpectra, canceller: &Canceller) {
        if let Some(ratio) = residuals.newest_ratio(canceller).filter(|_| canceller.change() >= CHANGES) {
            self.add(ratio);
        }
    }

    fn add(&mut self, ratio: f32) {
        self.ratios[self.count % KEPT] = ratio;
        self.count += 1;
        let count = self.count.min(KEPT);
        if count >= ENOUGH {
            let ordered = &mut self.ordered[..count];
            ordered.copy_from_slice(&self.ratios[..count]);
            let (_, most, _) = ordered.select_nth_unstable_by(count * OF_TEN / 10, f32::total_cmp);
            self.db = 10.0 * f64::from(most.max(1e-6)).log10();
        }
    }

    /// The bias, dB: below 0 where the estimate is too great.
    pub const fn db(&self) -> f64 {
        self.db
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_player_in_some_of_the_blocks_does_not_move_what_is_known_of_the_others() {
        let mut bias = ResidualBias::new();
        (0..ENOUGH - 1).for_each(|_| bias.add(0.01));
        assert_eq!(bias.db(), USUAL, "too little was heard");
        (0..50).for_each(|n| bias.add(if n % 4 == 0 { 100.0 } else { 0.01 }));
        assert!((bias.db() + 20.0).abs() < 1e-3, "{}", bias.db());
        bias.clear();
        assert_eq!(bias.db(), USUAL, "another cue");
        (0..3 * KEPT).for_each(|_| bias.add(2.0));
        assert!((bias.db() - 3.01).abs() < 0.01, "{}", bias.db());
    }
}
