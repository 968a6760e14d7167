use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::chart::ChordChart;
use crate::exchange::chart_bars::{Measure, text_of};
use crate::exchange::compressed;
use crate::exchange::voice::{MOST_BYTES, Refused};
use crate::music::{ChordQuality, ChordSymbol, Degree, Letter, PitchName, chords};

/// Largest number of elements inside each other.
const MOST_DEPTH: usize = 32;
/// Largest number of measures in a score.
const MOST_MEASURES: usize = 1024;
/// Largest number of characters kept of a text between two tags.
const MOST_TEXT: usize = 256;
/// What a chord of a chart may be, for messages.
const RIGHT: &str = "a chord symbol with a root, on a beat";

/// Chord symbols by kind (MusicXML 4.0, kind-value, from memory of the standard).
const KINDS_READ: [(&str, &str); 25] = [
    ("major", ""),
    ("minor", "m"),
    ("augmented", "aug"),
    ("diminished", "dim"),
    ("dominant", "7"),
    ("major-seventh", "maj7"),
    ("minor-seventh", "m7"),
    ("diminished-seventh", "dim7"),
    ("augmented-seventh", "7#5"),
    ("half-diminished", "m7b5"),
    ("major-minor", "mMaj7"),
    ("major-sixth", "6"),
    ("minor-sixth", "m6"),
    ("dominant-ninth", "9"),
    ("major-ninth", "maj9"),
    ("minor-ninth", "m9"),
    ("dominant-11th", "11"),
    ("major-11th", "maj11"),
    ("minor-11th", "m11"),
    ("dominant-13th", "13"),
    ("major-13th", "maj13"),
    ("minor-13th", "m13"),
    ("suspended-second", "sus2"),
    ("suspended-fourth", "sus4"),
    ("power", "5"),
];

/// Reads the chord symbols of the first part of a MusicXML score (score-partwise), compressed or not, with its repeats,
/// endings and rehearsal marks: the title, and the chart as it sounds.
///
/// # Errors
/// [`Refused`]: too large, too long, damaged, no chord in it, a chord between two beats or of a kind that cannot be read, a meter
/// that changes or that a chart does not have, an ending for several times at once.
pub fn chart_from_musicxml(bytes: &[u8]) -> Result<(Option<String>, ChordChart), Refused> {
    if bytes.len() > MOST_BYTES {
        return Err(Refused::TooLarge);
    }
    if bytes.starts_with(b"PK") {
        return chart_from_musicxml(&compressed::score(bytes)?);
    }
    let text = std::str::from_utf8(bytes).map_err(|_| damaged("it is not UTF-8"))?;
    let mut reader = Reader::from_str(text);
    let mut score = ChartScore { divisions: 1.0, ..ChartScore::default() };
    loop {
        match reader.read_event().map_err(|error| damaged(&error.to_string()))? {
            Event::Start(start) => score.open(&start)?,
            Event::Empty(start) => {
                score.open(&start)?;
                score.close()?;
            }
            Event::End(_) => score.close()?,
            Event::Text(words) => score.words(&words.xml10_content()),
            Event::GeneralRef(name) => score.words(if &*name.xml10_content() == "amp" { "&" } else { "" }),
            Event::Eof if !score.path.is_empty() => return Err(damaged("the file ends early")),
            Event::Eof => break,
            _ => {}
        }
    }
    score.chart()
}

fn damaged(why: &str) -> Refused {
    Refused::Damaged { kind: "MusicXML", why: why.to_owned() }
}

/// The chord being read.
#[derive(Default)]
struct Symbol {
    root: (Option<Letter>, i8),
    bass: (Option<Letter>, i8),
    kind: String,
    text: String,
    offset: f64,
    /// The number of each degree, its alteration in half steps, and what is done to it: "add", "alter" or "subtract".
    degrees: Vec<(i32, i32, String)>,
}

#[derive(Default)]
struct ChartScore {
    path: Vec<String>,
    text: String,
    parts: usize,
    title: Option<String>,
    divisions: f64,
    /// The place that is read now, in quarters from the start of the measure.
    now: f64,
    longest: f64,
    duration: f64,
    in_chord: bool,
    symbol: Symbol,
    measures: Vec<Measure>,
    beats: String,
    meter: Option<u32>,
    fifths: Option<i32>,
    mode: Option<String>,
    half_steps: i32,
}

