use std::collections::BTreeMap;

use crate::music::{Concert, Intonation, tendency};
use crate::report::judged::{Judged, number};
use crate::report::trend::{Drift, NORMAL, Slope};
use crate::units::{Cents, median, rank, spread};
use crate::verdict::{NoteLabel, NoteVerdict};
use crate::words::numbers::capital;
use crate::words::{self, Page};

/// The intonation of one pitch, over all notes long enough to measure it; in a drill these are the right ones. Cents are from the
/// equal-tempered pitch without the general offset, for what all notes have in common is no fault of a note: in a drill without the
/// offset of each answer, in a run also without the line by which the offset moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitchRow {
    /// The pitch, as it sounds.
    pub pitch: Concert,
    /// Number of notes.
    pub times: u32,
    /// Median of the cents where the line came to it from below.
    pub up: Option<Cents>,
    /// Median of the cents where the line came to it from above.
    pub down: Option<Cents>,
    /// Median of all cents, those of first and repeated notes of a line included.
    pub all: Cents,
    /// Median absolute deviation of all.
    pub spread: Cents,
}

/// Smallest number of times that a pitch must be heard to say something of it: the median of fewer notes moves by several cents by chance.
pub(super) const OFTEN: u32 = 8;
/// What up and down are in a table of pitches.
pub(super) const WAYS: &str = "Up, down: the line came to the note from below, from above.";
/// What all is beside them, so that a reader sees why it need not lie between the two.
pub(super) const ALL: &str =
    "All: these and the notes that begin a line or repeat the one before. Each figure is the middle one of its notes.";
/// What is said of the pitches that were heard less often.
pub(super) const RARE: &str = "Of notes heard fewer than eight times nothing more is said: chance moves their figures.";
/// Smallest number of answers for a drift.
const DRIFTS: usize = 8;
/// Largest number of answers that a drift compares; more are thinned evenly.
const COMPARED: usize = 300;

/// How a sounding pitch is named on a page outside a key.
pub(super) type NoteName = fn(&Page, Concert) -> String;

/// Says what the instrument does to a pitch whose median lies beyond the narrowest band of intonation: one note may stray, but the median
/// of many is a habit. The note is named in written pitch, as fingerings are, and as `named` spells it.
pub(super) fn hint(page: &Page, pitch: Concert, off: Cents, named: NoteName) -> Option<String> {
    let Intonation::Scored { in_tune, .. } = page.instrument.intonation else { return None };
    let known = tendency(&page.instrument, pitch).filter(|_| off.abs() > in_tune)?;
    words::fingering::hint(&named(&page.in_written_pitch(), pitch), &known, off).map(|hint| capital(&hint) + ".")
}

/// Largest number of notes that a player is given to work on: more at once is no plan.
const WORKED_ON: usize = 3;

/// Ways that lie no farther apart than this are alike, whatever their scatter: nobody hears it in a single note (from memory).
const ALIKE: Cents = Cents(5.0);
/// Smallest number of pitches whose ways tell how much up and down scatter.
const SCATTERS: usize = 4;

/// The distance between the medians of up and down from which a pitch lies otherwise going up than going down: `ALIKE`, or more where
/// the distances of all pitches scatter (two standard deviations, by their median absolute deviation).
pub(super) fn alike(rows: &[PitchRow]) -> Cents {
    let apart: Vec<f64> = rows.iter().filter_map(|row| Some((row.down? - row.up?).0)).collect();
    let scatter = spread(&apart).filter(|_| apart.len() >= SCATTERS).unwrap_or(0.0);
    Cents(ALIKE.0.max(2.0 * NORMAL * scatter))
}

/// At most three pitches to work on, the worst first: those that lie beyond `in_tune`, by either way where the ways differ, or else
/// altogether.
#[must_use]
pub fn to_work_on(rows: &[PitchRow], in_tune: Cents) -> Vec<&PitchRow> {
    let alike = alike(rows);
    let mut far: Vec<&PitchRow> = rows.iter().filter(|row| row.farthest(alike) > in_tune).collect();
    far.sort_by_cached_key(|it| rank(-it.farthest(alike).0));
    far.truncate(WORKED_ON);
    far
}

impl PitchRow {
    /// How far the pitch lies off, as [`farthest_way`](Self::farthest_way) has it, without a sign.
    fn farthest(&self, alike: Cents) -> Cents {
        self.farthest_way(alike).0.abs()
    }

