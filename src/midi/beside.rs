use crate::units::Seconds;

/// The keys that are listened to, both ends included: with a split keyboard one half belongs to another hand or another voice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeySpan {
    low: u8,
    high: u8,
}

impl KeySpan {
    /// The keys between two, given in either order.
    #[must_use]
    pub fn new(one: u8, other: u8) -> Self {
        Self { low: one.min(other), high: one.max(other) }
    }

    /// Whether a key lies between them.
    #[must_use]
    pub const fn holds(self, key: u8) -> bool {
        self.low <= key && key <= self.high
    }
}

/// Some of the sixteen channels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ChannelSet(u16);

impl ChannelSet {
    /// Takes a channel in, 1 to 16.
    pub fn add(&mut self, channel: u8) {
        self.0 |= 1 << (channel.saturating_sub(1) % 16);
    }

    /// The channels, 1 to 16, in order.
    pub fn numbers(self) -> impl DoubleEndedIterator<Item = u8> {
        (0..16).filter(move |bit| self.0 & 1 << bit != 0).map(|bit| bit + 1)
    }
}

/// So many keys, or chords, that are hidden by one key, or each by the one before it, are told: fewer are the end of a phrase, or a left
/// hand.
pub const MANY_UNDER: u32 = 3;

/// A key that is held over others, so that they are no notes of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LongHold {
    /// The key; of a row of keys that are each held over the next, the first.
    pub key: u8,
    /// Number of keys, or chords, that are hidden.
    pub keys: u32,
}

/// The keys that hide the most others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LongHolds {
    /// The key that hides the most.
    pub over: Option<LongHold>,
    /// The longest row of keys of which each is held over the next for longer than fingers that play legato, and hides it.
    pub chain: Option<LongHold>,
}

impl LongHolds {
    /// Those that are to be told: the one key, or else the row, that hides many.
    #[must_use]
    pub fn told(self) -> Self {
        let many = |hold: Option<LongHold>| hold.filter(|hold| hold.keys >= MANY_UNDER);
        let over = many(self.over);
        Self { over, chain: if over.is_some() { None } else { many(self.chain) } }
    }

    /// What hides more than `before`.
    fn since(self, before: Self) -> Self {
        let more = |now: Option<LongHold>, before: Option<LongHold>| {
            now.filter(|now| before.is_none_or(|before| now.keys > before.keys))
        };
        Self { over: more(self.over, before.over), chain: more(self.chain, before.chain) }
    }
}

/// A key that slipped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeySlip {
    /// Its number.
    pub key: u8,
    /// When it went down.
    pub at: Seconds,
}

/// How many of the keys that slipped are named.
const NAMED: usize = 4;

/// Keys that slipped: that were only brushed (down for less than a tenth of a second beside a note of the line that was held for longer, or
/// much softer than the neighbour they went down with), or that bounced.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct KeySlips {
    count: u32,
    /// The last of them, in order; of fewer than fit the first places are empty.
    last: [Option<KeySlip>; NAMED],
}

impl KeySlips {
    /// Takes one in.
    pub fn add(&mut self, key: KeySlip) {
        self.count += 1;
        self.last.rotate_left(1);
        self.last[NAMED - 1] = Some(key);
    }

    /// How many there are.
    #[must_use]
    pub const fn count(self) -> u32 {
        self.count
    }

    /// The last four of them, or all where there are fewer.
    pub fn last(&self) -> impl Iterator<Item = KeySlip> {
        self.last.iter().flatten().copied()
    }

    /// Those that came since `before`.
    fn since(self, before: Self) -> Self {
        let count = self.count.saturating_sub(before.count);
        let mut last = self.last;
        let known = NAMED.saturating_sub(count as usize);
        last[..known].fill(None);
        Self { count, last }
    }
}

/// What was played beside the line, so that whoever listens can say what was left out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct KeysBeside {
    /// Keys that are no notes of the line, because others that sounded with them count.
    pub hidden: u32,
    /// Keys that were only brushed.
    pub brushed: KeySlips,
    /// Keys that bounced: they came up and went down again within three hundredths of a second, and count once. Each with its second stroke.
    pub bounced: KeySlips,
    /// Keys of the channels that are listened to, beyond the keys that are.
    pub outside: u32,
    /// The keys that are held over the most others.
    pub long: LongHolds,
    /// The channels on which keys went down, whether they are listened to or not; without the second of two that say the same.
    pub channels: ChannelSet,
}

impl KeysBeside {
    /// What came since `before`; of the channels, all. Of the keys that are held over others, those that hide more than before.
    #[must_use]
    pub fn since(self, before: Self) -> Self {
        Self {
            hidden: self.hidden.saturating_sub(before.hidden),
            brushed: self.brushed.since(before.brushed),
            bounced: self.bounced.since(before.bounced),
            outside: self.outside.saturating_sub(before.outside),
            long: self.long.since(before.long),
            channels: self.channels,
        }
    }
}
