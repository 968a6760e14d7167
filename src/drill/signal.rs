use crate::cue::{Cue, SoundSign};
use crate::drill::Snapshot;
use crate::notes::NoteEvent;
use crate::session::Event;
use crate::units::{Decibels, Seconds};
use crate::words::SoundFault;

/// Sound of an answer that is kept from before the end of its cue: a jumped cue and the attack of the first note are in it.
pub const KEPT_BEFORE: Seconds = Seconds(0.75);
/// Sound of a cue that is played back from after its end: its last note dies away in it.
pub const CUE_TAIL: Seconds = Seconds(0.25);

/// What reaches the drill. Instants are on the clock of the input stream.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// The ear tells something of a note.
    Heard(NoteEvent),
    /// The stream has been heard up to here.
    Now(Seconds),
    /// The place of the sound of a cue has become known.
    Sounding {
        /// Number of the cue.
        cue: u32,
        /// Where the sound of the cue lies.
        span: CueSpan,
    },
    /// The sound ran dry or over since the cue was ordered: the place of the cue in time is no longer known to the millisecond.
    Xrun,
    /// The player asked for something.
    Command(Command),
    /// What is wrong with the sound; `None` once it is right again.
    SoundFault(Option<SoundFault>),
}

/// The three instants of a cue, on the clock of the input, by which its answer is timed. They follow from where its sound was placed
/// (`sound::Placement`) and from what lies where in that sound; the drill sees neither.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CueSpan {
    /// First sample of the count-in, or of the cue where no bar is counted in.
    pub from: Seconds,
    /// End of the cue, which is the end of its last note's nominal length, before the release of its sound.
    pub end: Seconds,
    /// When beat 0 of the answer is due; `None` for free answers.
    pub beat_zero: Option<Seconds>,
}

/// What a player may ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Pause, or go on; on a verdict or the result of a round: keep it on the screen, or let it go.
    Pause,
    /// Ask the same cue again.
    Again,
    /// Ask the same cue again, at four fifths of its tempo.
    Slower,
    /// Ask a cue in another key.
    Another,
    /// From a verdict or a pause: play the cue and the player's answer one after the other.
    PlayBack,
    /// On a verdict, or in a pause after it: the answer was misheard, and is not to count.
    Misheard,
    /// The player counted so many taps; 9 stands for nine or more.
    Count(u32),
    /// End the sitting.
    End,
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
    /// Render and play these cues as one sound without a stop, then give back where each cue lies.
    SoundRound {
        /// What is asked, in order; at least one cue.
        cues: Vec<Cue>,
        /// Peak level of their sound.
        level: Decibels,
        /// Whether a soft band plays beneath them.
        vamp: bool,
    },
    /// Play these signs at once, softly; nothing is asked with them.
    Signs {
        /// What is told, in order.
        signs: Vec<SoundSign>,
        /// Peak level of the cues, to which the signs are fitted.
        level: Decibels,
    },
    /// Render and play this cue at once. It is to be sung or fingered, so that nothing is heard or judged for it, and where it lies is not
    /// asked.
    Spared {
        /// What is sounded.
        cue: Cue,
        /// Peak level of its sound.
        level: Decibels,
    },
    /// The player is asked how many taps were counted in the block that has ended. A simulated player is told the number by this and
    /// answers in notes; any other player reads the question on the screen.
    AskCount {
        /// Number of the taps to be counted that sounded in the block.
        sounded: u32,
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
    /// Write this down in the record.
    Record(Box<Event>),
    /// An answer and its verdict as they are shown before the answer is over: write them down for now. The next draft, or the next event
    /// recorded, replaces them.
    Draft(Box<[Event; 2]>),
    /// Show this.
    Show(Box<Snapshot>),
    /// The sitting is over.
    Done,
}
