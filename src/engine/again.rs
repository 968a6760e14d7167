use crate::music::Instrument;
use crate::notes::{self, EarSettings, HeardNote};
use crate::session::Session;
use crate::sound::Clip;
use crate::verdict::{self, Asked, NoteLabel, Verdict};

/// A cue whose stored sound gives another verdict now.
#[derive(Debug, Clone, PartialEq)]
pub struct Differs {
    /// Number of the cue.
    pub cue: u32,
    /// What was said then: right notes, expected notes.
    pub then: (u32, u32),
    /// What is said now.
    pub now: (u32, u32),
}

/// Judges the stored sound of a sitting again, by the same ear and the same judge, and says where labels differ.
#[must_use]
pub fn judge_again(
    session: &Session,
    sound: &dyn Fn((u64, u64)) -> Option<Clip>,
    instrument: &Instrument,
    settings: &EarSettings,
) -> Vec<Differs> {
    let mut differ = Vec::new();
    for turn in &session.turns {
        let (Some(answer), Some(judgement)) = (&turn.answer, &turn.judgement) else { continue };
        let Some(cut) = answer.sound.and_then(sound) else { continue };
        let settings = EarSettings { rate: cut.rate, ..*settings };
        // The cut ends where the answer was taken to be over.
        let zero = answer.at - cut.length();
        let heard: Vec<HeardNote> = notes::hear_clip(&settings, &cut)
            .into_iter()
            .map(|note| HeardNote { onset: note.onset + zero, release: note.release + zero, ..note })
            .collect();
        let asked = Asked {
            line: turn.cue.line.clone(),
            tempo: turn.cue.tempo,
            clock: answer.clock,
            delay: session.began.delay,
            intonation: instrument.intonation,
            usual: verdict::Usual::Unknown,
        };
        let now = verdict::judge(&asked, &heard);
        if labels(&now) != labels(&judgement.verdict) || now.shift != judgement.verdict.shift {
            let then = (judgement.verdict.right, judgement.verdict.of);
            differ.push(Differs { cue: turn.cue.number, then, now: (now.right, now.of) });
        }
    }
    differ
}

fn labels(verdict: &Verdict) -> Vec<NoteLabel> {
    verdict.expected.iter().map(|note| note.label).collect()
}
