use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use crate::exchange::harmony::ChordKind;
use crate::music::{HalfSteps, PitchName};

/// A page of MusicXML 4.0 (score-partwise) that is written element by element: what scores and charts have in common.
pub(super) struct XmlPage(Writer<Vec<u8>>);

impl XmlPage {
    /// Begins a page with this title.
    pub(super) fn begin(title: &str) -> Self {
        let mut page = Self(Writer::new_with_indent(Vec::new(), b' ', 1));
        page.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), Some("no"))));
        page.event(Event::DocType(BytesText::from_escaped(
            "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\"",
        )));
        page.open("score-partwise", &[("version", "4.0")]);
        page.open("work", &[]);
        page.text("work-title", title);
        page.close("work");
        page
    }
    /// Ends the page and gives its bytes.
    pub(super) fn end(mut self) -> Vec<u8> {
        self.close("score-partwise");
        self.0.into_inner()
    }

    fn event(&mut self, event: Event<'_>) {
        // Writing into memory cannot fail.
        let _ = self.0.write_event(event);
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
        self.text_with(name, &[], text);
    }
    /// Writes an element with attributes that holds a text.
    pub(super) fn text_with(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        let text: String = text.chars().filter(|c| !c.is_control()).collect();
        self.open(name, attributes);
        self.event(Event::Text(BytesText::new(&text)));
        self.close(name);
    }
    /// Writes an element that holds a whole number.
    pub(super) fn number(&mut self, name: &str, number: impl Into<i64>) {
        self.text(name, &number.into().to_string());
    }

    /// Writes what stands over the staff, in a direction of its own: "words", or a "rehearsal" mark.
    pub(super) fn over_staff(&mut self, kind: &str, words: &str) {
        self.open("direction", &[("placement", "above")]);
        self.open("direction-type", &[]);
        self.text(kind, words);
        self.close("direction-type");
        self.close("direction");
    }

    /// Writes a chord symbol that begins `later` divisions after the note that follows it in the file.
    pub(super) fn harmony(&mut self, root: PitchName, kind: &ChordKind, bass: Option<PitchName>, later: i64) {
        self.open("harmony", &[]);
        self.name("root", root);
        self.text_with("kind", &[("text", &kind.text)], kind.name);
        if let Some(bass) = bass {
            self.name("bass", bass);
        }
        for (number, alter, change) in &kind.degrees {
            self.open("degree", &[]);
            self.number("degree-value", *number);
            self.number("degree-alter", *alter);
            self.text("degree-type", change);
            self.close("degree");
        }
        if later > 0 {
            self.number("offset", later);
        }
        self.close("harmony");
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

    /// Writes the way from the written to the sounding pitch: letters and half steps within the octave, whole octaves apart (MusicXML
    /// 4.0, transpose: the chromatic part leaves the octaves out).
    pub(super) fn transpose(&mut self, transposition: HalfSteps) {
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
}
