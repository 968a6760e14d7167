//! What is worth saying about an answer, as data: the facts a teacher would pick, the most useful first.

use super::broke_off::broke_off;
use super::own_swing::{off_beats_early, swing_turned};
use super::pace_moved::{PaceMove, pace_moved};
use super::pulse::{self, EVEN};
use super::{
    Astray, Expectation, Hesitation, NoteLabel, PlayedLabel, RhythmNote, TakenUp, TimeOrigin, Untimed, UsualTuning,
    Verdict,
};
use crate::music::{HalfSteps, Intonation};
use crate::units::{Cents, Seconds, Tempo, rank};

/// An answer in tempo that lies further than this from its beats is early or late as a whole: within 30 ms is "with the beat" (Repp 2005,
/// from memory), and another 30 ms is how people play.
const WITH_THE_BEAT_S: f64 = 0.06;
/// An answer that begins further off its beat than both of these, in beats and in seconds, did not begin where it was asked.
const OFF_ITS_BEAT: (f64, Seconds) = (0.5, Seconds(0.25));
/// Devices whose delay was not measured delay the sound by no more than this (from memory).
const UNMEASURED: Seconds = Seconds(0.3);
/// Another pace moves the end of the line by more than this: a few notes played loosely show no pace.
const PACE_MOVES: Seconds = Seconds(0.09);
/// Share of the asked pace by which a pace must differ to be another pace, in tempo; in free answers four times this share. An answer
/// slower by no more than this share has held the asked tempo (`tempo_held`).
pub(super) const SAME_PACE: f64 = 0.05;
/// The general tuning of an answer is worth a word where it is further than this from what was usual in the sitting.
const BEYOND_USUAL: Cents = Cents(14.0);
/// The sentence about an answer names at most so many of its faults.
const TOLD: usize = 2;
/// A line that was asked to swing by more than `SWINGS` was played straight where its ratio of long to short eighth is below this.
const STRAIGHT: f64 = 1.15;
/// Beyond this many times the asked ratio of long to short eighth, an answer swings more than asked. Only a line that asks for more
/// than this ratio can be played too straight.
const SWINGS: f64 = 1.35;

