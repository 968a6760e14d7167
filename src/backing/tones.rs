use crate::music::{ChordSymbol, Degree, PitchClass, fits, scales_over};

/// The tones of a chord, sorted by what bass line and chords use them for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ChordTones {
    /// The root, or the bass after a slash.
    pub low: PitchClass,
    /// The tones within the octave: root, third (or what is suspended for it), fifth, and seventh or sixth.
    tones: Vec<PitchClass>,
    /// The first scale for the chord that has all its tones within the octave, with these tones; the tones alone where no scale has them.
    scale: Vec<PitchClass>,
    /// Third and seventh (or sixth); third and fifth of a triad. A suspended tone stands for the third.
    pub guides: [PitchClass; 2],
    /// The fifth of a chord with a seventh or sixth, where that fifth is altered.
    pub colour: Option<PitchClass>,
    /// The bass, root, third and fifth: one of them begins a bar whose chord goes on from the bar before, and ends a stretch after which
    /// nothing is led into.
    pub resting: Vec<PitchClass>,
    /// The fifth, or the root where there is none.
    pub fifth: PitchClass,
}

impl ChordTones {
    /// The tones of a chord; the lowest is the bass after its slash, where it has one.
    pub(super) fn of(chord: &ChordSymbol) -> Self {
        let root = chord.root.class();
        let at = |degree: Degree| PitchClass::new(root.get() + degree.half_steps);
        let degrees: Vec<Degree> = chord.quality.degrees().into_iter().filter(|degree| degree.letters < 7).collect();
        let on = |letters: std::ops::RangeInclusive<i32>| {
            degrees.iter().copied().find(|degree| letters.contains(&degree.letters))
        };
        let (third, fifth, seventh) = (on(1..=3), on(4..=4), on(5..=6));
        let low = chord.bass.map_or(root, |bass| bass.class());
        let tones: Vec<PitchClass> = degrees.iter().copied().map(at).collect();
        // The blues scale lacks the third of its chord. The bass therefore walks the first scale that has every tone.
        let fit = fits(&chord.quality).into_iter().flat_map(|fit| fit.scales.iter().copied());
        let own = fit.chain(scales_over(&chord.quality)).find(|scale| degrees.iter().all(|tone| scale.sounds(*tone)));
        let steps = own.map_or_else(|| degrees.clone(), |scale| scale.degrees.clone());
        let mut scale: Vec<PitchClass> = steps.into_iter().map(at).chain(tones.iter().copied()).collect();
        scale.sort_unstable();
        scale.dedup();
        let guides = [third.or(fifth), seventh.or(fifth.filter(|_| third.is_some()))];
        let resting = [Some(Degree::TONIC), third, fifth].into_iter().flatten().map(at);
        Self {
            low,
            guides: guides.map(|guide| guide.map_or(root, at)),
            colour: fifth.filter(|fifth| fifth.alteration() != 0 && seventh.is_some()).map(at),
            resting: std::iter::once(low).chain(resting).collect(),
            fifth: fifth.map_or(root, at),
            tones,
            scale,
        }
    }
    /// Whether a pitch is a tone of the chord within the octave (root, third, fifth, sixth or seventh) or its bass.
    pub(super) fn sounds(&self, midi: i32) -> bool {
        self.tones.contains(&PitchClass::new(midi)) || self.low == PitchClass::new(midi)
    }
    /// Whether a pitch is in the scale on the chord or is its bass.
    pub(super) fn on_scale(&self, midi: i32) -> bool {
        self.scale.contains(&PitchClass::new(midi)) || self.low == PitchClass::new(midi)
    }
}
