//! The key and the mode in which a pattern is written.

use crate::music::{Degree, Mode, PitchClass, Spelling, Tonality};
use crate::pattern::model::{Family, Pattern};
use crate::pattern::quality::Quality;

impl Pattern {
    /// The key in which the pattern is written, spelled with the fewest sharps or flats; `tonic` is the written tonic, and `g_flat`
    /// asks for Gb rather than F# where seven flats are enough.
    #[must_use]
    pub fn tonality(&self, tonic: PitchClass, g_flat: bool) -> Tonality {
        Tonality::on(tonic, self.mode(), g_flat)
    }

    /// How the key and the notes of the pattern are spelled.
    #[must_use]
    pub fn spelling(&self) -> Spelling {
        Spelling { mode: self.mode(), chromatic: self.family == Family::HalfSteps }
    }

    /// The mode whose signature the pattern has. Over several chords, or over one that is not on the tonic, it is major or minor, as the
    /// home chord is. Over one chord on the tonic it is the plainest of these modes that holds every note: major, lydian or mixolydian for
    /// a major chord; mixolydian for a dominant; minor, dorian or phrygian for a minor chord; locrian for a half-diminished one (common
    /// practice). A dominant with a lowered or raised ninth, or a flat thirteenth, takes phrygian, for it belongs to the minor key a fifth
    /// below. Without a chord it is major, or minor where only minor holds every note; a pattern by half steps is then major. Where the
    /// pattern states its scale and that scale is one of these modes, that mode is taken, even if the notes would fit a plainer one. Where
    /// no mode holds every note, the first is taken.
    #[must_use]
    pub fn mode(&self) -> Mode {
        let home = if self.minor() { Mode::Minor } else { Mode::Major };
        let candidates = match self.only_chord() {
            Some(quality) => of_chord(quality),
            None if self.chords().is_empty() && self.family != Family::HalfSteps => &[Mode::Major, Mode::Minor][..],
            None => return home,
        };
        let first = candidates.first().copied().unwrap_or(home);
        let stated = candidates.iter().find(|mode| self.notation.scale.as_deref() == Some(&mode.degrees()[..]));
        stated.or_else(|| candidates.iter().find(|mode| self.lies_in(**mode))).copied().unwrap_or(first)
    }

    /// What is written over the pattern on a page. It is the key where the pattern has several chords, where its only chord is a plain
    /// major triad, and where all its notes are those of the key and its only chord is no altered dominant. Else it is the only chord of
    /// the pattern, or the tonic where the pattern has no chord.
    #[must_use]
    pub fn heading(&self, key: Tonality) -> String {
        let only = self.only_chord();
        let several = only.is_none() && !self.chords().is_empty();
        if several || (self.lies_in(key.mode) && !only.is_some_and(altered)) {
            return key.to_string();
        }
        match only {
            Some(Quality::MAJOR) => key.to_string(),
            Some(quality) => format!("{}{}", key.tonic, quality.name()),
            None => key.tonic.to_string(),
        }
    }

    /// The chord of a pattern that has one chord only, on its tonic.
    fn only_chord(&self) -> Option<Quality> {
        let chords = self.chords();
        let first = chords.first().filter(|first| first.root.degree == Degree::TONIC)?.root;
        chords.iter().all(|section| section.root == first).then_some(first.quality)
    }

    fn lies_in(&self, mode: Mode) -> bool {
        let degrees = mode.degrees();
        self.notes().iter().all(|step| degrees.iter().any(|own| *own == within(step.degree)))
    }
}

/// A degree moved into the first octave.
fn within(degree: Degree) -> Degree {
    degree.octaves_up(-degree.letters.div_euclid(7))
}

fn has(quality: Quality, letters: i32, half_steps: i32) -> bool {
    quality.tones().contains(&Degree { letters, half_steps })
}

/// Whether a quality is a dominant with a lowered or raised ninth or a lowered thirteenth.
fn altered(quality: Quality) -> bool {
    let dominant = has(quality, 6, 10) && !has(quality, 2, 3);
    dominant && (has(quality, 8, 13) || has(quality, 8, 15) || has(quality, 12, 20))
}

/// The modes that a chord takes, the plainest first.
fn of_chord(quality: Quality) -> &'static [Mode] {
    let minor = has(quality, 2, 3);
    match () {
        () if altered(quality) => &[Mode::Phrygian],
        () if minor && has(quality, 4, 6) && has(quality, 6, 10) => &[Mode::Locrian],
        () if minor => &[Mode::Minor, Mode::Dorian, Mode::Phrygian],
        () if has(quality, 6, 10) => &[Mode::Mixolydian],
        () => &[Mode::Major, Mode::Lydian, Mode::Mixolydian],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::read;

    #[test]
    fn the_mode_of_a_stated_scale_needs_no_note_that_tells_it() {
        // A line in dorian that leaves its sixth out is written with the signature of dorian (common practice).
        assert_eq!(on_page("['m7']", "5 4 b3 2 1"), "C minor -3");
        assert_eq!(on_page("['m7']\nscale='1 2 b3 4 5 6 b7'", "5 4 b3 2 1"), "C dorian -2");
    }

    fn on_page(over: &str, notes: &str) -> String {
        let text = format!(
            "[[pattern]]\nid='a'\nname='a'\nfamily='stepwise'\nlevel=1\ntempo=[60, 90]\nover={over}\nnotes='{notes}'\n"
        );
        let (patterns, troubles) = read(&text, "a");
        assert_eq!(troubles, []);
        let key = patterns[0].tonality(PitchClass::new(0), false);
        format!("{} {:+}", patterns[0].heading(key), key.signature().sharps())
    }

    #[test]
    fn a_pattern_stands_in_the_key_of_the_mode_that_is_meant() {
        // Signatures of the modes on C and the scales that chords take: common practice.
        for (over, notes, wanted) in [
            ("['maj7']", "1 2 3 4 5 6 7 8", "C major +0"),
            ("['maj7']", "1 2 3 #4 5 6 7 8", "C lydian +1"),
            ("['7']", "1 2 3 4 5 6 b7 8", "C mixolydian -1"),
            ("['7']", "1 2 3 #4 5 6 b7 8", "C7 -1"),
            ("['m7']", "1 2 b3 4 5 b6 b7 8", "C minor -3"),
            ("['m7']", "1 2 b3 4 5 6 b7 8", "C dorian -2"),
            ("['mMaj7']", "1 2 b3 4 5 6 7 8", "CmMaj7 -3"),
            ("['m7b5']", "1 b2 b3 4 b5 b6 b7 8", "C locrian -5"),
            ("['7alt']", "1 b2 #2 3 #4 b6 b7 8", "C7alt -4"),
            ("['7b9']", "5 b7 b2 4", "C7b9 -4"),
            ("'any'", "1 2 3 4 5", "C major +0"),
            ("'any'", "1 2 b3 4", "C minor -3"),
            ("'any'", "1 b2 1", "C +0"),
            ("'any'", "IIm7b5: 1 b3 b5 b7 V7b9: 3 5 b7 b9 Im: b3", "C minor -3"),
            ("'any'", "IIm7: 1 b3 5 b7 V7: 3 5 b7 b9 Imaj7: 3", "C major +0"),
        ] {
            assert_eq!(on_page(over, notes), wanted, "{notes} over {over}");
        }
    }
}
