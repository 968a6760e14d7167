/// By which rule an answer was taken as a variation of a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VariedAs {
    /// The same rhythm, with other notes that suit the chords.
    Rhythm,
    /// The same shape from another degree.
    Shape,
    /// The phrase itself, or all but a note or so of it: no variation.
    Repeated,
    /// Neither its rhythm nor its shape, or notes that do not suit the chords.
    Neither,
}

impl VariedAs {
    /// Whether the phrase was varied.
    #[must_use]
    pub const fn passed(self) -> bool {
        matches!(self, Self::Rhythm | Self::Shape)
    }
}
