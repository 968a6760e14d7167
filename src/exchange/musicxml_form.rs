use crate::exchange::harmony::said;
use crate::exchange::musicxml::ScoreWriter;
use crate::exchange::staff::{Piece, StaffNote};
use crate::music::{Letter, PitchName, Spelled};
use crate::pattern::Ticks;

impl Piece {
    /// What sounds together with the note that sounds at a place.
    pub(super) fn stacked(&self, at: i64) -> &[Spelled] {
        let under = |note: &StaffNote| (note.at.0..note.at.0 + note.length.0).contains(&at);
        let place = self.notes.iter().position(under);
        place.and_then(|place| self.stacks.get(place)).map_or(&[], Vec::as_slice)
    }
}

impl ScoreWriter {
    /// Writes what stands over the staff from `from` to `to`, in ticks of the piece: words, and the chords of a form.
    pub(super) fn over(&mut self, piece: &Piece, from: i64, to: i64) {
        for (_, words) in piece.words.iter().filter(|(at, _)| (from..to).contains(&at.0)) {
            self.xml.over_staff("words", words);
        }
        for symbol in piece.symbols.iter().filter(|symbol| (from..to).contains(&symbol.at.0)) {
            let (root, kind, bass) = said(symbol.chord.as_ref(), PitchName::natural(Letter::C));
            self.xml.harmony(root, &kind, bass, (symbol.at.0 - from) * self.divisions / Ticks::QUARTER);
        }
    }
}
