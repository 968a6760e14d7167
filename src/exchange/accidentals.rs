use std::collections::BTreeMap;

use crate::music::{Letter, Signature, Spelled};

/// The sharps and flats that apply at a place in a bar.
///
/// An accidental applies in its own octave until the bar line, and over the bar line only along a tie, so that the next note of that
/// pitch takes it again. None is repeated as a courtesy (rules of notation as in Gould, Behind Bars, 2011, "Accidentals"; from memory).
pub(super) struct Accidentals {
    signature: Signature,
    in_force: BTreeMap<(Letter, i32), i8>,
}

impl Accidentals {
    /// The accidentals at the start of a bar under a signature.
    pub(super) fn bar(signature: Signature) -> Self {
        Self { signature, in_force: BTreeMap::new() }
    }

    /// The accidental that a note has to carry, by its name in MusicXML 4.0 (accidental-value). `tied` says whether a tie leads to
    /// the note.
    pub(super) fn of(&mut self, note: Spelled, tied: bool) -> Option<&'static str> {
        let place = (note.letter, note.octave);
        let holds = self.in_force.get(&place).copied().unwrap_or_else(|| self.signature.alters(note.letter));
        if tied || holds == note.alter {
            return None;
        }
        self.in_force.insert(place, note.alter);
        Some(match note.alter {
            ..=-2 => "flat-flat",
            -1 => "flat",
            0 => "natural",
            1 => "sharp",
            2.. => "double-sharp",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{PitchClass, Tonality};

    /// Notes of one bar, `~` before one to which a tie leads, each with the sign it carries.
    fn bar(key: &str, notes: &str) -> String {
        let class = key.parse::<crate::music::PitchName>().unwrap().class();
        let mut bar = Accidentals::bar(Tonality::major(PitchClass::new(class.get()), false).signature());
        let signs = notes.split(' ').map(|note| {
            let sign = bar.of(note.trim_start_matches('~').parse().unwrap(), note.starts_with('~'));
            match sign {
                None => "-",
                Some("natural") => "n",
                Some("sharp") => "#",
                Some("flat") => "b",
                Some("double-sharp") => "x",
                _ => "bb",
            }
        });
        signs.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn an_accidental_stands_where_neither_the_signature_nor_the_bar_has_said_it() {
        // Rules of notation (Gould, Behind Bars, 2011, "Accidentals"; from memory).
        assert_eq!(bar("C", "C4 Db4 D#4 E4 F#4 Ab4 Bb4 C5"), "- b # - # b b -");
        assert_eq!(bar("D", "F#4 F4 F4 F#4 C#5"), "- n - # -", "it holds until it is taken back");
        assert_eq!(bar("C", "F#4 F5 F#5 F4"), "# - # n", "for its own octave");
        assert_eq!(bar("Eb", "Bb4 Bbb4 Bb4 B4 Fx4"), "- bb b n x");
        assert_eq!(bar("F", "Bb4 A4 B4 C5"), "- - n -");
        assert_eq!(bar("C", "~F#4 F#4 F4"), "- # n", "over the bar line along the tie alone");
    }

    #[test]
    fn the_next_bar_begins_anew() {
        let signature = Tonality::major(PitchClass::new(0), false).signature();
        let sharp = "F#4".parse().unwrap();
        let first = Accidentals::bar(signature).of(sharp, false);
        assert_eq!([first, Accidentals::bar(signature).of(sharp, false)], [Some("sharp"); 2]);
    }
}