/// One fact about an answer. Notes are counted from 0 in the order of the line.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// No note was heard.
    NothingCame {
        /// Whether clicks, breath or another by-product was heard.
        strays: bool,
    },
    /// What was played is no attempt at this line.
    SomethingElse,
    /// The right shape in another key, so many half steps from the asked one.
    OtherKey(HalfSteps),
    /// The player began so many times; the last attempt is graded.
    Attempts(u32),
    /// Everything after the first `after` notes is missing: two notes or more.
    BrokeOff {
        /// Number of expected notes before the place where the answer broke off.
        after: usize,
    },
    /// Other pitches stood in place of these notes: place in the line, and half steps from the asked pitch.
    Wrong(Vec<(usize, HalfSteps)>),
    /// These notes came in another octave: place in the line, and half steps from the asked pitch.
    Displaced(Vec<(usize, HalfSteps)>),
    /// Nothing came for these notes (those after a breaking off are not listed).
    Missed(Vec<usize>),
    /// Notes nobody asked for, without the second stroke of a note that was struck twice: the number of expected notes up to the last one
    /// that was answered before it (0 before all of them), and the index of the heard note.
    Extra(Vec<(usize, usize)>),
    /// These notes were struck twice, where they were asked for once; one struck more often stands here once for each stroke beyond the
    /// first.
    StruckTwice(Vec<usize>),
    /// The player went back within the line and took it up again from there, in the order of the line.
    TakenUp(Vec<TakenUp>),
    /// The whole answer came in another octave, so many half steps from the asked one.
    OtherOctave(HalfSteps),
    /// Each of these notes was held together with the equal note before it.
    Joined(Vec<usize>),
    /// The player came in before anybody can have reacted to the cue; seconds from the end of the cue to the first right note.
    Jumped(Seconds),
    /// The player stood still within the line and went on, once or twice.
    Hesitations(Vec<Hesitation>),
    /// The notes came in another rhythm than the asked one: where each expected note that was answered, right or wrong, was played.
    Rhythm(Vec<RhythmNote>),
    /// An answer in tempo begins more than half a beat and more than a quarter of a second off its beat. Where the delay of the devices was
    /// not measured, .3 s of a lateness may be theirs and are taken off before that is asked.
    Begun {
        /// How far off its beat it begins, in beats of the tempo asked, nothing taken off but a measured delay; positive is late.
        beats: f64,
    },
    /// An answer in tempo stands, as a whole, so many seconds from its beats; positive is late.
    OffTheBeat(Seconds),
    /// The player kept this pace, and another was asked.
    Pace(Tempo),
    /// The player sped up or slowed down, steadily or at a note.
    PaceMoved(PaceMove),
    /// The eighths were swung otherwise than asked, or their off-beats came early.
    Swung {
        /// Ratio of the first to the second eighth of a beat as the player has it: below 1, short-long.
        played: f64,
        /// Ratio of long to short eighth that the line asks for; 1 for even eighths.
        asked: f64,
    },
    /// The onsets lie far from the pulse that was fitted through them, a swing of the player's own and a single note astray left out.
    Uneven {
        /// Root mean square distance from the pulse, in seconds.
        by: Seconds,
        /// Root mean square distance from the pulse, in beats of the player's own pace.
        beats: f64,
    },
    /// One note, or two in the order of the line, off the pulse that all others keep.
    Astray(Vec<Astray>),
    /// Notes out of tune against the rest of the answer, beyond the instrument's acceptable band: place in the line, and cents;
    /// the furthest first.
    OutOfTune(Vec<(usize, Cents)>),
    /// The answer as a whole stands so many cents from what was usual in this sitting (from its pitch, where there is no sitting).
    /// It never keeps the tempo down.
    Tuning(Cents),
    /// Nothing is known of early and late of an answer in tempo, for this reason. This is no fault.
    Untimed(Untimed),
    /// The reflex time of a free answer, in seconds, where it counts.
    Reflex(Seconds),
}

impl Finding {
    /// How grave a fact is, 0 for the gravest: was it an attempt, in which key, was it played to its end, which notes, at which attempt,
    /// where it began, then time and tuning (notes out of tune before a late note, lateness as a whole and swing), and what is no fault at
    /// all. The sentence names at most two faults.
    #[must_use]
    pub const fn gravity(&self) -> u32 {
        match self {
            Self::NothingCame { .. } => 0,
            Self::SomethingElse => 1,
            Self::OtherKey(_) => 2,
            Self::BrokeOff { .. } => 3,
            Self::Wrong(_) => 4,
            Self::Missed(_) => 5,
            Self::Displaced(_) => 6,
            Self::Extra(_) => 7,
            Self::StruckTwice(_) => 8,
            Self::TakenUp(_) => 9,
            Self::Attempts(_) => 10,
            Self::Begun { .. } => 11,
            Self::Jumped(_) => 12,
            Self::Rhythm(_) => 13,
            Self::Hesitations(_) => 14,
            Self::Pace(_) => 15,
            Self::PaceMoved(_) => 16,
            Self::Joined(_) => 17,
            Self::Uneven { .. } => 18,
            Self::OutOfTune(_) => 19,
            Self::Astray(_) => 20,
            Self::OffTheBeat(_) => 21,
            Self::Swung { .. } => 22,
            Self::Tuning(_) => 23,
            Self::OtherOctave(_) => 24,
            Self::Untimed(_) => 25,
            Self::Reflex(_) => 26,
        }
    }
}

