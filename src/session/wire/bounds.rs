use crate::music::ConcertKey;
use crate::session::wire::WireError;
use crate::units::Seconds;

/// The bounds of a number in the record. The writer moves a number inside them, the reader refuses one outside: whatever is written
/// can be read, and nothing that was read can overflow or spoil a sum later on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bounds {
    name: &'static str,
    low: f64,
    high: f64,
}

/// Instants and lengths: at most 1e7 s (115 days) either way.
pub(super) const SECONDS: Bounds = Bounds::new("seconds", -1e7, 1e7);
/// Tempi and paces.
pub(super) const TEMPO: Bounds = Bounds::new("quarters a minute", 0.001, 1e6);
/// Places in a line, in quarters.
pub(super) const QUARTERS: Bounds = Bounds::new("quarters", -1e5, 1e5);
/// Reference pitches.
pub(super) const REFERENCE: Bounds = Bounds::new("hertz", 100.0, 2000.0);
/// Fractional note numbers.
pub(super) const MIDI: Bounds = Bounds::new("note number", -256.0, 512.0);
/// Distances between pitches.
pub(super) const CENTS: Bounds = Bounds::new("cents", -1e6, 1e6);
/// Levels.
pub(super) const DECIBELS: Bounds = Bounds::new("decibels", -1000.0, 1000.0);
/// Confidences and shares.
pub(super) const SHARE: Bounds = Bounds::new("share", 0.0, 1.0);
/// The pace of one clock as a multiple of another's.
pub(super) const PACE: Bounds = Bounds::new("of another clock's pace", 0.5, 2.0);
/// Ratios and hundredths of a beat.
pub(super) const RATIO: Bounds = Bounds::new("ratio", -1e6, 1e6);

/// Largest note number, distance in half steps, number of letters or number of fifths, either way.
pub(super) const HALF_STEPS: i32 = 512;
/// Largest number of calendar days before or after 1970, and between two days.
pub(super) const DAYS: i32 = 10_000_000;
/// Largest number of samples of stored sound: 93 years at 48 kHz.
pub(super) const SAMPLES: u64 = 1 << 47;
/// Most notes of one line or one answer, and most taps beside one answer.
pub(super) const NOTES: usize = 4096;
/// Most patterns that one sitting may ask.
pub(super) const PATTERNS: usize = 4096;
/// Most patterns of one phrase.
pub(super) const PARTS: usize = 64;
/// Most choruses of one trade, and most phrases of one of them.
pub(super) const CHORUSES: usize = 1024;
/// Most charts of one lesson.
pub(super) const CHARTS: usize = 64;
/// Most characters of one text.
pub(super) const TEXT: usize = 2000;

impl Bounds {
    const fn new(name: &'static str, low: f64, high: f64) -> Self {
        Self { name, low, high }
    }
    /// For writing: the nearest number inside the bounds; for NaN, the number inside that is nearest to zero.
    pub(super) fn put(self, value: f64) -> f64 {
        if value.is_nan() { 0.0f64.clamp(self.low, self.high) } else { value.clamp(self.low, self.high) }
    }
    /// For writing, where a value may be left out: NaN is left out.
    pub(super) fn put_some(self, value: Option<f64>) -> Option<f64> {
        value.filter(|v| !v.is_nan()).map(|v| self.put(v))
    }
    /// For reading: refuses a number outside the bounds.
    pub(super) fn take(self, value: f64) -> Result<f64, WireError> {
        if (self.low..=self.high).contains(&value) {
            Ok(value)
        } else {
            Err(WireError(format!("{value:e} is outside {} to {} ({})", self.low, self.high, self.name)))
        }
    }
    /// For reading, where a value may be left out.
    pub(super) fn take_some(self, value: Option<f64>) -> Result<Option<f64>, WireError> {
        value.map(|v| self.take(v)).transpose()
    }
}

/// For reading: a whole number of at most `limit` either way.
pub(super) fn whole(value: i32, limit: i32) -> Result<i32, WireError> {
    if (-limit..=limit).contains(&value) {
        Ok(value)
    } else {
        Err(WireError(format!("{value} is outside -{limit} to {limit}")))
    }
}

/// For reading: where a chorus begins and ends, in seconds.
pub(super) fn span(begins: f64, ends: f64) -> Result<[Seconds; 2], WireError> {
    let [begins, ends] = [Seconds(SECONDS.take(begins)?), Seconds(SECONDS.take(ends)?)];
    if ends.0 > begins.0 {
        Ok([begins, ends])
    } else {
        Err(WireError("a chorus that ends before it begins".to_owned()))
    }
}

/// For reading: a list of at most `limit` entries.
pub(super) fn list<T>(items: Vec<T>, limit: usize) -> Result<Vec<T>, WireError> {
    if items.len() <= limit { Ok(items) } else { Err(WireError(format!("{} items, more than {limit}", items.len()))) }
}

/// Whether a sign steers a terminal or turns the direction of writing: this program writes none, and refuses a text that has one.
fn steers(sign: char) -> bool {
    sign.is_control() || matches!(sign, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// For writing: steering signs become blanks, an overlong text is cut.
pub(super) fn put_text(text: &str) -> String {
    text.chars().take(TEXT).map(|sign| if steers(sign) { ' ' } else { sign }).collect()
}

/// For reading: refuses a text that is too long or has steering signs.
pub(super) fn take_text(text: String) -> Result<String, WireError> {
    if text.chars().count() > TEXT {
        Err(WireError(format!("a text of more than {TEXT} characters")))
    } else if text.chars().any(steers) {
        Err(WireError("a text with control characters".to_owned()))
    } else {
        Ok(text)
    }
}

/// For reading: a local time with zone as RFC 3339 writes it, `2026-11-25T18:30:00+01:00`.
pub(super) fn take_time(text: String) -> Result<String, WireError> {
    let rest = text.get(19..).unwrap_or_default();
    let begins =
        text.len() >= 20 && text.bytes().zip("dddd-dd-ddTdd:dd:dd".bytes()).all(|(sign, shape)| fits(sign, shape));
    let rest = match rest.strip_prefix('.') {
        Some(fraction) => fraction.trim_start_matches(|sign: char| sign.is_ascii_digit()),
        None => rest,
    };
    let zone = rest == "Z"
        || (rest.len() == 6
            && rest.starts_with(['+', '-'])
            && rest.bytes().skip(1).zip("dd:dd".bytes()).all(|(sign, shape)| fits(sign, shape)));
    if begins && zone && text.len() <= 40 {
        Ok(text)
    } else {
        Err(WireError("the start is not a time with zone (RFC 3339)".to_owned()))
    }
}

fn fits(sign: u8, shape: u8) -> bool {
    if shape == b'd' { sign.is_ascii_digit() } else { sign == shape }
}

/// The key of this concert name.
pub(super) fn key(name: &str) -> Result<ConcertKey, WireError> {
    let known = ConcertKey::FIFTHS.into_iter().find(|key| key.name() == name);
    known.ok_or_else(|| WireError("a key that is none of C G D A E B F# Db Ab Eb Bb F".to_owned()))
}

/// Concert names of keys.
pub(super) fn names<'a>(keys: impl IntoIterator<Item = &'a ConcertKey>) -> Vec<String> {
    keys.into_iter().map(|key| key.name().to_owned()).collect()
}
