use crate::music::{
    Clef, Concert, ConcertKey, HalfSteps, Instrument, PitchClass, PitchName, Range, Signature, Spelled, Tonality,
    spell_degree,
};
use crate::pattern::{self, ChordSpan, Meter, NoFit, Pattern, Quality, Register, Ticks};
use crate::units::Tempo;

/// One staff in written pitch.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Stands over the staff.
    pub title: String,
    /// Name of the part.
    pub part: String,
    /// From the written to the sounding pitch.
    pub transposition: HalfSteps,
    /// The clef.
    pub clef: Clef,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Eighths are meant to swing; on the page they are even, with the word over them.
    pub swing: bool,
    /// The sound of General MIDI that is nearest, 1 to 128.
    pub general_midi: u8,
    /// Whether each key has its signature; otherwise every sharp and flat stands at its note.
    pub signatures: bool,
    /// One after another, each from a new bar.
    pub pieces: Vec<Piece>,
}

/// A pattern in one key.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The key as it stands on the page.
    pub key: Tonality,
    /// What stands over it: its key, or the chord it is over.
    pub heading: String,
    /// Its signature.
    pub signature: Signature,
    /// The key as it sounds.
    pub sounding: Tonality,
    /// The chords under it in order, as they are written; none where it fits any.
    pub chords: Vec<SheetChord>,
    /// The notes in order.
    pub notes: Vec<SheetNote>,
    /// How its bars are counted.
    pub meter: Meter,
    /// How much stands before the first bar line.
    pub pickup: Ticks,
    /// The whole length, rests at the end included.
    pub length: Ticks,
}

impl Piece {
    /// A whole bar.
    pub(super) fn bar(&self) -> i64 {
        Ticks::nearest(self.meter.bar()).0
    }
    /// What stands before the first note in the bar of its own that a pick-up has.
    pub(super) fn lead(&self) -> i64 {
        (self.bar() - self.pickup.0).rem_euclid(self.bar())
    }
}

/// One note on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetNote {
    /// As written.
    pub written: Spelled,
    /// As it sounds.
    pub concert: Concert,
    /// Where it begins in its piece.
    pub at: Ticks,
    /// How long it is held.
    pub length: Ticks,
}

/// One chord symbol on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetChord {
    /// Where it begins in its piece.
    pub at: Ticks,
    /// Its root as written.
    pub root: PitchName,
    /// What is built on it.
    pub quality: Quality,
}

/// How a sheet is wished for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// Sounding keys in order.
    pub keys: Vec<ConcertKey>,
    /// The player's own sounding range.
    pub range: Range,
    /// Which octave.
    pub register: Register,
    /// Tempo on the page.
    pub tempo: Tempo,
    /// Key signatures, or accidentals at the notes.
    pub signatures: bool,
    /// Gb instead of F#.
    pub g_flat: bool,
}

/// A pattern in the keys wished for, on one sheet for one instrument. Keys in which no octave fits are left out and handed
/// back with the reason.
#[must_use]
pub fn sheet(pattern: &Pattern, instrument: &Instrument, wish: &Wish) -> (Sheet, Vec<(ConcertKey, NoFit)>) {
    let mut pieces = Vec::new();
    let mut left_out = Vec::new();
    let spelling = pattern.spelling();
    // A clef with an 8 below already says the octave, so the page holds it once.
    let up = if instrument.clef == Clef::TrebleOctaveDown { 12 } else { 0 };
    let transposition = HalfSteps(instrument.transposition.0 + up);
    for key in &wish.keys {
        match pattern::realise(pattern, *key, None, wish.range, wish.register) {
            Err(refusal) => left_out.push((*key, refusal)),
            Ok(line) => {
                let written = PitchClass::new(key.0.get() - transposition.0);
                let tonality = pattern.tonality(written, wish.g_flat);
                let notes = line.notes.iter().zip(pattern.notes()).map(|(note, step)| SheetNote {
                    written: spelling.name(step.degree.letters, note.pitch.0 - transposition.0, tonality),
                    concert: note.pitch,
                    at: step.at,
                    length: step.length,
                });
                pieces.push(Piece {
                    key: tonality,
                    heading: pattern.heading(tonality),
                    signature: tonality.signature(),
                    sounding: pattern.tonality(key.0, wish.g_flat),
                    chords: chords(pattern, tonality.tonic),
                    notes: notes.collect(),
                    meter: pattern.meter(),
                    pickup: Ticks::nearest(pattern.pickup()),
                    length: Ticks::nearest(line.length),
                });
            }
        }
    }
    let title = pattern.name.clone();
    let part = instrument.name.clone();
    let (clef, tempo, signatures) = (instrument.clef, wish.tempo, wish.signatures);
    let (swing, general_midi) = (pattern.swing, instrument.general_midi);
    (Sheet { title, part, transposition, clef, tempo, swing, general_midi, signatures, pieces }, left_out)
}

/// The chords of a pattern on a written tonic, each where it changes. One chord under everything stands at the bar line after
/// a pick-up, as on a chart.
fn chords(pattern: &Pattern, tonic: PitchName) -> Vec<SheetChord> {
    let mut sections = pattern.chords();
    sections.dedup_by_key(|section| section.root);
    let place = |section: &ChordSpan| match sections.len() {
        1 => section.at.max(Ticks::nearest(pattern.pickup())),
        _ => section.at,
    };
    let chord = |section: &ChordSpan| SheetChord {
        at: place(section),
        root: simple(spell_degree(tonic, section.root.degree)),
        quality: section.root.quality,
    };
    sections.iter().map(chord).collect()
}

/// A chord's root has at most one sharp or flat (common practice).
fn simple(root: PitchName) -> PitchName {
    if root.alter.abs() < 2 {
        return root;
    }
    PitchName::on(root.letter.up(i32::from(root.alter.signum())), root.class())
}
