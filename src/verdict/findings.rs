//! What is worth saying about an answer, as data: the facts a teacher would pick, most useful first.

use super::{Asked, Astray, Clock, NoteLabel, PlayedLabel, Stood, Untimed, Verdict};
use crate::music::{HalfSteps, Intonation};
use crate::units::{Cents, Seconds, Tempo};

/// An answer in tempo this far from its beats is early or late as a whole: within 30 ms is "with the beat" (Repp 2005, from
/// memory).
const WITH_THE_BEAT_S: f64 = 0.03;
/// A pace this far from the asked one is another pace (in tempo; in free answers four times as much is worth a word).
pub(super) const SAME_PACE: f64 = 0.05;
/// Median deviation from the fitted clock beyond which a line is uneven, hundredths of a beat.
const EVEN: f64 = 7.0;
/// Long to short eighth, against what was asked, beyond which a line swings rather than limps; a line that should swing and
/// falls short of it by as much does not swing.
const SWINGS: f64 = 1.35;

/// One fact about an answer. Notes are counted from 0 in the order of the line.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// No note was heard; `strays` tells whether anything was.
    NothingCame {
        /// Clicks, breath or another by-product was heard.
        strays: bool,
    },
    /// Not an attempt at this line.
    SomethingElse,
    /// The right shape, moved to another key.
    OtherKey(HalfSteps),
    /// An earlier attempt came first.
    Attempts(u32),
    /// Everything after the first `after` notes is missing, two notes or more.
    BrokeOff {
        /// So many notes came before.
        after: usize,
    },
    /// Other pitches stood in place of these notes.
    Wrong(Vec<(usize, HalfSteps)>),
    /// These notes came in another octave.
    Displaced(Vec<(usize, HalfSteps)>),
    /// Nothing came for these notes (those after a breaking off are not listed).
    Missed(Vec<usize>),
    /// Notes nobody asked for; each with the count of expected notes that came before it.
    Extra(Vec<usize>),
    /// These notes were struck twice, where they were asked for once.
    StruckTwice(Vec<usize>),
    /// Whole, but in another octave.
    OtherOctave(HalfSteps),
    /// These notes were held together with the equal note before.
    Joined(Vec<usize>),
    /// The player came in before anybody can have reacted to the cue.
    Jumped(Seconds),
    /// The player stood still before these notes.
    Stood(Vec<Stood>),
    /// In tempo: it begins more than half a beat and a quarter of a second off its beat, by so many beats; positive is late.
    Begun {
        /// Beats of the tempo asked.
        beats: f64,
    },
    /// In tempo: the whole stands this far from its beats; positive is late.
    OffTheBeat(Seconds),
    /// Another pace than asked.
    Pace(Tempo),
    /// Long to short eighth as it came, and as it was asked (1 for even eighths).
    Swung {
        /// As it came.
        played: f64,
        /// As it was asked.
        asked: f64,
    },
    /// The notes lie this far from their pulse (root mean square), in seconds and in beats.
    Uneven {
        /// In time.
        by: Seconds,
        /// In beats of the player's own pace.
        beats: f64,
    },
    /// One note is off the pulse of all others.
    Astray(Astray),
    /// Notes out of tune against the rest of the answer, beyond the instrument's acceptable band; the furthest first.
    OutOfTune(Vec<(usize, Cents)>),
    /// The answer as a whole stands this far beyond what was usual in this sitting (from its pitch, where there is no sitting).
    /// It never holds the tempo back.
    Tuning(Cents),
    /// In tempo: nothing is known of early and late, and why. No fault.
    Untimed(Untimed),
    /// A reflex time that counts.
    Reflex(Seconds),
}

impl Finding {
    /// How grave a fact is, 0 for the gravest: was it an attempt, in which key, did it begin and end, which notes, where it
    /// began, then time, tuning, and what is no fault at all. Of the faults at most two are told.
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
            Self::Attempts(_) => 9,
            Self::Begun { .. } => 10,
            Self::Jumped(_) => 11,
            Self::Stood(_) => 12,
            Self::Pace(_) => 13,
            Self::Joined(_) => 14,
            Self::Uneven { .. } => 15,
            Self::Astray(_) => 16,
            Self::OutOfTune(_) => 17,
            Self::OffTheBeat(_) => 18,
            Self::Swung { .. } => 19,
            Self::Tuning(_) => 20,
            Self::OtherOctave(_) => 21,
            Self::Untimed(_) => 22,
            Self::Reflex(_) => 23,
        }
    }
}

