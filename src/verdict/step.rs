//! Up, stay or down: what one answer does to the tempo of its key. One table says which findings keep the tempo where it is.

use super::{Expectation, Finding, NoteLabel, PlayedLabel, TimeOrigin, Verdict, findings};
use crate::notes::HeardNote;
use crate::units::{Seconds, median};

/// Below this confidence of a note, the ear may have erred rather than the player.
const DOUBT: f64 = 0.6;
/// An answer as a whole is not on its beats beyond this distance: a tenth of a beat at a quarter = 60. The sentence names lateness sooner.
const OFF_THE_BEAT: Seconds = Seconds(0.1);

/// What an answer does to the tempo at which its key is asked next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TempoStep {
    /// Too much went wrong, or the key was another one: slower.
    Down,
    /// Not yet good enough, or the ear is in doubt: the same tempo.
    Stay,
    /// All right at the first attempt, surely heard, and with no finding that keeps the tempo (`keeps_tempo`): faster.
    Up,
}

impl TempoStep {
    /// The step by the number of errors alone, of `of` notes: no error goes up, one in eight stays (`floor((of + 3) / 8)`: none up
    /// to 4 notes, one up to 12, two up to 20), more go down. One in eight never costs a step, since an ear that mishears one note
    /// in fifty would else pull a perfect player down.
    #[must_use]
    pub const fn of_errors(errors: u32, of: u32) -> Self {
        match errors {
            0 => Self::Up,
            some if some <= of.saturating_add(3) / 8 => Self::Stay,
            _ => Self::Down,
        }
    }
}

/// What an answer does to the tempo of its key; `None` where it was no attempt, so that nothing is learnt from it.
///
/// Errors are notes wrong, displaced, left out and too many, in the asked key in whatever octave. Errors on notes heard with a
/// confidence under .6 take no tempo away. Where the median confidence of the notes that answer is under .6, the tempo stays.
/// `heard` are the notes the verdict was made of.
#[must_use]
pub fn step(verdict: &Verdict, asked: &Expectation, heard: &[HeardNote]) -> Option<TempoStep> {
    if !verdict.related || verdict.played.is_empty() {
        return None;
    }
    let doubts = doubts(verdict, heard);
    let sure = TempoStep::of_errors(errors(verdict).saturating_sub(doubts.errors), verdict.of);
    Some(match (verdict.in_key(), sure) {
        _ if doubts.all => TempoStep::Stay,
        (false, _) | (true, TempoStep::Down) => TempoStep::Down,
        _ if errors(verdict) > 0 => TempoStep::Stay,
        _ if findings(verdict, asked).iter().any(|finding| keeps_tempo(finding, asked)) => TempoStep::Stay,
        _ => TempoStep::Up,
    })
}

/// Whether the ear was in doubt about what decided the step: about all notes in error, or about the notes that answer, by the
/// median of their confidences.
#[must_use]
pub fn in_doubt(verdict: &Verdict, heard: &[HeardNote]) -> bool {
    let doubts = doubts(verdict, heard);
    doubts.all || (doubts.errors > 0 && doubts.errors == errors(verdict))
}

fn errors(verdict: &Verdict) -> u32 {
    verdict.of.saturating_sub(verdict.right).saturating_add(verdict.extra)
}

/// The table of findings: whether one of them, on an answer whose notes are all right, keeps the tempo where it is.
fn keeps_tempo(finding: &Finding, asked: &Expectation) -> bool {
    match finding {
        Finding::Attempts(_) | Finding::Begun { .. } | Finding::Joined(_) | Finding::StruckTwice(_) => true,
        Finding::TakenUp(_) => true,
        Finding::Hesitations(_) | Finding::Uneven { .. } | Finding::Astray(_) | Finding::Swung { .. } => true,
        Finding::OutOfTune(_) | Finding::Rhythm(_) | Finding::PaceMoved(_) => true,
        // Where the delay was not measured, the devices may be late rather than the player.
        Finding::OffTheBeat(late) => asked.delay.is_some() && late.abs().0 > OFF_THE_BEAT.0,
        // A player who answers freely and faster than asked has done more than was asked.
        Finding::Pace(pace) => matches!(asked.clock, TimeOrigin::InTempo { .. }) || pace.0 < asked.tempo.0,
        // The tuning as a whole, the octave and the reflex have nothing to do with the tempo.
        Finding::Tuning(_) | Finding::OtherOctave(_) | Finding::Jumped(_) | Finding::Reflex(_) => false,
        Finding::Untimed(_) => false,
        // These are counted as errors above, or are no attempt at all.
        Finding::Wrong(_) | Finding::Displaced(_) | Finding::Missed(_) | Finding::Extra(_) => false,
        Finding::BrokeOff { .. } | Finding::OtherKey(_) | Finding::SomethingElse | Finding::NothingCame { .. } => false,
    }
}

/// How far the ear is in doubt.
struct Uncertainty {
    /// Number of errors that rest on a note of which the ear was not sure.
    errors: u32,
    /// Whether the ear was unsure of the notes that answer, by the median of their confidences.
    all: bool,
}

