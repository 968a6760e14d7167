use crate::music::{Concert, ConcertKey, HalfSteps, PitchClass, Range, Written, WrittenKey};
use crate::units::{Cents, Hertz, Seconds};

/// The clef a part is usually written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clef {
    /// G clef on the second line.
    Treble,
    /// G clef sounding an octave lower.
    TrebleOctaveDown,
    /// C clef on the third line.
    Alto,
    /// C clef on the fourth line.
    Tenor,
    /// F clef.
    Bass,
    /// Two staves.
    Grand,
}

/// How an instrument is sounded; it decides about rests and about what counts as a new note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sounding {
    /// Buzzed lips: they tire, and rest as long as they play.
    Lips,
    /// A reed.
    Reed,
    /// Air over an edge: flutes and recorders.
    Edge,
    /// The singing voice: it tires too.
    Voice,
    /// A bow.
    Bow,
    /// Plucked strings; old strings ring on.
    Plucked,
    /// Keys, bars or mallets: pitch cannot be bent.
    Keys,
}

/// Bands for the distance of a right note from its equal-tempered pitch, or none where pitch cannot be bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Intonation {
    /// Up to `in_tune` is in tune, up to `acceptable` passes without a word, up to `off` is worth saying.
    Scored {
        /// In tune.
        in_tune: Cents,
        /// Not worth a word.
        acceptable: Cents,
        /// Beyond this it is another note.
        off: Cents,
    },
    /// Pianos and mallets.
    Unscored,
}

/// How far a player has come; it chooses range and bands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Level {
    /// About the first three years.
    #[default]
    Student,
    /// A solid band or section player.
    Working,
    /// A professional's usual compass.
    Professional,
}

/// One instrument, from the table in `assets/`.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Short name for the command line, such as `trumpet`, `alto-sax`.
    pub id: String,
    /// Name of the trade, such as "trumpet in Bb".
    pub name: String,
    /// Other names it goes by.
    pub also: Vec<String>,
    /// How the instrument is sounded.
    pub sounding: Sounding,
    /// From the written to the sounding pitch, with octave: -2 for a trumpet in Bb, -14 for a tenor saxophone.
    pub transposition: HalfSteps,
    /// Usual clef.
    pub clef: Clef,
    /// Sounding range of a player in the first years.
    pub developing: Range,
    /// Sounding range of a solid band or section player.
    pub working: Range,
    /// Usual sounding compass of an advanced player.
    pub advanced: Range,
    /// Bands for intonation, a student's unless [`Self::at`] chose others; [`Self::bands`] has all.
    pub intonation: Intonation,
    /// Bands of a working and of a professional player.
    pub stricter: [Intonation; 2],
    /// The nearest sound of General MIDI, 1 to 128.
    pub general_midi: u8,
    /// How long one breath or one bow lasts at a healthy mezzo forte; `None` for plucked strings, keys and mallets.
    pub phrase: Option<Seconds>,
    /// How the instrument is fingered: the name of a table of valves, slide positions, holes or strings in
    /// `assets/fingerings.toml`.
    pub fingerings: Option<String>,
}

impl Instrument {
    /// The pitch that sounds when `written` is played.
    #[must_use]
    pub fn concert(&self, written: Written) -> Concert {
        Concert(written.0 + self.transposition.0)
    }
    /// The pitch on the player's page for one that sounds.
    #[must_use]
    pub fn written(&self, concert: Concert) -> Written {
        Written(concert.0 - self.transposition.0)
    }
    /// The key that sounds when the player reads `key`.
    #[must_use]
    pub fn concert_key(&self, key: WrittenKey) -> ConcertKey {
        ConcertKey(PitchClass::new(key.0.get() + self.transposition.0))
    }
    /// The key on the player's page for one that sounds.
    #[must_use]
    pub fn written_key(&self, key: ConcertKey) -> WrittenKey {
        WrittenKey(PitchClass::new(key.0.get() - self.transposition.0))
    }
    /// Whether a player's own range can be one of this instrument: few sound more than an octave beyond its advanced compass.
    #[must_use]
    pub fn reaches(&self, own: Range) -> bool {
        let (low, high) = (self.advanced.low.0 - 12, self.advanced.high.0 + 12);
        (low..=high).contains(&own.low.0) && (low..=high).contains(&own.high.0)
    }
    /// The sounding range at a level.
    #[must_use]
    pub const fn range(&self, level: Level) -> Range {
        match level {
            Level::Student => self.developing,
            Level::Working => self.working,
            Level::Professional => self.advanced,
        }
    }
    /// The same instrument in the hands of a player of this level: held to the bands of that level.
    #[must_use]
    pub fn at(&self, level: Level) -> Self {
        Self { intonation: self.bands(level), ..self.clone() }
    }
    /// The bands of intonation at a level, of an instrument as it stands in the table.
    #[must_use]
    pub const fn bands(&self, level: Level) -> Intonation {
        match level {
            Level::Student => self.intonation,
            Level::Working => self.stricter[0],
            Level::Professional => self.stricter[1],
        }
    }
    /// Frequency of the lowest note of the advanced compass at a reference of `a4`.
    #[must_use]
    pub fn lowest(&self, a4: Hertz) -> Hertz {
        self.advanced.low.hertz(a4)
    }
    /// Lips and voices tire and are rested by the clock.
    #[must_use]
    pub fn tires(&self) -> bool {
        matches!(self.sounding, Sounding::Lips | Sounding::Voice)
    }
}
