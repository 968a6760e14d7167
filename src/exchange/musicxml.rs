use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use crate::exchange::accidentals::Accidentals;
use crate::exchange::bar::{BarElement, signs};
use crate::exchange::harmony::kind;
use crate::exchange::staff::{Piece, Staff, StaffBracket, StaffChord};
use crate::music::{Clef, HalfSteps, PitchClass, Signature, Tonality};
use crate::pattern::{self, Ticks};

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
    let mut page = ScoreWriter { xml: Writer::new_with_indent(Vec::new(), b' ', 1), divisions: 1, bar: 0 };
    page.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), Some("no"))));
    page.event(Event::DocType(BytesText::from_escaped(
        "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\"",
    )));
    page.open("score-partwise", &[("version", "4.0")]);
    page.open("work", &[]);
    page.text("work-title", staves.first().map_or("", |staff| &staff.title));
    page.close("work");
    page.open("part-list", &[]);
    let numbered = || (1..).zip(staves).map(|(n, staff)| (format!("P{n}"), staff));
    for (id, staff) in numbered() {
        page.open("score-part", &[("id", &id)]);
        page.text("part-name", &staff.part);
        page.close("score-part");
    }
    page.close("part-list");
    for (id, staff) in numbered() {
        (page.divisions, page.bar) = (divisions(staff), 0);
        page.open("part", &[("id", &id)]);
        for (n, piece) in staff.pieces.iter().enumerate() {
            page.piece(staff, piece, n == 0, n + 1 == staff.pieces.len());
        }
        page.close("part");
    }
    page.close("score-partwise");
    page.xml.into_inner()
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
    Ticks::QUARTER / notes.fold(Ticks::QUARTER, greatest_common)
}

/// Where the bars of a piece begin, in ticks: below zero for the bar of a pick-up.
fn bar_lines(piece: &Piece) -> impl Iterator<Item = i64> + use<> {
    let end = piece.length.0.max(piece.notes.last().map_or(0, |note| note.at.0 + note.length.0));
    let (before, whole) = (piece.lead(), piece.bar());
    (0..(before + end + whole - 1) / whole).map(move |bar| bar * whole - before)
}

fn greatest_common(mut one: i64, mut other: i64) -> i64 {
    while other != 0 {
        (one, other) = (other, one % other);
    }
    one.max(1)
}

/// What writes a score, element by element.
pub(super) struct ScoreWriter {
    xml: Writer<Vec<u8>>,
    /// Units of length in a quarter note.
    pub(super) divisions: i64,
    bar: u32,
}

