//! Notes of the line, named by their places, and the names of notes that came.

use crate::music::{Concert, ConcertKey, PitchClass, PitchName, Spelled};
use crate::pattern::Line;
use crate::verdict::{Expectation, NoteLabel, Verdict};
use crate::words::numbers::{count, list, ordinal};
use crate::words::reader::Reader;

/// Largest number of notes, or of note values, that are named one by one.
pub(super) const NAMED: usize = 3;

/// A note by its place and its name: "the sixth note, D,".
pub(super) fn named(note: usize, asked: &Expectation, reader: &Reader) -> String {
    let name = asked.line.notes.get(note).map(|expected| reader.asked(expected)).unwrap_or_default();
    format!("the {} note, {name},", ordinal(note))
}

/// Notes by their places: "the third and sixth notes"; where they are many "the first five notes", "five notes, from the second on," of notes
/// in a row, or "five notes, the first of them the second,".
pub(super) fn together(notes: &[usize]) -> String {
    let in_a_row = notes.windows(2).all(|pair| pair[1] == pair[0] + 1);
    match notes {
        [one] => format!("the {} note", ordinal(*one)),
        [0, ..] if notes.len() > NAMED && in_a_row => format!("the first {} notes", count(notes.len())),
        [first, ..] if notes.len() > NAMED && in_a_row => {
            format!("{} notes, from the {} on,", count(notes.len()), ordinal(*first))
        }
        [0, ..] if notes.len() > NAMED => format!("{} notes, the first among them,", count(notes.len())),
        [first, ..] if notes.len() > NAMED => {
            format!("{} notes, the first of them the {},", count(notes.len()), ordinal(*first))
        }
        _ => format!("the {} notes", list(&notes.iter().map(|note| ordinal(*note)).collect::<Vec<_>>())),
    }
}

/// The ordinal of the first of these places where they are two or more and all to the end of the line.
pub(super) fn to_the_end(places: &[usize], asked: &Expectation) -> Option<String> {
    let first = *places.first()?;
    let all = places.iter().copied().eq(first..asked.line.notes.len());
    (first > 0 && places.len() > 1 && all).then(|| ordinal(first))
}

/// The name of a note that came. One note has one name in all that is said of an answer: that under which the line asks for it, in whatever
/// octave; any other that of the key, but no player reads an E as Fb. Where all wrong notes are a half step high, notes outside the line have
/// sharps, and where all are a half step low, flats (common practice: a raised note has a sharp). What came in another key is named in that.
#[must_use]
pub fn came_as(pitch: Concert, line: &Line, verdict: &Verdict, reader: &Reader) -> Spelled {
    let Reader { page, key, spelling, .. } = *reader;
    if !verdict.in_key() {
        return page.spelled(pitch, ConcertKey(PitchClass::new(key.0.get() + verdict.shift.0)), spelling);
    }
    let written = page.written(pitch).0;
    if let Some(asked) = line.notes.iter().find(|asked| asked.pitch.class() == pitch.class()) {
        return page.expected(asked, key, spelling).name().at(written);
    }
    let wrong = || verdict.expected.iter().filter(|note| matches!(note.label, NoteLabel::Wrong(_)));
    let first = wrong().next().map(|note| note.label);
    let side = match first {
        Some(NoteLabel::Wrong(by)) if by.0.abs() == 1 && wrong().all(|note| Some(note.label) == first) => by.0,
        _ => 0,
    };
    let name = page.spelled(pitch, key, spelling).name();
    let beside = |letters: i32| PitchName::on(name.letter.up(letters), name.class());
    let name = if i32::from(name.alter) * side < 0 { beside(-side) } else { name };
    let name =
        if name.simple() { name } else { PitchName::on(name.letter.up(i32::from(name.alter.signum())), name.class()) };
    name.at(written)
}
