use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::exchange::compressed;
use crate::exchange::midi_in::plain;
use crate::exchange::voice::{Bar, ImportedVoice, MOST_BYTES, MOST_NOTES, Refused, one_voice};
use crate::music::{Concert, ConcertKey, Letter, Mode, PitchClass};
use crate::pattern::Meter;
use crate::units::Tempo;

/// Largest number of elements inside each other.
const MOST_DEPTH: usize = 32;
/// What `step` of a pitch may be, for messages.
const STEP: &str = "a letter from A to G (or a rest in place of the pitch)";
/// What `octave` of a pitch may be, for messages.
const OCTAVE: &str = "an octave from 0 to 9";
/// What `duration` of a note may be, for messages.
const DURATION: &str = "a length above 0, in divisions";
/// How far back `backup` may go, for messages.
const BACK: &str = "no longer than what came before";
/// Largest number of bars whose beginnings are kept.
const MOST_BARS: usize = 8192;
/// Largest number of characters kept of a text between two tags.
const MOST_TEXT: usize = 4096;

/// Reads one voice from MusicXML (score-partwise), compressed (.mxl) or not: the first part, in sounding pitch; grace notes, cue
/// notes and unpitched notes left out, ties joined.
///
/// # Errors
/// [`Refused`]: too large, damaged, a value that cannot be, nothing sounding, several notes at once, too long. Entities that a file
/// declares itself are never expanded.
pub fn from_musicxml(bytes: &[u8]) -> Result<ImportedVoice, Refused> {
    if bytes.len() > MOST_BYTES {
        return Err(Refused::TooLarge);
    }
    if bytes.starts_with(b"PK") {
        return from_musicxml(&compressed::score(bytes)?);
    }
    let text = std::str::from_utf8(bytes).map_err(|_| damaged("it is not UTF-8"))?;
    let mut reader = Reader::from_str(text);
    let mut score = Score { divisions: 1.0, ..Score::default() };
    let mut partwise = false;
    loop {
        match reader.read_event().map_err(|error| damaged(&error.to_string()))? {
            Event::Start(start) => {
                partwise |= start.local_name().as_ref() == "score-partwise";
                score.open(&start)?;
            }
            Event::Empty(start) => {
                score.open(&start)?;
                score.close()?;
            }
            Event::End(_) => score.close()?,
            Event::Text(words) => score.words(&words.xml10_content()),
            Event::CData(words) => score.words(&words.xml10_content()),
            Event::GeneralRef(name) => score.words(match &*name.xml10_content() {
                "amp" => "&",
                "lt" => "<",
                "gt" => ">",
                "quot" => "\"",
                "apos" => "'",
                _ => "",
            }),
            Event::Eof if !score.path.is_empty() => return Err(damaged("the file ends early")),
            Event::Eof => break,
            _ => {}
        }
        if score.notes.len() > MOST_NOTES {
            return Err(Refused::TooLong);
        }
    }
    if !partwise {
        return Err(damaged("it holds no score-partwise"));
    }
    let Score { notes, title, tempo, key, swing, sounding, bars, now, meter, .. } = score;
    let notes = notes.into_iter().map(|note| (note.pitch, note.begins, note.ends)).collect();
    let bar = |at: f64| {
        let n = bars.partition_point(|(begins, _)| *begins <= at + 1e-6).saturating_sub(1);
        let (begins, whole) = bars.get(n).copied().unwrap_or((0.0, BAR));
        let next = bars.get(n + 1).map_or(now, |bar| bar.0);
        // A short last bar was only not filled, so it has its whole length.
        Bar { begins, length: if n + 1 < bars.len() { next - begins } else { whole }, whole }
    };
    let (line, pickup) = one_voice(notes, bar)?;
    Ok(ImportedVoice { title, line, pickup, meter: meter.unwrap_or_default(), swing, sounding, tempo, key })
}

/// Length of a bar, in quarters, until the file says otherwise.
const BAR: f64 = 4.0;

fn damaged(why: &str) -> Refused {
    Refused::Damaged { kind: "MusicXML", why: why.to_owned() }
}

struct ReadNote {
    pitch: Concert,
    begins: f64,
    ends: f64,
    /// Whether a tie leads on from the note.
    open: bool,
}

/// The note being read.
#[derive(Default)]
struct NoteElement {
    letter: Option<Letter>,
    alter: i32,
    octave: Option<i32>,
    duration: f64,
    silent: bool,
    chord: bool,
    tie_stop: bool,
    tie_start: bool,
}

