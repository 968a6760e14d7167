use crate::chart::{Change, Chorus, Numeral};
use crate::music::{ChordSymbol, Degree, Mode, NamedBy, PitchClass, fits, scales_over};
use crate::pattern::{Quality, Ticks};

/// Some bars of a form, with the notes that fit at each place.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// The stretches under the chords, in order; a chord that goes on into another bar has a stretch in each.
    pub(super) stays: Vec<UnderChord>,
    /// Where a note must fit its chord: on the strong beats, and where a chord begins.
    pub(super) strong: Vec<Ticks>,
    /// The whole length.
    pub(super) length: Ticks,
}

/// A stretch of beats under one chord, within a bar.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct UnderChord {
    /// Where the stretch begins, counted from the first bar.
    pub from: Ticks,
    /// Where the stretch ends.
    pub until: Ticks,
    /// The chord and what fits it; `None` where no chord is played.
    pub harmony: Option<Harmony>,
}

/// A chord at its place in the key, and the notes that fit it there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Harmony {
    /// The chord, by its place in the key.
    pub numeral: Numeral,
    /// The root of the chord.
    root: PitchClass,
    /// The quality of the chord, where it is one of those that patterns may name.
    pub quality: Option<Quality>,
    /// The tones of the chord, as degrees within the octave above its root.
    pub tones: Vec<Degree>,
    /// The scale on the chord: its tones, and one note for each letter that no tone has, in degrees above the root.
    pub scale: Vec<Degree>,
    /// The degrees that may sound on a strong beat: the tones of the chord and its tensions.
    strong: Vec<Degree>,
    /// The degrees on which a phrase may land.
    landings: Vec<Degree>,
}

/// A quarter note in ticks.
const BEAT: i64 = Ticks::QUARTER;

impl Ground {
    /// `bars` bars of a form from bar `first` on, counted from 0; fewer where the form ends before. `minor` says whether its
    /// tonic is a minor chord.
    #[must_use]
    pub fn new(chorus: &Chorus, first: u32, bars: u32, minor: bool) -> Self {
        let mode = if minor { Mode::Minor } else { Mode::Major };
        let (from, until) = (first * chorus.meter, (first + bars).min(chorus.bars) * chorus.meter);
        let inside = chorus.changes.iter().filter(|change| (from..until).contains(&change.at));
        let ticks = |beat: u32| Ticks(i64::from(beat - from) * BEAT);
        let stay = |change: &Change| UnderChord {
            from: ticks(change.at),
            until: ticks(change.at + change.beats),
            harmony: Harmony::of(change, mode),
        };
        let stays: Vec<UnderChord> = inside.map(stay).collect();
        let in_bar = chorus.strong_beats();
        let mut strong: Vec<Ticks> =
            (from..until).filter(|beat| in_bar.contains(&(beat % chorus.meter))).map(ticks).collect();
        strong.extend(stays.iter().map(|stay| stay.from));
        strong.sort_unstable();
        strong.dedup();
        Self { stays, strong, length: Ticks(i64::from(until.saturating_sub(from)) * BEAT) }
    }
    /// The harmony under an instant; `None` where no chord is played.
    pub(super) fn under(&self, at: Ticks) -> Option<&Harmony> {
        self.stay(at)?.harmony.as_ref()
    }
    /// The stretch under an instant.
    pub(super) fn stay(&self, at: Ticks) -> Option<&UnderChord> {
        self.stays.iter().find(|stay| (stay.from..stay.until).contains(&at))
    }
    /// Where the chord under an instant gives way to another chord or to none; the end of the bars where it lasts until then.
    pub(super) fn changes_after(&self, at: Ticks) -> Ticks {
        let here = self.under(at).map(|harmony| &harmony.numeral);
        let other =
            |stay: &&UnderChord| stay.from > at && stay.harmony.as_ref().map(|harmony| &harmony.numeral) != here;
        self.stays.iter().find(other).map_or(self.length, |stay| stay.from)
    }
}

/// The same degree within the octave over the root.
pub(super) fn within(degree: Degree) -> Degree {
    degree.octaves_up(-degree.letters.div_euclid(7))
}

fn sounds(degrees: &[Degree], half_steps: i32) -> bool {
    degrees.iter().any(|degree| (degree.half_steps - half_steps).rem_euclid(12) == 0)
}

