//! Notes of the line, named by their places.

use crate::verdict::Expectation;
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
