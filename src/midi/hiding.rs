use crate::midi::{LongHold, LongHolds, WhichOfChord};
use crate::units::Seconds;

/// A key that has been held for this long hides nothing any more: a piano's note has died by then, or the key sticks.
const HIDES: Seconds = Seconds(6.0);

/// A key that went down.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strike {
    /// The channel it came on, 1 to 16.
    pub channel: u8,
    /// Its number.
    pub key: u8,
    /// How fast it went down, 1 to 127.
    pub velocity: u8,
    /// When it went down.
    pub at: Seconds,
    /// When it came up, where that is known before it becomes a note.
    pub up: Option<Seconds>,
    /// Whether it is, or was, a note of the line.
    pub counted: bool,
    /// Number of keys, or chords, that it has hidden so far.
    pub hides: u32,
    /// Where it is the last of keys of which each is held over the next and hides it: the first of them, and how many they are without
    /// that first.
    pub chain: Option<LongHold>,
}

impl Strike {
    /// A key that has just gone down.
    pub const fn new(channel: u8, key: u8, velocity: u8, at: Seconds) -> Self {
        Self { channel, key, velocity, at, up: None, counted: false, hides: 0, chain: None }
    }

    /// Whether it is held over a key that was struck later and counts less, for less than [`HIDES`] so far.
    fn covers(&self, of_chord: WhichOfChord, struck: &Self) -> bool {
        self.at < struck.at && struck.at - self.at < HIDES && over(of_chord, self.key, struck.key)
    }
}

/// Whether one key counts more than another where both sound.
pub(super) const fn over(of_chord: WhichOfChord, one: u8, other: u8) -> bool {
    match of_chord {
        WhichOfChord::Highest => one > other,
        WhichOfChord::Lowest => one < other,
    }
}

/// The key that counts most.
pub(super) fn counting<'a>(of_chord: WhichOfChord, keys: impl Iterator<Item = &'a Strike>) -> Option<Strike> {
    match of_chord {
        WhichOfChord::Highest => keys.max_by_key(|strike| strike.key).copied(),
        WhichOfChord::Lowest => keys.min_by_key(|strike| strike.key).copied(),
    }
}

/// Whether a key was struck while one that counts more was held.
pub(super) fn hidden(down: &[Strike], of_chord: WhichOfChord, struck: &Strike) -> bool {
    down.iter().any(|held| held.covers(of_chord, struck))
}

/// Takes in that a key is no note of the line, because it stayed under keys that are down; `long` says that they were held over it for
/// longer than fingers that play legato.
pub(super) fn hide(down: &mut [Strike], of_chord: WhichOfChord, struck: &Strike, long: bool, most: &mut LongHolds) {
    let covers = |held: &Strike| held.covers(of_chord, struck);
    for held in down.iter_mut().filter(|held| covers(held)) {
        held.hides += 1;
        let so_far = LongHold { key: held.key, keys: held.hides };
        most.over = most.over.filter(|most| most.keys >= so_far.keys).or(Some(so_far));
    }
    let last = down.iter().filter(|held| covers(held)).max_by(|one, other| one.at.0.total_cmp(&other.at.0)).copied();
    let Some(last) = last.filter(|_| long) else { return };
    let chain =
        last.chain.map_or(LongHold { key: last.key, keys: 1 }, |chain| LongHold { keys: chain.keys + 1, ..chain });
    most.chain = most.chain.filter(|most| most.keys >= chain.keys).or(Some(chain));
    down.iter_mut()
        .filter(|held| held.key == struck.key && held.at == struck.at)
        .for_each(|held| held.chain = Some(chain));
}
