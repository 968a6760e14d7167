//! Keys of a MIDI file that are held over others, and what the line would be were they not.

use crate::midi::{ChannelMessage, KeyMessage, KeysBeside, LineChoice, MANY_UNDER, WhichOfChord};
use crate::music::Concert;
use crate::notes::HeardNote;
use crate::units::Seconds;

/// Keys that go down within this may be one chord, as in `midi::KeyedLine`.
const TOGETHER: Seconds = Seconds(0.04);
/// Two hands that play in octaves come together within this (common practice: nearer; a beginner's hands come apart).
const TWO_HANDS: Seconds = Seconds(0.1);

/// A bass lies as far as this, or further, from every note of the line over it, half steps: an octave.
const FAR: i32 = 12;
/// A line that fingers play legato leaps no further, half steps: a fifth.
const LEAP: i32 = 7;

/// What was said at an instant.
pub(super) type SaidAt = (Seconds, ChannelMessage);

/// A key, or a chord, that is held over a third or more of what follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldOver {
    /// The key, or the keys that went down together, in that order.
    pub chord: Vec<Concert>,
    /// Number of the keys that go down after it while it is held.
    pub keys: u32,
    /// Whether it hides them all, so that none of them counts; else it is a note of the line before them.
    pub hides: bool,
}

/// How else a file may be read in which keys are held over others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HeldReading {
    /// As if each key were let go when the next goes down.
    LetGo,
    /// Without a key or a chord that is held over most of what follows, or a key that never comes up.
    Without(Vec<Concert>),
    /// Without the hand that doubles the other in octaves, and not quite together with it.
    OneOfOctaves,
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

/// The key that is held over a third or more of what follows it, three or more one after the other, with those that went down together with it
/// and are held as long, and when each of them went down; `hides` asks for one that counts more than all under it.
fn over_all(said: &[SaidAt], of_chord: WhichOfChord, hides: bool) -> Option<(HeldOver, Vec<Seconds>)> {
    let keys = keys(said);
    let under = |one: &HeldKey, at: Seconds| at - one.begins > TOGETHER && one.ends.is_none_or(|ends| ends > at);
    let long = |one: &HeldKey| {
        let follow = || keys.iter().filter(|other| other.begins - one.begins > TOGETHER);
        follow().count() <= 3 * follow().filter(|other| under(one, other.begins)).count()
    };
    keys.iter().enumerate().filter(|(_, one)| long(one)).find_map(|(n, one)| {
        // A rolled chord goes on while each key follows the one before it at once.
        let mut chord = vec![one];
        for next in keys[n + 1..].iter().filter(|next| long(next)) {
            let follows = chord.last().is_some_and(|before| next.begins - before.begins <= TOGETHER);
            chord.extend(follows.then_some(next));
        }
        let in_chord = |other: &HeldKey| chord.iter().any(|one| (one.key, one.begins) == (other.key, other.begins));
        let all_under = |other: &&HeldKey| chord.iter().all(|one| under(one, other.begins));
        let after = || keys.iter().filter(all_under).filter(|other| !in_chord(other));
        let mut distinct: Vec<Seconds> = Vec::new();
        for other in after() {
            if distinct.last().is_none_or(|before| other.begins - *before > TOGETHER) {
                distinct.push(other.begins);
            }
        }
        let counts = |other: &HeldKey| match of_chord {
            WhichOfChord::Highest => chord.iter().any(|one| one.key > other.key),
            WhichOfChord::Lowest => chord.iter().any(|one| one.key < other.key),
        };
        let all = after().all(counts);
        let named = chord.iter().map(|one| Concert(i32::from(one.key))).collect();
        let over = HeldOver { chord: named, keys: after().count() as u32, hides: all };
        let begins = chord.iter().map(|one| one.begins).collect();
        (distinct.len() >= MANY_UNDER as usize && (!hides || all)).then_some((over, begins))
    })
}

/// The key or chord that is held over all that follow and hides them, or else one that is a note of the line before them.
pub(super) fn held_over(
    said: &[SaidAt],
    of_chord: WhichOfChord,
    line: &[HeardNote],
    beside: &KeysBeside,
) -> Option<HeldOver> {
    let hiding = over_all(said, of_chord, true).map(|(over, _)| over).filter(|_| beside.hidden > 0);
    let counts = |over: &HeldOver, begins: &[Seconds]| {
        let heard = |at, key: &Concert| line.iter().any(|note| note.onset == at && note.pitch.nearest() == key.0);
        over.chord.iter().zip(begins).any(|(key, at)| heard(*at, key))
    };
    let before = || over_all(said, of_chord, false).filter(|(over, begins)| !over.hides && counts(over, begins));
    hiding.or_else(|| before().map(|(over, _)| over))
}

