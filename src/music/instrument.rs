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

/// How an instrument is sounded. It decides when the player rests, what is advised, and how the simulated player sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sounding {
    /// Buzzed lips, which tire.
    Lips,
    /// A reed.
    Reed,
    /// Air over an edge: flutes and recorders.
    Edge,
    /// The singing voice, which tires too.
    Voice,
    /// A bow.
    Bow,
    /// Plucked strings; a string rings on after the next note begins.
    Plucked,
    /// Keys, bars or mallets, whose pitch the player cannot bend.
    Keys,
}

/// Bounds for the distance, in cents, of a right note from its equal-tempered pitch; none where the player cannot bend the pitch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Intonation {
    /// A note up to `in_tune` away is in tune; up to `acceptable` it passes without a word; beyond that it is said to be out of tune.
    Scored {
        /// The furthest that a note in tune lies from its pitch.
        in_tune: Cents,
        /// The furthest that a note may lie from its pitch before anything is said.
        acceptable: Cents,
        /// How far a note may lie from its pitch and still be that note; `verdict/judge.rs` keeps it between 56 and 60 cents.
        off: Cents,
    },
    /// Nothing is said of the intonation, as of pianos and mallets.
    Unscored,
}

/// How far a player has come; the level decides the range and the bounds of intonation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Level {
    /// About the first three years.
    #[default]
    Student,
    /// A solid player in a band or section.
    Working,
    /// A professional's usual compass.
    Professional,
}

/// One instrument, from the table in `assets/`.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Short name for the command line, such as `trumpet`, `alto-sax`.
    pub id: String,
    /// The name musicians use, such as "trumpet in Bb".
    pub name: String,
    /// Other names of the instrument.
    pub also: Vec<String>,
    /// How the instrument is sounded.
    pub sounding: Sounding,
    /// The distance from the written to the sounding pitch, octave included: -2 for a trumpet in Bb, -14 for a tenor saxophone.
    pub transposition: HalfSteps,
    /// UsualTuning clef.
    pub clef: Clef,
    /// Sounding range of a player in the first years.
    pub developing: Range,
    /// Sounding range of a solid band or section player.
    pub working: Range,
    /// UsualTuning sounding compass of an advanced player.
    pub advanced: Range,
    /// The bounds of intonation: those of a student, unless [`Self::at`] put those of another level here.
    pub intonation: Intonation,
    /// The bounds of intonation of a working and of a professional player.
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
    /// The pitch on the player's page where `concert` sounds.
    #[must_use]
    pub fn written(&self, concert: Concert) -> Written {
        Written(concert.0 - self.transposition.0)
    }
    /// The key that sounds when the player reads `key`.
    #[must_use]
    pub fn concert_key(&self, key: WrittenKey) -> ConcertKey {
        ConcertKey(PitchClass::new(key.0.get() + self.transposition.0))
    }
    /// The key on the player's page where `key` sounds.
    #[must_use]
    pub fn written_key(&self, key: ConcertKey) -> WrittenKey {
        WrittenKey(PitchClass::new(key.0.get() - self.transposition.0))
    }
    /// Whether a player's own range is possible on this instrument: both its ends lie within the advanced compass of the instrument, or at
    /// most an octave beyond.
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
    /// The same instrument with the bounds of intonation of this level in [`Self::intonation`].
    #[must_use]
    pub fn at(&self, level: Level) -> Self {
        Self { intonation: self.bands(level), ..self.clone() }
    }
    /// The bounds of intonation at a level. The instrument has to be as it stands in the table, not changed by [`Self::at`].
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
    /// Whether the player tires, so that the drill rests by the clock: lips and voices do.
    #[must_use]
    pub fn tires(&self) -> bool {
        matches!(self.sounding, Sounding::Lips | Sounding::Voice)
    }
}
