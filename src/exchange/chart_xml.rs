use crate::chart::{ChartBar, ChordChart, ChordShare, Passage};
use crate::exchange::harmony::said;
use crate::exchange::xml_page::XmlPage;
use crate::music::{HalfSteps, Letter, PitchName, Tonality};
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
    let mut page = ChartPage { xml: XmlPage::begin(&sheet.title), tonic };
    page.xml.open("part-list", &[]);
    page.xml.open("score-part", &[("id", "P1")]);
    page.xml.text("part-name", "Chords");
    page.xml.close("score-part");
    page.xml.close("part-list");
    page.xml.open("part", &[("id", "P1")]);
    page.bars(sheet);
    page.xml.close("part");
    page.xml.end()
}

struct ChartPage {
    xml: XmlPage,
    tonic: PitchName,
}

impl ChartPage {
    fn bars(&mut self, sheet: &ChartSheet) {
        let mut number = 0;
        let mut first = true;
        if !sheet.chart.pickup().is_empty() {
            self.xml.open("measure", &[("number", "0"), ("implicit", "yes")]);
            self.head(sheet);
            first = false;
            sheet.chart.pickup().iter().for_each(|share| self.share(share, false));
            self.xml.close("measure");
        }
        for strain in sheet.chart.strains() {
            let mut name = strain.name.as_deref();
            for (bar, edges) in strain.passages.iter().flat_map(edged) {
                number += 1;
                self.xml.open("measure", &[("number", &number.to_string())]);
                self.left(edges);
                if std::mem::take(&mut first) {
                    self.head(sheet);
                }
                if let Some(name) = name.take() {
                    self.xml.over_staff("rehearsal", name);
                }
                let whole = bar.shares().len() == 1;
                bar.shares().iter().for_each(|share| self.share(share, whole));
                self.right(edges);
                self.xml.close("measure");
            }
        }
    }

    /// Key, meter, transposition and tempo.
    fn head(&mut self, sheet: &ChartSheet) {
        let key = Tonality { tonic: self.tonic, ..sheet.chart.tonality(self.tonic.class(), false) };
        self.xml.open("attributes", &[]);
        self.xml.number("divisions", 1);
        self.xml.open("key", &[]);
        self.xml.number("fifths", key.signature().sharps());
        self.xml.text("mode", key.mode.name());
        self.xml.close("key");
        self.xml.open("time", &[]);
        self.xml.number("beats", sheet.chart.meter());
        self.xml.number("beat-type", 4);
        self.xml.close("time");
        self.xml.transpose(sheet.transposition);
        self.xml.close("attributes");
        if sheet.swing {
            self.xml.over_staff("words", "Swing");
        }
        self.xml.open("direction", &[("placement", "above")]);
        self.xml.open("direction-type", &[]);
        self.xml.open("metronome", &[]);
        self.xml.text("beat-unit", "quarter");
        self.xml.text("per-minute", &format!("{:.0}", sheet.tempo.0));
        self.xml.close("metronome");
        self.xml.close("direction-type");
        self.xml.empty("sound", &[("tempo", &format!("{}", sheet.tempo.0))]);
        self.xml.close("direction");
    }

    fn left(&mut self, edges: Edges) {
        if !edges.open && edges.begins.is_none() {
            return;
        }
        self.xml.open("barline", &[("location", "left")]);
        if let Some(number) = edges.begins {
            self.xml.empty("ending", &[("number", &number.to_string()), ("type", "start")]);
        }
        if edges.open {
            self.xml.empty("repeat", &[("direction", "forward")]);
        }
        self.xml.close("barline");
    }

    fn right(&mut self, edges: Edges) {
        if edges.close.is_none() && edges.ends.is_none() {
            return;
        }
        self.xml.open("barline", &[("location", "right")]);
        if let Some(number) = edges.ends {
            let kind = if edges.close.is_some() { "stop" } else { "discontinue" };
            self.xml.empty("ending", &[("number", &number.to_string()), ("type", kind)]);
        }
        match edges.close {
            None => {}
            Some(2) => self.xml.empty("repeat", &[("direction", "backward")]),
            Some(times) => self.xml.empty("repeat", &[("direction", "backward"), ("times", &times.to_string())]),
        }
        self.xml.close("barline");
    }

    /// Writes a chord symbol over a rest that lasts as long as the chord.
    fn share(&mut self, share: &ChordShare, whole: bool) {
        let (root, kind, bass) = said(share.chord.as_ref().map(|chord| chord.on(self.tonic)).as_ref(), self.tonic);
        self.xml.harmony(root, &kind, bass, 0);
        self.xml.open("note", &[]);
        if whole {
            self.xml.empty("rest", &[("measure", "yes")]);
        } else {
            self.xml.empty("rest", &[]);
        }
        self.xml.number("duration", share.beats);
        let shown =
            [None, Some(("quarter", false)), Some(("half", false)), Some(("half", true)), Some(("whole", false))];
        if let Some((value, dotted)) = shown.get(share.beats as usize).copied().flatten().filter(|_| !whole) {
            self.xml.text("type", value);
            if dotted {
                self.xml.empty("dot", &[]);
            }
        }
        self.xml.close("note");
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
