use crate::music::{
    ChordSymbol, Clef, Concert, ConcertKey, Degree, HalfSteps, Instrument, NamedBy, PitchName, Range, Reading,
    Signature, Spelled, Tonality, spell_degree,
};
use crate::pattern::{self, ChordSpan, Meter, NoFit, Pattern, Quality, Register, Ticks};
use crate::units::Tempo;
use crate::words::Page;

/// One staff, as a player reads it: in written pitch, or, of a free line, in sounding pitch where the player reads that.
#[derive(Debug, Clone, PartialEq)]
pub struct Staff {
    /// The title over the staff.
    pub title: String,
    /// Name of the part.
    pub part: String,
    /// Half steps from the written to the sounding pitch.
    pub transposition: HalfSteps,
    /// The clef.
    pub clef: Clef,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Whether eighths are meant to swing; on the page they are even, with the word over them.
    pub swing: bool,
    /// The sound of General MIDI that is nearest, 1 to 128.
    pub general_midi: u8,
    /// Whether each key has its signature; otherwise every sharp and flat stands at its note.
    pub signatures: bool,
    /// The pieces one after another, each beginning a new bar.
    pub pieces: Vec<Piece>,
}

/// A pattern in one key, or a free line.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The key as it stands on the page.
    pub key: Tonality,
    /// What stands over the piece: its key, or the chord it is over.
    pub heading: String,
    /// The key signature on the page.
    pub signature: Signature,
    /// The key as it sounds.
    pub sounding: Tonality,
    /// The chords under the piece in order, as they are written; none where it fits any.
    pub chords: Vec<StaffChord>,
    /// The chords of a form over the piece in order, where they change; none of patterns and free lines.
    pub symbols: Vec<ChordOnPage>,
    /// The notes in order.
    pub notes: Vec<StaffNote>,
    /// What sounds together with each note, where the notes are the roots of chords; else empty.
    pub stacks: Vec<Vec<Spelled>>,
    /// Words over the staff, each with its place.
    pub words: Vec<(Ticks, String)>,
    /// What is bracketed over or under the staff, in order of where it begins.
    pub brackets: Vec<StaffBracket>,
    /// How the bars of the piece are counted.
    pub meter: Meter,
    /// Length of what stands before the first bar line.
    pub pickup: Ticks,
    /// Length of the piece, rests at its end included.
    pub length: Ticks,
}

impl Piece {
    /// Length of a bar, in ticks.
    pub(super) fn bar(&self) -> i64 {
        Ticks::nearest(self.meter.bar()).0
    }
    /// Length of the rests before a pick-up in its own bar, in ticks; 0 without a pick-up.
    pub(super) fn lead(&self) -> i64 {
        (self.bar() - self.pickup.0).rem_euclid(self.bar())
    }
}

/// One note on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StaffNote {
    /// The note as written.
    pub written: Spelled,
    /// The pitch that sounds.
    pub concert: Concert,
    /// Where the note begins in its piece.
    pub at: Ticks,
    /// Length of the note.
    pub length: Ticks,
}

/// A bracket over or under some notes, and what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StaffBracket {
    /// Where the first bracketed note begins in its piece.
    pub from: Ticks,
    /// Where the last bracketed note ends.
    pub to: Ticks,
    /// The words at the beginning of the bracket.
    pub words: String,
    /// Whether the bracket stands over the staff, rather than under it.
    pub above: bool,
    /// How the line is drawn: a word of MusicXML 4.0, line-type.
    pub line_type: &'static str,
}

/// One chord symbol on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StaffChord {
    /// Where the chord begins in its piece.
    pub at: Ticks,
    /// The root of the chord as written.
    pub root: PitchName,
    /// The kind of chord that is built on the root.
    pub quality: Quality,
}

/// A chord of a form on the page; any chord, with its bass.
#[derive(Debug, Clone, PartialEq)]
pub struct ChordOnPage {
    /// Where the chord begins in its piece.
    pub at: Ticks,
    /// The chord as written; `None` where none is played.
    pub chord: Option<ChordSymbol>,
}

