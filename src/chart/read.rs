use std::ops::Range;

use crate::chart::before_key::{Unplaced, UnplacedBar, UnplacedPassage, UnplacedStrain, guessed_home, placed};
use crate::chart::lex::{Mark, marks};
use crate::chart::misprint::{Misprint, MisprintSpan};
use crate::chart::model::ChordChart;
use crate::music::{Mode, PitchName, Tonality};

/// The most bytes of a chart's text; a longer text is refused.
const MOST_BYTES: usize = 64 << 10;
/// The most bars of a chart, repeats played out.
const MOST_BARS: usize = 1024;
/// The most characters of a strain's name.
const MOST_NAME: usize = 16;
/// The most times that a passage may be played.
const MOST_TIMES: u32 = 16;

/// A repeat that is not closed yet.
pub(super) struct OpenRepeat {
    span: Range<usize>,
    /// The bars before the first ending.
    pub bars: Vec<UnplacedBar>,
    /// The endings so far.
    pub endings: Vec<Vec<UnplacedBar>>,
}

/// A reader of a chart, with all that it has read so far.
pub(super) struct ChartReader<'t> {
    blots: Vec<MisprintSpan>,
    /// Quarters in a bar.
    pub meter: u32,
    home: Option<PitchName>,
    /// Words since the last sign.
    pub words: Vec<(Range<usize>, &'t str)>,
    /// The pick-up, where the chart has one.
    pub pickup: Option<Vec<Unplaced>>,
    /// Whether the words now read belong to the pick-up: "pick-up" was read, and no bar line yet.
    pub before: bool,
    strains: Vec<UnplacedStrain>,
    /// The bars since the last repeat.
    pub plain: Vec<UnplacedBar>,
    /// The repeat that is open; `None` outside repeats.
    pub repeat: Option<OpenRepeat>,
    /// The number of the ending that has to come now, after `:|`.
    due: Option<usize>,
    /// The bar before, which `%` repeats.
    pub last: Option<UnplacedBar>,
    /// Whether the chart is written in numerals, as its first chord shows; `None` before that chord.
    pub numerals: Option<bool>,
}

impl ChordChart {
    /// Reads the text of a chart.
    ///
    /// # Errors
    /// All misprints, in order of place.
    pub fn parse(text: &str) -> Result<Self, Vec<Misprint>> {
        read(text).map_err(|mut blots: Vec<MisprintSpan>| {
            blots.sort_by_cached_key(|blot| blot.span.start);
            blots.into_iter().map(|blot| blot.placed(text)).collect()
        })
    }
}

