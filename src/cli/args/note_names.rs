use clap::ValueEnum;

use crate::music::NoteNames;

/// The language of note names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NamesIn {
    /// C to B.
    English,
    /// C to H: H is B, and B is Bb; Cis, Es.
    German,
    /// Do to Si.
    DoReMi,
}

impl From<NamesIn> for NoteNames {
    fn from(names: NamesIn) -> Self {
        match names {
            NamesIn::English => Self::English,
            NamesIn::German => Self::German,
            NamesIn::DoReMi => Self::Solfege,
        }
    }
}
