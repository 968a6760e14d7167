use crate::music::PitchClass;

/// The tonic of a key as it sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ConcertKey(pub PitchClass);

/// The tonic of a key as the player reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WrittenKey(pub PitchClass);

/// Names of the twelve keys by pitch class. Only F# and Gb are equally good names: six sharps or six flats.
const NAMES: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

impl ConcertKey {
    /// The twelve, round the circle of fifths from C upward: C G D A E B F# Db Ab Eb Bb F.
    pub const FIFTHS: [Self; 12] = {
        let mut keys = [Self(PitchClass::new(0)); 12];
        let mut n = 0;
        while n < 12 {
            keys[n] = Self(PitchClass::new(7 * n as i32));
            n += 1;
        }
        keys
    };
    /// The place on the circle of fifths, 0 (C) to 11 (F).
    #[must_use]
    pub const fn place(self) -> usize {
        (self.0.get() as usize * 7) % 12
    }
    /// The concert name as files have it: one of C G D A E B F# Db Ab Eb Bb F.
    #[must_use]
    pub const fn name(self) -> &'static str {
        NAMES[self.0.get() as usize]
    }
}

impl WrittenKey {
    /// C, the key without sharps and flats.
    pub const C: Self = Self(PitchClass::new(0));
    /// The name on the page; F# unless `g_flat` asks for Gb.
    #[must_use]
    pub const fn name(self, g_flat: bool) -> &'static str {
        if g_flat && self.0.get() == 6 { "Gb" } else { NAMES[self.0.get() as usize] }
    }
    /// Reads a name such as `Eb`, `F#`, `Gb`, `C#`, in any case; `None` when it names no key.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut letters = text.trim().chars();
        let natural = match letters.next()?.to_ascii_uppercase() {
            'C' => 0,
            'D' => 2,
            'E' => 4,
            'F' => 5,
            'G' => 7,
            'A' => 9,
            'B' => 11,
            _ => return None,
        };
        let alter = match letters.as_str() {
            "" => 0,
            "#" | "♯" | "s" => 1,
            "b" | "B" | "♭" => -1,
            _ => return None,
        };
        Some(Self(PitchClass::new(natural + alter)))
    }
}
