use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::coach::{ApartStage, Choice, Reason, SLOWEST};
use crate::cue::{Cue, Form};
use crate::music::ConcertKey;
use crate::pattern::{Line, PatternId, Register};
use crate::units::{Beats, Tempo};
use crate::verdict::TempoStep;

/// A key is taken apart after so many counted answers to one pattern in that key that went down in tempo, with none between them that
/// went up.
const FAILURES: u32 = 3;
/// The line slower, its halves and the seam are asked at this share of the tempo of the last answer that failed, never below `SLOWEST`.
const SLOWLY: f64 = 0.8;
/// Smallest number of notes of a line that is worth halving.
const HALVES: usize = 4;
/// Number of notes on either side of the seam that are asked with it; each half has at least so many.
const BESIDE: usize = 2;

/// What a teacher does with a key that fails again and again: ask the line slower, one half, the other half, the seam where they meet,
/// then the whole. That makes at most five stages: a line that comes right slower, or has under four notes, goes straight on to the
/// whole. A key is taken apart once in a sitting, never in the top third of the range. None of these answers counts.
#[derive(Debug, Clone, Default)]
pub(super) struct Apart {
    failures: BTreeMap<(PatternId, ConcertKey), u32>,
    helped: BTreeSet<ConcertKey>,
    now: Option<KeyTakenApart>,
}

/// The key that is taken apart now.
#[derive(Debug, Clone)]
struct KeyTakenApart {
    pattern: PatternId,
    key: ConcertKey,
    register: Register,
    slowly: Tempo,
    left: VecDeque<ApartStage>,
}

impl Apart {
    /// Enters an answer that was judged.
    pub fn enter(&mut self, cue: &Cue, reason: &Reason, step: TempoStep) {
        match reason {
            // A line that comes right at the slower tempo need not be taken apart.
            Reason::Apart { stage: ApartStage::Slower } if step == TempoStep::Up => {
                if let Some(now) = &mut self.now {
                    now.left = [ApartStage::Whole].into();
                }
            }
            _ if reason.uncounted() => {}
            _ => self.count(cue, step),
        }
    }

    fn count(&mut self, cue: &Cue, step: TempoStep) {
        let failures = self.failures.entry((cue.pattern.clone(), cue.key)).or_default();
        match step {
            TempoStep::Up => *failures = 0,
            TempoStep::Stay => {}
            TempoStep::Down => *failures += 1,
        }
        if *failures < FAILURES || cue.register == Register::High || !self.helped.insert(cue.key) {
            return;
        }
        *failures = 0;
        let halves =
            [ApartStage::Slower, ApartStage::FirstHalf, ApartStage::SecondHalf, ApartStage::Seam, ApartStage::Whole];
        let whole = [ApartStage::Slower, ApartStage::Whole];
        self.now = Some(KeyTakenApart {
            pattern: cue.pattern.clone(),
            key: cue.key,
            register: cue.register,
            slowly: Tempo((cue.tempo.0 * SLOWLY).max(SLOWEST.0)),
            left: if cue.line.notes.len() < HALVES { whole.into() } else { halves.into() },
        });
    }

    /// The next stage of the key that is taken apart; `None` where no key is, or all its stages were asked. `whole` gives the tempo at
    /// which the coach would ask the whole line next.
    pub fn next(&mut self, whole: impl Fn(&PatternId, ConcertKey) -> Tempo) -> Option<Choice> {
        let now = self.now.as_mut()?;
        let Some(stage) = now.left.pop_front() else {
            self.now = None;
            return None;
        };
        let tempo = if stage == ApartStage::Whole { whole(&now.pattern, now.key) } else { now.slowly };
        let (pattern, key, register) = (now.pattern.clone(), now.key, now.register);
        Some(Choice { pattern, key, register, tempo, reason: Reason::Apart { stage } })
    }

    /// Stops taking the key apart; it is not taken apart again in this sitting.
    pub fn leave(&mut self) {
        self.now = None;
    }
}

/// The cue of one stage, made from the cue of the whole line. At every stage but the last all notes of the stage are heard first, for
/// otherwise nobody would know where a part begins.
pub(super) fn part(cue: Cue, stage: ApartStage) -> Cue {
    let (count, middle) = (cue.line.notes.len(), middle(&cue.line));
    let of = |from: usize, to: usize| Cue { form: Form::Pattern, line: cut(&cue.line, from, to), ..cue.clone() };
    match stage {
        ApartStage::Whole => cue,
        ApartStage::Slower => Cue { form: Form::Pattern, ..cue },
        ApartStage::FirstHalf => of(0, middle),
        ApartStage::SecondHalf => of(middle, count),
        ApartStage::Seam => of(middle.saturating_sub(BESIDE), (middle + BESIDE).min(count)),
    }
}

/// Where the second half begins: the note on a beat that is nearest to the middle and at least two notes from either end, otherwise
/// the middle one.
fn middle(line: &Line) -> usize {
    let count = line.notes.len();
    let on_a_beat = |n: &usize| line.notes[*n].at.0.fract() < 1e-6;
    let inside = (BESIDE..(count + 1).saturating_sub(BESIDE)).filter(on_a_beat);
    inside.min_by_key(|n| (2 * n).abs_diff(count)).unwrap_or(count / 2)
}

