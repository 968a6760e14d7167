use super::{NoteLabel, Verdict};

/// After how many notes an answer broke off: two or more are missing at its end. `None` where it went on to its end.
#[must_use]
pub fn broke_off(verdict: &Verdict) -> Option<usize> {
    let trailing = verdict.expected.iter().rev().take_while(|note| note.label == NoteLabel::Missed).count();
    (trailing >= 2).then(|| verdict.expected.len() - trailing)
}
