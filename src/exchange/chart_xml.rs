use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use crate::chart::{ChartBar, ChordChart, ChordShare, Passage};
use crate::exchange::harmony::{ChordKind, kind, nearest_to};
use crate::music::{ChordQuality, ChordSymbol, HalfSteps, Letter, PitchName, Tonality};
use crate::pattern::Quality;
use crate::units::Tempo;

/// A chart on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartSheet {
    /// The title over the chart.
    pub title: String,
    /// The chart, in the key in which it stands on the page.
    pub chart: ChordChart,
    /// Half steps from the written to the sounding pitch.
    pub transposition: HalfSteps,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Whether eighths are meant to swing.
    pub swing: bool,
}

/// What a bar has at its two bar lines.
#[derive(Default, Clone, Copy)]
struct Edges {
    /// Whether a repeat begins here.
    open: bool,
    /// Number of the ending that begins here.
    begins: Option<usize>,
    /// Number of the ending that ends here.
    ends: Option<usize>,
    /// How often the repeat that ends here is played in all: 2 after each ending but the last; `None` where no repeat ends.
    close: Option<u32>,
}

/// A chart as MusicXML 4.0 (score-partwise): chord symbols over rests, with repeats, endings and the names of its strains as
/// rehearsal marks.
#[must_use]
pub fn chart_to_musicxml(sheet: &ChartSheet) -> Vec<u8> {
    let tonic = sheet.chart.home().unwrap_or(PitchName::natural(Letter::C));
    let mut page = ChartPage { xml: Writer::new_with_indent(Vec::new(), b' ', 1), tonic };
    page.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), Some("no"))));
    page.event(Event::DocType(BytesText::from_escaped(
        "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\"",
    )));
    page.open("score-partwise", &[("version", "4.0")]);
    page.open("work", &[]);
    page.text("work-title", &sheet.title);
    page.close("work");
    page.open("part-list", &[]);
    page.open("score-part", &[("id", "P1")]);
    page.text("part-name", "Chords");
    page.close("score-part");
    page.close("part-list");
    page.open("part", &[("id", "P1")]);
    page.bars(sheet);
    page.close("part");
    page.close("score-partwise");
    page.xml.into_inner()
}

struct ChartPage {
    xml: Writer<Vec<u8>>,
    tonic: PitchName,
}