/// The notes of a line from number `from` up to, but without, `to`, as a line of their own. The new line begins with the beat in
/// which its first note lies.
fn cut(line: &Line, from: usize, to: usize) -> Line {
    let mut notes = line.notes[from..to].to_vec();
    let begins = notes.first().map_or(0.0, |first| first.at.0.floor());
    notes.iter_mut().for_each(|note| note.at.0 -= begins);
    let ends = notes.last().map_or(1.0, |last| (last.at + last.length).0);
    Line { notes, length: Beats((ends - 1e-9).ceil().max(1.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cue::Timing;
    use crate::music::Concert;
    use crate::pattern::ExpectedNote;

    /// A cue of so many eighths.
    fn cue(notes: usize, register: Register) -> Cue {
        let note = |n: usize| ExpectedNote {
            pitch: Concert(60 + n as i32),
            at: Beats(0.5 * n as f64),
            length: Beats(0.5),
            named: None,
        };
        Cue {
            number: 1,
            pattern: PatternId("row".to_owned()),
            title: "row".to_owned(),
            key: ConcertKey::FIFTHS[3],
            spelling: crate::music::Spelling::default(),
            register,
            form: Form::FirstNote,
            timing: Timing::Free,
            tempo: Tempo(100.0),
            meter: crate::pattern::Meter::FourFour,
            line: Line { notes: (0..notes).map(note).collect(), length: Beats(notes as f64 / 2.0) },
            chord: Vec::new(),
            click: false,
            repeat: false,
            warning: None,
            second_task: None,
            joined: Vec::new(),
            round: None,
            by_ear: false,
        }
    }

    fn stages(apart: &mut Apart) -> Vec<(ApartStage, f64)> {
        let next = |apart: &mut Apart| apart.next(|_, _| Tempo(66.0));
        let mut stages = Vec::new();
        while let Some(Choice { reason: Reason::Apart { stage }, tempo, .. }) = next(apart) {
            stages.push((stage, tempo.0));
        }
        stages
    }

    fn fails(apart: &mut Apart, cue: &Cue, steps: &[TempoStep]) {
        steps.iter().for_each(|step| apart.enter(cue, &Reason::Turn, *step));
    }

    const DOWN: [TempoStep; 3] = [TempoStep::Down; 3];

    #[test]
    fn a_key_that_fails_three_times_is_taken_apart_in_five_cues_once_a_sitting() {
        let (mut apart, cue) = (Apart::default(), cue(9, Register::Middle));
        fails(&mut apart, &cue, &DOWN[..2]);
        assert_eq!(stages(&mut apart), [], "twice is not often");
        fails(&mut apart, &cue, &DOWN[..1]);
        let slowly = [ApartStage::Slower, ApartStage::FirstHalf, ApartStage::SecondHalf, ApartStage::Seam]
            .map(|stage| (stage, 80.0));
        assert_eq!(stages(&mut apart), [&slowly[..], &[(ApartStage::Whole, 66.0)]].concat());
        fails(&mut apart, &cue, &DOWN);
        assert_eq!(stages(&mut apart), [], "once a sitting");
    }

    #[test]
    fn an_answer_that_goes_up_between_begins_the_count_anew_and_one_that_stays_does_not() {
        let (mut apart, cue) = (Apart::default(), cue(9, Register::Low));
        fails(
            &mut apart,
            &cue,
            &[TempoStep::Down, TempoStep::Down, TempoStep::Up, TempoStep::Down, TempoStep::Down, TempoStep::Stay],
        );
        assert_eq!(stages(&mut apart), []);
        fails(&mut apart, &cue, &[TempoStep::Down]);
        assert_eq!(stages(&mut apart).len(), 5);
    }

    #[test]
    fn nothing_is_taken_apart_in_the_top_third_of_the_range() {
        let (mut apart, cue) = (Apart::default(), cue(9, Register::High));
        fails(&mut apart, &cue, &[DOWN, DOWN].concat());
        assert_eq!(stages(&mut apart), []);
    }

    #[test]
    fn what_comes_right_slowly_goes_straight_on_to_the_whole() {
        let (mut apart, cue) = (Apart::default(), cue(9, Register::Middle));
        fails(&mut apart, &cue, &DOWN);
        let first = apart.next(|_, _| Tempo(66.0)).unwrap();
        apart.enter(&cue, &first.reason, TempoStep::Up);
        assert_eq!(stages(&mut apart), [(ApartStage::Whole, 66.0)]);
    }

    #[test]
    fn three_notes_have_no_halves_and_whoever_wants_another_key_leaves() {
        let (mut apart, cue) = (Apart::default(), cue(3, Register::Middle));
        fails(&mut apart, &cue, &DOWN);
        assert_eq!(stages(&mut apart.clone()).len(), 2);
        apart.leave();
        assert_eq!(stages(&mut apart), []);
    }

    #[test]
    fn halves_part_on_a_beat_and_meet_in_the_seam() {
        let whole = cue(9, Register::Middle);
        let pitches = |stage| -> Vec<i32> {
            part(whole.clone(), stage).line.notes.iter().map(|note| note.pitch.0 - 60).collect()
        };
        assert_eq!(pitches(ApartStage::FirstHalf), [0, 1, 2, 3]);
        assert_eq!(pitches(ApartStage::SecondHalf), [4, 5, 6, 7, 8]);
        assert_eq!(pitches(ApartStage::Seam), [2, 3, 4, 5]);
        assert_eq!(pitches(ApartStage::Slower).len(), 9);
        let second = part(whole, ApartStage::SecondHalf);
        assert_eq!((second.line.notes[0].at, second.line.length), (Beats(0.0), Beats(3.0)));
        assert_eq!(second.form, Form::Pattern, "a part is heard first");
    }
}