/// What is asked of a staff.
#[derive(Debug, Clone, PartialEq)]
pub struct StaffRequest {
    /// Sounding keys in order.
    pub keys: Vec<ConcertKey>,
    /// The player's own sounding range.
    pub range: Range,
    /// The part of the range in which the pattern is written.
    pub register: Register,
    /// Tempo on the page.
    pub tempo: Tempo,
    /// Whether the page has key signatures; otherwise accidentals stand at the notes.
    pub signatures: bool,
    /// Whether the page has Gb instead of F#.
    pub g_flat: bool,
}

/// A pattern in the keys asked for, on one staff for one instrument. Keys in which no octave fits are left out and handed
/// back with the reason.
#[must_use]
pub fn staff(pattern: &Pattern, instrument: &Instrument, request: &StaffRequest) -> (Staff, Vec<(ConcertKey, NoFit)>) {
    let mut pieces = Vec::new();
    let mut left_out = Vec::new();
    let spelling = pattern.spelling();
    let up = said_by_clef(instrument.clef);
    let page = Page::new(instrument.clone(), Reading { g_flat: request.g_flat, ..Reading::default() });
    let sounding = page.in_concert_pitch();
    for key in &request.keys {
        match pattern::realise_exact(pattern, *key, None, request.range, request.register) {
            Err(refusal) => left_out.push((*key, refusal)),
            Ok(realised) => {
                let tonality = page.tonality(*key, pattern.mode());
                let notes = realised.notes.iter().map(|note| {
                    let concert = realised.pitch(note);
                    let letters = realised.named_by(note).letters_in(tonality);
                    let written = spelling.name(letters, page.written(concert).0 - up, tonality);
                    StaffNote { written, concert, at: note.at, length: note.length }
                });
                pieces.push(Piece {
                    key: tonality,
                    heading: pattern.heading(tonality),
                    signature: tonality.signature(),
                    sounding: sounding.tonality(*key, pattern.mode()),
                    chords: chords(pattern, tonality),
                    symbols: Vec::new(),
                    notes: notes.collect(),
                    stacks: Vec::new(),
                    words: Vec::new(),
                    brackets: Vec::new(),
                    meter: pattern.meter(),
                    pickup: pattern.pickup_ticks(),
                    length: realised.length,
                });
            }
        }
    }
    let title = pattern.name.clone();
    let part = instrument.name.clone();
    let transposition = HalfSteps(page.transposition().0 + up);
    let (clef, tempo, signatures) = (instrument.clef, request.tempo, request.signatures);
    let (swing, general_midi) = (pattern.swing, instrument.general_midi);
    (Staff { title, part, transposition, clef, tempo, swing, general_midi, signatures, pieces }, left_out)
}

/// Half steps that a clef says, so that the page shows them once: an octave where an 8 stands below it.
pub(super) fn said_by_clef(clef: Clef) -> i32 {
    if clef == Clef::TrebleOctaveDown { 12 } else { 0 }
}

/// The chords of a pattern in a written key, each where it changes. One chord under everything stands at the bar line after
/// a pick-up (common practice).
fn chords(pattern: &Pattern, key: Tonality) -> Vec<StaffChord> {
    let mut spans = pattern.chords();
    spans.dedup_by_key(|span| span.root);
    let place = |span: &ChordSpan| match spans.len() {
        1 => span.at.max(pattern.pickup_ticks()),
        _ => span.at,
    };
    let chord = |span: &ChordSpan| StaffChord {
        at: place(span),
        root: simple(root(span.root.degree, key)),
        quality: span.root.quality,
    };
    spans.iter().map(chord).collect()
}

/// The name of a chord's root on a page, as its notes are named.
fn root(degree: Degree, key: Tonality) -> PitchName {
    let named = NamedBy { letters: degree.letters, over: degree.fifths() };
    PitchName::on(key.tonic.letter.up(named.letters_in(key)), spell_degree(key.tonic, degree).class())
}

/// A chord's root has at most one sharp or flat (common practice).
fn simple(root: PitchName) -> PitchName {
    if root.alter.abs() < 2 {
        return root;
    }
    PitchName::on(root.letter.up(i32::from(root.alter.signum())), root.class())
}
