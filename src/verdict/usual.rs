use super::{Expectation, Finding, UsualTuning, Verdict, findings, gravest_faults};
use crate::notes::HeardNote;
use crate::units::{Cents, Seconds, median};

/// After this much sound of their own, a wind instrument and its player are warm (common practice).
const WARM: Seconds = Seconds(300.0);
/// Least number of answers from which a usual tuning is known.
const ANSWERS: usize = 3;

/// The general tuning of each answer of a sitting, how long the answers sounded, and whether a sentence has named their tuning. A pure
/// function of the answers entered, in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tuned {
    centres: Vec<f64>,
    sounded: Seconds,
    named: bool,
}

impl Tuned {
    /// The usual tuning that the next answer is compared with: none in the first five minutes of the player's own sound, none before three
    /// answers had a tuning, and none after a sentence has named a tuning once.
    #[must_use]
    pub fn usual(&self) -> UsualTuning {
        if self.named || self.sounded < WARM || self.centres.len() < ANSWERS {
            return UsualTuning::Withheld;
        }
        median(&self.centres).map_or(UsualTuning::Withheld, |centre| UsualTuning::At(Cents(centre)))
    }

    /// Enters an answer, once its verdict is final.
    pub fn enter(&mut self, verdict: &Verdict, asked: &Expectation, heard: &[HeardNote]) {
        let asked = Expectation { usual: self.usual(), ..asked.clone() };
        self.named |= gravest_faults(&findings(verdict, &asked)).iter().any(|it| matches!(it, Finding::Tuning(_)));
        self.centres.extend(verdict.centre.filter(|_| verdict.related).map(|centre| centre.0));
        self.sounded = heard.iter().fold(self.sounded, |sum, note| sum + note.length().max(Seconds(0.0)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Concert, Intonation};
    use crate::pattern::{ExpectedNote, Line};
    use crate::units::{Beats, Decibels, Midi, Tempo};
    use crate::verdict::{TimeOrigin, judge};

    /// Enters an answer of eight whole notes, each so many cents sharp; gives what its finding says of the tuning as a whole.
    fn plays(tuned: &mut Tuned, sharp: f64) -> Option<f64> {
        let pitch = |n: usize| 60 + n as i32;
        let note = |n: usize| ExpectedNote {
            pitch: Concert(pitch(n)),
            at: Beats(4.0 * n as f64),
            length: Beats(4.0),
            named: None,
        };
        let heard = |n: usize| HeardNote {
            number: n as u32,
            onset: Seconds(1.0 + 2.0 * n as f64),
            release: Seconds(2.9 + 2.0 * n as f64),
            pitch: Midi(f64::from(pitch(n)) + 0.01 * sharp),
            spread: Some(Cents(2.0)),
            loudness: Decibels(-20.0),
            confidence: 0.95,
            announced: Seconds(1.0),
            announced_pitch: Midi(60.0),
        };
        let asked = Expectation {
            line: Line { notes: (0..8).map(note).collect(), length: Beats(32.0) },
            tempo: Tempo(120.0),
            clock: TimeOrigin::InTempo { cue_end: Seconds(0.0), beat_zero: Seconds(1.0) },
            delay: Some(Seconds(0.0)),
            intonation: Intonation::Scored { in_tune: Cents(20.0), acceptable: Cents(35.0), off: Cents(50.0) },
            usual: tuned.usual(),
        };
        let heard: Vec<HeardNote> = (0..8).map(heard).collect();
        let verdict = judge(&asked, &heard);
        let found = findings(&verdict, &asked);
        tuned.enter(&verdict, &asked, &heard);
        found.iter().find_map(|it| if let Finding::Tuning(by) = it { Some(by.0.round()) } else { None })
    }

    #[test]
    fn a_cold_horn_is_left_alone_a_warm_one_that_is_pulled_out_is_told_so_once() {
        let mut tuned = Tuned::default();
        // Each answer sounds for 15 seconds: the first five minutes are twenty of them, on a horn that warms up.
        let cold: Vec<f64> = (0..20).filter_map(|n| plays(&mut tuned, f64::from(n) - 20.0)).collect();
        assert!(cold.is_empty(), "nothing of it in the first five minutes");
        assert_eq!(plays(&mut tuned, -8.0), None, "as usual");
        assert_eq!(plays(&mut tuned, -36.0), Some(-26.0));
        assert_eq!(plays(&mut tuned, -36.0), None, "once a sitting");
    }
}
