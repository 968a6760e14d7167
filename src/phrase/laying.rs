//! Lays the pieces of a phrase one after another.

use crate::music::{NamedBy, Range};
use crate::pattern::{PatternNote, Seam, Ticks};
use crate::phrase::figure::{EIGHTH, Figure, PieceEntry};
use crate::phrase::ground::{Ground, Harmony};
use crate::phrase::made::JoinedPiece;
use crate::phrase::stock::StockPattern;

/// The most half steps from the lowest to the highest note of a phrase: two octaves.
const WIDEST: i32 = 24;

/// One note of a phrase in the making.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct LaidNote {
    /// Sounding pitch.
    pub midi: i32,
    /// Where the note begins, counted from the first bar.
    pub at: Ticks,
    /// How long the note lasts.
    pub length: Ticks,
    /// How the note is named: its letter, and the root of the chord under it.
    pub letters: NamedBy,
}

/// A phrase in the making.
#[derive(Debug, Clone, Default)]
pub(super) struct Draft {
    /// The notes so far.
    pub notes: Vec<LaidNote>,
    /// The pieces so far.
    pub pieces: Vec<JoinedPiece>,
    /// Where the next piece may begin.
    pub free: Ticks,
}

/// How a piece is to be laid.
#[derive(Debug, Clone, Copy)]
pub(super) struct Manner {
    /// How the piece follows the one before.
    pub entry: PieceEntry,
    /// The rhythm of the piece.
    pub figure: Figure,
    /// Whether the last note of the piece before is also the first note of this piece.
    pub shared: bool,
}

impl Draft {
    /// The draft with `pattern` as one more piece; `None` where a rule of the room (`phrase/mod.rs`) would be broken. `choose` gets the
    /// number of tonics on which the pattern may stand, and picks one of them.
    pub(super) fn with(
        &self,
        pattern: &StockPattern,
        manner: Manner,
        ground: &Ground,
        range: Range,
        choose: &mut dyn FnMut(usize) -> usize,
    ) -> Option<Self> {
        let before = self.notes.last().copied();
        let at = match (manner.shared, before) {
            (true, Some(before)) => before.at,
            (true, None) => return None,
            (false, _) => manner.entry.begins(self.free, ground.changes_after(self.free))?,
        };
        let footing = beginning(ground, at)?;
        if !pattern.fits(footing) {
            return None;
        }
        let (notes, length) = manner.figure.lay(&pattern.notes, at)?;
        if !keeps_its_beats(&pattern.notes, &notes, at) {
            return None;
        }
        let tonics = self.tonics(pattern, &notes, footing, manner.shared, range);
        if tonics.is_empty() {
            return None;
        }
        let tonic = tonics[choose(tonics.len())];
        let seam = before.filter(|_| !self.pieces.is_empty()).map(|before| {
            match (before.midi - tonic - notes[0].degree.half_steps).abs() {
                0 => Seam::Shared,
                1 => Seam::HalfStep,
                _ => Seam::Step,
            }
        });
        let first = self.notes.len() - usize::from(manner.shared);
        let draft = Self {
            free: Ticks(at.0 + length.0),
            ..self.longer_by(pattern, &notes, (at, tonic), footing, seam, manner)
        };
        let until = ground.changes_after(Ticks(at.0 + EIGHTH));
        let last = draft.notes.last().copied()?;
        let leads = !pattern.fits_any() || beginning(ground, last.at).is_some_and(|harmony| harmony.bears(last.midi));
        let borne = leads && draft.notes[first..].iter().all(|note| fits_its_place(note, until, ground));
        let spans = draft.notes.iter().map(|note| note.midi);
        let wide = spans.clone().max()? - spans.min()? > WIDEST;
        (borne && !wide).then_some(draft)
    }

    /// The draft with a pattern as it is written, begun at `at` over the chord there, in the octave nearest to the middle of the
    /// range. It stands alone: no seam joins it to the piece before. `None` where it does not fit the chord or the range, where the
    /// piece before is not over at `at`, or where it ends after the last bar.
    pub(super) fn exactly(&self, pattern: &StockPattern, at: Ticks, ground: &Ground, range: Range) -> Option<Self> {
        let footing = ground.under(at).filter(|footing| pattern.fits(footing))?;
        let (notes, length) = Figure::Plain.lay(&pattern.notes, at)?;
        let heights = notes.iter().map(|note| note.degree.half_steps);
        let (low, high) = (heights.clone().min()?, heights.max()?);
        let off = |tonic: &i32| (2 * tonic + low + high - range.low.0 - range.high.0).abs();
        let tonics = (range.low.0 - low..=range.high.0 - high).filter(|tonic| footing.is_root(*tonic));
        let tonic = tonics.min_by_key(off)?;
        let last = notes.last().map(|note| note.at.0 + note.length.0)?;
        let manner = Manner { entry: PieceEntry::AtOnce, figure: Figure::Plain, shared: false };
        let draft = self.longer_by(pattern, &notes, (at, tonic), footing, None, manner);
        let early = self.free <= at && at.0 + last <= ground.length.0;
        early.then_some(Self { free: Ticks(at.0 + length.0), ..draft })
    }

