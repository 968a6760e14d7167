//! Keys of a MIDI file that are held over others, and what the line would be were they not.

use crate::midi::{ChannelMessage, KeyMessage, KeysBeside, LineChoice, MANY_UNDER, WhichOfChord};
use crate::music::Concert;
use crate::notes::HeardNote;
use crate::units::Seconds;

/// Keys that go down within this may be one chord, as in `midi::KeyedLine`.
const TOGETHER: Seconds = Seconds(0.04);

/// What was said at an instant.
pub(super) type SaidAt = (Seconds, ChannelMessage);

/// A key that is held over all that follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeldOver {
    /// The key.
    pub key: Concert,
    /// Number of the keys that go down after it while it is held.
    pub keys: u32,
    /// Whether it hides them all, so that none of them counts; else it is a note of the line before them.
    pub hides: bool,
}

/// How else a file may be read in which keys are held over others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeldReading {
    /// As if each key were let go when the next goes down.
    LetGo,
    /// Without a key that is held over all that follow, or that never comes up.
    Without(Concert),
}

/// The line by another reading.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherLine {
    /// The reading.
    pub reading: HeldReading,
    /// The notes.
    pub line: Vec<HeardNote>,
}

/// A key from its going down to its coming up.
struct HeldKey {
    channel: u8,
    key: u8,
    begins: Seconds,
    ends: Option<Seconds>,
}

fn keys(said: &[SaidAt]) -> Vec<HeldKey> {
    let mut keys: Vec<HeldKey> = Vec::new();
    for (at, message) in said {
        let open = |key: &&mut HeldKey| key.channel == message.channel && key.ends.is_none();
        match message.what {
            KeyMessage::Down { key, .. } => {
                // A key that goes down again came up before, whatever was lost.
                keys.iter_mut().filter(open).filter(|held| held.key == key).for_each(|held| held.ends = Some(*at));
                keys.push(HeldKey { channel: message.channel, key, begins: *at, ends: None });
            }
            KeyMessage::Up { key } => {
                keys.iter_mut().filter(open).filter(|held| held.key == key).for_each(|held| held.ends = Some(*at));
            }
            KeyMessage::AllUp => keys.iter_mut().filter(open).for_each(|held| held.ends = Some(*at)),
            _ => {}
        }
    }
    keys
}

/// The key that is held over all that follow it, three or more one after the other; `hides` asks for one that counts more than all of them.
fn over_all(said: &[SaidAt], of_chord: WhichOfChord, hides: bool) -> Option<(HeldOver, Seconds)> {
    let keys = keys(said);
    let last = keys.iter().map(|key| key.begins).reduce(Seconds::max)?;
    keys.iter().find_map(|one| {
        let after = || keys.iter().filter(|other| other.begins - one.begins > TOGETHER);
        let mut distinct: Vec<Seconds> = Vec::new();
        for other in after() {
            if distinct.last().is_none_or(|before| other.begins - *before > TOGETHER) {
                distinct.push(other.begins);
            }
        }
        let counts = |other: &HeldKey| match of_chord {
            WhichOfChord::Highest => one.key > other.key,
            WhichOfChord::Lowest => one.key < other.key,
        };
        let held = distinct.len() >= MANY_UNDER as usize && one.ends.is_none_or(|ends| ends > last);
        let all = after().all(counts);
        let over = HeldOver { key: Concert(i32::from(one.key)), keys: after().count() as u32, hides: all };
        (held && (!hides || all)).then_some((over, one.begins))
    })
}

/// The key that is held over all that follow and hides them, or else one that is a note of the line before them.
pub(super) fn held_over(
    said: &[SaidAt],
    of_chord: WhichOfChord,
    line: &[HeardNote],
    beside: &KeysBeside,
) -> Option<HeldOver> {
    let hiding = over_all(said, of_chord, true).map(|(over, _)| over).filter(|_| beside.hidden > 0);
    let counts = |over: &HeldOver, begins: Seconds| {
        line.iter().any(|note| note.onset == begins && note.pitch.nearest() == over.key.0)
    };
    let before = || over_all(said, of_chord, false).filter(|(over, begins)| !over.hides && counts(over, *begins));
    hiding.or_else(|| before().map(|(over, _)| over))
}

/// The lines by other readings, where keys were left out, one is held over all others or one never comes up (`never`, where it is one
/// alone); `heard` gives the line of messages.
pub(super) fn other_lines(
    said: &[SaidAt],
    choice: LineChoice,
    hidden: u32,
    never: Option<Concert>,
    heard: &dyn Fn(&[SaidAt]) -> Vec<HeardNote>,
) -> Vec<OtherLine> {
    let let_go = (hidden > 0).then(|| OtherLine { reading: HeldReading::LetGo, line: heard(&each_let_go(said)) });
    let leaving_out = |one: Concert, from: Seconds| {
        let is_it = |(at, message): &SaidAt| match message.what {
            KeyMessage::Down { key, .. } | KeyMessage::Up { key } => *at >= from && Concert(i32::from(key)) == one,
            _ => false,
        };
        let rest: Vec<SaidAt> = said.iter().copied().filter(|one| !is_it(one)).collect();
        OtherLine { reading: HeldReading::Without(one), line: heard(&rest) }
    };
    let without = over_all(said, choice.of_chord, false).map(|(over, begins)| leaving_out(over.key, begins));
    let never = never.map(|key| leaving_out(key, Seconds(0.0)));
    [let_go, without, never].into_iter().flatten().filter(|other| !other.line.is_empty()).collect()
}

/// The messages as if each key came up when the next goes down that is no chord with it.
fn each_let_go(said: &[SaidAt]) -> Vec<SaidAt> {
    let (mut down, mut all): (Vec<(Seconds, u8, u8)>, Vec<SaidAt>) = (Vec::new(), Vec::with_capacity(said.len()));
    for &(at, message) in said {
        let channel = message.channel;
        match message.what {
            KeyMessage::Down { key, .. } => {
                for (_, channel, key) in down.extract_if(.., |(begins, ..)| at - *begins > TOGETHER) {
                    all.push((at, ChannelMessage { channel, what: KeyMessage::Up { key } }));
                }
                down.push((at, channel, key));
                all.push((at, message));
            }
            KeyMessage::Up { key } => {
                let before = down.len();
                down.retain(|held| (held.1, held.2) != (channel, key));
                all.extend((down.len() < before).then_some((at, message)));
            }
            _ => all.push((at, message)),
        }
    }
    all
}
