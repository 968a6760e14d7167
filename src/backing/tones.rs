use crate::music::{ChordSymbol, Degree, PitchClass, fits, scales_holding};

/// What a player of the bass and of the chords knows of a chord.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ChordTones {
    /// The lowest note that is asked for: the root, or the bass after a slash.
    pub low: PitchClass,
    /// Root, third, fifth and seventh or sixth.
    tones: Vec<PitchClass>,
    /// The scale of first choice on it, chord tones included.
    scale: Vec<PitchClass>,
    /// Third and seventh, or what stands for them.
    pub guides: [PitchClass; 2],
    /// A fifth that is not the perfect one.
    pub colour: Option<PitchClass>,
    /// Root or bass, third and fifth: where a bar may begin under a chord that goes on.
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
        // The blues scale leaves out the third of its chord: a bass walks the scale that has it.
        let fit = fits(&chord.quality).into_iter().flat_map(|fit| fit.scales.iter().copied());
        let own =
            fit.chain(scales_holding(&chord.quality)).find(|scale| degrees.iter().all(|tone| scale.sounds(*tone)));
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
    /// Whether a pitch is root, third, fifth or seventh.
    pub(super) fn sounds(&self, midi: i32) -> bool {
        self.tones.contains(&PitchClass::new(midi)) || self.low == PitchClass::new(midi)
    }
    /// Whether a pitch is in its scale.
    pub(super) fn holds(&self, midi: i32) -> bool {
        self.scale.contains(&PitchClass::new(midi)) || self.low == PitchClass::new(midi)
    }
}
