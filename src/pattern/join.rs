use crate::pattern::PatternId;

/// How two patterns are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Seam {
    /// By a half step.
    HalfStep,
    /// By a whole step.
    Step,
    /// One note ends the first and begins the second.
    Shared,
}

impl Seam {
    /// The words that are said of it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::HalfStep => "by a half step",
            Self::Step => "by a whole step",
            Self::Shared => "by a note in common",
        }
    }
}

/// Two patterns that follow each other in a phrase, and the kind of their seam.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Join {
    /// The pattern before the seam.
    pub before: PatternId,
    /// The pattern after the seam.
    pub after: PatternId,
    /// The kind of the seam.
    pub seam: Seam,
}