impl Finding {
    /// Whether the fact is a fault, which the player would want to mend. These are none: more swing than was asked, another octave
    /// of the whole, a time that was not measured, and the reflex time.
    #[must_use]
    pub const fn is_fault(&self) -> bool {
        match self {
            Self::Untimed(_) | Self::Reflex(_) | Self::OtherOctave(_) => false,
            Self::Swung { played, asked } => *played < *asked,
            _ => true,
        }
    }
}

/// The faults that the sentence names: the first two of `found`, which stands in order of gravity. A second attempt is named beside
/// these two.
#[must_use]
pub fn gravest_faults(found: &[Finding]) -> Vec<&Finding> {
    let faults = found.iter().filter(|it| it.is_fault() && !matches!(it, Finding::Attempts(_)));
    faults.take(TOLD).collect()
}

/// What is worth saying about an answer, the gravest first ([`Finding::gravity`]).
///
/// The order is a teacher's: was it an attempt at all, in which key, was it played to its end, then which notes, then time and tuning, then
/// reflex time. An answer without a fault is whole and, as far as that was measured, in tempo, in time and in tune.
#[must_use]
pub fn findings(verdict: &Verdict, asked: &Expectation) -> Vec<Finding> {
    if !verdict.related {
        let true_note = verdict.played.iter().any(|label| *label != PlayedLabel::Artefact);
        let strays = !verdict.played.is_empty();
        return vec![if true_note { Finding::SomethingElse } else { Finding::NothingCame { strays } }];
    }
    let mut found = Vec::new();
    if !verdict.in_key() {
        found.push(Finding::OtherKey(verdict.shift));
    }
    if verdict.begun_anew() {
        found.push(Finding::Attempts(verdict.attempts));
    }
    let taken_up = verdict.taken_up();
    if !taken_up.is_empty() {
        found.push(Finding::TakenUp(taken_up));
    }
    notes(verdict, &mut found);
    if verdict.in_key() && verdict.shift.0 != 0 {
        found.push(Finding::OtherOctave(verdict.shift));
    }
    let joined = places(verdict, |label| label == NoteLabel::Merged);
    if !joined.is_empty() {
        found.push(Finding::Joined(joined));
    }
    timing(verdict, asked, &mut found);
    tuning(verdict, asked, &mut found);
    if let Some(reflex) = verdict.reflex.filter(|reflex| reflex.counted) {
        found.push(Finding::Reflex(reflex.time));
    }
    found.sort_by_cached_key(|it| i64::from(it.gravity()));
    found
}

fn places(verdict: &Verdict, is: impl Fn(NoteLabel) -> bool) -> Vec<usize> {
    (0..verdict.expected.len()).filter(|&i| is(verdict.expected[i].label)).collect()
}

