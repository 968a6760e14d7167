use crate::music::HalfSteps;
use crate::units::{Cents, Seconds, Tempo};

/// One thing that truly went wrong in an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PlayingFault {
    /// One note was another one.
    WrongNote,
    /// One note was sounded in another octave.
    OctaveNote,
    /// One note was left out.
    MissedNote,
    /// A note was put in that nobody asked for.
    ExtraNote,
    /// The whole answer was in another octave.
    WholeOctave,
    /// The right shape in the wrong key.
    WrongKey,
    /// Broke off and began again.
    Restart,
    /// Stood still within the line.
    Hesitation,
    /// Clearly faster than asked.
    Rushed,
    /// Clearly slower than asked.
    Dragged,
    /// One note far off its pitch, but nearer to it than to any other half step.
    OutOfTune,
    /// Began before the cue could have been taken in.
    Jumped,
    /// Played nothing.
    Nothing,
    /// Played something that was not an attempt.
    SomethingElse,
}

impl PlayingFault {
    /// Every kind.
    pub const ALL: [Self; 14] = [
        Self::WrongNote,
        Self::OctaveNote,
        Self::MissedNote,
        Self::ExtraNote,
        Self::WholeOctave,
        Self::WrongKey,
        Self::Restart,
        Self::Hesitation,
        Self::Rushed,
        Self::Dragged,
        Self::OutOfTune,
        Self::Jumped,
        Self::Nothing,
        Self::SomethingElse,
    ];
}

/// How an expected note was played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlayedAs {
    /// Played as asked (apart from the shift of the whole answer).
    Right,
    /// Played as another note, this far from the expected one (the shift of the whole answer taken off).
    Wrong(HalfSteps),
    /// Played in another octave than the expected note, this far from it (the shift of the whole answer taken off).
    Octave(HalfSteps),
    /// Not played at all.
    Missed,
}

/// What truly became of one expected note.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteTruth {
    /// How the note was played.
    pub played_as: PlayedAs,
    /// The onset of the note, counted from the end of the cue; `None` where it was missed.
    pub onset: Option<Seconds>,
    /// The pitch centre of the note above the equal-tempered note that was played; `None` where it was missed.
    pub cents: Option<Cents>,
}

/// What was truly played for one cue.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Whether the answer was an attempt at the line at all; `false` for nothing and for something else, whose `notes` are all missed.
    pub related: bool,
    /// How far the whole answer was moved from what was asked.
    pub shift: HalfSteps,
    /// How often the player began: 1 or 2, and 0 where there was no attempt.
    pub attempts: u32,
    /// One entry for each expected note, of the last attempt.
    pub notes: Vec<NoteTruth>,
    /// Number of notes of the last attempt that nobody asked for.
    pub extra: u32,
    /// Number of notes that were sounded in all.
    pub sounded: usize,
    /// Time from the end of the cue to the first note sounded; negative when it came before; `None` when nothing came.
    pub began: Option<Seconds>,
    /// Time from the end of the cue to the first note of the last attempt that was played right; `None` where none was.
    pub reflex: Option<Seconds>,
    /// How late the first beat of an answer in tempo was, against the moment it was due; negative is early. `None` for free
    /// answers, and where there was no attempt.
    pub late: Option<Seconds>,
    /// The tempo in which the answer was played.
    pub pace: Tempo,
    /// The player's general offset from the reference pitch in this answer.
    pub centre: Cents,
    /// What went wrong; empty for a good answer, and for one that is only late because its key was told too late.
    pub faults: Vec<PlayingFault>,
}
