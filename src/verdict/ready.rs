use super::align::ScoreNote;
use super::hypothesis::MOST_TUNING;
use super::{Expectation, NoteLabel, Verdict};
use crate::notes::HeardNote;
use crate::units::Seconds;

/// A last note in another octave must sound this long before it is believed.
const SETTLED: Seconds = Seconds(0.1);

/// The index of the note that began last.
fn newest(heard: &[HeardNote]) -> Option<usize> {
    (0..heard.len()).max_by(|&a, &b| heard[a].onset.0.total_cmp(&heard[b].onset.0))
}

/// Whether a verdict on these notes could be [`ready`] at all, by pitches and numbers alone. The note that began last must have the
/// pitch of the last expected one, in any octave and any tuning. There must be notes enough that none was missed, where equal
/// neighbours may have been held as one.
pub(super) fn may_be_ready(places: &[ScoreNote], right: f64, heard: &[HeardNote]) -> bool {
    let (Some(last), Some(newest)) = (places.last(), newest(heard)) else { return false };
    let up = heard[newest].pitch.0 - last.pitch;
    let off = (up - 12.0 * (up / 12.0).round()).abs();
    // A little more than the bound, against errors of rounding.
    off < right + MOST_TUNING + 1e-9 && places.chunk_by(|a, b| a.pitch == b.pitch).count() <= heard.len()
}

/// Whether a verdict on the notes heard so far may be shown at once, without waiting for silence.
///
/// It may where the note that began last answers the last expected note (right, or in another octave for a tenth of a second),
/// nothing was missed, at least three quarters of the notes are right, and the whole stands in the asked octave or in one next to
/// it. The drill shows the verdict, goes on listening, and judges again when the next note or release is heard.
///
/// `verdict` must have been made of exactly these `heard` notes; the last may still sound.
#[must_use]
pub fn ready(asked: &Expectation, heard: &[HeardNote], verdict: &Verdict) -> bool {
    let (Some(last), Some(newest)) = (verdict.expected.last(), newest(heard)) else { return false };
    let answered = last.heard == Some(newest)
        && match last.label {
            NoteLabel::Right => true,
            // An overtone may sound for a moment before the note does.
            NoteLabel::Octave(_) => heard[newest].length() > SETTLED,
            _ => false,
        };
    let missed = verdict.expected.iter().any(|note| note.label == NoteLabel::Missed);
    let near = matches!(verdict.shift.0, 0 | 12 | -12);
    answered && !missed && near && 4 * verdict.right >= 3 * asked.line.notes.len() as u32
}