    /// The draft with the notes of a pattern added, which begin at `at` and count from `tonic`.
    fn longer_by(
        &self,
        pattern: &StockPattern,
        notes: &[PatternNote],
        (at, tonic): (Ticks, i32),
        footing: &Harmony,
        seam: Option<Seam>,
        manner: Manner,
    ) -> Self {
        let mut draft = self.clone();
        if manner.shared {
            draft.notes.pop();
        }
        let first = draft.notes.len();
        let names = names(pattern, footing, notes, tonic);
        draft.notes.extend(notes.iter().zip(names).map(|(note, letters)| LaidNote {
            midi: tonic + note.degree.half_steps,
            at: Ticks(at.0 + note.at.0),
            length: note.length,
            letters,
        }));
        draft.pieces.push(JoinedPiece {
            pattern: pattern.id.clone(),
            name: pattern.name.clone(),
            chord: footing.numeral.clone(),
            first,
            last: draft.notes.len() - 1,
            figure: manner.figure,
            entry: manner.entry,
            seam,
        });
        draft
    }

    /// The tonics on which a pattern lies in the range and is joined by step or by a shared note to the piece before.
    fn tonics(
        &self,
        pattern: &StockPattern,
        notes: &[PatternNote],
        footing: &Harmony,
        shared: bool,
        range: Range,
    ) -> Vec<i32> {
        let heights = notes.iter().map(|note| note.degree.half_steps);
        let (Some(low), Some(high)) = (heights.clone().min(), heights.max()) else { return Vec::new() };
        let first = notes[0].degree.half_steps;
        let joins = |tonic: &i32| match (self.notes.last(), shared) {
            (None, _) => !pattern.begins_anywhere() || footing.is_tone(tonic + first),
            (Some(before), true) => before.midi == tonic + first && footing.is_tone(before.midi),
            (Some(before), false) => {
                matches!((before.midi - tonic - first).abs(), 1 | 2) && footing.is_tone(tonic + first)
            }
        };
        (range.low.0 - low..=range.high.0 - high)
            .filter(|tonic| pattern.begins_anywhere() || footing.is_root(*tonic))
            .filter(joins)
            .collect()
    }
}

/// Whether every note that divides its beat more finely than eighths stays at its place in the beat: a triplet or a snap that is moved
/// by an eighth lies across the beat, and nobody reads or plays it so.
fn keeps_its_beats(own: &[PatternNote], laid: &[PatternNote], at: Ticks) -> bool {
    let moved = |(own, laid): (&PatternNote, &PatternNote)| at.0 + laid.at.0 - own.at.0;
    let fine = own.iter().zip(laid).filter(|(own, _)| own.at.0 % EIGHTH != 0);
    fine.map(moved).all(|by| by % Ticks::QUARTER == 0)
}

/// Whether a pattern fits a chord and lies inside the range there, in any octave.
pub(super) fn has_room(pattern: &StockPattern, harmony: &Harmony, range: Range) -> bool {
    pattern.fits(harmony) && !Draft::default().tonics(pattern, &pattern.notes, harmony, false, range).is_empty()
}

/// The chord to which a note belongs that begins at an instant. A note on an off-beat belongs to the chord of the next beat, if one
/// is played there: it is heard ahead of the chord.
pub(super) fn beginning(ground: &Ground, at: Ticks) -> Option<&Harmony> {
    let off_beat = at.0.rem_euclid(Ticks::QUARTER) == EIGHTH;
    let ahead = ground.under(Ticks(at.0 + EIGHTH)).filter(|_| off_beat);
    ahead.or_else(|| ground.under(at))
}

impl Ground {
    /// Whether a note suits the chord to which it belongs. On a strong beat it is a tone or a tension of the chord; elsewhere it may also be
    /// of the scale on the chord, or lead by a half step to the note `next`. Where no chord is played, every note suits.
    #[must_use]
    pub fn takes(&self, midi: i32, at: Ticks, next: Option<i32>) -> bool {
        let Some(harmony) = beginning(self, at) else { return true };
        let above = harmony.above(midi);
        let in_scale = harmony.scale.iter().any(|degree| (degree.half_steps - above).rem_euclid(12) == 0);
        let passing = in_scale || next.is_some_and(|next| (next - midi).abs() == 1);
        harmony.bears(midi) || (passing && !self.strong.contains(&at))
    }
}

/// Whether a note may stand where it stands. It has to be a tone or a tension of the chord on every strong beat, and at every change of
/// chord, at which it sounds; where it begins at `until` or later, also at its beginning. It has to end at least an eighth before the
/// end of the bars.
pub(super) fn fits_its_place(note: &LaidNote, until: Ticks, ground: &Ground) -> bool {
    let end = Ticks(note.at.0 + note.length.0);
    let borne = |at: &Ticks| ground.under(*at).is_some_and(|harmony| harmony.bears(note.midi));
    let strong = ground.strong.iter().filter(|beat| (note.at..end).contains(beat));
    let beyond = (note.at >= until).then_some(note.at);
    end.0 <= ground.length.0 - EIGHTH && strong.copied().chain(beyond).all(|at| borne(&at))
}

/// How the notes of a piece are named: by the degrees of the pattern over the root, or, for a pattern that fits any chord, by the
/// scale on the chord.
fn names(pattern: &StockPattern, footing: &Harmony, notes: &[PatternNote], tonic: i32) -> Vec<NamedBy> {
    let height = |n: usize| notes.get(n).map(|note| note.degree.half_steps);
    let named = |(n, note): (usize, &PatternNote)| {
        if !pattern.fits_any() {
            return footing.letters(note.degree);
        }
        let rising = height(n + 1).map_or_else(
            || n > 0 && height(n - 1) < Some(note.degree.half_steps),
            |next| next > note.degree.half_steps,
        );
        footing.named(tonic + note.degree.half_steps, rising)
    };
    notes.iter().enumerate().map(named).collect()
}
