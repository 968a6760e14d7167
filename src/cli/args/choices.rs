//! Words of which one is typed.

use clap::ValueEnum;

use crate::coach::RoundOrder;
use crate::cue::Form;
use crate::files::KeepSound;
use crate::music::Level;
use crate::pattern::Register;

/// What `--input` takes, and what counts of keys that sound together: said where a pianist looks.
pub(super) const INPUT: &str = "Microphone, or a MIDI instrument as midi:NAME, as `earfirst devices` lists them (a part of the name will do; \
    midi alone is the first). Of keys that sound together the highest counts; a lower one is a note of the line only where you let the \
    higher one go within .2 s after it and before it (midi.chord = \"lowest\" in your settings: the other way up)";

/// What is sounded before an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CueForm {
    /// The whole pattern; answered in tempo on the next bar.
    Pattern,
    /// Its first note; answered freely, as quickly as you can.
    FirstNote,
    /// The chord; answered freely.
    Chord,
    /// The key's name only; answered freely.
    Name,
}

impl From<CueForm> for Form {
    fn from(typed: CueForm) -> Self {
        match typed {
            CueForm::Pattern => Self::Pattern,
            CueForm::FirstNote => Self::FirstNote,
            CueForm::Chord => Self::Chord,
            CueForm::Name => Self::NameOnly,
        }
    }
}

impl From<Form> for CueForm {
    fn from(form: Form) -> Self {
        match form {
            Form::Pattern => Self::Pattern,
            Form::FirstNote => Self::FirstNote,
            Form::Chord => Self::Chord,
            Form::NameOnly => Self::Name,
        }
    }
}

/// Which sound is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Keep {
    /// Every answer.
    All,
    /// Answers that were not whole.
    Some,
    /// Nothing.
    None,
}

impl From<Keep> for KeepSound {
    fn from(keep: Keep) -> Self {
        match keep {
            Keep::All => Self::All,
            Keep::Some => Self::Some,
            Keep::None => Self::None,
        }
    }
}

/// Whose compass of an instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Compass {
    /// About the first three years.
    Student,
    /// A solid band or section player.
    Working,
    /// A professional's usual compass.
    Professional,
}

impl From<Compass> for Level {
    fn from(compass: Compass) -> Self {
        match compass {
            Compass::Student => Self::Student,
            Compass::Working => Self::Working,
            Compass::Professional => Self::Professional,
        }
    }
}

/// A third of the range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Third {
    /// Low.
    Low,
    /// Middle.
    Middle,
    /// High.
    High,
}

impl From<Third> for Register {
    fn from(third: Third) -> Self {
        match third {
            Third::Low => Self::Low,
            Third::Middle => Self::Middle,
            Third::High => Self::High,
        }
    }
}

/// In which order the keys of a round come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RoundTyped {
    /// Up a fourth each time: C F Bb ...
    Fourths,
    /// Up a half step.
    HalfSteps,
    /// Up a whole step, then the six keys between.
    WholeSteps,
    /// Up a minor third, three times four keys.
    MinorThirds,
    /// By lot.
    Drawn,
}

impl From<RoundTyped> for RoundOrder {
    fn from(order: RoundTyped) -> Self {
        match order {
            RoundTyped::Fourths => Self::Fourths,
            RoundTyped::HalfSteps => Self::HalfSteps,
            RoundTyped::WholeSteps => Self::WholeSteps,
            RoundTyped::MinorThirds => Self::MinorThirds,
            RoundTyped::Drawn => Self::Drawn,
        }
    }
}