impl Harmony {
    fn of(change: &Change, mode: Mode) -> Option<Self> {
        let (chord, numeral) = (change.chord.as_ref()?, change.place.clone()?);
        let tones: Vec<Degree> = chord.quality.degrees().into_iter().map(within).collect();
        let scale = scale(chord, &tones, numeral.root, mode);
        let tensions = tensions(&tones, &scale);
        let strong = tones.iter().chain(&tensions).copied().collect();
        let natural = |degree: &Degree| degree.letters == 1 && degree.half_steps == 2;
        let ninth = tensions.iter().copied().find(natural).or_else(|| tones.iter().copied().find(natural));
        let stacked = |tone: &Degree| {
            matches!(tone.letters, 4 | 6) || (tone.letters == 2 && !sounds(&tones, 5)) // no third beside a fourth
        };
        let landings = tones.iter().copied().filter(stacked).chain(ninth).collect();
        let quality = Quality::of(&chord.quality);
        Some(Self { numeral, root: chord.root.class(), quality, tones, scale, strong, landings })
    }
    /// How many half steps a pitch lies over the root, 0 to 11, its octave left out.
    pub(super) fn above(&self, midi: i32) -> i32 {
        (midi - self.root.get()).rem_euclid(12)
    }
    /// Whether a pitch is a tone of the chord.
    pub(super) fn is_tone(&self, midi: i32) -> bool {
        sounds(&self.tones, self.above(midi))
    }
    /// Whether a pitch may sound on a strong beat.
    pub(super) fn bears(&self, midi: i32) -> bool {
        sounds(&self.strong, self.above(midi))
    }
    /// The degree on which a phrase lands with this pitch; `None` where it may not.
    pub(super) fn landing(&self, midi: i32) -> Option<Degree> {
        let above = self.above(midi);
        self.landings.iter().copied().find(|degree| degree.half_steps == above)
    }
    /// Whether a pitch is the root of the chord, in any octave.
    pub(super) fn is_root(&self, midi: i32) -> bool {
        self.above(midi) == 0
    }
    /// How a pitch is named where no pattern names it: as a note of the scale on the chord, or else as such a note raised or lowered
    /// by a half step. Where both are possible the line decides: raised where it rises, lowered where it falls.
    pub(super) fn named(&self, midi: i32, rising: bool) -> NamedBy {
        let own = |midi: i32| self.scale.iter().find(|degree| degree.half_steps == self.above(midi));
        let near = if rising { [midi - 1, midi + 1] } else { [midi + 1, midi - 1] };
        let degree = own(midi).or_else(|| near.into_iter().find_map(own)).copied();
        self.letters(degree.unwrap_or_else(|| Degree::of_half_steps(self.above(midi), rising)))
    }
    /// How a degree over its root is named.
    pub(super) fn letters(&self, degree: Degree) -> NamedBy {
        NamedBy { letters: self.numeral.root.letters + degree.letters, over: self.numeral.root.fifths() }
    }
}

/// The scale on a chord: its tones, and for every letter that no tone has, the note of the key. On a root outside the key these other
/// notes are taken from the first scale for the chord's quality that has every tone of the chord.
fn scale(chord: &ChordSymbol, tones: &[Degree], place: Degree, mode: Mode) -> Vec<Degree> {
    let key = mode.degrees();
    let own = || {
        let first = fits(&chord.quality).into_iter().flat_map(|fit| fit.scales.iter().copied());
        let holding = |scale: &&crate::music::Scale| tones.iter().all(|tone| scale.sounds(*tone));
        first.chain(scales_over(&chord.quality)).find(holding).map_or_else(Vec::new, |scale| scale.degrees.clone())
    };
    let others: Vec<Degree> =
        if sounds(&key, place.half_steps) { key.iter().map(|degree| within(*degree - place)).collect() } else { own() };
    let left = |degree: &&Degree| {
        !tones.iter().any(|tone| tone.letters == degree.letters || tone.half_steps == degree.half_steps)
    };
    tones.iter().chain(others.iter().filter(left)).copied().collect()
}

/// The tensions of a chord: those notes of its scale that lie a whole step over a tone of the chord and suit its third. They are the
/// major ninth, the eleventh over a minor third, and the thirteenth unless the third is minor and the fifth perfect. A diminished
/// seventh chord has none.
fn tensions(tones: &[Degree], scale: &[Degree]) -> Vec<Degree> {
    let has = |half_steps: i32| sounds(tones, half_steps);
    let (minor, diminished) = (has(3) && !has(4), has(3) && has(6) && has(9));
    let goes = |degree: &&Degree| match degree.letters {
        1 => degree.half_steps == 2,
        3 => minor,
        5 => !minor || has(6),
        _ => false,
    };
    let over = |degree: &&Degree| has(degree.half_steps - 2) && !has(degree.half_steps);
    scale.iter().filter(goes).filter(over).filter(|_| !diminished).copied().collect()
}
