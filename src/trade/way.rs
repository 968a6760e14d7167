use crate::cue::JoinedPart;
use crate::pattern::Line;

/// What the player does with a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TradeWay {
    /// The phrase is sounded, and the player plays it.
    #[default]
    Answer,
    /// The first half of the phrase is sounded, and the player plays the second.
    Finish,
    /// The phrase is sounded, and the player varies it.
    Vary,
}

impl TradeWay {
    /// The word for what the player is to do.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Answer => "play",
            Self::Finish => "finish",
            Self::Vary => "vary",
        }
    }
}

/// A line parted at the seam nearest to its middle, with two notes at least on each side; in its middle note where no seam lies so.
/// Gives the first half, the second, and the whole patterns of the second; places in time stay those of the whole line.
pub(super) fn halves(line: &Line, parts: &[JoinedPart], seams: &[usize]) -> (Line, Line, Vec<JoinedPart>) {
    let all = line.notes.len();
    let middle = line.notes.last().map_or(0.0, |note| (note.at + note.length).0) / 2.0;
    let off = |note: &usize| ((line.notes[*note].at.0 - middle).abs() * 1000.0) as i64;
    let inside = seams.iter().copied().filter(|note| (2..all.saturating_sub(1)).contains(note));
    let cut = inside.min_by_key(off).unwrap_or(all / 2);
    let half = |notes: &[crate::pattern::ExpectedNote]| Line { notes: notes.to_vec(), length: line.length };
    let left = parts.iter().filter(|part| part.first >= cut);
    let left = left.map(|part| JoinedPart { first: part.first - cut, last: part.last - cut, ..part.clone() });
    (half(&line.notes[..cut]), half(&line.notes[cut..]), left.collect())
}
