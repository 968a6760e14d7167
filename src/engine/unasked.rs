use crate::cue::{Cue, CueSound, Rendering, SoundSign, signs, sound};

/// What is sounded without an answer that would be heard.
#[derive(Debug, Clone)]
pub(super) enum Unasked {
    /// Signs of a drill by ear.
    Signs(Vec<SoundSign>),
    /// A cue that is to be sung or fingered.
    Spared(Box<Cue>),
}

impl Unasked {
    /// The sound, as `how` renders cues.
    pub fn sound(&self, how: &Rendering) -> CueSound {
        match self {
            Self::Signs(wanted) => signs(wanted, how.rate, how.level),
            Self::Spared(cue) => sound(cue, &Rendering { count_in: cue.counts_in(), ..*how }),
        }
    }

    /// Whether it says that the sitting is over.
    pub fn is_end(&self) -> bool {
        matches!(self, Self::Signs(wanted) if wanted.contains(&SoundSign::Over))
    }
}
