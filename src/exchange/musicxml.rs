use crate::exchange::accidentals::Accidentals;
use crate::exchange::bar::{BarElement, signs};
use crate::exchange::harmony::kind;
use crate::exchange::staff::{Piece, Staff, StaffBracket, StaffChord};
use crate::exchange::xml_page::XmlPage;
use crate::music::{Clef, PitchClass, Signature, Tonality};
use crate::pattern::{self, Ticks};
use crate::units::greatest_common;

/// A piece of more bars than this begins a new system, the first piece excepted.
const SHORT: usize = 2;

/// The staff as MusicXML 4.0 (score-partwise): one part in written pitch with clef, meter and transposition, key signatures where the staff
/// has them, notes tied over bar lines, chords over them and brackets.
#[must_use]
pub fn to_musicxml(staff: &Staff) -> Vec<u8> {
    score_to_musicxml(std::slice::from_ref(staff))
}

/// Staves that sound together as MusicXML 4.0, each a part of its own, as [`to_musicxml`] writes one.
#[must_use]
pub fn score_to_musicxml(staves: &[Staff]) -> Vec<u8> {
    let title = staves.first().map_or("", |staff| &staff.title);
    let mut page = ScoreWriter { xml: XmlPage::begin(title), divisions: 1, bar: 0 };
    page.xml.open("part-list", &[]);
    let numbered = || (1..).zip(staves).map(|(n, staff)| (format!("P{n}"), staff));
    for (id, staff) in numbered() {
        page.xml.open("score-part", &[("id", &id)]);
        page.xml.text("part-name", &staff.part);
        page.xml.close("score-part");
    }
    page.xml.close("part-list");
    for (id, staff) in numbered() {
        (page.divisions, page.bar) = (divisions(staff), 0);
        page.xml.open("part", &[("id", &id)]);
        for (n, piece) in staff.pieces.iter().enumerate() {
            page.piece(staff, piece, n == 0, n + 1 == staff.pieces.len());
        }
        page.xml.close("part");
    }
    page.xml.end()
}

/// The coarsest division of a quarter note in which the beginnings and lengths of all notes, the places of chords, and the lengths of
/// pieces and pick-ups are whole numbers.
fn divisions(staff: &Staff) -> i64 {
    let notes = staff.pieces.iter().flat_map(|piece| {
        let notes = piece.notes.iter().flat_map(|note| [note.at.0, note.length.0]);
        // A note that is tied over the middle of a bar has two lengths of its own.
        let written = bar_lines(piece).flat_map(|start| signs(piece, start)).flat_map(|sign| [sign.at, sign.length]);
        let chords = piece.chords.iter().map(|chord| chord.at.0);
        notes.chain(written).chain(chords).chain([piece.length.0, piece.pickup.0])
    });
    Ticks::QUARTER / notes.map(i64::abs).fold(Ticks::QUARTER, greatest_common)
}

/// Where the bars of a piece begin, in ticks: below zero for the bar of a pick-up.
fn bar_lines(piece: &Piece) -> impl Iterator<Item = i64> + use<> {
    let end = piece.length.0.max(piece.notes.last().map_or(0, |note| note.at.0 + note.length.0));
    let (before, whole) = (piece.lead(), piece.bar());
    (0..(before + end + whole - 1) / whole).map(move |bar| bar * whole - before)
}

/// What writes a score, element by element.
pub(super) struct ScoreWriter {
    /// The page that it writes.
    pub(super) xml: XmlPage,
    /// Units of length in a quarter note.
    pub(super) divisions: i64,
    bar: u32,
}

impl ScoreWriter {
    /// One piece in whole bars. A pick-up stands at the end of a bar of its own, with rests before it: readers of MusicXML do
    /// not agree on a bar that is short in the middle of a part.
    fn piece(&mut self, staff: &Staff, piece: &Piece, first: bool, last: bool) {
        let starts: Vec<i64> = bar_lines(piece).collect();
        let bars = starts.len();
        for (bar, start) in starts.into_iter().enumerate() {
            self.bar += 1;
            self.xml.open("measure", &[("number", &self.bar.to_string())]);
            if bar == 0 {
                if !first && bars > SHORT {
                    self.xml.empty("print", &[("new-system", "yes")]);
                }
                self.attributes(staff, piece, first);
                self.xml.over_staff("words", &piece.heading);
                if first {
                    self.tempo(staff);
                }
            }
            self.bar(staff, piece, start);
            if bar + 1 == bars {
                self.barline(if last { "light-heavy" } else { "light-light" });
            }
            self.xml.close("measure");
        }
    }

