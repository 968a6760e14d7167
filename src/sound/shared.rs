use std::sync::Arc;

use crate::sound::Clip;
use crate::units::SampleRate;

/// A stretch of sound that lies in blocks which others use too, so that nothing is copied to keep it.
#[derive(Debug, Clone)]
pub struct SharedSound {
    /// Samples a second.
    pub rate: SampleRate,
    /// The blocks, in order of time; each has at least one sample of the stretch.
    pub blocks: Vec<Arc<Vec<f32>>>,
    /// Number of samples of the first block that lie before the stretch.
    pub skipped: usize,
    /// Number of samples of the stretch.
    pub count: usize,
}

impl SharedSound {
    /// The samples of the sound, piece by piece.
    pub fn pieces(&self) -> impl Iterator<Item = &[f32]> {
        let (mut skipped, mut left) = (self.skipped, self.count);
        self.blocks.iter().map(move |block| {
            let piece = block.get(std::mem::take(&mut skipped)..).unwrap_or(&[]);
            let piece = &piece[..piece.len().min(left)];
            left -= piece.len();
            piece
        })
    }

    /// A copy of the sound in one piece.
    #[must_use]
    pub fn to_clip(&self) -> Clip {
        let mut samples = Vec::with_capacity(self.count);
        self.pieces().for_each(|piece| samples.extend(piece));
        Clip { rate: self.rate, samples }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_begins_and_ends_within_its_blocks() {
        let block = |from: u8| Arc::new((from..from + 4).map(f32::from).collect::<Vec<f32>>());
        let blocks = vec![block(0), block(4), block(8)];
        let sound = SharedSound { rate: SampleRate::CD, blocks, skipped: 3, count: 6 };
        assert_eq!(sound.to_clip().samples, [3.0, 4.0, 5.0, 6.0, 7.0, 8.0]);
        assert_eq!(sound.pieces().map(<[f32]>::len).collect::<Vec<_>>(), [1, 4, 1]);
    }
}