fn doubts(verdict: &Verdict, heard: &[HeardNote]) -> Uncertainty {
    let confidence = |index: usize| heard.get(index).map(|note| note.confidence);
    let unsure = |index: usize| confidence(index).is_some_and(|confidence| confidence < DOUBT);
    let at_fault = |label: NoteLabel| matches!(label, NoteLabel::Wrong(_) | NoteLabel::Octave(_));
    let wrong = verdict.expected.iter().filter(|note| at_fault(note.label) && note.heard.is_some_and(unsure)).count();
    let played = verdict.played.iter().enumerate();
    let extra = played.filter(|(index, label)| **label == PlayedLabel::Extra && unsure(*index)).count();
    let answering: Vec<f64> = verdict.expected.iter().filter_map(|note| confidence(note.heard?)).collect();
    Uncertainty { errors: (wrong + extra) as u32, all: median(&answering).is_some_and(|middle| middle < DOUBT) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Concert, Intonation};
    use crate::pattern::{ExpectedNote, Line};
    use crate::units::{Beats, Cents, Decibels, Midi, Tempo};
    use crate::verdict::judge;

    /// Eight eighths upward in whole tones at a quarter = 120, in tempo from second 1.
    fn asked() -> Expectation {
        let note = |n: usize| ExpectedNote {
            pitch: Concert(60 + 2 * n as i32),
            at: Beats(0.5 * n as f64),
            length: Beats(0.5),
            named: None,
        };
        Expectation {
            line: Line { notes: (0..8).map(note).collect(), length: Beats(4.0) },
            tempo: Tempo(120.0),
            clock: TimeOrigin::InTempo { cue_end: Seconds(0.9), beat_zero: Seconds(1.0) },
            delay: Some(Seconds(0.0)),
            intonation: Intonation::Scored { in_tune: Cents(8.0), acceptable: Cents(15.0), off: Cents(50.0) },
            usual: crate::verdict::UsualTuning::Unknown,
        }
    }

    /// The answer as asked, with each note changed by `bend`.
    fn played(bend: impl Fn(usize, &mut HeardNote)) -> Vec<HeardNote> {
        let one = |n: usize| {
            let onset = Seconds(1.0 + 0.25 * n as f64);
            let mut note = HeardNote {
                number: n as u32,
                onset,
                release: onset + Seconds(0.22),
                pitch: Midi(60.0 + 2.0 * n as f64),
                spread: Some(Cents(3.0)),
                loudness: Decibels(-20.0),
                confidence: 0.95,
                announced: onset + Seconds(0.05),
                announced_pitch: Midi(60.0 + 2.0 * n as f64),
            };
            bend(n, &mut note);
            note
        };
        (0..8).map(one).collect()
    }

    fn later(note: &mut HeardNote, by: f64) {
        (note.onset, note.release) = (note.onset + Seconds(by), note.release + Seconds(by));
    }

    fn of(heard: &[HeardNote]) -> Option<TempoStep> {
        step(&judge(&asked(), heard), &asked(), heard)
    }

    #[test]
    fn all_eight_right_in_time_and_in_tune_go_up() {
        assert_eq!(of(&played(|_, _| {})), Some(TempoStep::Up));
    }

    #[test]
    fn one_wrong_note_in_eight_stays_and_two_go_down() {
        let wrong = |from: usize| played(|n, note| note.pitch.0 += if n >= from && n < 7 { 1.0 } else { 0.0 });
        assert_eq!(of(&wrong(6)), Some(TempoStep::Stay));
        assert_eq!(of(&wrong(5)), Some(TempoStep::Down));
    }

    #[test]
    fn one_note_in_eight_is_forgiven_and_none_in_four() {
        for (of, errors) in [(4, 0), (5, 1), (8, 1), (12, 1), (13, 2), (16, 2), (20, 2), (21, 3)] {
            let stays = if errors == 0 { TempoStep::Up } else { TempoStep::Stay };
            assert_eq!(
                [errors, errors + 1].map(|n| TempoStep::of_errors(n, of)),
                [stays, TempoStep::Down],
                "{of} notes"
            );
        }
    }

    #[test]
    fn a_whole_answer_an_octave_higher_goes_up_and_one_note_an_octave_higher_does_not() {
        assert_eq!(of(&played(|_, note| note.pitch.0 += 12.0)), Some(TempoStep::Up));
        assert_eq!(of(&played(|n, note| note.pitch.0 += if n == 3 { 12.0 } else { 0.0 })), Some(TempoStep::Stay));
    }

    #[test]
    fn another_key_goes_down() {
        assert_eq!(of(&played(|_, note| note.pitch.0 += 3.0)), Some(TempoStep::Down));
    }

    #[test]
    fn right_but_late_ragged_or_out_of_tune_stays() {
        let late = played(|_, note| later(note, 0.2));
        let ragged = played(|n, note| later(note, if n % 2 == 1 { 0.06 } else { -0.02 } * (1.0 + n as f64 / 4.0)));
        let sharp = played(|n, note| note.pitch.0 += if n == 4 { 0.4 } else { 0.0 });
        assert_eq!([late, ragged, sharp].map(|heard| of(&heard)), [Some(TempoStep::Stay); 3]);
    }

    #[test]
    fn a_horn_that_stands_thirty_cents_sharp_as_a_whole_goes_up_all_the_same() {
        assert_eq!(of(&played(|_, note| note.pitch.0 += 0.3)), Some(TempoStep::Up));
    }

    #[test]
    fn laid_back_by_thirty_milliseconds_goes_up() {
        assert_eq!(of(&played(|_, note| later(note, 0.03))), Some(TempoStep::Up));
    }

    #[test]
    fn what_the_ear_was_not_sure_of_neither_gives_nor_takes() {
        let three_wrong = |sure: f64| {
            played(|n, note| {
                if (2..5).contains(&n) {
                    (note.pitch.0, note.confidence) = (note.pitch.0 + 1.0, sure);
                }
            })
        };
        assert_eq!(of(&three_wrong(0.9)), Some(TempoStep::Down));
        assert_eq!(of(&three_wrong(0.55)), Some(TempoStep::Stay), "the errors rest on unsure notes");
        assert_eq!(
            of(&played(|_, note| note.confidence = 0.5)),
            Some(TempoStep::Stay),
            "all right, as far as can be heard"
        );
    }

    #[test]
    fn what_was_no_attempt_moves_nothing() {
        assert_eq!(of(&[]), None);
    }
}