/// Finds breaking off, and notes that are wrong, displaced, missed, extra or struck twice.
fn notes(verdict: &Verdict, found: &mut Vec<Finding>) {
    let count = verdict.expected.len();
    let end = broke_off(verdict).unwrap_or(count);
    if end < count {
        found.push(Finding::BrokeOff { after: end });
    }
    let off = |octave: bool| -> Vec<(usize, HalfSteps)> {
        let one = |(i, note): (usize, &super::NoteVerdict)| match note.label {
            NoteLabel::Wrong(by) if !octave => Some((i, by)),
            NoteLabel::Octave(by) if octave => Some((i, by)),
            _ => None,
        };
        verdict.expected.iter().enumerate().filter_map(one).collect()
    };
    let (wrong, displaced) = (off(false), off(true));
    let missed: Vec<usize> =
        places(verdict, |label| label == NoteLabel::Missed).into_iter().filter(|i| *i < end).collect();
    if !wrong.is_empty() {
        found.push(Finding::Wrong(wrong));
    }
    if !displaced.is_empty() {
        found.push(Finding::Displaced(displaced));
    }
    if !missed.is_empty() {
        found.push(Finding::Missed(missed));
    }
    let after = |j: usize| verdict.expected.iter().rposition(|note| note.heard.is_some_and(|heard| heard < j));
    let extra = (0..verdict.played.len()).filter(|&j| verdict.played[j] == PlayedLabel::Extra);
    let mut extra: Vec<(usize, usize)> = extra.map(|j| (after(j).map_or(0, |i| i + 1), j)).collect();
    for place in &verdict.twice {
        // The other stroke of a note that was struck twice is not listed as an extra note too: the second, or the first where the second
        // answers the note. A stroke that ran on from the one before is no extra note to begin with.
        let answer = verdict.expected.get(*place).and_then(|note| note.heard).unwrap_or_default();
        let strokes = 1 + verdict.twice.iter().filter(|it| *it == place).count();
        let ran_on = verdict.played.get(answer + 1) == Some(&PlayedLabel::Artefact);
        let after = extra.iter().position(|(_, j)| (answer + 1..answer + strokes).contains(j));
        let before = || extra.iter().rposition(|(_, j)| !ran_on && *j < answer && j + strokes > answer);
        if let Some(again) = after.or_else(before) {
            extra.remove(again);
        }
    }
    if !extra.is_empty() {
        found.push(Finding::Extra(extra));
    }
    if !verdict.twice.is_empty() {
        found.push(Finding::StruckTwice(verdict.twice.clone()));
    }
}

fn timing(verdict: &Verdict, asked: &Expectation, found: &mut Vec<Finding>) {
    let in_tempo = matches!(asked.clock, TimeOrigin::InTempo { .. });
    if let Some(reflex) = verdict.reflex.filter(|reflex| reflex.jumped) {
        found.push(Finding::Jumped(reflex.time));
    }
    // Round a note that was left out the values are not those that were asked, and the note that is missing says so.
    if !verdict.rhythm.is_empty() && verdict.expected.iter().all(|note| note.label != NoteLabel::Missed) {
        found.push(Finding::Rhythm(verdict.rhythm.clone()));
    }
    if !verdict.stood.is_empty() {
        found.push(Finding::Hesitations(verdict.stood.clone()));
    }
    let same = if in_tempo { SAME_PACE } else { 4.0 * SAME_PACE };
    let moved = pace_moved(verdict, &asked.line);
    let pace = verdict.pace.filter(|_| moved.is_none());
    let pace = pace.filter(|pace| (pace.0 / asked.tempo.0 - 1.0).abs() > same && moves(*pace, asked));
    let swing_asked = asked.line.long_to_short().unwrap_or(1.0);
    let less = |played: f64| swing_asked > SWINGS && played < STRAIGHT;
    let early = off_beats_early(verdict, asked);
    let beat = verdict.pace.map_or(asked.tempo.beat(), Tempo::beat);
    let scatter = verdict.scatter.map(|by| (by, by.0 / beat.0)).filter(|(by, beats)| *by > EVEN.0 && *beats > EVEN.1);
    // A swing that turns within the line is one fault, which the uneven line tells, and has no ratio.
    let turned = scatter.is_some() && swing_turned(verdict, &asked.line).is_some();
    let swing = verdict.swing.filter(|played| !turned && (played / swing_asked > SWINGS || less(*played) || early));
    // One fault is said once: whoever begins off the beat, plays at another pace or swings otherwise is early or late because of that, and
    // the notes of a pace that moves lie off any one pulse.
    let begun = verdict.begun.filter(|begun| off_its_beat(*begun, asked.tempo, asked.delay));
    let one = begun.is_none() && pace.is_none() && moved.is_none() && swing.is_none() && verdict.untimed.is_none();
    let late = verdict.late.filter(|late| one && late.abs().0 > WITH_THE_BEAT_S);
    found.extend(begun.map(|begun| Finding::Begun { beats: begun.0 / asked.tempo.beat().0 }));
    found.extend(pace.map(Finding::Pace));
    found.extend(moved.map(Finding::PaceMoved));
    found.extend(late.map(Finding::OffTheBeat));
    found.extend(swing.map(|played| Finding::Swung { played, asked: swing_asked }));
    let two = pulse::two(verdict);
    if moved.is_some() {
        // Said above.
    } else if !two.is_empty() {
        found.push(Finding::Astray(two));
    } else if let Some((by, beats)) = scatter {
        found.push(Finding::Uneven { by, beats });
    } else if let Some(astray) = verdict.astray.filter(|it| !verdict.twice.contains(&it.note)) {
        // Of a note struck twice nobody knows which stroke was meant to be on time.
        found.push(Finding::Astray(vec![astray]));
    }
    found.extend(verdict.untimed.map(Finding::Untimed));
}