impl ChartScore {
    fn open(&mut self, start: &BytesStart<'_>) -> Result<(), Refused> {
        let name = start.local_name().as_ref().to_owned();
        if self.path.len() >= MOST_DEPTH {
            return Err(damaged("its elements lie too deep"));
        }
        self.text.clear();
        let said = |name: &str| start.try_get_attribute(name).ok().flatten().map(|said| said.value.to_string());
        match name.as_str() {
            "part" => self.parts += 1,
            "measure" if self.parts == 1 => {
                if self.measures.len() >= MOST_MEASURES {
                    return Err(Refused::TooLong);
                }
                let number = said("number").filter(|n| n.len() < 9 && !n.chars().any(char::is_control));
                let number = number.unwrap_or_else(|| (self.measures.len() + 1).to_string());
                self.measures.push(Measure { number, ..Measure::default() });
                (self.now, self.longest) = (0.0, 0.0);
            }
            "harmony" => self.symbol = Symbol::default(),
            "kind" => self.symbol.text = said("text").unwrap_or_default().chars().take(24).collect(),
            "degree" => self.symbol.degrees.push((0, 0, String::new())),
            "note" => (self.in_chord, self.duration) = (false, 0.0),
            "chord" => self.in_chord = true,
            "repeat" | "ending" if self.parts == 1 => {
                if let Some(measure) = self.measures.last_mut() {
                    let times = said("times").and_then(|times| times.parse().ok()).unwrap_or(2);
                    let number = said("number").unwrap_or_default();
                    match (said("direction").as_deref(), said("type").as_deref()) {
                        (Some("forward"), _) => measure.open = true,
                        (Some("backward"), _) => measure.close = Some(times),
                        (_, Some("start")) => measure.begins = Some(number),
                        (_, Some(_)) => measure.ends = true,
                        _ => {}
                    }
                }
            }
            _ => {}
        }
        self.path.push(name);
        Ok(())
    }

    fn words(&mut self, words: &str) {
        let room = MOST_TEXT.saturating_sub(self.text.len());
        self.text.extend(words.chars().take(room));
    }

    fn close(&mut self) -> Result<(), Refused> {
        let Some(name) = self.path.pop() else { return Err(damaged("a tag ends that never began")) };
        let text = std::mem::take(&mut self.text);
        let text = text.trim();
        let inside = self.path.last().cloned().unwrap_or_default();
        if matches!(name.as_str(), "work-title" | "movement-title") && self.title.is_none() {
            self.title =
                Some(text.chars().filter(|c| !c.is_control()).take(80).collect()).filter(|t: &String| !t.is_empty());
        }
        if self.parts != 1 {
            return Ok(());
        }
        let whole = || text.parse::<i32>().ok().filter(|n| n.abs() < 100);
        let sign = || text.parse::<f64>().ok().filter(|n| n.abs() <= 2.0 && n.fract() == 0.0).map(|n| n as i8);
        let letter = || text.chars().next().filter(|_| text.len() == 1).and_then(Letter::of);
        match (inside.as_str(), name.as_str()) {
            ("root", "root-step") => self.symbol.root.0 = letter(),
            ("root", "root-alter") => self.symbol.root.1 = sign().unwrap_or(0),
            ("bass", "bass-step") => self.symbol.bass.0 = letter(),
            ("bass", "bass-alter") => self.symbol.bass.1 = sign().unwrap_or(0),
            ("harmony", "kind") => self.symbol.kind = text.to_owned(),
            ("harmony", "offset") => self.symbol.offset = text.parse::<f64>().unwrap_or(0.0) / self.divisions,
            ("degree", _) => self.degree(&name, text, whole().unwrap_or(0)),
            (_, "harmony") => self.chord()?,
            ("attributes", "divisions") => {
                self.divisions = text.parse().ok().filter(|n| (0.01..1e6).contains(n)).unwrap_or(1.0);
            }
            ("key", "fifths") => self.fifths = whole().filter(|n| n.abs() <= 7),
            ("key", "mode") => self.mode = Some(text.to_owned()),
            ("time", "beats") => self.beats = text.to_owned(),
            ("time", "beat-type") => self.time(text)?,
            ("transpose", "chromatic") => self.half_steps = whole().unwrap_or(0),
            ("note" | "backup" | "forward", "duration") => {
                self.duration = text.parse().ok().filter(|n| (0.0..1e6).contains(n)).unwrap_or(0.0) / self.divisions;
            }
            (_, "note") if !self.in_chord => self.now += self.duration,
            (_, "forward") => self.now += self.duration,
            (_, "backup") => self.now = (self.now - self.duration).max(0.0),
            ("direction-type", "rehearsal") => {
                if let Some(measure) = self.measures.last_mut() {
                    measure.name = Some(text.to_owned());
                }
            }
            (_, "measure") => {
                if let Some(measure) = self.measures.last_mut() {
                    measure.length = self.longest;
                }
            }
            _ => {}
        }
        self.longest = self.longest.max(self.now);
        Ok(())
    }

    fn degree(&mut self, name: &str, text: &str, whole: i32) {
        if let Some(degree) = self.symbol.degrees.last_mut() {
            match name {
                "degree-value" => degree.0 = whole,
                "degree-alter" => degree.1 = whole,
                _ => text.clone_into(&mut degree.2),
            }
        }
    }

    fn nonsense(&self, what: String) -> Refused {
        let number = self.measures.last().map_or("1", |measure| measure.number.as_str());
        Refused::Nonsense { place: format!("measure {number}"), what, right: RIGHT }
    }

