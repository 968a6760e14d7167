use std::sync::OnceLock;

use crate::music::{ChordQuality, NamedChord, Scale, ScaleFit, scales};

use super::file;

const TABLE: &str = include_str!("../../assets/chords.toml");

fn table() -> &'static (Vec<NamedChord>, Vec<ScaleFit>) {
    static READ: OnceLock<(Vec<NamedChord>, Vec<ScaleFit>)> = OnceLock::new();
    READ.get_or_init(|| file::chords(TABLE, scales()).unwrap_or_default())
}

/// The usual chord qualities: triads, sevenths, sixths, ninths to thirteenths, suspended chords, altered dominants.
#[must_use]
pub fn chords() -> &'static [NamedChord] {
    &table().0
}

/// The scales that fit a chord, one entry for each place in a key where the chord usually stands. Empty for a quality outside the table;
/// [`scales_over`] has the scales of such a quality.
#[must_use]
pub fn fits(quality: &ChordQuality) -> Vec<&'static ScaleFit> {
    table().1.iter().filter(|fit| fit.quality == *quality).collect()
}

/// Every scale that holds all tones of a chord on its root, in the order of [`scales`], without the chromatic one.
#[must_use]
pub fn scales_over(quality: &ChordQuality) -> Vec<&'static Scale> {
    let tones = quality.degrees();
    scales().iter().filter(|s| s.degrees.len() < 12 && tones.iter().all(|tone| s.sounds(*tone))).collect()
}

impl ChordQuality {
    /// The name musicians use; `None` for a quality outside the table of chords.
    #[must_use]
    pub fn name(&self) -> Option<&'static str> {
        chords().iter().find(|named| named.quality == *self).map(|named| named.name.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Degree;

    fn quality(text: &str) -> ChordQuality {
        ChordQuality::parse(text).unwrap()
    }

    #[test]
    fn the_table_of_chords_is_whole_and_every_other_symbol_reads_as_its_chord() {
        let (named, fits) = file::chords(TABLE, scales()).unwrap();
        assert_eq!((named.len(), fits.len()), (59, 59));
        for (n, one) in named.iter().enumerate() {
            assert!(named[..n].iter().all(|other| other.quality != one.quality), "{} twice", one.name);
            for other in &one.also {
                assert_eq!(ChordQuality::parse(other).as_ref(), Ok(&one.quality), "{other}");
            }
        }
    }

    #[test]
    fn each_table_row_prints_as_it_is_written_there() {
        for line in TABLE.lines().filter_map(|line| line.strip_prefix("print = ")) {
            let print = line.trim_matches('"');
            assert_eq!(quality(print).to_string(), print);
        }
    }

    #[test]
    fn sevenths_and_triads_have_the_half_steps_of_the_handbook() {
        // Common practice, as in any harmony handbook.
        let table: [(&str, &[i32]); 22] = [
            ("maj7", &[0, 4, 7, 11]),
            ("7", &[0, 4, 7, 10]),
            ("m7", &[0, 3, 7, 10]),
            ("m7b5", &[0, 3, 6, 10]),
            ("dim7", &[0, 3, 6, 9]),
            ("mMaj7", &[0, 3, 7, 11]),
            ("maj7#5", &[0, 4, 8, 11]),
            ("7#5", &[0, 4, 8, 10]),
            ("7b5", &[0, 4, 6, 10]),
            ("7sus4", &[0, 5, 7, 10]),
            ("6", &[0, 4, 7, 9]),
            ("m6", &[0, 3, 7, 9]),
            ("6/9", &[0, 4, 7, 9, 14]),
            ("", &[0, 4, 7]),
            ("dim", &[0, 3, 6]),
            ("aug", &[0, 4, 8]),
            ("13", &[0, 4, 7, 10, 14, 17, 21]),
            ("9#11", &[0, 4, 7, 10, 14, 18]),
            ("13#11", &[0, 4, 7, 10, 14, 18, 21]),
            ("7b9#11", &[0, 4, 7, 10, 13, 18]),
            ("7#9b13", &[0, 4, 7, 10, 15, 20]),
            ("maj13#11", &[0, 4, 7, 11, 14, 18, 21]),
        ];
        for (symbol, half_steps) in table {
            let made: Vec<i32> = quality(symbol).half_steps().into_iter().map(|step| step.0).collect();
            assert_eq!(made, half_steps, "{symbol}");
        }
    }

    #[test]
    fn the_first_choice_for_each_chord_is_the_handbooks() {
        // Common practice of jazz harmony.
        for (chord, place, first) in [
            ("m7", "second degree in major", "dorian"),
            ("7", "fifth degree in major", "mixolydian"),
            ("maj7", "first degree in major", "ionian"),
            ("maj7", "fourth degree in major", "lydian"),
            ("m7b5", "second degree in minor", "locrian"),
            ("7b9", "fifth degree in minor", "phrygian-dominant"),
            ("7alt", "fifth degree", "altered"),
            ("dim7", "passing or leading chord", "whole-half"),
            ("maj7#5", "first degree of its own", "lydian-augmented"),
            ("9#11", "second degree, flat seventh degree or substitute for the fifth", "lydian-dominant"),
            ("13#11", "second degree, flat seventh degree or substitute for the fifth", "lydian-dominant"),
            ("7b9#11", "fifth degree", "half-whole"),
            ("7#9b13", "fifth degree in minor", "altered"),
            ("maj13#11", "fourth degree in major", "lydian"),
        ] {
            let fit = fits(&quality(chord)).into_iter().find(|fit| fit.place == place).unwrap();
            assert_eq!(fit.scales[0].id, first, "{chord}, {place}");
        }
    }

    #[test]
    fn the_first_scale_holds_every_tone_of_its_chord() {
        let all = chords().iter().flat_map(|named| fits(&named.quality));
        for fit in all {
            // A blues scale has not the major third of the dominant over which it is played; that is no mistake in the table.
            if fit.scales[0].id == "blues" {
                continue;
            }
            for tone in fit.quality.degrees() {
                // The eleventh under a thirteenth is left out in playing when the third is major (common practice).
                if tone == Degree::altered(10, 0) && fit.quality.stack == 13 {
                    continue;
                }
                // The fifth under a flat thirteenth with an altered ninth is left out too.
                if tone == Degree::altered(4, 0) && fit.quality.to_string() == "7#9b13" {
                    continue;
                }
                assert!(fit.scales[0].sounds(tone), "{tone} of {} in {}", fit.quality, fit.scales[0].name);
            }
            for avoided in &fit.avoid {
                assert!(fit.scales.iter().any(|s| s.sounds(*avoided)), "{avoided} on {}", fit.quality);
            }
        }
    }

    #[test]
    fn a_chord_outside_the_table_still_finds_its_scales() {
        let rare = quality("7b9#9");
        assert!(fits(&rare).is_empty());
        assert_eq!(scales_over(&rare).first().map(|s| s.id.as_str()), Some("half-whole"));
        assert_eq!(quality("ø").name(), Some("half-diminished seventh"));
    }
}
