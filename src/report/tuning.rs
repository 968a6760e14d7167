use std::collections::BTreeMap;

use crate::music::{Concert, Instrument, Intonation, WrittenKey, spell, tendency};
use crate::report::review::{Judged, number};
use crate::units::{Cents, median, spread};
use crate::verdict::NoteLabel;
use crate::words;
use crate::words::numbers::capital;

/// The intonation of one pitch, over all right notes long enough to say. Cents are from the equal-tempered pitch with the
/// general tuning offset of each answer taken out: a common offset is no fault of a note.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitchRow {
    /// The pitch, as it sounds.
    pub pitch: Concert,
    /// How often.
    pub times: u32,
    /// Middle of the cents where the line came to it from below.
    pub up: Option<Cents>,
    /// Middle of the cents where the line came to it from above.
    pub down: Option<Cents>,
    /// Middle of all, first and repeated notes of a line among them.
    pub all: Cents,
    /// Median absolute deviation of all.
    pub spread: Cents,
}

/// Answers whose offsets are compared for the drift; more are thinned evenly.
const COMPARED: usize = 300;

/// What the instrument has to do with a pitch whose middle lies beyond the narrowest band, in words: a single note may stray,
/// the middle of many is a habit. Always in written pitch, for fingerings are.
pub(super) fn hint(instrument: &Instrument, g_flat: bool, pitch: Concert, off: Cents) -> Option<String> {
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return None };
    let known = tendency(instrument, pitch).filter(|_| off.abs() > in_tune)?;
    let name = spell(instrument.written(pitch), WrittenKey::C, g_flat).to_string();
    words::fingering::hint(&name, &known, off).map(|hint| capital(&hint) + ".")
}

#[derive(Default)]
struct Heard {
    up: Vec<f64>,
    down: Vec<f64>,
    all: Vec<f64>,
}

pub(super) fn pitch_rows(judged: &[Judged<'_>]) -> Vec<PitchRow> {
    let mut heard: BTreeMap<Concert, Heard> = BTreeMap::new();
    for answer in judged {
        let mut before: Option<Concert> = None;
        for (expected, note) in answer.turn.cue.line.notes.iter().zip(&answer.verdict.expected) {
            let from = before.replace(expected.pitch);
            let (NoteLabel::Right, Some(cents)) = (note.label, note.cents) else { continue };
            let row = heard.entry(expected.pitch + answer.verdict.shift).or_default();
            row.all.push(cents.0);
            match from {
                Some(from) if from < expected.pitch => row.up.push(cents.0),
                Some(from) if from > expected.pitch => row.down.push(cents.0),
                _ => {}
            }
        }
    }
    heard
        .into_iter()
        .filter_map(|(pitch, heard)| {
            Some(PitchRow {
                pitch,
                times: number(heard.all.len()),
                up: median(&heard.up).map(Cents),
                down: median(&heard.down).map(Cents),
                all: Cents(median(&heard.all)?),
                spread: Cents(spread(&heard.all)?),
            })
        })
        .collect()
}

/// General offset of a sitting, and how far it moved from the first answer to the last: the median slope between all pairs of
/// answers (Theil 1950, Sen 1968) times the time between. A drift needs eight answers.
pub(super) fn tuning(judged: &[Judged<'_>]) -> (Option<Cents>, Option<Cents>) {
    let points: Vec<(f64, f64)> =
        judged.iter().filter_map(|answer| Some((answer.turn.at.0, answer.verdict.centre?.0))).collect();
    let offset = median(&points.iter().map(|point| point.1).collect::<Vec<_>>()).map(Cents);
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return (offset, None) };
    let thin: Vec<&(f64, f64)> = points.iter().step_by(points.len().div_ceil(COMPARED)).collect();
    let pairs = thin.iter().enumerate().flat_map(|(n, one)| thin[n + 1..].iter().map(move |other| (one, other)));
    let slopes: Vec<f64> = pairs
        .filter(|(one, other)| other.0 > one.0)
        .map(|(one, other)| (other.1 - one.1) / (other.0 - one.0))
        .collect();
    let drift = median(&slopes).filter(|_| points.len() >= 8).map(|slope| Cents(slope * (last.0 - first.0)));
    (offset, drift)
}
