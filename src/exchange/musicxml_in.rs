use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::exchange::midi_in::plain;
use crate::exchange::voice::{MOST_BYTES, MOST_NOTES, Refused, Voice, one_voice};
use crate::music::{Concert, ConcertKey, Letter, PitchClass};
use crate::units::Tempo;

/// Elements may lie this deep.
const MOST_DEPTH: usize = 32;
/// A word between two tags may be this long.
const MOST_TEXT: usize = 4096;

/// Reads one voice from uncompressed MusicXML (score-partwise): the first part, in sounding pitch; grace notes and cue notes
/// left out, ties joined.
///
/// # Errors
/// [`Refused`]: too large, compressed, damaged, nothing sounding, several notes at once, too long. Entities that a file
/// declares itself are never expanded.
pub fn from_musicxml(bytes: &[u8]) -> Result<Voice, Refused> {
    if bytes.len() > MOST_BYTES {
        return Err(Refused::TooLarge);
    }
    if bytes.starts_with(b"PK") {
        return Err(Refused::Compressed);
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
    let Score { notes, title, tempo, key, .. } = score;
    let notes = notes.into_iter().map(|note| (note.pitch, note.begins, note.ends)).collect();
    Ok(Voice { title, line: one_voice(notes)?, tempo, key })
}

fn damaged(why: &str) -> Refused {
    Refused::Damaged { kind: "MusicXML", why: why.to_owned() }
}

struct Sounded {
    pitch: Concert,
    begins: f64,
    ends: f64,
    /// A tie leads on from it.
    open: bool,
}

/// The note being read.
#[derive(Default)]
struct Draft {
    letter: Option<Letter>,
    alter: i32,
    octave: i32,
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
    divisions: f64,
    /// Quarter notes from the start.
    now: f64,
    transposition: i32,
    draft: Draft,
    moved: f64,
    notes: Vec<Sounded>,
    title: Option<String>,
    tempo: Option<Tempo>,
    fifths: Option<i32>,
    minor: bool,
    key: Option<ConcertKey>,
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
            "note" => self.draft = Draft::default(),
            "transpose" => self.transposition = 0,
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
        let inside = self.path.last().map_or("", String::as_str);
        if matches!(name.as_str(), "work-title" | "movement-title") && self.title.is_none() {
            self.title = plain(text);
        }
        if self.parts != 1 {
            return Ok(());
        }
        match (inside, name.as_str()) {
            ("attributes", "divisions") => {
                self.divisions = number(text).filter(|n| *n >= 1.0).unwrap_or(self.divisions)
            }
            ("key", "fifths") => self.fifths = whole(text).filter(|n| n.abs() <= 7),
            ("key", "mode") => self.minor = text == "minor",
            ("transpose", "chromatic") => self.transposition += whole(text).filter(|n| n.abs() < 48).unwrap_or(0),
            ("transpose", "octave-change") => {
                self.transposition += 12 * whole(text).filter(|n| n.abs() < 5).unwrap_or(0)
            }
            ("pitch", "step") => self.draft.letter = text.chars().next().and_then(Letter::of),
            ("pitch", "alter") => {
                self.draft.alter = number(text).filter(|n| n.abs() <= 3.0).unwrap_or(0.0).round() as i32
            }
            ("pitch", "octave") => self.draft.octave = whole(text).filter(|n| (0..=10).contains(n)).unwrap_or(4),
            ("note" | "backup" | "forward", "duration") => {
                let quarters = number(text).filter(|n| *n >= 0.0).unwrap_or(0.0) / self.divisions;
                self.draft.duration = quarters;
                self.moved = quarters;
            }
            (_, "backup") => self.now = (self.now - self.moved).max(0.0),
            (_, "forward") => self.now += self.moved,
            (_, "attributes") => self.name_key(),
            (_, "note") => self.note(),
            _ => {}
        }
        Ok(())
    }

    /// The first key other than "no sharps, no flats", as it sounds.
    fn name_key(&mut self) {
        if let Some(fifths) = self.fifths.take().filter(|fifths| *fifths != 0) {
            let tonic = 7 * fifths + if self.minor { 9 } else { 0 } + self.transposition;
            self.key.get_or_insert(ConcertKey(PitchClass::new(tonic)));
        }
    }

    fn note(&mut self) {
        let draft = std::mem::take(&mut self.draft);
        let begins = if draft.chord { self.notes.last().map_or(self.now, |note| note.begins) } else { self.now };
        let ends = begins + draft.duration;
        if !draft.chord {
            self.now = ends;
        }
        let Some(letter) = draft.letter.filter(|_| !draft.silent) else { return };
        let written = 12 * (draft.octave + 1) + letter.half_steps() + draft.alter;
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
            None => self.notes.push(Sounded { pitch, begins, ends, open: draft.tie_start }),
        }
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|n: &f64| n.is_finite())
}

fn whole(text: &str) -> Option<i32> {
    text.parse().ok()
}