    /// Writes the bar of a piece that begins at `start`, in ticks: notes with their accidentals, and the chords over them.
    fn bar(&mut self, staff: &Staff, piece: &Piece, start: i64) {
        let none = Tonality::major(PitchClass::new(0), false).signature();
        let signature: Signature = if staff.signatures { piece.signature } else { none };
        let mut accidentals = Accidentals::bar(signature);
        for sign in signs(piece, start) {
            let under = |chord: &&StaffChord| (sign.at..sign.at + sign.length).contains(&(chord.at.0 - start));
            for chord in piece.chords.iter().filter(under) {
                let later = (chord.at.0 - start - sign.at) * self.divisions / Ticks::QUARTER;
                self.xml.harmony(chord.root, &kind(chord.quality), None, later);
            }
            let from = start + sign.at;
            self.over(piece, from, from + sign.length);
            let accidental = sign.note.and_then(|note| accidentals.of(note, sign.ties[0]));
            self.brackets(piece, start + sign.at, "start", |bracket| bracket.from.0);
            self.sign(&sign, accidental, false);
            if sign.note.is_some() {
                for tone in piece.stacked(from) {
                    let accidental = accidentals.of(*tone, sign.ties[0]);
                    let tone = BarElement { note: Some(*tone), beams: Vec::new(), group: [false; 2], ..sign.clone() };
                    self.sign(&tone, accidental, true);
                }
            }
            self.brackets(piece, start + sign.at + sign.length, "stop", |bracket| bracket.to.0);
        }
    }

    /// Writes where the brackets of a piece begin (`start`), or end (`stop`), that do so at this place.
    fn brackets(&mut self, piece: &Piece, at: i64, kind: &str, place: impl Fn(&StaffBracket) -> i64) {
        for (n, bracket) in piece.brackets.iter().enumerate().filter(|(_, bracket)| place(bracket) == at) {
            self.xml.open("direction", &[("placement", if bracket.above { "above" } else { "below" })]);
            if kind == "start" {
                self.xml.open("direction-type", &[]);
                self.xml.text("words", &bracket.words);
                self.xml.close("direction-type");
            }
            self.xml.open("direction-type", &[]);
            let (number, end) = (((n % 16) + 1).to_string(), if bracket.above { "down" } else { "up" });
            let line = ("line-type", bracket.line_type);
            self.xml.empty("bracket", &[("type", kind), ("number", &number), ("line-end", end), line]);
            self.xml.close("direction-type");
            self.xml.close("direction");
        }
    }

    /// The bar line that ends a piece.
    fn barline(&mut self, style: &str) {
        self.xml.open("barline", &[("location", "right")]);
        self.xml.text("bar-style", style);
        self.xml.close("barline");
    }

    fn attributes(&mut self, staff: &Staff, piece: &Piece, first: bool) {
        self.xml.open("attributes", &[]);
        if first {
            self.xml.number("divisions", self.divisions);
        }
        if staff.signatures || first {
            self.xml.open("key", &[]);
            self.xml.number("fifths", if staff.signatures { piece.signature.sharps() } else { 0 });
            if staff.signatures {
                self.xml.text("mode", piece.key.mode.name());
            }
            self.xml.close("key");
        }
        if first {
            self.xml.open("time", &[]);
            let (beats, value) = piece.meter.name().split_once('/').unwrap_or(("4", "4"));
            self.xml.text("beats", beats);
            self.xml.text("beat-type", value);
            self.xml.close("time");
            self.clef(staff.clef, piece);
            self.xml.transpose(staff.transposition);
        }
        self.xml.close("attributes");
    }

