use crate::music::{HalfSteps, Intonation};
use crate::pattern::Line;
use crate::units::{Beats, Cents, Seconds, Tempo};

/// What an answer is compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// The notes expected, in concert pitch.
    pub line: Line,
    /// The tempo asked.
    pub tempo: Tempo,
    /// Where time is counted from.
    pub clock: TimeOrigin,
    /// The measured delay of devices, taken off every onset; `None` where it was not measured, so that a small lateness tells
    /// nothing.
    pub delay: Option<Seconds>,
    /// Whether, and in what bands, intonation is scored.
    pub intonation: Intonation,
    /// The usual tuning that the general tuning of the answer is compared with.
    pub usual: UsualTuning,
}

/// What the general tuning of an answer is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum UsualTuning {
    /// There is no sitting to learn a usual tuning from: the answer is compared with its pitch, and worth a word beyond the
    /// acceptable band.
    #[default]
    Unknown,
    /// Nothing is said of the general tuning: the instrument is still cold, the sitting has too few answers yet, or a sentence has named it
    /// once. Single notes out of tune are told all the same.
    Withheld,
    /// The usual tuning of this sitting.
    At(Cents),
}

impl Expectation {
    /// The delay of the devices, which is taken off every onset: 0 where it was not measured.
    #[must_use]
    pub fn taken_off(&self) -> Seconds {
        self.delay.unwrap_or(Seconds(0.0))
    }
}

/// Where time is counted from, on the clock of the input stream.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeOrigin {
    /// A free answer: reflex time counts from the end of the cue.
    Free {
        /// The end of the cue: the last sample of the nominal length of its last note.
        cue_end: Seconds,
    },
    /// An answer in tempo: early and late count from the beats.
    InTempo {
        /// The end of the cue: the last sample of the nominal length of its last note. No figure of an answer in tempo rests on it.
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
    /// No heard note answers the expected note.
    Missed,
    /// Held as one with the equal note before it: its pitch counts as right, and the joining is a finding of its own.
    Merged,
}

/// What one heard note was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlayedLabel {
    /// Answers an expected note.
    Note,
    /// A true note that nobody asked for.
    Extra,
    /// Not meant as a note: a scoop, a crack, a click, a split, a single note before a new start; or played after a whole answer that was
    /// right.
    Artefact,
    /// Belongs to an earlier, abandoned attempt, or was played again after the player had gone back within the line.
    Earlier,
}

/// One expected note and the heard note that answers it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteVerdict {
    /// How the expected note was answered.
    pub label: NoteLabel,
    /// Index of the heard note that answers the expected one; `None` where none does, and for a merged note, which the note before it
    /// answers.
    pub heard: Option<usize>,
    /// Signed distance of a right note's centre from the shifted equal-tempered pitch, the general tuning offset taken
    /// out; `None` for other labels, notes too short to say or that may be two notes heard as one, and instruments whose intonation
    /// is not scored.
    pub cents: Option<Cents>,
    /// Onset minus the clock fitted through the answer, in seconds; the time of standing still and of notes too many is taken out. Positive
    /// is late; `None` where no heard note answers it, under four answered notes, and where no clock within reason fits. (`Verdict::late`
    /// is against the beat.)
    pub off_pulse: Option<Seconds>,
}

/// Reflex time of a free answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reflex {
    /// Time from the end of the cue to the onset of the first right note of the graded attempt, minus the measured delay.
    pub time: Seconds,
    /// Whether the time is under .12 s or negative: nobody reacts so fast, so the player guessed. Such a time is shown and does not
    /// count.
    pub jumped: bool,
    /// Whether the time enters the learner model: it is of a first attempt, the first expected note is right, the player did not
    /// jump the cue, and the sound did not run dry or over.
    pub counted: bool,
}

/// Why nothing is known of early and late in an answer in tempo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untimed {
    /// The sound ran dry or over while the cue or the answer sounded.
    Xrun,
    /// The delay of the devices was never measured. (An answer that begins far off its beat is a finding all the same.)
    NotCalibrated,
    /// A second attempt has left the beat.
    SecondAttempt,
    /// No note was right.
    NoneRight,
}

/// One note that is off the pulse of all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Astray {
    /// The place of the note in the line, counted from 0.
    pub note: usize,
    /// Onset of the note minus the instant at which the pulse fitted through the whole line has it, in seconds; positive is late.
    /// (One note off moves that pulse little.)
    pub by: Seconds,
}

/// The player stood still within the line and then went on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hesitation {
    /// The expected note before which the player stood still, counted from 0.
    pub before: usize,
    /// How much longer the player waited than the line asks at the pace of the other notes, in seconds: more than .3 s and more
    /// than .6 of a beat.
    pub by: Seconds,
}

/// The player stopped within the line, went back, and took it up again from a note that had been played before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenUp {
    /// The expected note from which the line was taken up again, counted from 0.
    pub from: usize,
    /// The heard notes that were played from there the first time, by their places among all heard notes. Where the player went back to the
    /// same note once more, those of the second time follow.
    pub notes: Vec<usize>,
}