/// The reading of a file by which its line is taken where nobody says which line is meant: without a bass that is held under all of it and
/// counts as a note before it, or as if each key were let go with the next, where the line then moves on in small steps, as fingers do that
/// play legato, and the held keys hide part of it; `None` for the usual one.
pub(super) fn line_meant<'a>(
    line: &[HeardNote],
    others: &'a [OtherLine],
    told: &[HeldOver],
    hides: bool,
) -> Option<&'a OtherLine> {
    let far = |keys: &[Concert], line: &[HeardNote]| {
        line.iter().all(|note| keys.iter().all(|key| (note.pitch.nearest() - key.0).abs() >= FAR))
    };
    let near = |line: &[HeardNote]| {
        line.windows(2).all(|pair| (pair[0].pitch.nearest() - pair[1].pitch.nearest()).abs() <= LEAP)
    };
    others.iter().find(|other| match &other.reading {
        HeldReading::Without(keys) => {
            told.iter().any(|held| !held.hides && held.chord == *keys) && far(keys, &other.line) && other.line.len() > 1
        }
        HeldReading::LetGo => hides && near(&other.line) && other.line.len() > line.len(),
        HeldReading::OneOfOctaves => false,
    })
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
    let leaving_out = |out: Vec<Concert>, from: Seconds| {
        let is_it = |(at, message): &SaidAt| match message.what {
            KeyMessage::Down { key, .. } | KeyMessage::Up { key } => {
                *at >= from && out.contains(&Concert(i32::from(key)))
            }
            _ => false,
        };
        let rest: Vec<SaidAt> = said.iter().copied().filter(|one| !is_it(one)).collect();
        OtherLine { line: heard(&rest), reading: HeldReading::Without(out) }
    };
    let held = over_all(said, choice.of_chord, false).map(|(over, begins)| (over.chord, begins[0]));
    // What goes down together with a bass may be the first note of the line.
    let first = held.clone().filter(|(chord, _)| chord.len() > 1);
    let first = first.map(|(chord, begins)| leaving_out(vec![chord[0]], begins));
    let without = held.map(|(chord, begins)| leaving_out(chord, begins));
    let never = never.map(|key| leaving_out(vec![key], Seconds(0.0)));
    let octaves = one_of_octaves(said, choice.of_chord);
    let octaves = octaves.map(|rest| OtherLine { reading: HeldReading::OneOfOctaves, line: heard(&rest) });
    [let_go, without, first, never, octaves].into_iter().flatten().filter(|other| !other.line.is_empty()).collect()
}

/// The messages without every key that is doubled by one that counts more, an octave or octaves away, where three or more are, one key in
/// three at least (elsewhere a chord beside the line has its octave by chance), and one of these does not come together with its double;
/// `None` elsewhere.
fn one_of_octaves(said: &[SaidAt], of_chord: WhichOfChord) -> Option<Vec<SaidAt>> {
    let keys = keys(said);
    let apart = |one: &HeldKey| {
        let counts = |other: &&HeldKey| match of_chord {
            WhichOfChord::Highest => other.key > one.key,
            WhichOfChord::Lowest => other.key < one.key,
        };
        let octave = |other: &&HeldKey| other.key.abs_diff(one.key).is_multiple_of(12);
        let doubles = keys.iter().filter(counts).filter(octave).map(|other| (other.begins - one.begins).abs());
        doubles.reduce(Seconds::min).filter(|apart| *apart <= TWO_HANDS)
    };
    let doubled: Vec<(&HeldKey, Seconds)> = keys.iter().filter_map(|one| Some((one, apart(one)?))).collect();
    if doubled.len() < MANY_UNDER as usize
        || 3 * doubled.len() < keys.len()
        || doubled.iter().all(|(_, apart)| *apart <= TOGETHER)
    {
        return None;
    }
    let left_out = |(at, message): &SaidAt| {
        doubled.iter().any(|(one, _)| match message.what {
            KeyMessage::Down { key, .. } => (one.channel, one.key, one.begins) == (message.channel, key, *at),
            KeyMessage::Up { key } => (one.channel, one.key, one.ends) == (message.channel, key, Some(*at)),
            _ => false,
        })
    };
    Some(said.iter().copied().filter(|one| !left_out(one)).collect())
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
