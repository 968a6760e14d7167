use serde::{Deserialize, Serialize};

use crate::backing::{BassLine, TimeKeeping};
use crate::coach::ApartStage;
use crate::cue::{Form, Timing};
use crate::music::{Level, Mode, NoteNames, ReflexUnit};
use crate::pattern::{Register, Seam};
use crate::session::PauseCause;
use crate::trade::TradeWay;
use crate::verdict::{PlayedLabel, TempoStep, Untimed, VariedAs};

/// Makes an enum for the wire out of an enum of the program, with the same words, and the conversions both ways.
macro_rules! words {
    ($(#[$doc:meta])* $wire:ident = $domain:ident { $($(#[$as:meta])? $word:ident),* }) => {
        $(#[$doc])*
        #[derive(Serialize, Deserialize, Clone, Copy)]
        #[serde(rename_all = "snake_case")]
        pub(super) enum $wire {
            $($(#[$as])? $word),*
        }
        impl From<$domain> for $wire {
            fn from(word: $domain) -> Self {
                match word {
                    $($domain::$word => Self::$word),*
                }
            }
        }
        impl From<$wire> for $domain {
            fn from(word: $wire) -> Self {
                match word {
                    $($wire::$word => Self::$word),*
                }
            }
        }
    };
}

words!(
    /// What a cue sounds.
    WireForm = Form { Pattern, FirstNote, Chord, NameOnly }
);
words!(
    /// How an answer is timed.
    WireTiming = Timing { InTempo, Free }
);
words!(
    /// Third of the player's range.
    WireRegister = Register { Low, Middle, High }
);
words!(
    /// How two patterns of a phrase are joined.
    WireSeam = Seam { HalfStep, Step, Shared }
);
words!(
    /// What a heard note was.
    WirePlayed = PlayedLabel { Note, Extra, Artefact, Earlier }
);
words!(
    /// By which rule an answer was taken as a variation.
    WireVaried = VariedAs { Rhythm, Shape, Repeated, Neither }
);
words!(
    /// What an answer does to the tempo of its key.
    WireStep = TempoStep { Up, Stay, Down }
);
words!(
    /// Which part of a line taken apart is asked.
    WireStage = ApartStage { Slower, FirstHalf, SecondHalf, Seam, Whole }
);
words!(
    /// How far the player has come.
    WireLevel = Level { Student, Working, Professional }
);

words!(
    /// The mode of a pattern.
    WireMode = Mode { Major, Minor, Dorian, Phrygian, Lydian, Mixolydian, Locrian }
);
words!(
    /// What the player does with a phrase.
    WireWay = TradeWay { Answer, Finish, Vary }
);
words!(
    /// How the bass goes.
    WireBass = BassLine { Walking, RootAndFifth }
);
words!(
    /// What marks the time.
    WirePulse = TimeKeeping { Brush, Click }
);
words!(
    /// The language of note names.
    WireNames = NoteNames { English, German, Solfege }
);
words!(
    /// The unit of reflex times.
    WireReflexUnit = ReflexUnit { Seconds, Milliseconds }
);

// A record without a level is of a student.
impl Default for WireLevel {
    fn default() -> Self {
        Level::default().into()
    }
}

impl WireLevel {
    /// Whether this is the level that a record leaves out.
    pub(super) const fn is_usual(&self) -> bool {
        matches!(self, Self::Student)
    }
}

words!(
    /// Why nothing is known of early and late.
    WireUntimed = Untimed { #[serde(rename = "faltered")] Xrun, NotCalibrated, SecondAttempt, NoneRight }
);
words!(
    /// Why a drill pauses.
    WireCause = PauseCause { Asked, Silence, Rest, Device }
);
