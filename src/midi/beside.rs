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

/// What was played beside the line, so that whoever listens can say what was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct KeysBeside {
    /// Keys that are no notes of the line, because others that sounded with them count.
    pub hidden: u32,
    /// Keys that were only brushed: down for less than a tenth of a second beside a note of the line that was held for longer.
    pub brushed: u32,
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
            brushed: self.brushed.saturating_sub(before.brushed),
            outside: self.outside.saturating_sub(before.outside),
            long: self.long.since(before.long),
            channels: self.channels,
        }
    }
}