/// Whether an answer began more than half a beat and a quarter of a second off its beat. Lateness that devices of unknown delay may
/// have caused is taken off first.
fn off_its_beat(begun: Seconds, tempo: Tempo, delay: Option<Seconds>) -> bool {
    let theirs = if delay.is_none() && begun.0 > 0.0 { UNMEASURED } else { Seconds(0.0) };
    let own = begun.abs() - theirs;
    own > OFF_ITS_BEAT.1 && own.0 > OFF_ITS_BEAT.0 * tempo.beat().0
}

/// Whether an answer in tempo was all right and came in on its beat. No more is asked of an answer whose key was told late: pace,
/// evenness and tuning do not count there.
#[must_use]
pub fn right_in_time(verdict: &Verdict, tempo: Tempo, delay: Option<Seconds>) -> bool {
    verdict.whole() && !verdict.begun.is_some_and(|begun| off_its_beat(begun, tempo, delay))
}

/// Whether an answer outside a drill has a fault of its notes or of their tuning: it is not whole, or a note was struck twice, run together
/// with the next or out of tune. What is said of time is no such fault, since nobody counted the player in.
#[must_use]
pub fn has_fault(verdict: &Verdict, asked: &Expectation) -> bool {
    let of_notes = |it: &Finding| matches!(it, Finding::StruckTwice(_) | Finding::Joined(_) | Finding::OutOfTune(_));
    !verdict.whole() || findings(verdict, asked).iter().any(of_notes)
}

/// Whether a pace is slower than asked by more than an answer in tempo may be.
#[must_use]
pub fn is_slower(pace: Tempo, asked: &Expectation) -> bool {
    pace.0 < asked.tempo.0 * (1.0 - SAME_PACE) && moves(pace, asked)
}

/// Whether this pace moves the end of the line by more than `PACE_MOVES`.
fn moves(pace: Tempo, asked: &Expectation) -> bool {
    let (Some(first), Some(last)) = (asked.line.notes.first(), asked.line.notes.last()) else { return false };
    let beats = last.at - first.at;
    (pace.lasting(beats) - asked.tempo.lasting(beats)).abs() > PACE_MOVES
}

fn tuning(verdict: &Verdict, asked: &Expectation, found: &mut Vec<Finding>) {
    let Intonation::Scored { acceptable, .. } = asked.intonation else { return };
    let cents = verdict.expected.iter().enumerate().filter_map(|(note, judged)| Some((note, judged.cents?)));
    let mut off: Vec<(usize, Cents)> = cents.filter(|(_, cents)| cents.abs() > acceptable).collect();
    off.sort_by_cached_key(|(_, by)| rank(-by.abs().0));
    if !off.is_empty() {
        found.push(Finding::OutOfTune(off));
    }
    let beyond = match asked.usual {
        UsualTuning::Unknown => verdict.centre.filter(|centre| centre.abs() > acceptable),
        UsualTuning::Withheld => None,
        UsualTuning::At(usual) => verdict.centre.map(|centre| centre - usual).filter(|by| by.abs() > BEYOND_USUAL),
    };
    found.extend(beyond.map(Finding::Tuning));
}
