use crate::backing::{BassLine, TimeKeeping};
use crate::music::ConcertKey;
use crate::pattern::Line;
use crate::trade::TradeWay;
use crate::units::{Decibels, Seconds};

/// What the band of a trade plays, as its record names it: with the seed and the phrases of each chorus ([`BandRecord`]) the whole
/// sound of the trade can be made once more.
#[derive(Debug, Clone, PartialEq)]
pub struct BandMark {
    /// Text of the form in the key of the first chorus.
    pub form: String,
    /// The keys of all choruses in order, those of rest among them.
    pub keys: Vec<ConcertKey>,
    /// What the player does with the phrases.
    pub way: TradeWay,
    /// Whether eighths swing.
    pub swing: bool,
    /// How the bass goes; `None` for no bass.
    pub bass: Option<BassLine>,
    /// Whether chords are played.
    pub chords: bool,
    /// What marks the time; `None` for nothing but the lead-in.
    pub pulse: Option<TimeKeeping>,
    /// The level that no sample of the band exceeds.
    pub level: Decibels,
    /// Version of band and phrases as they sound (`trade::SOUND_VERSION`): another one may sound otherwise from the same seed.
    pub sounds: u32,
}

/// A chorus of a trade as it was played, or what there was of it: where it lies on the clock of what is heard, which phrases sounded
/// in it, and where its sound is kept.
///
/// The bars of the form, each played twice, share the time from `begins` to `ends` equally. Sample `n` of the kept sound lies
/// `n / count` of the way from its `from` to its `until`, so bar and sample find each other.
#[derive(Debug, Clone, PartialEq)]
pub struct BandRecord {
    /// Up to when the chorus was heard.
    pub at: Seconds,
    /// Number of the chorus among all keys of the [`BandMark`], from 1.
    pub chorus: u32,
    /// Number of the chorus before which the lead-in sounded.
    pub from: u32,
    /// When the first beat of that lead-in sounded, on the clock of what is heard, without the delay of the devices.
    pub lead_in: Seconds,
    /// Pace of the loudspeaker's clock as a multiple of the pace of the clock of what is heard.
    pub faster: f64,
    /// When bar 1 began on that clock.
    pub begins: Seconds,
    /// When the chorus ends on that clock, also where it was broken off.
    pub ends: Seconds,
    /// The phrases of the chorus.
    pub phrases: Vec<RecordedPhrase>,
    /// What the microphone heard since the chorus before, or, of the first one, from shortly before the lead-in on; `None` where that
    /// was not kept.
    pub sound: Option<RecordedSound>,
}

/// A phrase that sounded in a chorus.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedPhrase {
    /// Number of its cue.
    pub cue: u32,
    /// The first bar of the form that it lies over, counted from 0.
    pub first_bar: u32,
    /// The whole phrase with even eighths; where the player finishes it, its cue asks only the last notes of it.
    pub line: Line,
}

/// A stretch of stored sound as the microphone heard it, the band still in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordedSound {
    /// First sample, counted from the start of the stored sound.
    pub first: u64,
    /// Number of samples.
    pub count: u64,
    /// Instant of the first sample.
    pub from: Seconds,
    /// Instant after the last sample.
    pub until: Seconds,
}
