use std::sync::Arc;

use crate::cue::sound_sign::TAPS;
use crate::cue::{CueSound, FULL, SoundSign};
use crate::sound::Clip;
use crate::units::{Decibels, SampleRate, Seconds};

/// How much softer a sign is than a cue.
const SOFTER: Decibels = Decibels(6.0);
/// The silence between two signs in a row.
const PAUSE: Seconds = Seconds(0.25);
/// The silence between two signs where the player is to learn them.
const APART: Seconds = Seconds(1.5);

/// Signs one after the other, softer than a cue whose peak is `level`. The sound has no notes and no beats.
#[must_use]
pub fn signs(wanted: &[SoundSign], rate: SampleRate, level: Decibels) -> CueSound {
    let mut clip = Clip::silence(rate, Seconds(0.0));
    for sign in wanted {
        let from = if clip.samples.is_empty() { Seconds(0.0) } else { clip.length() + PAUSE };
        sign.mix(&mut clip, from, 1.0);
    }
    clip.bring_to(Decibels(level.0 - SOFTER.0));
    let end = clip.length();
    CueSound { clip: Arc::new(clip), end, beat_zero: None, beats: Vec::new(), clicks: Vec::new(), notes: Vec::new() }
}

/// How long signs one after the other last, whatever the rate.
#[must_use]
pub fn signs_last(wanted: &[SoundSign]) -> Seconds {
    signs(wanted, SampleRate::DEVICE, FULL).end
}

/// All signs in turn, with a silence between them, for a player who learns them.
#[must_use]
pub fn signs_in_turn(rate: SampleRate, level: Decibels) -> Clip {
    let mut clip = Clip::silence(rate, Seconds(0.0));
    for sign in SoundSign::ALL {
        let at = if clip.samples.is_empty() { Seconds(0.0) } else { clip.length() + APART };
        sign.mix(&mut clip, at, 1.0);
        if sign == SoundSign::YourTurn {
            sign.mix(&mut clip, at + TAPS, 1.0);
        }
    }
    clip.bring_to(Decibels(level.0 - SOFTER.0));
    clip
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sign_is_another_sound_and_short_enough_to_stand_between_a_verdict_and_the_next_cue() {
        let made: Vec<CueSound> =
            SoundSign::ALL.iter().map(|sign| signs(&[*sign], SampleRate::CD, Decibels(-12.0))).collect();
        for (n, one) in made.iter().enumerate() {
            assert!(made[..n].iter().all(|other| other.clip != one.clip), "{:?}", SoundSign::ALL[n]);
        }
        for time in [SoundSign::Early, SoundSign::Late, SoundSign::Uneven] {
            let longest = signs_last(&[time, SoundSign::Down]);
            assert!(longest.0 < 1.25, "{longest:?}");
        }
    }
}