/// What is worth saying about an answer, the gravest first ([`Finding::gravity`]).
///
/// The order is a teacher's: was it an attempt at all, in which key, did it begin and end, then which notes, then time, then
/// tuning, then quickness. An answer with nothing to find is whole, in tempo, in time and in tune.
#[must_use]
pub fn findings(verdict: &Verdict, asked: &Asked) -> Vec<Finding> {
    if !verdict.related {
        let true_note = verdict.played.iter().any(|label| *label != PlayedLabel::Artefact);
        let strays = !verdict.played.is_empty();
        return vec![if true_note { Finding::SomethingElse } else { Finding::NothingCame { strays } }];
    }
    let mut found = Vec::new();
    if !verdict.in_key() {
        found.push(Finding::OtherKey(verdict.shift));
    }
    if verdict.attempts > 1 {
        found.push(Finding::Attempts(verdict.attempts));
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
    found.sort_by_key(Finding::gravity);
    found
}

fn places(verdict: &Verdict, is: impl Fn(NoteLabel) -> bool) -> Vec<usize> {
    (0..verdict.expected.len()).filter(|&i| is(verdict.expected[i].label)).collect()
}

/// Breaking off, wrong, displaced, missed and extra notes.
fn notes(verdict: &Verdict, found: &mut Vec<Finding>) {
    let count = verdict.expected.len();
    let trailing = verdict.expected.iter().rev().take_while(|note| note.label == NoteLabel::Missed).count();
    let end = if trailing >= 2 { count - trailing } else { count };
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
    let extra: Vec<usize> = (0..verdict.played.len())
        .filter(|&j| verdict.played[j] == PlayedLabel::Extra)
        .map(|j| {
            verdict.expected.iter().rposition(|note| note.heard.is_some_and(|heard| heard < j)).map_or(0, |i| i + 1)
        })
        .collect();
    if !extra.is_empty() {
        found.push(Finding::Extra(extra));
    }
    if !verdict.twice.is_empty() {
        found.push(Finding::StruckTwice(verdict.twice.clone()));
    }
}

fn timing(verdict: &Verdict, asked: &Asked, found: &mut Vec<Finding>) {
    let in_tempo = matches!(asked.clock, Clock::InTempo { .. });
    if let Some(reflex) = verdict.reflex.filter(|reflex| reflex.jumped) {
        found.push(Finding::Jumped(reflex.time));
    }
    if !verdict.stood.is_empty() {
        found.push(Finding::Stood(verdict.stood.clone()));
    }
    let same = if in_tempo { SAME_PACE } else { 4.0 * SAME_PACE };
    let pace = verdict.pace.filter(|pace| (pace.0 / asked.tempo.0 - 1.0).abs() > same);
    let swing_asked = asked.line.long_to_short().unwrap_or(1.0);
    let less = |played: f64| swing_asked > SWINGS && swing_asked / played > SWINGS;
    let swing = verdict.swing.filter(|played| played / swing_asked > SWINGS || less(*played));
    // One fault is said once: whoever rushes is early because of that, and swung off-beats are late and uneven by themselves.
    let late = verdict.late.filter(|late| pace.is_none() && swing.is_none() && late.abs().0 > WITH_THE_BEAT_S);
    let uneven = verdict.evenness.filter(|evenness| swing.is_none() && *evenness > EVEN);
    found.extend(pace.map(Finding::Pace));
    found.extend(late.map(Finding::OffTheBeat));
    found.extend(swing.map(|played| Finding::Swung { played, asked: swing_asked }));
    let beat = verdict.pace.map_or(asked.tempo.beat(), Tempo::beat);
    found.extend(uneven.map(|hundredths| {
        let beats = 0.01 * hundredths;
        Finding::Uneven { by: Seconds(beats * beat.0), beats }
    }));
    found.extend(verdict.untimed.map(Finding::Untimed));
}

fn tuning(verdict: &Verdict, asked: &Asked, found: &mut Vec<Finding>) {
    let Intonation::Scored { acceptable, .. } = asked.intonation else { return };
    let cents = verdict.expected.iter().enumerate().filter_map(|(note, judged)| Some((note, judged.cents?)));
    let mut off: Vec<(usize, Cents)> = cents.filter(|(_, cents)| cents.abs() > acceptable).collect();
    off.sort_by(|a, b| b.1.abs().0.total_cmp(&a.1.abs().0));
    if !off.is_empty() {
        found.push(Finding::OutOfTune(off));
    }
    if let Some(centre) = verdict.centre.filter(|centre| centre.abs() > acceptable) {
        found.push(Finding::Tuning(centre));
    }
}