    /// How far the pitch lies off, with its sign, in whole cents as they are shown. Where up and down lie apart by more than `alike` it is
    /// the farthest median, with the way on which the line came, "up" or "down"; no way where all notes together lie at least as far.
    /// Where the ways are alike it is that of all notes.
    pub(super) fn farthest_way(&self, alike: Cents) -> (Cents, Option<&'static str>) {
        let apart = matches!((self.up, self.down), (Some(up), Some(down)) if (up - down).abs() > alike);
        let ways = [(self.up.filter(|_| apart), Some("up")), (self.down.filter(|_| apart), Some("down"))];
        let known = ways.into_iter().filter_map(|(cents, way)| Some((Cents(cents?.0.round()), way)));
        known.fold((Cents(self.all.0.round()), None), |far, one| if one.0.abs() > far.0.abs() { one } else { far })
    }
}

/// The distances of one pitch.
#[derive(Default)]
pub(super) struct PitchCents {
    up: Vec<f64>,
    down: Vec<f64>,
    all: Vec<f64>,
}

impl PitchCents {
    /// Adds a note; `way` is above zero where the line came to it from below, and below zero from above.
    pub fn add(&mut self, cents: f64, way: f64) {
        self.all.push(cents);
        if way > 0.0 {
            self.up.push(cents);
        } else if way < 0.0 {
            self.down.push(cents);
        }
    }

    /// The row of this pitch.
    pub fn row(&self, pitch: Concert) -> Option<PitchRow> {
        Some(PitchRow {
            pitch,
            times: number(self.all.len()),
            up: median(&self.up).map(Cents),
            down: median(&self.down).map(Cents),
            all: Cents(median(&self.all)?),
            spread: Cents(spread(&self.all)?),
        })
    }
}

/// One row for each pitch that was asked for and played right, the lowest first.
pub(super) fn pitch_rows(judged: &[Judged<'_>]) -> Vec<PitchRow> {
    let mut heard: BTreeMap<Concert, PitchCents> = BTreeMap::new();
    for note in judged.iter().flat_map(asked_notes) {
        if let (NoteLabel::Right, Some(cents)) = (note.verdict.label, note.verdict.cents) {
            heard.entry(note.sounded).or_default().add(cents.0, note.way.unwrap_or(0.0));
        }
    }
    heard.into_iter().filter_map(|(pitch, heard)| heard.row(pitch)).collect()
}

/// One note that was asked, and how it was judged.
pub(super) struct AskedNote<'a> {
    /// The verdict on the note.
    pub verdict: &'a NoteVerdict,
    /// The pitch that is right for the note, moved by the shift of the whole answer.
    pub sounded: Concert,
    /// By how many half steps the line came to it, upward above zero; `None` for the first.
    pub way: Option<f64>,
}

/// The asked notes of one answer, in the order of the line.
pub(super) fn asked_notes<'a>(answer: &Judged<'a>) -> impl Iterator<Item = AskedNote<'a>> {
    let (line, verdict) = (&answer.trial.cue.line.notes, answer.verdict);
    let before = std::iter::once(None).chain(line.iter().map(|note| Some(note.pitch)));
    line.iter().zip(&verdict.expected).zip(before).map(|((asked, judged), before)| AskedNote {
        verdict: judged,
        sounded: asked.pitch + verdict.shift,
        way: before.map(|before| f64::from(asked.pitch.0 - before.0)),
    })
}

/// General offset of a sitting, and how far it moved from the first answer to the last. A drift needs eight answers.
pub(super) fn tuning(judged: &[Judged<'_>]) -> (Option<Cents>, Option<Drift>) {
    let points: Vec<(f64, f64)> =
        judged.iter().filter_map(|answer| Some((answer.trial.at.0, answer.verdict.centre?.0))).collect();
    let offset = median(&points.iter().map(|point| point.1).collect::<Vec<_>>()).map(Cents);
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return (offset, None) };
    let thin: Vec<(f64, f64)> = points.iter().step_by(points.len().div_ceil(COMPARED)).copied().collect();
    let slope = Slope::of(&[thin], 1).filter(|_| points.len() >= DRIFTS);
    (offset, slope.map(|slope| slope.over(last.0 - first.0, None)))
}
