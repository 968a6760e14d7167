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

/// So many keys, or chords, one after the other under one note that hides them, are told: fewer are the end of a phrase, or a left hand.
pub const MANY_UNDER: u32 = 3;

/// What was played beside the line, so that whoever listens can say what was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct KeysBeside {
    /// Keys that are no notes of the line, because others that sounded with them count.
    pub hidden: u32,
    /// Keys that were only brushed: down for less than a tenth of a second beside a note of the line that was held for longer.
    pub brushed: u32,
    /// Keys of the channels that are listened to, beyond the keys that are.
    pub outside: u32,
    /// The most keys, or chords, that were struck one after the other under one note of the line, which hides them.
    pub under: u32,
    /// The channels on which keys went down, whether they are listened to or not; without the second of two that say the same.
    pub channels: ChannelSet,
}

impl KeysBeside {
    /// What came since `before`; of the channels, all. Of the keys under one note, nothing unless they are more than before.
    #[must_use]
    pub const fn since(self, before: Self) -> Self {
        Self {
            hidden: self.hidden.saturating_sub(before.hidden),
            brushed: self.brushed.saturating_sub(before.brushed),
            outside: self.outside.saturating_sub(before.outside),
            under: if self.under > before.under { self.under } else { 0 },
            channels: self.channels,
        }
    }
}