impl ChartPage {
    fn event(&mut self, event: Event<'_>) {
        // Writing into memory cannot fail.
        let _ = self.xml.write_event(event);
    }
    fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.event(Event::Start(BytesStart::new(name).with_attributes(attributes.iter().copied())));
    }
    fn close(&mut self, name: &str) {
        self.event(Event::End(BytesEnd::new(name)));
    }
    fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.event(Event::Empty(BytesStart::new(name).with_attributes(attributes.iter().copied())));
    }
    fn text(&mut self, name: &str, text: &str) {
        let text: String = text.chars().filter(|c| !c.is_control()).collect();
        self.open(name, &[]);
        self.event(Event::Text(BytesText::new(&text)));
        self.close(name);
    }
    fn number(&mut self, name: &str, number: impl Into<i64>) {
        self.text(name, &number.into().to_string());
    }

    fn bars(&mut self, sheet: &ChartSheet) {
        let mut number = 0;
        let mut first = true;
        if !sheet.chart.pickup().is_empty() {
            self.open("measure", &[("number", "0"), ("implicit", "yes")]);
            self.head(sheet);
            first = false;
            sheet.chart.pickup().iter().for_each(|share| self.share(share, false));
            self.close("measure");
        }
        for strain in sheet.chart.strains() {
            let mut name = strain.name.as_deref();
            for (bar, edges) in strain.passages.iter().flat_map(edged) {
                number += 1;
                self.open("measure", &[("number", &number.to_string())]);
                self.left(edges);
                if std::mem::take(&mut first) {
                    self.head(sheet);
                }
                if let Some(name) = name.take() {
                    self.direction("rehearsal", name);
                }
                let whole = bar.shares().len() == 1;
                bar.shares().iter().for_each(|share| self.share(share, whole));
                self.right(edges);
                self.close("measure");
            }
        }
    }

    /// Key, meter, transposition and tempo.
    fn head(&mut self, sheet: &ChartSheet) {
        let key = Tonality { tonic: self.tonic, ..sheet.chart.tonality(self.tonic.class(), false) };
        self.open("attributes", &[]);
        self.number("divisions", 1);
        self.open("key", &[]);
        self.number("fifths", key.signature().sharps());
        self.text("mode", key.mode.name());
        self.close("key");
        self.open("time", &[]);
        self.number("beats", sheet.chart.meter());
        self.number("beat-type", 4);
        self.close("time");
        let within = sheet.transposition.0 % 12;
        if sheet.transposition.0 != 0 {
            let letters = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6][within.unsigned_abs() as usize % 12];
            self.open("transpose", &[]);
            self.number("diatonic", letters * i64::from(within.signum()));
            self.number("chromatic", within);
            if sheet.transposition.0 / 12 != 0 {
                self.number("octave-change", sheet.transposition.0 / 12);
            }
            self.close("transpose");
        }
        self.close("attributes");
        if sheet.swing {
            self.direction("words", "Swing");
        }
        self.open("direction", &[("placement", "above")]);
        self.open("direction-type", &[]);
        self.open("metronome", &[]);
        self.text("beat-unit", "quarter");
        self.text("per-minute", &format!("{:.0}", sheet.tempo.0));
        self.close("metronome");
        self.close("direction-type");
        self.empty("sound", &[("tempo", &format!("{}", sheet.tempo.0))]);
        self.close("direction");
    }

    fn direction(&mut self, kind: &str, words: &str) {
        self.open("direction", &[("placement", "above")]);
        self.open("direction-type", &[]);
        self.text(kind, words);
        self.close("direction-type");
        self.close("direction");
    }

    fn left(&mut self, edges: Edges) {
        if !edges.open && edges.begins.is_none() {
            return;
        }
        self.open("barline", &[("location", "left")]);
        if let Some(number) = edges.begins {
            self.empty("ending", &[("number", &number.to_string()), ("type", "start")]);
        }
        if edges.open {
            self.empty("repeat", &[("direction", "forward")]);
        }
        self.close("barline");
    }

    fn right(&mut self, edges: Edges) {
        if edges.close.is_none() && edges.ends.is_none() {
            return;
        }
        self.open("barline", &[("location", "right")]);
        if let Some(number) = edges.ends {
            let kind = if edges.close.is_some() { "stop" } else { "discontinue" };
            self.empty("ending", &[("number", &number.to_string()), ("type", kind)]);
        }
        match edges.close {
            None => {}
            Some(2) => self.empty("repeat", &[("direction", "backward")]),
            Some(times) => self.empty("repeat", &[("direction", "backward"), ("times", &times.to_string())]),
        }
        self.close("barline");
    }

    /// Writes a chord symbol over a rest that lasts as long as the chord.
    fn share(&mut self, share: &ChordShare, whole: bool) {
        self.harmony(share.chord.as_ref().map(|chord| chord.on(self.tonic)).as_ref());
        self.open("note", &[]);
        if whole {
            self.empty("rest", &[("measure", "yes")]);
        } else {
            self.empty("rest", &[]);
        }
        self.number("duration", share.beats);
        let shown =
            [None, Some(("quarter", false)), Some(("half", false)), Some(("half", true)), Some(("whole", false))];
        if let Some((value, dotted)) = shown.get(share.beats as usize).copied().flatten().filter(|_| !whole) {
            self.text("type", value);
            if dotted {
                self.empty("dot", &[]);
            }
        }
        self.close("note");
    }

    fn harmony(&mut self, chord: Option<&ChordSymbol>) {
        self.open("harmony", &[]);
        self.name("root", chord.map_or(self.tonic, |chord| chord.root));
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
        for (number, alter, change) in kind.degrees {
            self.open("degree", &[]);
            self.number("degree-value", number);
            self.number("degree-alter", alter);
            self.text("degree-type", change);
            self.close("degree");
        }
        self.close("harmony");
    }

    fn name(&mut self, what: &str, name: PitchName) {
        self.open(what, &[]);
        self.text(&format!("{what}-step"), &name.letter.sign().to_string());
        if name.alter != 0 {
            self.number(&format!("{what}-alter"), name.alter);
        }
        self.close(what);
    }
}

/// The bars of a passage with what stands at their bar lines.
fn edged(passage: &Passage) -> Vec<(&ChartBar, Edges)> {
    let plain = |bars: &'_ [ChartBar]| bars.len();
    let mut rows: Vec<(&ChartBar, Edges)> = Vec::new();
    match passage {
        Passage::Once(bars) => rows.extend(bars.iter().map(|bar| (bar, Edges::default()))),
        Passage::Repeated { bars, times } => {
            rows.extend(bars.iter().map(|bar| (bar, Edges::default())));
            if let Some(last) = rows.last_mut() {
                last.1.close = Some(*times);
            }
        }
        Passage::Ended { bars, endings } => {
            rows.extend(bars.iter().map(|bar| (bar, Edges::default())));
            for (n, ending) in endings.iter().enumerate() {
                for (at, bar) in ending.iter().enumerate() {
                    let begins = (at == 0).then_some(n + 1);
                    let last = at + 1 == plain(ending);
                    let close = (last && n + 1 < endings.len()).then_some(2);
                    rows.push((bar, Edges { begins, ends: last.then_some(n + 1), close, open: false }));
                }
            }
        }
    }
    if let Some(first) = rows.first_mut().filter(|_| !matches!(passage, Passage::Once(_))) {
        first.1.open = true;
    }
    rows
}

/// The kind by which MusicXML names a chord, and the text that stands on the page after its root. For a chord outside the usual
/// vocabulary the kind is the nearest one, and the text is its whole symbol.
pub(super) fn said(quality: &ChordQuality) -> (ChordKind, String) {
    match Quality::of(quality) {
        Some(usual) => {
            let kind = kind(usual);
            let text = kind.text.to_owned();
            (kind, text)
        }
        None => (ChordKind { degrees: Vec::new(), ..nearest_to(&quality.degrees()) }, quality.to_string()),
    }
}
