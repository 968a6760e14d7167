//! Notes and frames as the ear hears them, as tables and as JSON; units stand in the names of the columns.

use std::fmt::Write as _;

use serde_json::Value;

use crate::music::{Concert, Instrument, PitchClass, Tonality, Written, spell_in};
use crate::notes::{Frame, HeardNote};
use crate::units::{Cents, Decibels, Midi, Seconds};

/// Notes as lines of columns parted by tabs, under a line of their names. At the end stands the name of the nearest sounding pitch and,
/// where an instrument is given, of the note that is written for it.
#[must_use]
pub fn notes_table(notes: &[HeardNote], instrument: Option<&Instrument>) -> String {
    let mut out =
        String::from("onset_s\trelease_s\tmidi\tcents\tloudness_db\tconfidence\tannounced_s\tannounced_midi\tsounding");
    out.push_str(if instrument.is_some() { "\twritten\n" } else { "\n" });
    let name = |pitch: Written| spell_in(pitch, Tonality::major(PitchClass::new(0), false)).to_string();
    for note in notes {
        let pitch = note.pitch.nearest();
        let written = instrument.map_or_else(String::new, |it| format!("\t{}", name(it.written(Concert(pitch)))));
        let _ = writeln!(
            out,
            "{:.4}\t{:.4}\t{:.3}\t{:+.1}\t{:.1}\t{:.2}\t{:.4}\t{:.3}\t{}{written}",
            note.onset.0,
            note.release.0,
            note.pitch.0,
            note.pitch.cents_off().0,
            note.loudness.0,
            note.confidence,
            note.announced.0,
            note.announced_pitch.0,
            name(Written(pitch)),
        );
    }
    out
}

/// Frames as lines of columns parted by tabs; 0 Hz where a frame has no pitch.
#[must_use]
pub fn frames_table(frames: &[Frame]) -> String {
    let mut out = String::from("time_s\thz\tclarity\tloudness_db\tknown_s\n");
    for frame in frames {
        let hz = frame.pitch.map_or(0.0, |pitch| pitch.0);
        let _ = writeln!(
            out,
            "{:.4}\t{hz:.3}\t{:.3}\t{:.1}\t{:.4}",
            frame.at.0, frame.clarity, frame.loudness.0, frame.known.0
        );
    }
    out
}

/// Frames as JSON, under `frames`.
#[must_use]
pub fn frames_json(frames: &[Frame]) -> Value {
    let rows = frames.iter().map(|frame| {
        serde_json::json!({
            "time_s": frame.at.0, "hz": frame.pitch.map(|pitch| pitch.0), "clarity": frame.clarity,
            "loudness_db": frame.loudness.0, "known_s": frame.known.0,
        })
    });
    serde_json::json!({ "frames": Value::Array(rows.collect()) })
}

/// Notes as JSON, under `notes`.
#[must_use]
pub fn notes_json(notes: &[HeardNote]) -> Value {
    let rows = notes.iter().map(|note| {
        serde_json::json!({
            "onset_s": note.onset.0, "release_s": note.release.0, "midi": note.pitch.0, "cents": note.pitch.cents_off().0,
            "loudness_db": note.loudness.0, "confidence": note.confidence,
            "announced_s": note.announced.0, "announced_midi": note.announced_pitch.0,
        })
    });
    serde_json::json!({ "notes": Value::Array(rows.collect()) })
}

/// Reads a list of notes as [`notes_table`] writes it; columns that are missing at the end of a row have usual values. A line that
/// does not begin with a digit, a minus or a point is passed over, as the line of names is.
///
/// # Errors
/// The first row that is no note: the number of its line, from 1, and what it lacks.
pub fn notes_from_table(text: &str) -> Result<Vec<HeardNote>, (usize, &'static str)> {
    let mut notes = Vec::new();
    for (n, line) in text.lines().enumerate() {
        if line.trim().is_empty() || !line.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '.') {
            continue;
        }
        let cells: Vec<Option<f64>> =
            line.split('\t').map(|cell| cell.trim().parse().ok().filter(|value: &f64| value.is_finite())).collect();
        let cell = |index: usize| cells.get(index).copied().flatten();
        let (Some(onset), Some(release), Some(pitch)) = (cell(0), cell(1), cell(2)) else {
            let what = "a row needs at least onset_s, release_s and midi, parted by tabs";
            return Err((n + 1, what));
        };
        notes.push(HeardNote {
            number: notes.len() as u32,
            onset: Seconds(onset),
            release: Seconds(release.max(onset)),
            pitch: Midi(pitch),
            spread: (release - onset >= 0.08).then_some(Cents(0.0)),
            loudness: Decibels(cell(4).unwrap_or(-20.0)),
            confidence: cell(5).unwrap_or(1.0),
            announced: Seconds(cell(6).unwrap_or(onset)),
            announced_pitch: Midi(cell(7).unwrap_or(pitch)),
        });
    }
    Ok(notes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::instrument;

    #[test]
    fn a_note_has_its_names_beside_its_number_and_the_list_is_read_back() {
        // A written C5 of a trumpet in Bb sounds as Bb4, 70 (common practice).
        let played = notes_from_table("1.0\t1.5\t70.1\n").unwrap();
        let table = notes_table(&played, Some(instrument("trumpet").unwrap()));
        let lines: Vec<&str> = table.lines().collect();
        assert!(lines[0].ends_with("\tsounding\twritten") && lines[1].ends_with("\tBb4\tC5"), "{table}");
        assert!(notes_table(&played, None).ends_with("\tBb4\n"), "nobody says for which instrument it is written");
        let again = notes_from_table(&table).unwrap();
        assert!(again.len() == 1 && (again[0].pitch.0 - 70.1).abs() < 1e-3, "{again:?}");
    }
}
