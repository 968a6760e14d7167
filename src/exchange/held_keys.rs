use std::collections::BTreeMap;

/// The channel of percussion, counted from 0 (General MIDI).
pub(super) const PERCUSSION: u8 = 9;
/// Microseconds of a quarter note before a file says otherwise (Standard MIDI File 1.0).
pub(super) const QUARTER_US: u32 = 500_000;

/// Whether a channel, counted from 0, is read where `channel` (from 1) is chosen: all but percussion where none is.
pub(super) fn reads(channel: Option<u8>, of: u8) -> bool {
    channel.map_or(of != PERCUSSION, |only| only == of + 1)
}

/// The keys of a track that are down, by channel and number: the tick at which each was struck, and whether it was down already.
#[derive(Default)]
pub(super) struct HeldKeys(BTreeMap<(u8, u8), (u64, bool)>);

impl HeldKeys {
    /// Takes in that a key is struck; gives the tick since which it was down until then. `None` where it was up, and where it went
    /// down at this very tick.
    pub(super) fn down(&mut self, key: (u8, u8), at: u64) -> Option<u64> {
        let held = self.0.get(&key).map(|(begins, _)| *begins).filter(|begins| *begins < at);
        self.0.insert(key, (at, held.is_some()));
        held
    }

    /// Takes in that a key comes up; gives the tick since which it was down. `None` where it was not down, and where this message ends
    /// only the note before, because the key was struck anew at this very tick.
    pub(super) fn up(&mut self, key: (u8, u8), at: u64) -> Option<u64> {
        let (begins, again) = self.0.get_mut(&key)?;
        if *again && *begins == at {
            *again = false;
            return None;
        }
        self.0.remove(&key).map(|(begins, _)| begins)
    }

    /// Lets every key of a channel come up, as at a port; gives each key with the tick since which it was down.
    pub(super) fn all_up(&mut self, channel: u8) -> impl Iterator<Item = (u8, u64)> {
        let keys = (channel, 0)..=(channel, u8::MAX);
        let up: Vec<(u8, u64)> = self.0.range(keys).map(|((_, key), (begins, _))| (*key, *begins)).collect();
        self.0.retain(|(of, _), _| *of != channel);
        up.into_iter()
    }

    /// The keys that are still down, each with the tick since which it is.
    pub(super) fn left(self) -> impl Iterator<Item = ((u8, u8), u64)> {
        self.0.into_iter().map(|(key, (begins, _))| (key, begins))
    }
}