impl ScoreWriter {
    /// Writes one event of the document.
    pub(super) fn event(&mut self, event: Event<'_>) {
        // Writing into memory cannot fail.
        let _ = self.xml.write_event(event);
    }
    /// Opens an element.
    pub(super) fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.event(Event::Start(BytesStart::new(name).with_attributes(attributes.iter().copied())));
    }
    /// Closes an element.
    pub(super) fn close(&mut self, name: &str) {
        self.event(Event::End(BytesEnd::new(name)));
    }
    /// Writes an element without content.
    pub(super) fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.event(Event::Empty(BytesStart::new(name).with_attributes(attributes.iter().copied())));
    }
    /// Writes an element that holds a text.
    pub(super) fn text(&mut self, name: &str, text: &str) {
        let text: String = text.chars().filter(|c| !c.is_control()).collect();
        self.open(name, &[]);
        self.event(Event::Text(BytesText::new(&text)));
        self.close(name);
    }
    /// Writes an element that holds a whole number.
    pub(super) fn number(&mut self, name: &str, number: impl Into<i64>) {
        self.text(name, &number.into().to_string());
    }

    /// One piece in whole bars. A pick-up stands at the end of a bar of its own, with rests before it: readers of MusicXML do
    /// not agree on a bar that is short in the middle of a part.
    fn piece(&mut self, staff: &Staff, piece: &Piece, first: bool, last: bool) {
        let starts: Vec<i64> = bar_lines(piece).collect();
        let bars = starts.len();
        for (bar, start) in starts.into_iter().enumerate() {
            self.bar += 1;
            self.open("measure", &[("number", &self.bar.to_string())]);
            if bar == 0 {
                if !first && bars > SHORT {
                    self.empty("print", &[("new-system", "yes")]);
                }
                self.attributes(staff, piece, first);
                self.words(&piece.heading);
                if first {
                    self.tempo(staff);
                }
            }
            self.bar(staff, piece, start);
            if bar + 1 == bars {
                self.barline(if last { "light-heavy" } else { "light-light" });
            }
            self.close("measure");
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
                self.harmony(chord, chord.at.0 - start - sign.at);
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
            self.open("direction", &[("placement", if bracket.above { "above" } else { "below" })]);
            if kind == "start" {
                self.open("direction-type", &[]);
                self.text("words", &bracket.words);
                self.close("direction-type");
            }
            self.open("direction-type", &[]);
            let (number, end) = (((n % 16) + 1).to_string(), if bracket.above { "down" } else { "up" });
            let line = ("line-type", bracket.line_type);
            self.empty("bracket", &[("type", kind), ("number", &number), ("line-end", end), line]);
            self.close("direction-type");
            self.close("direction");
        }
    }

    /// Writes a chord symbol that begins `later` ticks after the note that follows it in the file.
    fn harmony(&mut self, chord: &StaffChord, later: i64) {
        let kind = kind(chord.quality);
        self.open("harmony", &[]);
        self.open("root", &[]);
        self.text("root-step", &chord.root.letter.sign().to_string());
        if chord.root.alter != 0 {
            self.number("root-alter", chord.root.alter);
        }
        self.close("root");
        self.open("kind", &[("text", kind.text)]);
        self.event(Event::Text(BytesText::new(kind.name)));
        self.close("kind");
        self.degrees(kind.degrees);
        if later > 0 {
            self.number("offset", later * self.divisions / Ticks::QUARTER);
        }
        self.close("harmony");
    }

    /// The bar line that ends a piece.
    fn barline(&mut self, style: &str) {
        self.open("barline", &[("location", "right")]);
        self.text("bar-style", style);
        self.close("barline");
    }

    fn attributes(&mut self, staff: &Staff, piece: &Piece, first: bool) {
        self.open("attributes", &[]);
        if first {
            self.number("divisions", self.divisions);
        }
        if staff.signatures || first {
            self.open("key", &[]);
            self.number("fifths", if staff.signatures { piece.signature.sharps() } else { 0 });
            if staff.signatures {
                self.text("mode", piece.key.mode.name());
            }
            self.close("key");
        }
        if first {
            self.open("time", &[]);
            let (beats, value) = piece.meter.name().split_once('/').unwrap_or(("4", "4"));
            self.text("beats", beats);
            self.text("beat-type", value);
            self.close("time");
            self.clef(staff.clef, piece);
            self.transpose(staff.transposition);
        }
        self.close("attributes");
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
        self.open("clef", &[]);
        self.text("sign", sign);
        self.number("line", line);
        if octaves != 0 {
            self.number("clef-octave-change", octaves);
        }
        self.close("clef");
    }

    /// Writes the way from the written to the sounding pitch: letters and half steps within the octave, whole octaves apart (MusicXML
    /// 4.0, transpose: the chromatic part leaves the octaves out).
    fn transpose(&mut self, transposition: HalfSteps) {
        if transposition.0 == 0 {
            return;
        }
        let letters = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];
        let within = transposition.0 % 12;
        let diatonic = letters[within.unsigned_abs() as usize % 12] * within.signum();
        self.open("transpose", &[]);
        self.number("diatonic", diatonic);
        self.number("chromatic", within);
        if transposition.0 / 12 != 0 {
            self.number("octave-change", transposition.0 / 12);
        }
        self.close("transpose");
    }

    /// Words over the staff, in a direction of their own.
    pub(super) fn words(&mut self, words: &str) {
        self.open("direction", &[("placement", "above")]);
        self.open("direction-type", &[]);
        self.text("words", words);
        self.close("direction-type");
        self.close("direction");
    }

    /// Writes the tempo, and how to swing.
    fn tempo(&mut self, staff: &Staff) {
        self.open("direction", &[("placement", "above")]);
        if staff.swing {
            self.open("direction-type", &[]);
            self.text("words", "Swing ");
            self.close("direction-type");
        }
        self.open("direction-type", &[]);
        self.open("metronome", &[]);
        // The beat that is counted: in six-eight a dotted quarter.
        let beat = staff.pieces.first().map_or(1.0, |piece| piece.meter.beat().0);
        self.text("beat-unit", "quarter");
        if beat > 1.0 {
            self.empty("beat-unit-dot", &[]);
        }
        self.text("per-minute", &format!("{:.0}", staff.tempo.0 / beat));
        self.close("metronome");
        self.close("direction-type");
        self.open("sound", &[("tempo", &format!("{}", staff.tempo.0))]);
        if staff.swing {
            self.swing(pattern::swing_at(staff.tempo));
        }
        self.close("sound");
        self.close("direction");
    }

    /// Writes how a program that plays the file should swing (MusicXML 4.0, swing: two whole numbers in the ratio of long to short).
    fn swing(&mut self, ratio: f64) {
        let (long, short) = ((10.0 * ratio).round() as i64, 10);
        let common = greatest_common(long, short);
        self.open("swing", &[]);
        if long == short {
            self.empty("straight", &[]);
            return self.close("swing");
        }
        self.number("first", long / common);
        self.number("second", short / common);
        self.text("swing-type", "eighth");
        self.close("swing");
    }

    /// Writes a sign; `together` says that it sounds with the one before.
    fn sign(&mut self, sign: &BarElement, accidental: Option<&str>, together: bool) {
        let &BarElement { note, length, note_value, ties, group, .. } = sign;
        self.open("note", &[]);
        if together {
            self.empty("chord", &[]);
        }
        match note {
            None => self.empty("rest", &[]),
            Some(pitch) => {
                self.open("pitch", &[]);
                self.text("step", &pitch.letter.sign().to_string());
                if pitch.alter != 0 {
                    self.number("alter", pitch.alter);
                }
                self.number("octave", pitch.octave);
                self.close("pitch");
            }
        }
        self.number("duration", length * self.divisions / Ticks::QUARTER);
        for (on, kind) in ties.into_iter().zip(["stop", "start"]) {
            if on {
                self.empty("tie", &[("type", kind)]);
            }
        }
        if let Some(note_value) = note_value {
            self.text("type", note_value.value);
            for _ in 0..note_value.dots {
                self.empty("dot", &[]);
            }
        }
        if let Some(accidental) = accidental {
            self.text("accidental", accidental);
        }
        if let Some((many, time)) = note_value.and_then(|note_value| note_value.tuplet) {
            self.open("time-modification", &[]);
            self.number("actual-notes", many);
            self.number("normal-notes", time);
            self.close("time-modification");
        }
        for (n, beam) in sign.beams.iter().enumerate() {
            self.open("beam", &[("number", &(n + 1).to_string())]);
            self.event(Event::Text(BytesText::new(beam)));
            self.close("beam");
        }
        if ties.contains(&true) || group.contains(&true) {
            self.open("notations", &[]);
            for (on, kind) in ties.into_iter().zip(["stop", "start"]) {
                if on {
                    self.empty("tied", &[("type", kind)]);
                }
            }
            for (on, kind) in group.into_iter().zip(["start", "stop"]) {
                if on {
                    self.empty("tuplet", &[("type", kind)]);
                }
            }
            self.close("notations");
        }
        self.close("note");
    }
}
