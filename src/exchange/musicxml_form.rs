use quick_xml::events::{BytesText, Event};

use crate::exchange::chart_xml::said;
use crate::exchange::harmony::ChordKind;
use crate::exchange::musicxml::ScoreWriter;
use crate::exchange::staff::{ChordOnPage, Piece, StaffNote};
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
            self.words(words);
        }
        for symbol in piece.symbols.iter().filter(|symbol| (from..to).contains(&symbol.at.0)) {
            self.symbol(symbol, symbol.at.0 - from);
        }
    }

    /// Writes a chord of a form that begins `later` ticks after the note that follows it in the file.
    fn symbol(&mut self, symbol: &ChordOnPage, later: i64) {
        let chord = symbol.chord.as_ref();
        self.open("harmony", &[]);
        self.name("root", chord.map_or(PitchName::natural(Letter::C), |chord| chord.root));
        let (kind, text) = match chord {
            None => (ChordKind { name: "none", text: "", degrees: Vec::new() }, "N.C.".to_owned()),
            Some(chord) => said(&chord.quality),
        };
        self.open("kind", &[("text", &text)]);
        self.event(Event::Text(BytesText::new(kind.name)));
        self.close("kind");
        if let Some(bass) = chord.and_then(|chord| chord.bass) {
            self.name("bass", bass);
        }
        self.degrees(kind.degrees);
        if later > 0 {
            self.number("offset", later * self.divisions / Ticks::QUARTER);
        }
        self.close("harmony");
    }

    /// Writes what is altered, added or left out in a chord.
    pub(super) fn degrees(&mut self, degrees: Vec<(i32, i32, &'static str)>) {
        for (number, alter, change) in degrees {
            self.open("degree", &[]);
            self.number("degree-value", number);
            self.number("degree-alter", alter);
            self.text("degree-type", change);
            self.close("degree");
        }
    }

    /// Writes the name of a root or of a bass.
    fn name(&mut self, what: &str, name: PitchName) {
        self.open(what, &[]);
        self.text(&format!("{what}-step"), &name.letter.sign().to_string());
        if name.alter != 0 {
            self.number(&format!("{what}-alter"), name.alter);
        }
        self.close(what);
    }
}
