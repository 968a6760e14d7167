use std::fmt;

use crate::music::{ChordQuality, PitchName, spell_degree};

/// A chord as it stands over a staff: root, quality, and the bass note where that is not the root.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct ChordSymbol {
    /// The root.
    pub root: PitchName,
    /// The quality of the chord.
    pub quality: ChordQuality,
    /// The bass after a slash; `None` without a slash, where the root is the bass.
    pub bass: Option<PitchName>,
}

impl ChordSymbol {
    /// The tones upward from the root, spelled by function.
    #[must_use]
    pub fn tones(&self) -> Vec<PitchName> {
        self.quality.degrees().into_iter().map(|degree| spell_degree(self.root, degree)).collect()
    }
}

impl fmt::Display for ChordSymbol {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}{}", self.root, self.quality)?;
        self.bass.map_or(Ok(()), |bass| write!(out, "/{bass}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tones(text: &str) -> String {
        let chord = ChordSymbol::parse(text).unwrap_or_else(|trouble| panic!("{trouble}"));
        chord.tones().iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn one_chord_is_read_in_every_spelling_of_the_trade_and_printed_in_one() {
        for (spellings, printed, on_c) in [
            ("maj7 M7 ma7 Δ Δ7 △7 j7 Maj7 MA7 major7 7M", "maj7", "C E G B"),
            ("7 dom7", "7", "C E G Bb"),
            ("m7 min7 mi7 -7 −7 MI7", "m7", "C Eb G Bb"),
            ("m7b5 min7(b5) -7b5 ø ø7 Ø7 m7-5 -7(♭5)", "m7b5", "C Eb Gb Bb"),
            ("dim7 o7 °7 º7", "dim7", "C Eb Gb Bbb"),
            ("mMaj7 m(maj7) min/maj7 -maj7 mM7 -Δ7 mΔ -(Δ7)", "mMaj7", "C Eb G B"),
            ("maj7#5 +maj7 maj7(#5) +M7 Δ+5", "maj7#5", "C E G# B"),
            ("7#5 +7 7+ aug7 7+5", "7#5", "C E G# Bb"),
            ("7b5 7-5 7(b5)", "7b5", "C E Gb Bb"),
            ("7sus4 7sus sus7 sus4(7)", "7sus4", "C F G Bb"),
            ("6 maj6 M6", "6", "C E G A"),
            ("m6 min6 -6", "m6", "C Eb G A"),
            ("6/9 69 6(9) 6add9", "6/9", "C E G A D"),
            ("m6/9 -69", "m6/9", "C Eb G A D"),
            ("M maj", "", "C E G"),
            ("m - min", "m", "C Eb G"),
            ("dim o °", "dim", "C Eb Gb"),
            ("aug + +5", "aug", "C E G#"),
            ("sus4 sus", "sus4", "C F G"),
            ("sus2", "sus2", "C D G"),
            ("5", "5", "C G"),
            ("add9 2 (add9) add2", "add9", "C E G D"),
            ("madd9 -add9 m(add9)", "madd9", "C Eb G D"),
            ("7b9 7(b9) 7-9 7♭9", "7b9", "C E G Bb Db"),
            ("7#9 7+9 7(#9) 7#2", "7#9", "C E G Bb D#"),
            ("7#11 7(#11) 7+11 7#4", "7#11", "C E G Bb F#"),
            ("7b13 7b6 7(b13)", "7b13", "C E G Bb Ab"),
            ("7alt alt 7(alt)", "7alt", "C E Bb Db D# F# Ab"),
            ("9", "9", "C E G Bb D"),
            ("maj9 M9 Δ9", "maj9", "C E G B D"),
            ("m9 -9", "m9", "C Eb G Bb D"),
            ("m11 -11", "m11", "C Eb G Bb D F"),
            ("13", "13", "C E G Bb D F A"),
            ("13b9 13(b9)", "13b9", "C E G Bb Db F A"),
            ("9sus4 9sus sus9", "9sus4", "C F G Bb D"),
            ("7#5#9 7(#5,#9) +7#9", "7#5#9", "C E G# Bb D#"),
            ("7b9#9", "7b9#9", "C E G Bb Db D#"),
            ("maj7#11 Δ#11 maj7(#11)", "maj7#11", "C E G B F#"),
            ("7sus4b9 7sus(b9) 7b9sus", "7sus4b9", "C F G Bb Db"),
            ("dimMaj7 o(maj7) °Δ7", "dimMaj7", "C Eb Gb B"),
            ("7add13 7(13) 7add6", "7add13", "C E G Bb A"),
            ("(b5)", "(b5)", "C E Gb"),
        ] {
            for spelling in spellings.split(' ') {
                let chord = ChordSymbol::parse(&format!("C{spelling}"));
                let chord = chord.unwrap_or_else(|trouble| panic!("for {printed}: {trouble}"));
                assert_eq!(chord.to_string(), format!("C{printed}"), "C{spelling}");
                assert_eq!(tones(&format!("C{spelling}")), on_c, "C{spelling}");
            }
        }
    }

    #[test]
    fn a_minus_is_minor_and_never_a_flat_root() {
        // Common practice; some software reads C-7 as C flat seven instead.
        assert_eq!(tones("C-7"), "C Eb G Bb");
        assert_eq!(tones("Bbm7"), "Bb Db F Ab");
        assert_eq!(tones("Bb-7"), "Bb Db F Ab");
        assert_eq!(tones("Cb7"), "Cb Eb Gb Bbb");
        assert_eq!(ChordSymbol::parse("CM7").unwrap().to_string(), "Cmaj7");
        assert_eq!(ChordSymbol::parse("Cm7").unwrap().to_string(), "Cm7");
    }

    #[test]
    fn tones_are_spelled_by_function_on_any_root() {
        for (symbol, spelled) in [
            ("Bdim7", "B D F Ab"),
            ("C#dim7", "C# E G Bb"),
            ("F#ø", "F# A C E"),
            ("Ebdim7", "Eb Gb Bbb Dbb"),
            ("G#m7", "G# B D# F#"),
            ("Gbmaj7", "Gb Bb Db F"),
            ("Bb7#9", "Bb D F Ab C#"),
            ("Eb6/9", "Eb G Bb C F"),
            ("Dm7b5", "D F Ab C"),
            ("Amaj7#5", "A C# E# G#"),
            ("Dbm6", "Db Fb Ab Bb"),
        ] {
            assert_eq!(tones(symbol), spelled, "{symbol}");
        }
    }

    #[test]
    fn chords_that_sound_alike_keep_their_own_names() {
        // C6 and Am7, Cm6 and Am7b5 have the same pitch classes; dim7 repeats every minor third (common practice).
        let classes = |text: &str| {
            let mut all: Vec<_> = ChordSymbol::parse(text).unwrap().tones().iter().map(|tone| tone.class()).collect();
            all.sort_unstable();
            all
        };
        assert_eq!(classes("C6"), classes("Am7"));
        assert_eq!(classes("Cm6"), classes("Am7b5"));
        assert_eq!(classes("Cdim7"), classes("Ebdim7"));
        assert_eq!(classes("Caug"), classes("Eaug"));
        assert_ne!(ChordSymbol::parse("C6"), ChordSymbol::parse("Am7"));
    }

    #[test]
    fn blanks_commas_and_brackets_do_not_change_a_chord() {
        for spelling in ["C7(#5 #9)", "C 7 (#5, #9)", " C7#5(#9) "] {
            assert_eq!(ChordSymbol::parse(spelling).unwrap().to_string(), "C7#5#9", "{spelling}");
        }
    }

    #[test]
    fn a_slash_and_a_letter_ask_for_a_bass() {
        let chord = ChordSymbol::parse("Cm7/Bb").unwrap();
        assert_eq!(chord.bass.map(|bass| bass.to_string()).as_deref(), Some("Bb"));
        assert_eq!(ChordSymbol::parse("C/E").unwrap().to_string(), "C/E");
        assert_eq!(ChordSymbol::parse("C6/9/G").unwrap().to_string(), "C6/9/G");
    }

    #[test]
    fn thirds_and_sevenths_are_the_guide_tones() {
        let guides = |text: &str| {
            let chord = ChordSymbol::parse(text).unwrap();
            let named =
                chord.quality.guide_tones().into_iter().map(|degree| spell_degree(chord.root, degree).to_string());
            named.collect::<Vec<_>>().join(" ")
        };
        assert_eq!(guides("G7"), "B F");
        assert_eq!(guides("Db7"), "F Cb");
        assert_eq!(guides("C6"), "E A");
        assert_eq!(guides("C7sus4"), "F Bb");
    }

    #[test]
    fn what_cannot_be_read_is_pointed_at() {
        for (text, column) in [
            ("H7", 1),
            ("C7x", 3),
            ("Cm7b", 5),
            ("C7b8", 4),
            ("C/", 3),
            ("C7(b9", 6),
            ("", 1),
            ("c7", 1),
            ("C/H", 3),
            ("C7)", 3),
        ] {
            let trouble = ChordSymbol::parse(text).unwrap_err();
            assert_eq!(trouble.column, column, "{trouble}");
        }
    }

    #[test]
    fn every_chord_that_can_be_read_reads_back_as_it_was_printed() {
        const PIECES: [&str; 34] = [
            "m", "M", "maj", "-", "+", "o", "ø", "Δ", "7", "9", "11", "13", "6", "6/9", "5", "sus", "sus2", "alt",
            "b5", "#5", "b9", "#9", "#11", "b13", "add9", "add11", "(", ")", "add13", "/E", "/Bb", "dim", "aug", " ",
        ];
        let mut read = 0;
        arbtest::arbtest(|bytes| {
            let mut text = String::from("Bb");
            for _ in 0..bytes.int_in_range(0..=6)? {
                text.push_str(bytes.choose(&PIECES)?);
            }
            if let Ok(chord) = ChordSymbol::parse(&text) {
                read += 1;
                let printed = chord.to_string();
                assert_eq!(ChordSymbol::parse(&printed).as_ref(), Ok(&chord), "{text} printed as {printed}");
            }
            Ok(())
        });
        assert!(read > 50, "only {read} were read");
    }

    #[test]
    fn reading_chords_never_panics_on_any_bytes() {
        arbtest::arbtest(|bytes| {
            let text: String = bytes.arbitrary()?;
            let _ = ChordSymbol::parse(&text);
            let _ = ChordSymbol::parse(&format!("C{text}"));
            let _ = ChordQuality::parse(&text);
            Ok(())
        });
    }
}
