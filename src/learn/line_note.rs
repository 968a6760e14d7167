use std::f64::consts::TAU;

use crate::music::Concert;
use crate::notes::HeardNote;
use crate::pattern::Line;
use crate::units::{Seconds, Tempo, rank};

/// A note that the ear hears with less confidence than this is a by-product of playing and is not taken into the line.
const UNSURE: f64 = 0.4;
/// A note shorter than this is a by-product too, even where the ear is sure: no player means to play two periods of a low note.
const CRUMB: Seconds = Seconds(0.039);
/// The confidence of a note from a MIDI key, which counts however short it is; a short note that the ear hears has less.
const KEYED: f64 = 1.0;

/// One note of a line as it was played.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineNote {
    /// The pitch of the half step nearest to what was played, once the player's own tuning is taken off.
    pub pitch: Concert,
    /// When the note begins.
    pub onset: Seconds,
    /// When the note was released.
    pub release: Seconds,
    /// How many letters above degree 1 the player says the note is written; `None` where only its pitch is known.
    pub letters: Option<i32>,
}

/// The notes of one line in order of their onsets, without by-products. The distance of the player's tuning from the reference pitch
/// is taken off, so that a horn pushed in by forty cents is not read in two keys at once.
#[must_use]
pub fn played(heard: &[HeardNote]) -> Vec<LineNote> {
    let sure = |note: &&HeardNote| note.confidence >= if note.length() < CRUMB { KEYED } else { UNSURE };
    let mut notes: Vec<&HeardNote> = heard.iter().filter(sure).collect();
    notes.sort_by_cached_key(|note| rank(note.onset.0));
    let tuning = tuning(&notes);
    notes
        .iter()
        .map(|note| LineNote {
            pitch: Concert((note.pitch.0 - tuning).round() as i32),
            onset: note.onset,
            release: note.release,
            letters: None,
        })
        .collect()
}

/// How far the notes together stand above whole half steps, -0.5 to 0.5 half steps: the mean direction on the circle of one half
/// step (circular statistics: Mardia and Jupp, "Directional Statistics", 2000; from memory).
fn tuning(notes: &[&HeardNote]) -> f64 {
    let (mut up, mut across) = (0.0, 0.0);
    for note in notes {
        up += (note.pitch.0 * TAU).sin();
        across += (note.pitch.0 * TAU).cos();
    }
    up.atan2(across) / TAU
}

impl LineNote {
    /// The notes of a line as they lie in time at a tempo.
    #[must_use]
    pub fn of(line: &Line, tempo: Tempo) -> Vec<Self> {
        let at = |note: &crate::pattern::ExpectedNote| Self {
            pitch: note.pitch,
            onset: tempo.lasting(note.at),
            release: tempo.lasting(note.at + note.length),
            letters: None,
        };
        line.notes.iter().map(at).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Decibels, Midi};

    fn note(number: u32, pitch: f64, confidence: f64) -> HeardNote {
        let onset = Seconds(f64::from(number) * 0.3);
        HeardNote {
            number,
            onset,
            release: onset + Seconds(0.25),
            pitch: Midi(pitch),
            spread: None,
            loudness: Decibels(-20.0),
            confidence,
            announced: onset,
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn a_player_who_stands_sharp_is_read_in_one_key() {
        // Forty to fifty-five cents sharp throughout: nearest pitches alone would give C D F F#.
        let heard = [note(0, 60.42, 1.0), note(1, 62.45, 1.0), note(2, 64.55, 1.0), note(3, 65.55, 1.0)];
        let pitches: Vec<i32> = played(&heard).iter().map(|note| note.pitch.0).collect();
        assert_eq!(pitches, [60, 62, 64, 65]);
    }

    #[test]
    fn what_the_ear_doubts_is_left_out_and_order_does_not_matter() {
        let heard = [note(2, 64.0, 1.0), note(1, 79.0, 0.2), note(0, 60.0, 1.0)];
        let pitches: Vec<i32> = played(&heard).iter().map(|note| note.pitch.0).collect();
        assert_eq!(pitches, [60, 64]);
        assert_eq!(played(&[]), []);
    }

    #[test]
    fn a_pad_that_is_struck_late_in_a_recording_is_a_note_too() {
        let struck: Vec<HeardNote> = (0..64)
            .map(|n| {
                let onset = Seconds(8.0 + 0.37 * f64::from(n));
                HeardNote { onset, release: onset + Seconds(0.04), ..note(n, 60.0, 1.0) }
            })
            .collect();
        assert_eq!(played(&struck).len(), 64);
    }

    #[test]
    fn a_short_key_is_a_note_and_a_short_sound_is_none() {
        let short = |confidence| HeardNote { release: Seconds(0.031), ..note(0, 60.0, confidence) };
        assert_eq!((played(&[short(1.0)]).len(), played(&[short(0.99)]).len()), (1, 0));
    }
}
