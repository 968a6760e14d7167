//! Grading from line to line: one case with its expected and heard notes as JSON in, its labels as JSON out.
//!
//! A pure function of one line of text, so that whoever drives it (a test, another program, a teacher's script) decides about
//! reading and flushing.

use serde::{Deserialize, Serialize};

use crate::music::{Concert, Intonation};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Line};
use crate::units::{Beats, Cents, Decibels, Midi, Seconds, Tempo};
use crate::verdict::{Expectation, NoteLabel, TimeOrigin, UsualTuning, Verdict, judge};
use crate::words;

/// Largest number of expected, and of played, notes in a case: as many as the longest pattern has. Work and memory grow with the product
/// of both lists.
const MOST_NOTES: usize = 1024;

/// Range of heard pitches, as MIDI note numbers: wider than the MIDI scale, as frequencies may be, but within reason.
const PLAYED: std::ops::RangeInclusive<f64> = -24.0..=160.0;

/// One case: times in seconds, `beat` and `dur` in quarter notes, pitches as MIDI note numbers.
#[derive(Debug, Deserialize)]
struct Case {
    id: String,
    tempo: f64,
    /// `free` or `click`.
    mode: String,
    cue_end: f64,
    beat0: Option<f64>,
    expected: Vec<CaseExpected>,
    played: Vec<CasePlayed>,
}

#[derive(Debug, Deserialize)]
struct CaseExpected {
    pitch: i32,
    beat: f64,
    dur: f64,
}

#[derive(Debug, Deserialize)]
struct CasePlayed {
    onset: f64,
    offset: f64,
    /// MIDI note number with its fraction.
    pitch: f64,
    /// Confidence, 0 to 1.
    conf: f64,
}

#[derive(Debug, Serialize)]
struct Answer<'a> {
    id: &'a str,
    /// Half steps the whole answer is moved by.
    shift: i32,
    related: bool,
    expected: Vec<&'static str>,
    map: Vec<Option<usize>>,
    played: Vec<&'static str>,
    attempts: u32,
    /// Seconds to the first right note: from the end of the cue (free), or from the moment that note was due (click).
    latency: Option<f64>,
    /// Pace over asked tempo; 1 where no pace could be told.
    tempo_ratio: f64,
    /// Median signed cents of the right notes.
    cents: Option<f64>,
}

/// The answer to one case, as one line without its line end.
///
/// # Errors
/// What is wrong with the line, for the reader of a message: it is no JSON, lacks a field, names no mode that is known, or holds a number
/// or a list out of reason.
pub fn answer_to_case(line: &str) -> Result<String, String> {
    let case: Case = serde_json::from_str(line).map_err(|why| format!("not a case: {why}"))?;
    let asked = asked(&case)?;
    let heard = heard(&case)?;
    let verdict = judge(&asked, &heard);
    serde_json::to_string(&answer_to(&case, &asked, &heard, &verdict)).map_err(|why| why.to_string())
}

fn asked(case: &Case) -> Result<Expectation, String> {
    if !(1.0..=1000.0).contains(&case.tempo) {
        return Err(format!("tempo {} is not between 1 and 1000", case.tempo));
    }
    if case.expected.is_empty() || case.expected.len() > MOST_NOTES {
        return Err(format!("{} expected notes; give 1 to {MOST_NOTES}", case.expected.len()));
    }
    let one = |note: &CaseExpected| {
        if (0..=127).contains(&note.pitch) && note.beat.is_finite() && note.dur.is_finite() {
            Ok(ExpectedNote { pitch: Concert(note.pitch), at: Beats(note.beat), length: Beats(note.dur), named: None })
        } else {
            Err(format!("expected note {note:?} is not one"))
        }
    };
    let notes: Vec<ExpectedNote> = case.expected.iter().map(one).collect::<Result<_, _>>()?;
    let length = notes.iter().fold(Beats(0.0), |end, note| end.max(note.at + note.length));
    let cue_end = Seconds(case.cue_end);
    let clock = match (case.mode.as_str(), case.beat0) {
        ("free", _) => TimeOrigin::Free { cue_end },
        ("click", Some(beat_zero)) => TimeOrigin::InTempo { cue_end, beat_zero: Seconds(beat_zero) },
        ("click", None) => return Err("mode \"click\" needs beat0".to_owned()),
        (other, _) => return Err(format!("mode {other:?} is neither \"free\" nor \"click\"")),
    };
    Ok(Expectation {
        line: Line { notes, length },
        tempo: Tempo(case.tempo),
        clock,
        delay: Some(Seconds(0.0)),
        intonation: Intonation::Scored { in_tune: Cents(10.0), acceptable: Cents(20.0), off: Cents(40.0) },
        usual: UsualTuning::Unknown,
    })
}

fn heard(case: &Case) -> Result<Vec<HeardNote>, String> {
    if case.played.len() > MOST_NOTES {
        return Err(format!("{} played notes; give at most {MOST_NOTES}", case.played.len()));
    }
    let one = |(number, note): (usize, &CasePlayed)| {
        if !PLAYED.contains(&note.pitch) || !note.onset.is_finite() || !note.offset.is_finite() {
            return Err(format!("played note {note:?} is not one"));
        }
        Ok(HeardNote {
            number: number as u32,
            onset: Seconds(note.onset),
            release: Seconds(note.offset),
            pitch: Midi(note.pitch),
            spread: Some(Cents(0.0)),
            loudness: Decibels(-20.0),
            confidence: note.conf,
            announced: Seconds(note.onset),
            announced_pitch: Midi(note.pitch),
        })
    };
    case.played.iter().enumerate().map(one).collect()
}

fn answer_to<'a>(case: &'a Case, asked: &Expectation, heard: &[HeardNote], verdict: &Verdict) -> Answer<'a> {
    Answer {
        id: &case.id,
        shift: verdict.shift.0,
        related: verdict.related,
        expected: verdict.expected.iter().map(|note| words::verdict::expected_word(note.label)).collect(),
        map: verdict.expected.iter().map(|note| note.heard).collect(),
        played: verdict.played.iter().map(|label| words::verdict::played_word(*label)).collect(),
        attempts: verdict.attempts,
        latency: latency(asked, heard, verdict),
        tempo_ratio: verdict.pace.map_or(1.0, |pace| pace.0 / asked.tempo.0),
        cents: verdict.centre.map(|centre| centre.0),
    }
}

/// Seconds from the end of the cue to the first right note; of an answer in tempo, from the moment that note was due.
fn latency(asked: &Expectation, heard: &[HeardNote], verdict: &Verdict) -> Option<f64> {
    let mut notes = asked.line.notes.iter().zip(&verdict.expected);
    let (note, judged) = notes.find(|(_, judged)| judged.label == NoteLabel::Right)?;
    let onset = heard.get(judged.heard?)?.onset;
    let from = match asked.clock {
        TimeOrigin::Free { cue_end } => cue_end,
        TimeOrigin::InTempo { beat_zero, .. } => beat_zero + asked.tempo.lasting(note.at),
    };
    Some((onset - from - asked.taken_off()).0)
}