/// Where one note of another rhythm than the asked one was played.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RhythmNote {
    /// The place of the note in the line, counted from 0.
    pub note: usize,
    /// Where the note was played, in beats of the line, rounded to the nearest note value.
    pub at: Beats,
}

/// What is true of one answer. Its figures are defined where they are made, in `score`.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Whether the answer is an attempt at this line. If it is none, nothing else is scored.
    pub related: bool,
    /// How far the whole answer was moved: 0, whole octaves (which count as right), or into another key.
    pub shift: HalfSteps,
    /// How often the player began: 1, or 2 where an earlier attempt was given up or the player went back within the line; more where each of
    /// several attempts was right as far as it went.
    pub attempts: u32,
    /// One entry for each expected note, in the order of the line.
    pub expected: Vec<NoteVerdict>,
    /// One label for each heard note, in the order in which they were given.
    pub played: Vec<PlayedLabel>,
    /// Number of expected notes that are right; a merged note counts as right.
    pub right: u32,
    /// Number of expected notes.
    pub of: u32,
    /// Number of notes that nobody asked for.
    pub extra: u32,
    /// Whether it was a first attempt in the right key with at most `floor((n + 3) / 8)` errors in `n` notes. In records of the first
    /// format the tempo went up for such an answer, which is called "passed" there. Today [`step`](super::step) decides.
    pub enough_in_format_1: bool,
    /// The reflex time of a free answer; `None` in tempo, where no note was right, and where the answer was no attempt.
    pub reflex: Option<Reflex>,
    /// Median, over the right notes of an answer in tempo, of onset minus the moment the note was due, in seconds; a measured delay of the
    /// devices, and the time of standing still and of notes too many, are taken out. Positive is late; `None` in free answers, after a
    /// second attempt, where no note was right, and where the sound ran dry or over.
    pub late: Option<Seconds>,
    /// Why an answer in tempo has no `late`, or why its `late` means nothing.
    pub untimed: Option<Untimed>,
    /// Where the clock fitted through an answer in tempo puts its first matched note, minus the moment that note was due, in seconds, a
    /// measured delay of the devices taken off; positive is late. Where no clock fits, the same as `late`, and `None` if there is none;
    /// `None` also in free answers, after a second attempt, and where the sound ran dry or over.
    pub begun: Option<Seconds>,
    /// The pace while the player did not stand still, in quarter notes a minute; `None` under four matched notes, and where no
    /// clock within reason fits.
    pub pace: Option<Tempo>,
    /// Median absolute deviation of the onsets from the fitted clock, in hundredths of a beat; `None` where there is no pace.
    pub evenness: Option<f64>,
    /// Root mean square distance of the onsets from the clock fitted through them, the player's own swing taken out where there is
    /// one, and the note that is `astray` left out; `None` where there is no pace.
    pub scatter: Option<Seconds>,
    /// The single note that is off the pulse of all other notes; `None` where the others keep no pulse or no note stands out.
    pub astray: Option<Astray>,
    /// Ratio of long to short eighth as played; 1 is even. `None` where fewer than two pairs of eighths, each with the note after it, were
    /// answered, where there is no pace, and in another rhythm than the asked one.
    pub swing: Option<f64>,
    /// The rhythm that was played, with an entry for each matched note, where it is another than the asked one: pace, lateness, evenness
    /// and scatter are then held against this rhythm. Empty where the asked rhythm was played or one that no note values fit, after a
    /// second attempt, and beside notes too many or struck twice.
    pub rhythm: Vec<RhythmNote>,
    /// Where the player stood still, in the order of the line; at most two places, none in another rhythm than the asked one.
    pub stood: Vec<Hesitation>,
    /// Expected notes that were struck twice, in the order of the line; a note struck more often stands here once for each stroke beyond the
    /// first.
    pub twice: Vec<usize>,
    /// General tuning offset of the answer: the median distance of the right notes from their shifted pitches, in cents; `None` where no
    /// note has cents.
    pub centre: Option<Cents>,
    /// Median absolute deviation of the right notes about the general tuning offset, in cents; `None` where no note has cents.
    pub spread: Option<Cents>,
}

impl Verdict {
    /// Whether every note is right or merged and none too many, in the asked key (any octave), at the first attempt.
    #[must_use]
    pub fn whole(&self) -> bool {
        self.related && self.right == self.of && self.extra == 0 && self.attempts == 1 && self.in_key()
    }
    /// How many notes are right in the asked key: none where the whole was played in another.
    #[must_use]
    pub fn right_in_key(&self) -> u32 {
        if self.in_key() { self.right } else { 0 }
    }
    /// Whether the answer stands in the asked key, in whatever octave.
    #[must_use]
    pub fn in_key(&self) -> bool {
        self.shift.0 % 12 == 0
    }
}
