use std::collections::BTreeSet;

use crate::music::{Concert, Degree, PitchClass};
use crate::pattern::{Line, Quality};

/// Whether a chord is a triad, a sixth or a seventh chord: no tone lies beyond the octave.
fn plain(quality: Quality) -> bool {
    quality.tones().iter().all(|tone| tone.letters < 7)
}

/// Whether a chord has five tones, as a ninth has. Wider chords have the notes of whole scales, so they show no root.
fn ninth(quality: Quality) -> bool {
    quality.tones().len() == 5
}

/// The chord on `tonic` to which most notes of the line belong. Of equal chords it is the one with the fewest tones that the line
/// leaves out, then the plainest; a ninth only where the line has exactly its tones. `None`, so that the line fits any chord, where
/// the line has no third (nor the second or fourth of a suspended chord), or where less than half of its notes belong to one chord,
/// for then it goes over several. A line with a seventh is over no sixth chord, one with a third over no suspended chord (common
/// practice).
#[must_use]
pub fn chord(line: &Line, tonic: Concert) -> Option<Quality> {
    let sounds = |class: i32| line.notes.iter().filter(|note| (note.pitch.0 - tonic.0).rem_euclid(12) == class).count();
    // How many notes of the line are in the chord, and how many tones of the chord the line leaves out.
    let fit = |quality: &Quality| {
        let classes: Vec<i32> = quality.tones().iter().map(|tone| tone.half_steps.rem_euclid(12)).collect();
        let silent = classes.iter().filter(|class| sounds(**class) == 0).count();
        (classes.iter().map(|class| sounds(*class)).sum::<usize>(), silent)
    };
    let (any_third, seventh) = (sounds(3) + sounds(4) > 0, sounds(10) + sounds(11) > 0);
    let may = |quality: &Quality| {
        let has = |letters: i32| quality.tones().iter().any(|tone| tone.letters == letters);
        // A sixth chord is ruled out where a seventh sounds, a suspended one where a third sounds.
        let displaced = (has(5) && seventh) || (!has(2) && any_third);
        let third = quality.tones().iter().any(|tone| (1..=3).contains(&tone.letters) && sounds(tone.half_steps) > 0);
        let exactly = ninth(*quality) && fit(quality) == (line.notes.len(), 0);
        third && !displaced && (plain(*quality) || exactly) && 2 * fit(quality).0 >= line.notes.len()
    };
    let key = |quality: &Quality| {
        let (sounding, silent) = fit(quality);
        (line.notes.len() - sounding, silent)
    };
    Quality::all().filter(may).min_by_key(key)
}

/// The number of the chord tone at `pitch`, as a musician names it: 1 3 5 7 9, the sixth of a sixth chord 6, the second or fourth of a
/// suspended chord 2 or 4. `None` where the pitch is no tone of the chord. (The `notes` of a pattern count tones otherwise:
/// [`pattern`](crate::pattern).)
#[must_use]
pub fn tone(quality: Quality, tonic: Concert, pitch: Concert) -> Option<i32> {
    let class = |half_steps: i32| half_steps.rem_euclid(12);
    let here = |tone: &&Degree| class(tone.half_steps) == class(pitch.0 - tonic.0);
    quality.tones().iter().find(here).map(|tone| tone.letters + 1)
}

/// Whether the notes of a line are exactly the tones of a chord no wider than a ninth, in any order and octave.
pub(super) fn tones_are(line: &Line, root: PitchClass, quality: Quality) -> bool {
    if !plain(quality) && !ninth(quality) {
        return false;
    }
    let above: BTreeSet<i32> = line.notes.iter().map(|note| (note.pitch.0 - root.get()).rem_euclid(12)).collect();
    above == quality.tones().iter().map(|tone| tone.half_steps.rem_euclid(12)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::ExpectedNote;
    use crate::units::Beats;

    fn found(half_steps: &[i32]) -> Option<&'static str> {
        let note = |up: &i32| ExpectedNote { pitch: Concert(60 + up), at: Beats(0.0), length: Beats(0.5), named: None };
        let line = Line { notes: half_steps.iter().map(note).collect(), length: Beats(0.5) };
        chord(&line, Concert(48)).map(Quality::name)
    }

    #[test]
    fn a_line_is_read_over_the_plainest_chord_it_sounds() {
        // Chords of scales and of broken chords: common practice.
        assert_eq!(found(&[0, 2, 4, 5, 7, 5, 4, 2, 0]), Some("maj"));
        assert_eq!(found(&[0, 2, 3, 5, 7, 9, 10, 12]), Some("m7"));
        assert_eq!(found(&[0, 2, 4, 5, 7, 9, 10, 12]), Some("7"));
        assert_eq!(found(&[0, 2, 4, 5, 7, 9, 11, 12]), Some("maj7"));
        assert_eq!(found(&[0, 3, 6, 9]), Some("dim7"));
        assert_eq!(found(&[0, 4, 7, 9, 12]), Some("6"));
        // The first tones of ii, V and I make no suspended chord, for thirds sound.
        assert_eq!(found(&[2, 4, 5, 9, 7, 9, 11, 14, 0, 2, 4, 7]), Some("maj7"));
        assert_eq!(found(&[0, 5, 7, 12]), Some("sus4"));
        // Broken thirds up the major scale.
        assert_eq!(found(&[0, 4, 2, 5, 4, 7, 5, 9, 7, 11, 9, 12, 11, 14, 12]), Some("maj7"));
        assert_eq!(found(&[3, 7, 10, 14, 0]), Some("m9"));
        assert_eq!(found(&[0, 7, 12]), None);
        // Through ii and V to I.
        assert_eq!(found(&[2, 5, 9, 12, 11, 14, 17, 20, 19]), None);
    }

    #[test]
    fn chord_tones_have_the_numbers_by_which_a_musician_names_them() {
        // Common practice.
        let numbers = |chord: &str, pitches: &[i32]| -> Vec<Option<i32>> {
            let quality = Quality::parse(chord).unwrap();
            pitches.iter().map(|pitch| tone(quality, Concert(60), Concert(*pitch))).collect()
        };
        assert_eq!(numbers("m7", &[60, 62, 63, 67, 70, 75]), [Some(1), None, Some(3), Some(5), Some(7), Some(3)]);
        assert_eq!(numbers("6", &[60, 64, 67, 69, 57]), [Some(1), Some(3), Some(5), Some(6), Some(6)]);
        assert_eq!(numbers("sus4", &[60, 65, 67]), [Some(1), Some(4), Some(5)]);
        assert_eq!(numbers("sus2", &[62]), [Some(2)]);
        assert_eq!(numbers("m9", &[74]), [Some(9)]);
        assert_eq!(numbers("dim7", &[69]), [Some(7)]);
    }
}
