use crate::cue::Cue;
use crate::drill::Snapshot;
use crate::notes::NoteEvent;
use crate::session::Event;
use crate::units::{Decibels, Seconds};

/// What the drill is told. Instants are on the clock of the input stream.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// The ear told something of a note.
    Heard(NoteEvent),
    /// The stream has been heard up to here.
    Now(Seconds),
    /// The sound of a cue was laid out on the input's clock: it began, it ends, and where an answer in tempo begins.
    Sounding {
        /// Number of the cue.
        cue: u32,
        /// First sample of the count-in or cue.
        from: Seconds,
        /// End of the cue, as defined: last note's nominal length, before its release.
        end: Seconds,
        /// When beat 0 of the answer is due, for answers in tempo.
        beat_zero: Option<Seconds>,
    },
    /// The sound ran dry or over since the cue was ordered: its place in time is no longer known to the millisecond.
    Faltered,
    /// The player asked for something.
    Command(Command),
    /// Something is wrong with the sound, or right again.
    Trouble(Option<Trouble>),
}

/// What a player may ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Pause, or go on; on a verdict: hold it.
    Pause,
    /// The same cue again.
    Again,
    /// The same cue again, slower.
    Slower,
    /// Another cue.
    Another,
    /// From a verdict or a pause: hear the cue and the own answer one after the other.
    PlayBack,
    /// On a verdict: the answer was misheard, and is not to count.
    Misheard,
    /// End the sitting.
    End,
}

/// What can be wrong with the sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// No callback for half a second (3 s after opening), or the device said so.
    Lost,
    /// Opening takes longer than 15 s.
    Opening,
    /// Exact zeros for the first two seconds.
    Zeros,
    /// Exact zeros after sound was heard: a gate or a mute.
    Gate,
    /// Samples at full scale.
    Clipping,
    /// Our own cue comes back at full level with no room in it: the loudspeaker's monitor, not a microphone.
    Monitor,
    /// The sound faltered in cue after cue: the devices are being opened anew.
    Faltering,
}

impl Trouble {
    /// The drill cannot go on until this is over.
    #[must_use]
    pub const fn stops(self) -> bool {
        matches!(self, Self::Lost | Self::Opening | Self::Zeros | Self::Monitor | Self::Faltering)
    }

    /// What it is, and how to mend it.
    #[must_use]
    pub const fn told(self) -> (&'static str, &'static str) {
        match self {
            Self::Lost => {
                ("the microphone or loudspeaker has stopped", "plug it in, or close what keeps the machine busy")
            }
            Self::Opening => (
                "the sound system has not answered for 15 seconds",
                "close programs that hold it, or plug the device in again",
            ),
            Self::Zeros => (
                "the microphone gives nothing at all",
                "unmute it, or allow this terminal to use it in the system settings",
            ),
            Self::Gate => ("the microphone goes dead between sounds", "turn noise suppression off"),
            Self::Clipping => ("too loud for this microphone", "move it away or turn its gain down"),
            Self::Monitor => (
                "this input is the loudspeaker itself, not a microphone",
                "choose another: earfirst devices lists them",
            ),
            Self::Faltering => {
                ("the sound has holes: microphone and loudspeaker are opened anew", "close what keeps the machine busy")
            }
        }
    }
}

/// What the drill wants done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Render and play this cue at once, then tell where it lies ([`Input::Sounding`]).
    Sound {
        /// What is asked.
        cue: Cue,
        /// Peak level of its sound.
        level: Decibels,
    },
    /// Stop what is sounding.
    Hush,
    /// Play the last cue and the last answer one after the other.
    PlayBack {
        /// Number of the cue.
        cue: u32,
    },
    /// Close the devices and open them anew.
    Renew,
    /// Write this down.
    Record(Box<Event>),
    /// An answer and its verdict as they are shown before the answer is over: write them down for now. What is recorded next
    /// takes their place.
    Draft(Box<[Event; 2]>),
    /// Show this.
    Show(Box<Snapshot>),
    /// The sitting is over.
    Done,
}
