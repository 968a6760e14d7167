use crate::music::{HalfSteps, Intonation};
use crate::pattern::Line;
use crate::units::{Cents, Seconds, Tempo};

/// What an answer is held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The notes expected, in concert pitch.
    pub line: Line,
    /// The tempo asked.
    pub tempo: Tempo,
    /// Where time is counted from.
    pub clock: Clock,
    /// The measured delay of devices, taken off every onset; `None` where it was not measured, so that a small lateness tells
    /// nothing.
    pub delay: Option<Seconds>,
    /// Whether, and in what bands, intonation is scored.
    pub intonation: Intonation,
    /// Against what the general tuning of the answer is held.
    pub usual: Usual,
}

/// Against what the general tuning of an answer is held.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Usual {
    /// There is no sitting: against its pitch, within what passes without a word.
    #[default]
    Unknown,
    /// Nothing is told of it: the instrument is still cold, or it was told in this sitting.
    Untold,
    /// Against what was usual in this sitting.
    At(Cents),
}

impl Asked {
    /// What is taken off every onset for the devices: nothing where it was not measured.
    #[must_use]
    pub fn taken_off(&self) -> Seconds {
        self.delay.unwrap_or(Seconds(0.0))
    }
}

/// Where time is counted from, on the clock of the input stream.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Clock {
    /// A free answer: reflex time counts from the end of the cue.
    Free {
        /// The last sample of the last note's nominal length.
        cue_end: Seconds,
    },
    /// An answer in tempo: early and late count from the beats.
    InTempo {
        /// The end of the cue, as above; nothing before it is an answer.
        cue_end: Seconds,
        /// The instant at which beat 0 of the line is due.
        beat_zero: Seconds,
    },
}

/// What became of one expected note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteLabel {
    /// The asked pitch (relative to the shift of the whole answer).
    Right,
    /// Another pitch stood in its place, this far from it.
    Wrong(HalfSteps),
    /// The right pitch in another octave, this far from it.
    Octave(HalfSteps),
    /// Nothing was sounded for it.
    Missed,
    /// Held together with an equal neighbour: right for pitch, listed for rhythm.
    Merged,
}

/// What one heard note was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlayedLabel {
    /// Answers an expected note.
    Note,
    /// A true note that nobody asked for.
    Extra,
    /// Not meant as a note: a scoop, a crack, a click, a split.
    Artefact,
    /// Belongs to an earlier, abandoned attempt.
    Earlier,
}

/// One expected note and what was heard for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteVerdict {
    /// What became of it.
    pub label: NoteLabel,
    /// Index into the heard notes, where one answers it.
    pub heard: Option<usize>,
    /// Signed distance of a right note's centre from the shifted equal-tempered pitch, the general tuning offset taken
    /// out; `None` for other labels, notes too short to say, and instruments whose intonation is not scored.
    pub cents: Option<Cents>,
    /// Onset minus the clock fitted through the answer, the time of standing still and of notes too many taken out; positive is
    /// late.
    pub late: Option<Seconds>,
}

/// Reflex time of a free answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reflex {
    /// End of the cue to the onset of the first right note of the graded attempt, minus the measured delay.
    pub time: Seconds,
    /// Under .12 s (or before the cue had ended): the player jumped the cue. Shown, not counted.
    pub jumped: bool,
    /// Enters the beliefs: one attempt, first right note is the first expected, not jumped.
    pub counted: bool,
}

/// Why nothing is known of early and late in an answer in tempo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untimed {
    /// The sound ran dry or over while the cue or the answer sounded.
    Faltered,
    /// The delay of the devices was never measured. (What begins whole beats off is told all the same.)
    NotCalibrated,
    /// A second attempt has left the beat.
    SecondAttempt,
    /// No note was right.
    NoneRight,
}

/// One note off the pulse of all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Astray {
    /// The note, counted from 0.
    pub note: usize,
    /// Onset minus the clock through the others; positive is late.
    pub by: Seconds,
}

/// The player stood still within the line and then went on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stood {
    /// Before this expected note, counted from 0.
    pub before: usize,
    /// For so much longer than the line asks, at the pace of the other notes; above .3 s and .6 of a beat of that pace.
    pub by: Seconds,
}

/// What is true of one answer. Its figures are defined where they are made, in `score`.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// An attempt at this pattern at all. If not, nothing else is scored.
    pub related: bool,
    /// The whole answer moved by this much: 0, whole octaves (right, register noted), or a wrong key.
    pub shift: HalfSteps,
    /// How often the player began.
    pub attempts: u32,
    /// One entry an expected note.
    pub expected: Vec<NoteVerdict>,
    /// One label a heard note.
    pub played: Vec<PlayedLabel>,
    /// Notes right.
    pub right: u32,
    /// Expected notes.
    pub of: u32,
    /// Extra notes.
    pub extra: u32,
    /// First attempt, right key, at most one error in eight: what a step up in tempo was given for in records of the first
    /// format. Today [`step`](super::step) says more.
    pub passed: bool,
    /// Free answers only.
    pub reflex: Option<Reflex>,
    /// Answers in tempo only: median of onset minus due moment, the time of standing still and of notes too many taken out;
    /// positive is late.
    pub late: Option<Seconds>,
    /// Answers in tempo only: why there is no `late`, or why it tells nothing.
    pub untimed: Option<Untimed>,
    /// Answers in tempo only: where the clock fitted through the answer puts its first matched note, minus the moment that note
    /// was due; positive is late.
    pub begun: Option<Seconds>,
    /// Quarter notes a minute, while the player did not stand still; `None` under four matched notes.
    pub pace: Option<Tempo>,
    /// In hundredths of a beat; `None` where there is no pace.
    pub evenness: Option<f64>,
    /// Root mean square distance of the onsets from the clock fitted through them, the player's own swing taken out; `None`
    /// where there is no pace.
    pub scatter: Option<Seconds>,
    /// The one note that is off the pulse of all others, where they keep one.
    pub astray: Option<Astray>,
    /// Long to short eighth, where the line has pairs of eighths.
    pub swing: Option<f64>,
    /// Where the player stood still, in the order of the line; at most two places.
    pub stood: Vec<Stood>,
    /// Expected notes that were struck twice, in the order of the line.
    pub twice: Vec<usize>,
    /// General tuning offset of the answer: median signed cents of the right notes.
    pub centre: Option<Cents>,
    /// Median absolute deviation of the right notes about that.
    pub spread: Option<Cents>,
}

impl Verdict {
    /// Right or merged in every note, nothing extra, in the asked key (any octave), at the first attempt.
    #[must_use]
    pub fn whole(&self) -> bool {
        self.related && self.right == self.of && self.extra == 0 && self.attempts == 1 && self.in_key()
    }
    /// Notes right in the asked key: none where the whole was played in another.
    #[must_use]
    pub fn right_in_key(&self) -> u32 {
        if self.in_key() { self.right } else { 0 }
    }
    /// In the asked key, in whatever octave.
    #[must_use]
    pub fn in_key(&self) -> bool {
        self.shift.0 % 12 == 0
    }
}
