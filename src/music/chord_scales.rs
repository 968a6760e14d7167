use crate::music::{ChordQuality, Degree, Scale};

/// A chord quality of the usual vocabulary with its names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedChord {
    /// The quality of the chord, which prints as its usual symbol.
    pub quality: ChordQuality,
    /// The name musicians use, such as "half-diminished seventh".
    pub name: String,
    /// Other symbols with which the chord is written.
    pub also: Vec<String>,
}

/// Scales that fit a chord where it stands in a key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScaleFit {
    /// The chord.
    pub quality: ChordQuality,
    /// Where the chord stands, such as "second degree in minor".
    pub place: String,
    /// The scales on the chord's root, the first choice first; never empty.
    pub scales: Vec<&'static Scale>,
    /// The degrees that are avoided on strong beats, in each of the scales that has them.
    pub avoid: Vec<Degree>,
}