    fn time(&mut self, unit: &str) -> Result<(), Refused> {
        let beats = self.beats.parse().ok().filter(|beats| (2..=7).contains(beats) && unit == "4");
        match (beats, self.meter) {
            (Some(beats), None) => self.meter = Some(beats),
            (Some(beats), Some(before)) if beats == before => {}
            (None, _) => return Err(self.nonsense(format!("a chart is not counted in {}/{unit}", self.beats))),
            _ => return Err(self.nonsense("the meter changes; a chart has one".to_owned())),
        }
        Ok(())
    }

    /// Takes in a chord that was read to its end.
    fn chord(&mut self) -> Result<(), Refused> {
        let symbol = std::mem::take(&mut self.symbol);
        let at = self.now + symbol.offset;
        if (at - at.round()).abs() > 0.01 || at < -0.01 {
            return Err(self.nonsense("a chord begins between two beats".to_owned()));
        }
        let chord = match (symbol.kind.as_str(), symbol.root) {
            ("none", _) => None,
            (_, (Some(letter), alter)) => {
                let bass = symbol.bass.0.map(|letter| PitchName { letter, alter: symbol.bass.1 });
                let quality = symbol.quality().ok_or_else(|| {
                    let shown: String = symbol.kind.chars().take(24).collect();
                    self.nonsense(format!("a chord of the kind {shown} cannot be read"))
                })?;
                Some(ChordSymbol { root: PitchName { letter, alter }, quality, bass })
            }
            _ => return Err(self.nonsense("a chord has no root".to_owned())),
        };
        if let Some(measure) = self.measures.last_mut() {
            measure.chords.push((at.round() as u32, chord));
        }
        Ok(())
    }

    fn chart(self) -> Result<(Option<String>, ChordChart), Refused> {
        if self.measures.iter().all(|measure| measure.chords.is_empty()) {
            return Err(damaged("no chord symbol is in its first part"));
        }
        let key = self.fifths.filter(|fifths| *fifths != 0 || self.mode.is_some()).map(|fifths| {
            let place = fifths + 1 + if self.mode.as_deref() == Some("minor") { 3 } else { 0 };
            let letters = [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];
            PitchName { letter: letters[place.rem_euclid(7) as usize], alter: place.div_euclid(7) as i8 }
        });
        let text = text_of(self.measures, self.meter.unwrap_or(4), key.filter(|key| key.alter.abs() < 2))?;
        let chart = ChordChart::parse(&text).map_err(|wrong| {
            damaged(&wrong.first().map_or_else(String::new, |wrong| format!("as a chart: {}", wrong.what)))
        })?;
        let sounding = chart.home().filter(|_| self.half_steps != 0).map(|home| {
            let class = crate::music::PitchClass::new(home.class().get() + self.half_steps);
            chart.in_key(chart.tonality(class, false).tonic)
        });
        Ok((self.title, sounding.unwrap_or(chart)))
    }
}

impl Symbol {
    /// The quality that stands on the page, where it can be read and no degree is given beside it; else the usual chord that has the
    /// tones of the kind and its degrees; else the symbol of the kind and those of the degrees in a row.
    fn quality(&self) -> Option<ChordQuality> {
        let shown = ChordQuality::parse(&self.text).ok().filter(|_| !self.text.is_empty() && self.degrees.is_empty());
        shown.or_else(|| self.by_tones()).or_else(|| {
            let mut symbol = KINDS_READ.iter().find(|row| row.0 == self.kind)?.1.to_owned();
            for (number, alter, change) in &self.degrees {
                let sign = match alter {
                    ..=-1 => "b",
                    0 if change == "add" => "add",
                    0 => continue,
                    _ => "#",
                };
                if change != "subtract" {
                    symbol.push_str(&format!("{sign}{number}"));
                }
            }
            ChordQuality::parse(&symbol).ok()
        })
    }
    /// The usual chord that has the tones of the kind and its degrees: an added seventh counts from the minor one (MusicXML
    /// 4.0, degree-alter).
    fn by_tones(&self) -> Option<ChordQuality> {
        let base = ChordQuality::parse(KINDS_READ.iter().find(|row| row.0 == self.kind)?.1).ok()?;
        let mut tones = base.degrees();
        for (number, alter, change) in &self.degrees {
            let own = tones.iter().position(|tone| tone.letters == number - 1);
            match (change.as_str(), own) {
                ("add", _) => tones.push(Degree::altered(number - 1, alter - i32::from(*number == 7))),
                ("subtract", Some(own)) => drop(tones.remove(own)),
                ("alter", Some(own)) => tones[own].half_steps += alter,
                _ => {}
            }
        }
        tones.sort_unstable();
        let usual = chords().iter().map(|usual| &usual.quality);
        usual
            .into_iter()
            .find(|usual| {
                let mut own = usual.degrees();
                own.sort_unstable();
                own == tones
            })
            .cloned()
    }
}
