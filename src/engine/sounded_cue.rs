use std::sync::Arc;

use crate::drill::CUE_TAIL;
use crate::sound::Clip;
use crate::units::Seconds;

/// A cue in the sound in which it was asked, to be heard again: alone, though others stood in that sound, and without the clicks
/// beside its answer.
#[derive(Debug, Clone)]
pub struct SoundedCue {
    /// Number of the cue.
    pub number: u32,
    /// The sound: of one cue, or of a round.
    pub sound: Arc<Clip>,
    /// Where the cue begins in that sound, its count-in included.
    pub from: Seconds,
    /// Where the cue ends in that sound.
    pub end: Seconds,
}

impl SoundedCue {
    /// The sound of this cue alone.
    #[must_use]
    pub fn alone(&self) -> Arc<Clip> {
        let (rate, all) = (self.sound.rate, &self.sound.samples);
        let until = rate.samples(self.end + CUE_TAIL).min(all.len());
        let from = rate.samples(self.from).min(until);
        if from == 0 && until == all.len() {
            return Arc::clone(&self.sound);
        }
        Arc::new(Clip { rate, samples: all[from..until].to_vec() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cue::{Cue, Rendering, Timing, round, sound};
    use crate::music::{Concert, ConcertKey, Range};
    use crate::pattern::{Library, Register, realise};
    use crate::units::{SampleRate, Tempo};

    const RATE: SampleRate = SampleRate::DEVICE;

    fn cue(key: usize) -> Cue {
        let (library, key) = (Library::builtin(), ConcertKey::FIFTHS[key]);
        let pattern = library.find("five-note-row-up-and-down").unwrap();
        let range = Range::new(Concert(48), Concert(84));
        let line = realise(pattern, key, None, range, Register::Middle).unwrap();
        Cue { click: true, timing: Timing::InTempo, ..Cue::new(pattern, key, Register::Middle, Tempo(120.0), line) }
    }

    #[test]
    fn a_cue_is_heard_again_without_the_silent_bars_in_which_it_was_answered() {
        let made = sound(&cue(0), &Rendering::new(RATE));
        let one = SoundedCue { number: 1, sound: Arc::clone(&made.clip), from: Seconds(0.0), end: made.end };
        let alone = one.alone();
        assert!(made.clip.length().0 > made.end.0 + 1.0, "clicks go through the answer");
        assert!(alone.length().0 <= made.end.0 + CUE_TAIL.0 + 1e-3, "{:?}", alone.length());
        assert_eq!(alone.samples[..], made.clip.samples[..alone.samples.len()]);
    }

    #[test]
    fn of_a_round_only_the_cue_that_was_answered_is_heard_again() {
        let made = round(&[cue(0), cue(1), cue(2)], &Rendering::new(RATE));
        let place = made.places[1];
        let one = SoundedCue { number: 2, sound: made.sound.clip, from: place.from, end: place.end };
        let alone = one.alone();
        assert!((alone.length().0 - (place.end - place.from + CUE_TAIL).0).abs() < 1e-3, "{:?}", alone.length());
        assert!(alone.peak().0 > -60.0);
    }
}