/// Reads the chart of a text, or hands back its misprints with their places in bytes.
pub(super) fn read(text: &str) -> Result<ChordChart, Vec<MisprintSpan>> {
    if text.len() > MOST_BYTES {
        return Err(vec![MisprintSpan::new(0..0, "this is longer than 64 KiB", "a chart needs a few lines")]);
    }
    let mut reader = ChartReader {
        blots: Vec::new(),
        meter: 4,
        home: None,
        words: Vec::new(),
        pickup: None,
        before: false,
        strains: vec![UnplacedStrain { name: None, passages: Vec::new() }],
        plain: Vec::new(),
        repeat: None,
        due: None,
        last: None,
        numerals: None,
    };
    let found = marks(text);
    let body = reader.head(&found);
    let mut before: Option<(Range<usize>, Mark<'_>)> = None;
    for (span, sign) in found[body..].iter().cloned() {
        let lines = |sign: &Mark<'_>| matches!(sign, Mark::Line | Mark::Double | Mark::Open);
        if let Some((other, ruled)) = &before
            && lines(ruled)
            && matches!(sign, Mark::Line | Mark::Double)
            && !text[other.end..span.start].contains('\n')
        {
            reader.blot(span.clone(), "there is no chord in this bar", "write a chord, % for the bar before, or N.C.");
        }
        reader.take(span.clone(), sign, before.as_ref().map(|row| row.1));
        before = Some((span, sign));
    }
    reader.end(text.len())
}

impl<'t> ChartReader<'t> {
    /// Adds a misprint: `span` is its place in bytes of the text, `what` says what is wrong, `mend` what to write.
    pub(super) fn blot(&mut self, span: Range<usize>, what: impl Into<String>, mend: impl Into<String>) {
        self.blots.push(MisprintSpan::new(span, what, mend));
    }

    /// Reads the key and the meter at the start of a chart; returns how many signs they took.
    fn head(&mut self, found: &[(Range<usize>, Mark<'t>)]) -> usize {
        let mut at = 0;
        if let Some((span, Mark::Word("in"))) = found.first() {
            at = 1;
            match found.get(1) {
                Some((_, Mark::Word(key))) => {
                    at = 2;
                    let name = key.strip_suffix('m').unwrap_or(key);
                    let name = Some(name).filter(|name| name.starts_with(|c: char| c.is_ascii_uppercase()));
                    self.home = name.and_then(|name| name.parse().ok()).filter(|name: &PitchName| name.alter.abs() < 2);
                    if self.home.is_none() {
                        let span = found[1].0.clone();
                        self.blot(span, format!("no key is called \"{key}\""), "write a key such as `in Eb`");
                    }
                }
                _ => self.blot(span.clone(), "the key is missing", "write a key such as `in Eb`"),
            }
        }
        if let Some((span, Mark::Word(word))) = found.get(at)
            && let Some((beats, unit)) = word.split_once('/')
            && [beats, unit].iter().all(|part| !part.is_empty() && part.bytes().all(|c| c.is_ascii_digit()))
        {
            at += 1;
            match beats.parse() {
                Ok(beats @ 2..=7) if unit == "4" => self.meter = beats,
                _ => self.blot(span.clone(), format!("no chart is counted in {word}"), "write 2/4 to 7/4"),
            }
        }
        at
    }

    fn take(&mut self, span: Range<usize>, sign: Mark<'t>, after: Option<Mark<'t>>) {
        let ending = match sign {
            Mark::Word(word) => word.strip_suffix('.').and_then(|number| number.parse::<usize>().ok()),
            _ => None,
        };
        if let Some(due) = self.due.filter(|due| ending != Some(*due)) {
            self.due = None;
            self.missing(span.clone(), due);
            self.repeat = None;
        }
        match sign {
            Mark::Word("pick-up") if self.pickup.is_none() && !self.begun() => self.before = true,
            Mark::Word(word) => match (ending, times(word)) {
                (Some(number), _) => self.ending(span, number),
                (None, Some(times)) if after == Some(Mark::Close) => self.times(span, times),
                _ => self.words.push((span, word)),
            },
            Mark::Name(name) => {
                self.bar();
                self.flush();
                if name.chars().count() > MOST_NAME || !name.chars().all(|c| c.is_alphanumeric() || "-'+#".contains(c))
                {
                    let mend = format!("write one word of at most {MOST_NAME} letters and digits, such as `A:`");
                    self.blot(span, format!("`{name}` is no name of a strain"), mend);
                }
                let name = Some(name.chars().take(MOST_NAME).collect());
                self.strains.push(UnplacedStrain { name, passages: Vec::new() });
            }
            Mark::Line => self.bar(),
            Mark::Double => {
                self.bar();
                if self.repeat.as_ref().is_some_and(|repeat| repeat.endings.len() > 1) {
                    self.close_repeat(2);
                }
            }
            Mark::Open => {
                self.bar();
                self.flush();
                self.repeat = Some(OpenRepeat { span, bars: Vec::new(), endings: Vec::new() });
            }
            Mark::Close => {
                self.bar();
                match &self.repeat {
                    None => self.blot(span, "no repeat was begun", "write `|:` where it begins"),
                    Some(repeat) if repeat.endings.is_empty() => self.close_repeat(2),
                    Some(repeat) => self.due = Some(repeat.endings.len() + 1),
                }
            }
            Mark::Odd => {
                self.bar();
                self.blot(span, "this is no bar line", "write `|`, `||`, `|:` or `:|`, and blanks between two of them");
            }
        }
    }

    /// Whether a word, a bar, a name or a repeat stands before this place.
    fn begun(&self) -> bool {
        let passages = self.strains.iter().any(|strain| strain.name.is_some() || !strain.passages.is_empty());
        passages || self.repeat.is_some() || !self.plain.is_empty() || !self.words.is_empty()
    }

    fn ending(&mut self, span: Range<usize>, number: usize) {
        let due = std::mem::take(&mut self.due);
        let fits = self.words.is_empty() && number == due.unwrap_or(1);
        match &mut self.repeat {
            Some(repeat) if fits && repeat.endings.len() + 1 == number && !repeat.bars.is_empty() => {
                repeat.endings.push(Vec::new());
            }
            _ => {
                let mend = "write `|: ... |1. ... :|2. ... ||`: each after a bar line, in order";
                self.blot(span, format!("ending {number} cannot begin here"), mend);
            }
        }
    }

    fn times(&mut self, span: Range<usize>, times: u32) {
        match self.strains.last_mut().and_then(|strain| strain.passages.last_mut()) {
            Some(UnplacedPassage::Repeated(_, said)) if (2..=MOST_TIMES).contains(&times) => *said = times,
            _ => self.blot(span, format!("{times} times cannot be asked for here"), "write 2x to 16x after `:|`"),
        }
    }

    /// Ends the open repeat.
    fn close_repeat(&mut self, times: u32) {
        let Some(OpenRepeat { span, bars, endings }) = self.repeat.take() else { return };
        if bars.is_empty() || endings.iter().any(Vec::is_empty) {
            self.blot(span, "there is no bar in this repeat or in one of its endings", "write its bars");
            return;
        }
        let stretch = match endings.len() {
            0 => UnplacedPassage::Repeated(bars, times),
            1 => {
                self.blot(span, "this repeat has one ending only", "write `:|2.` and the second ending");
                return;
            }
            _ => UnplacedPassage::Ended(bars, endings),
        };
        self.settle();
        if let Some(strain) = self.strains.last_mut() {
            strain.passages.push(stretch);
        }
    }

    /// Makes a passage of the bars since the last repeat.
    fn settle(&mut self) {
        let plain = std::mem::take(&mut self.plain);
        if let Some(strain) = self.strains.last_mut().filter(|_| !plain.is_empty()) {
            strain.passages.push(UnplacedPassage::Once(plain));
        }
    }

    /// Completes what stands before a name, a new repeat or the end. A repeat that is still open there ends with its last ending;
    /// with fewer than two endings it is a misprint.
    fn flush(&mut self) {
        match &self.repeat {
            Some(repeat) if repeat.endings.len() < 2 => {
                let span = repeat.span.clone();
                self.repeat = None;
                self.blot(span, "this repeat is never closed", "write `:|` where it ends");
            }
            Some(_) => self.close_repeat(2),
            None => {}
        }
        self.settle();
    }

    /// The chart, once all `length` bytes of its text are read.
    ///
    /// # Errors
    /// All misprints, in the order in which they were found.
    pub(super) fn end(mut self, length: usize) -> Result<ChordChart, Vec<MisprintSpan>> {
        if let Some(due) = self.due.take() {
            self.missing(length..length, due);
            self.repeat = None;
        }
        self.bar();
        self.flush();
        let strains = std::mem::take(&mut self.strains);
        let home = self.home.or_else(|| guessed_home(&strains));
        let strains = placed(strains, home);
        let scale = home.map_or_else(Vec::new, |tonic| Tonality { tonic, mode: Mode::Major }.scale().to_vec());
        let pickup = self.pickup.take().unwrap_or_default();
        let pickup = pickup.into_iter().map(|share| share.placed(home, &scale)).collect();
        let chart = ChordChart { home, meter: self.meter, pickup, strains };
        if self.blots.is_empty() && chart.strains.is_empty() {
            let mend = "write chords between bar lines, such as `| Dm7 | G7 | Cmaj7 | % |`";
            self.blot(0..length, "there is no bar", mend);
        }
        let played: usize = chart.strains.iter().flat_map(|s| &s.passages).map(|p| p.played().len()).sum();
        if played > MOST_BARS {
            self.blot(0..0, format!("the form has {played} bars"), format!("leave at most {MOST_BARS}"));
        }
        if self.blots.is_empty() { Ok(chart) } else { Err(self.blots) }
    }

    fn missing(&mut self, span: Range<usize>, due: usize) {
        let mend = format!("write `{due}.` after `:|`, and the bars of that ending");
        self.blot(span, format!("ending {due} is missing"), mend);
    }
}

/// The number in a word such as `3x`.
fn times(word: &str) -> Option<u32> {
    word.strip_suffix('x').filter(|digits| digits.len() < 4).and_then(|digits| digits.parse().ok())
}
