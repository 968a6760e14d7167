use super::findings::SAME_PACE;
use super::{NoteLabel, Verdict};
use crate::notes::HeardNote;
use crate::pattern::Line;
use crate::units::Tempo;

/// The tempo that an answer truly held, quarters a minute: the asked tempo where the answer was faster, or slower by at most five
/// per cent (nobody hears less); else its own pace.
///
/// Where the verdict has no pace (under four matched notes, or no clock within reason), or the player stood still, the pace is taken from
/// the first to the last matched onset: standing still is part of it. A line of one note has no pace, and its answer held the asked tempo.
/// `None` where fewer than two notes were answered.
///
/// `heard` are the notes the verdict was made of.
#[must_use]
pub fn kept_tempo(line: &Line, asked: Tempo, verdict: &Verdict, heard: &[HeardNote]) -> Option<Tempo> {
    if line.notes.len() == 1 {
        return Some(asked);
    }
    let steady = verdict.pace.filter(|_| verdict.stood.is_empty());
    let pace = steady.or_else(|| from_first_to_last(line, verdict, heard))?;
    Some(if pace.0 >= asked.0 * (1.0 - SAME_PACE) { asked } else { pace })
}

fn from_first_to_last(line: &Line, verdict: &Verdict, heard: &[HeardNote]) -> Option<Tempo> {
    let own = line.notes.iter().zip(&verdict.expected).filter(|(_, judged)| judged.label != NoteLabel::Merged);
    let mut onsets = own.filter_map(|(note, judged)| Some((note.at, heard.get(judged.heard?)?.onset)));
    let (first, last) = (onsets.next()?, onsets.next_back()?);
    let pace = 60.0 * (last.0 - first.0).0 / (last.1 - first.1).0;
    (pace.is_finite() && pace > 0.0).then_some(Tempo(pace))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Concert, Intonation};
    use crate::pattern::ExpectedNote;
    use crate::units::{Beats, Cents, Decibels, Midi, Seconds};
    use crate::verdict::{Expectation, TimeOrigin, judge};

    /// The tempo held by an answer of so many eighths upward, asked at a quarter = 144 and played at `pace`.
    fn played(notes: usize, pace: f64) -> Option<f64> {
        standing_still(notes, pace, 0.0)
    }

    /// The tempo held by the answer of `played` with so many seconds of standing still before the third note.
    fn standing_still(notes: usize, pace: f64, still_s: f64) -> Option<f64> {
        let pitch = |n: usize| 60 + n as i32;
        let at = |n: usize| n as f64 * 0.5;
        let note = |n| ExpectedNote { pitch: Concert(pitch(n)), at: Beats(at(n)), length: Beats(0.5), named: None };
        let line = Line { notes: (0..notes).map(note).collect(), length: Beats(at(notes)) };
        let heard: Vec<HeardNote> = (0..notes)
            .map(|n| {
                let onset = Seconds(1.0 + at(n) * 60.0 / pace + if n < 2 { 0.0 } else { still_s });
                HeardNote {
                    number: n as u32,
                    onset,
                    release: onset + Seconds(0.15),
                    pitch: Midi(f64::from(pitch(n))),
                    spread: Some(Cents(3.0)),
                    loudness: Decibels(-20.0),
                    confidence: 0.95,
                    announced: onset + Seconds(0.05),
                    announced_pitch: Midi(f64::from(pitch(n))),
                }
            })
            .collect();
        let clock = TimeOrigin::Free { cue_end: Seconds(0.5) };
        let asked = Expectation {
            line: line.clone(),
            tempo: Tempo(144.0),
            clock,
            delay: Some(Seconds(0.0)),
            intonation: Intonation::Unscored,
            usual: crate::verdict::UsualTuning::Unknown,
        };
        let verdict = judge(&asked, &heard);
        assert!(verdict.enough_in_format_1, "{notes} notes at {pace}");
        kept_tempo(&line, Tempo(144.0), &verdict, &heard).map(|tempo| tempo.0)
    }

    #[test]
    fn who_plays_at_100_has_not_held_144_however_right_the_notes_and_however_short_the_line() {
        for notes in [2, 3, 5, 8] {
            let held = played(notes, 100.0).unwrap();
            assert!((held - 100.0).abs() < 0.5, "{notes} notes: {held}");
        }
    }

    #[test]
    fn who_stands_still_has_not_held_the_tempo_of_the_other_notes() {
        // Seven eighths at 144 last 1.46 s, and a second of standing still makes them 2.46 s.
        let held = standing_still(8, 144.0, 1.0).unwrap();
        assert!((held - 144.0 * 1.4583 / 2.4583).abs() < 0.1, "{held}");
    }

    #[test]
    fn five_per_cent_slower_is_the_tempo_asked_and_faster_proves_no_more() {
        for notes in [3, 8] {
            assert_eq!([138.0, 144.0, 160.0].map(|pace| played(notes, pace)), [Some(144.0); 3], "{notes} notes");
        }
        assert_eq!(played(1, 100.0), Some(144.0), "a single note has no pace");
    }
}
