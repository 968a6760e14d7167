/// The name by which a pattern is stored and typed, such as `broken-thirds-up`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PatternId(pub String);

/// The three families by motion, and phrases joined from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Stepwise within a key.
    Scale,
    /// By consecutive half steps.
    Chromatic,
    /// By skips.
    Arpeggio,
    /// Several joined.
    Phrase,
}

/// A short line that can be realised in any key. (The fields are private to the pattern floor's own files.)
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Name for files and the command line.
    pub id: PatternId,
    /// Plain name of the trade.
    pub name: String,
    /// Family by motion.
    pub family: Family,
    /// 1 (first week) to 5.
    pub level: u8,
}