    fn clef(&mut self, clef: Clef, piece: &Piece) {
        let low = piece.notes.first().is_some_and(|note| note.written.midi() < 60);
        let (sign, line, octaves) = match clef {
            Clef::TrebleOctaveDown => ("G", 2, -1),
            Clef::Alto => ("C", 3, 0),
            Clef::Tenor => ("C", 4, 0),
            Clef::Bass => ("F", 4, 0),
            Clef::Grand if low => ("F", 4, 0),
            Clef::Treble | Clef::Grand => ("G", 2, 0),
        };
        self.xml.open("clef", &[]);
        self.xml.text("sign", sign);
        self.xml.number("line", line);
        if octaves != 0 {
            self.xml.number("clef-octave-change", octaves);
        }
        self.xml.close("clef");
    }

    /// Writes the tempo, and how to swing.
    fn tempo(&mut self, staff: &Staff) {
        self.xml.open("direction", &[("placement", "above")]);
        if staff.swing {
            self.xml.open("direction-type", &[]);
            self.xml.text("words", "Swing ");
            self.xml.close("direction-type");
        }
        self.xml.open("direction-type", &[]);
        self.xml.open("metronome", &[]);
        // The beat that is counted: in six-eight a dotted quarter.
        let beat = staff.pieces.first().map_or(1.0, |piece| piece.meter.beat().0);
        self.xml.text("beat-unit", "quarter");
        if beat > 1.0 {
            self.xml.empty("beat-unit-dot", &[]);
        }
        self.xml.text("per-minute", &format!("{:.0}", staff.tempo.0 / beat));
        self.xml.close("metronome");
        self.xml.close("direction-type");
        self.xml.open("sound", &[("tempo", &format!("{}", staff.tempo.0))]);
        if staff.swing {
            self.swing(pattern::swing_at(staff.tempo));
        }
        self.xml.close("sound");
        self.xml.close("direction");
    }

    /// Writes how a program that plays the file should swing (MusicXML 4.0, swing: two whole numbers in the ratio of long to short).
    fn swing(&mut self, ratio: f64) {
        let (long, short) = ((10.0 * ratio).round() as i64, 10);
        let common = greatest_common(long, short);
        self.xml.open("swing", &[]);
        if long == short {
            self.xml.empty("straight", &[]);
            return self.xml.close("swing");
        }
        self.xml.number("first", long / common);
        self.xml.number("second", short / common);
        self.xml.text("swing-type", "eighth");
        self.xml.close("swing");
    }

    /// Writes a sign; `together` says that it sounds with the one before.
    fn sign(&mut self, sign: &BarElement, accidental: Option<&str>, together: bool) {
        let &BarElement { note, length, note_value, ties, group, .. } = sign;
        self.xml.open("note", &[]);
        if together {
            self.xml.empty("chord", &[]);
        }
        match note {
            None => self.xml.empty("rest", &[]),
            Some(pitch) => {
                self.xml.open("pitch", &[]);
                self.xml.text("step", &pitch.letter.sign().to_string());
                if pitch.alter != 0 {
                    self.xml.number("alter", pitch.alter);
                }
                self.xml.number("octave", pitch.octave);
                self.xml.close("pitch");
            }
        }
        self.xml.number("duration", length * self.divisions / Ticks::QUARTER);
        for (on, kind) in ties.into_iter().zip(["stop", "start"]) {
            if on {
                self.xml.empty("tie", &[("type", kind)]);
            }
        }
        if let Some(note_value) = note_value {
            self.xml.text("type", note_value.value);
            for _ in 0..note_value.dots {
                self.xml.empty("dot", &[]);
            }
        }
        if let Some(accidental) = accidental {
            self.xml.text("accidental", accidental);
        }
        if let Some((many, time)) = note_value.and_then(|note_value| note_value.tuplet) {
            self.xml.open("time-modification", &[]);
            self.xml.number("actual-notes", many);
            self.xml.number("normal-notes", time);
            self.xml.close("time-modification");
        }
        for (n, beam) in sign.beams.iter().enumerate() {
            self.xml.text_with("beam", &[("number", &(n + 1).to_string())], beam);
        }
        if ties.contains(&true) || group.contains(&true) {
            self.xml.open("notations", &[]);
            for (on, kind) in ties.into_iter().zip(["stop", "start"]) {
                if on {
                    self.xml.empty("tied", &[("type", kind)]);
                }
            }
            for (on, kind) in group.into_iter().zip(["start", "stop"]) {
                if on {
                    self.xml.empty("tuplet", &[("type", kind)]);
                }
            }
            self.xml.close("notations");
        }
        self.xml.close("note");
    }
}
