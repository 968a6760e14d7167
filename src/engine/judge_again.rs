use crate::music::Instrument;
use crate::notes::{self, EarSettings, HeardNote};
use crate::session::{Judgement, Session};
use crate::sound::Clip;
use crate::units::Seconds;
use crate::verdict::{self, NoteLabel, VariedAs, Verdict};

/// A cue whose answer gets another verdict now.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangedVerdict {
    /// Number of the cue.
    pub cue: u32,
    /// Number of right notes and of expected notes, by the verdict in the record.
    pub then: (u32, u32),
    /// Number of right notes and of expected notes, by the verdict now.
    pub now: (u32, u32),
}

/// What came of judging a sitting again.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JudgedAgain {
    /// Number of answers that were judged again.
    pub judged: usize,
    /// Number of answers that had a verdict but have no sound, or not all of it.
    pub soundless: usize,
    /// The answers of which a label or the shift is another one now.
    pub differ: Vec<ChangedVerdict>,
}

impl JudgedAgain {
    /// Compares a verdict of the record with the verdict now, and by which rule a variation was taken.
    pub fn compare(&mut self, then: &Judgement, now: &Verdict, varied: Option<VariedAs>) {
        let same = labels(now) == labels(&then.verdict) && now.shift == then.verdict.shift && varied == then.varied;
        if !same {
            let was = (then.verdict.right, then.verdict.of);
            self.differ.push(ChangedVerdict { cue: then.cue, then: was, now: (now.right, now.of) });
        }
    }
}

/// Judges the stored sound of a sitting again, by the same ear and the same judge, and says which answers get another
/// verdict. `sound` is asked for the answers in their order. What a MIDI instrument said has no sound, and is judged again as it
/// was said.
#[must_use]
pub fn judge_again(
    session: &Session,
    sound: &mut dyn FnMut((u64, u64)) -> Option<Clip>,
    instrument: &Instrument,
    settings: &EarSettings,
) -> JudgedAgain {
    let mut again = JudgedAgain::default();
    for turn in &session.trials {
        let (Some(answer), Some(judgement)) = (&turn.answer, &turn.judgement) else { continue };
        // The stored sound ends when the answer was over, so a sound that lacks its end cannot be placed in time.
        let whole = |place: (u64, u64)| sound(place).filter(|cut| cut.samples.len() as u64 == place.1);
        let heard = match answer.sound.and_then(whole) {
            Some(cut) => heard_again(&cut, answer.at, settings),
            None if session.began.by_midi => answer.heard.clone(),
            None => {
                again.soundless += 1;
                continue;
            }
        };
        again.judged += 1;
        let usual = verdict::UsualTuning::Unknown;
        let Some(asked) = turn.expectation(&session.began, instrument.intonation, usual) else { continue };
        let now = verdict::judge(&asked, &heard);
        again.compare(judgement, &now, None);
    }
    again
}

/// The notes in a piece of sound that ended at an instant.
fn heard_again(cut: &Clip, end: Seconds, settings: &EarSettings) -> Vec<HeardNote> {
    let settings = EarSettings { rate: cut.rate, ..*settings };
    let zero = end - cut.length();
    let placed = |note: HeardNote| HeardNote { onset: note.onset + zero, release: note.release + zero, ..note };
    notes::hear_clip(&settings, cut).into_iter().map(placed).collect()
}

fn labels(verdict: &Verdict) -> Vec<NoteLabel> {
    verdict.expected.iter().map(|note| note.label).collect()
}