#[derive(Default)]
struct Score {
    path: Vec<String>,
    text: String,
    parts: usize,
    /// Number of the bar: the file's own, else counted.
    measure: String,
    measures: u32,
    /// Number of the note within the measure, counted from 1.
    number: u32,
    divisions: f64,
    /// The place that is read now, in quarter notes from the start.
    now: f64,
    transposition: i32,
    draft: NoteElement,
    moved: f64,
    notes: Vec<ReadNote>,
    title: Option<String>,
    tempo: Option<Tempo>,
    fifths: Option<i32>,
    mode: Option<Mode>,
    key: Option<ConcertKey>,
    /// Ratio of the long to the short eighth, as two numbers, where the file has them swing.
    ratio: [u32; 2],
    swing: bool,
    /// Whether the part says how its notes sound.
    sounding: bool,
    /// Where each measure begins, and its length by the time signature, both in quarters.
    bars: Vec<(f64, f64)>,
    beats: f64,
    whole: Option<f64>,
    /// The first time signature.
    meter: Option<Meter>,
}

impl Score {
    fn open(&mut self, start: &BytesStart<'_>) -> Result<(), Refused> {
        let name = start.local_name().as_ref().to_owned();
        if self.path.len() >= MOST_DEPTH {
            return Err(damaged("its elements lie too deep"));
        }
        self.text.clear();
        match name.as_str() {
            "part" => self.parts += 1,
            "measure" => {
                self.measures += 1;
                if self.parts == 1 && self.bars.len() < MOST_BARS {
                    self.bars.push((self.now, self.whole.unwrap_or(BAR)));
                }
                self.number = 0;
                let number = start.try_get_attribute("number").ok().flatten();
                let short = number.and_then(|number| plain(&number.value)).filter(|text| text.chars().count() < 9);
                self.measure = short.unwrap_or_else(|| self.measures.to_string());
            }
            "note" => {
                self.number += 1;
                self.draft = NoteElement::default();
            }
            "transpose" => (self.transposition, self.sounding) = (0, true),
            "rest" | "grace" | "cue" | "unpitched" => self.draft.silent = true,
            "chord" => self.draft.chord = true,
            "tie" => {
                let kind = start.try_get_attribute("type").ok().flatten();
                match kind.as_ref().map(|kind| kind.value.as_ref()) {
                    Some("start") => self.draft.tie_start = true,
                    Some("stop") => self.draft.tie_stop = true,
                    _ => {}
                }
            }
            "sound" if self.parts == 1 && self.tempo.is_none() => {
                let tempo = start.try_get_attribute("tempo").ok().flatten();
                let tempo = tempo.and_then(|tempo| tempo.value.parse().ok());
                self.tempo = tempo.filter(|tempo: &f64| (5.0..1000.0).contains(tempo)).map(Tempo);
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
            self.title = plain(text);
        }
        if self.parts != 1 {
            return Ok(());
        }
        match (inside.as_str(), name.as_str()) {
            ("key", "mode") => self.mode = Mode::ALL.into_iter().find(|mode| mode.name() == text),
            ("swing", "first") => self.ratio[0] = text.parse().unwrap_or(1),
            ("swing", "second") => self.ratio[1] = text.parse().unwrap_or(1),
            (_, "swing") => self.swing |= self.ratio[0] > self.ratio[1],
            ("time", "beats") => self.beats = text.split('+').filter_map(number).sum(),
            ("time", "beat-type") => self.time(text),
            (_, "backup") => {
                self.now =
                    self.sane("backup", "too long", Some(self.now - self.moved).filter(|at| *at > -1e-6), BACK)?;
            }
            (_, "forward") => self.now += self.moved,
            (_, "attributes") => self.name_key(),
            (_, "note") => self.note()?,
            (inside, name) => self.value(inside, name, text)?,
        }
        Ok(())
    }

    /// Takes in the number or letter of an element. The limits are those of MusicXML 4.0 (octave 0 to 9, divisions above 0); half steps
    /// are whole.
    fn value(&mut self, inside: &str, name: &str, text: &str) -> Result<(), Refused> {
        match (inside, name) {
            ("attributes", "divisions") => {
                self.divisions = self.sane(name, text, number(text).filter(|n| *n > 0.0), "a number above 0")?;
            }
            ("key", "fifths") => {
                let fifths = self.sane(name, text, whole(text), "a whole number: sharps, or flats below 0")?;
                self.fifths = Some(fifths).filter(|n| n.abs() <= 7);
            }
            ("transpose", "chromatic") => {
                self.transposition +=
                    self.sane(name, text, whole(text).filter(|n| n.abs() < 48), "half steps, at most 47")?;
            }
            ("transpose", "octave-change") => {
                self.transposition +=
                    12 * self.sane(name, text, whole(text).filter(|n| n.abs() < 5), "octaves, at most 4")?;
            }
            ("pitch", "step") => {
                let letter = text.chars().next().filter(|_| text.len() == 1).and_then(Letter::of);
                self.draft.letter = Some(self.sane(name, text, letter, STEP)?);
            }
            ("pitch", "alter") => {
                let half_steps = number(text).filter(|n| n.abs() <= 3.0 && n.fract() == 0.0);
                self.draft.alter = self.sane(name, text, half_steps, "whole half steps from -3 to 3")? as i32;
            }
            ("pitch", "octave") => {
                let octave = whole(text).filter(|n| (0..=9).contains(n));
                self.draft.octave = Some(self.sane(name, text, octave, OCTAVE)?);
            }
            ("note" | "backup" | "forward", "duration") => {
                self.draft.duration =
                    self.sane(name, text, number(text).filter(|n| *n >= 0.0), DURATION)? / self.divisions;
                self.moved = self.draft.duration;
            }
            _ => {}
        }
        Ok(())
    }

    /// The value of an element, or why what stands there is refused.
    fn sane<T>(&self, name: &str, text: &str, value: Option<T>, right: &'static str) -> Result<T, Refused> {
        value.ok_or_else(|| {
            let of_measure = self.number == 0 || self.path.iter().any(|element| element == "attributes");
            let note = if of_measure { String::new() } else { format!(", note {}", self.number) };
            let said: String = plain(text).map_or("missing".to_owned(), |text| text.chars().take(24).collect());
            let what = format!("{name} is {said}");
            Refused::Nonsense { place: format!("measure {}{note}", self.measure), what, right }
        })
    }

    /// Takes in a time signature: the length of bars from this measure on.
    fn time(&mut self, beat_type: &str) {
        self.meter.get_or_insert(Meter::parse(&format!("{}/{beat_type}", self.beats)).unwrap_or_default());
        let whole = number(beat_type).map(|part| 4.0 * self.beats / part).filter(|whole| (0.01..64.0).contains(whole));
        self.whole = whole.or(self.whole);
        if let (Some(bar), Some(whole)) = (self.bars.last_mut(), self.whole) {
            bar.1 = whole;
        }
    }

    /// Takes in the key signature: the first key other than "no sharps, no flats", as it sounds.
    fn name_key(&mut self) {
        if let Some(fifths) = self.fifths.take().filter(|fifths| *fifths != 0) {
            let mode = self.mode.unwrap_or(Mode::Major);
            let tonic = 7 * (fifths - mode.sharps()) + self.transposition;
            self.key.get_or_insert(ConcertKey(PitchClass::new(tonic)));
        }
    }

    fn note(&mut self) -> Result<(), Refused> {
        let draft = std::mem::take(&mut self.draft);
        let begins = if draft.chord { self.notes.last().map_or(self.now, |note| note.begins) } else { self.now };
        let ends = begins + draft.duration;
        if !draft.chord {
            self.now = ends;
        }
        if draft.silent {
            return Ok(());
        }
        // Without a letter or a length a note would vanish from the line, without an octave it would sound another pitch.
        let letter = self.sane("step", "", draft.letter, STEP)?;
        let octave = self.sane("octave", "", draft.octave, OCTAVE)?;
        self.sane("duration", "0 or missing", Some(()).filter(|()| draft.duration > 0.0), DURATION)?;
        let written = 12 * (octave + 1) + letter.half_steps() + draft.alter;
        let pitch = Concert(written + self.transposition);
        let before = self
            .notes
            .last_mut()
            .filter(|note| draft.tie_stop && note.open && note.pitch == pitch && (note.ends - begins).abs() < 1e-6);
        match before {
            Some(note) => {
                note.ends = ends;
                note.open = draft.tie_start;
            }
            None => self.notes.push(ReadNote { pitch, begins, ends, open: draft.tie_start }),
        }
        Ok(())
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|n: &f64| n.is_finite())
}

fn whole(text: &str) -> Option<i32> {
    text.parse().ok()
}
