use crate::backing::bass::{BassMemory, BassNote, BassStretch, line};
use crate::backing::comp::{marked, places};
use crate::backing::tones::ChordTones;
use crate::backing::voicing::shell;
use crate::backing::wish::{BandWish, TimeKeeping};
use crate::chart::{Change, Chorus};
use crate::music::{Concert, Degree};
use crate::pattern::swing_at;
use crate::units::{SampleIndex, rank};

/// A chorus is to differ from this many choruses before it.
const REMEMBERED: usize = 32;
/// How often one chorus is drawn at most, until it differs from those before.
const DRAWS: usize = 16;
/// The longest time a chord of a chorus sounds, in seconds. It sounds for half a beat, or four fifths of the way to the next chord,
/// where that is shorter.
const SHORT: f64 = 0.25;
/// How long the last chord sounds, in beats.
const END: f64 = 2.0;

/// One note of the band, with its place in samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandNote {
    /// The first sample of the sound, counted from the first sample of the band.
    pub at: SampleIndex,
    /// The sample after the last of the sound; a brush and a click have a length of their own instead.
    pub until: SampleIndex,
    /// What sounds.
    pub sound: BandSound,
}

/// What one note of the band is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BandSound {
    /// A plucked bass string.
    Bass(Concert),
    /// One voice of a short chord.
    Chord(Concert),
    /// A brush; the number seeds its noise.
    Brush(u32),
    /// A click, higher on the first beat of a bar.
    Click {
        /// Whether the click falls on the first beat of a bar.
        first: bool,
    },
}

/// What the band remembers from one chorus to the next.
#[derive(Debug, Clone)]
pub(super) struct Memory {
    bass: BassMemory,
    shell: Option<[i32; 2]>,
    rhythm: usize,
    /// The likenesses ([`likeness`]) of the choruses before, [`REMEMBERED`] at most.
    before: Vec<u64>,
}

impl Memory {
    /// Nothing played yet.
    pub(super) const fn new() -> Self {
        Self { bass: BassMemory::NONE, shell: None, rhythm: usize::MAX, before: Vec::new() }
    }
}

/// A note with its place in beats from the start of the stretch it is planned in (lead-in, pick-up, chorus or end), swung where the
/// band swings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Struck {
    /// Where the note begins, in beats from the start of that stretch.
    pub at: f64,
    /// How long it sounds, in beats.
    pub beats: f64,
    /// What sounds.
    pub sound: BandSound,
}

/// The stays of some changes, one each. The first counts as a new chord where `first_is_fresh` is true, every other one where its chord
/// differs from the chord before.
pub(super) fn bass_stretches(changes: &[Change], first_is_fresh: bool) -> Vec<BassStretch> {
    let fresh = |n: usize| match n.checked_sub(1).and_then(|before| changes.get(before)) {
        Some(before) => before.chord != changes[n].chord,
        None => first_is_fresh,
    };
    let stay = |(n, change): (usize, &Change)| BassStretch {
        at: change.at,
        beats: change.beats,
        tones: change.chord.as_ref().map(ChordTones::of),
        fresh: fresh(n),
    };
    changes.iter().enumerate().map(stay).collect()
}

/// The notes of one chorus, which differs from those before if [`DRAWS`] draws are enough. `next` is the chorus that follows.
pub(super) fn chorus(
    own: &Chorus,
    next: Option<&Chorus>,
    wish: &BandWish,
    memory: &mut Memory,
    draw: &mut dyn FnMut() -> f64,
) -> Vec<Struck> {
    let mut drawn = (Vec::new(), memory.clone());
    for _ in 0..DRAWS {
        let mut tried = memory.clone();
        let notes = once(own, next, wish, &mut tried, draw);
        drawn = (notes, tried);
        if !memory.before.contains(&likeness(&drawn.0)) {
            break;
        }
    }
    let (notes, mut after) = drawn;
    if after.before.len() >= REMEMBERED {
        after.before.remove(0);
    }
    after.before.push(likeness(&notes));
    *memory = after;
    notes
}

/// A number for comparing choruses: another one where bass or chords differ (FNV-1a, 64 bits).
fn likeness(notes: &[Struck]) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325u64;
    for note in notes {
        let (kind, pitch) = match note.sound {
            BandSound::Bass(pitch) => (1, pitch.0),
            BandSound::Chord(pitch) => (2, pitch.0),
            _ => continue,
        };
        for part in [note.at.to_bits(), kind, u64::from(pitch.unsigned_abs())] {
            hash = (hash ^ part).wrapping_mul(0x0100_0000_01b3);
        }
    }
    hash
}

fn once(
    own: &Chorus,
    next: Option<&Chorus>,
    wish: &BandWish,
    memory: &mut Memory,
    draw: &mut dyn FnMut() -> f64,
) -> Vec<Struck> {
    let mut notes = Vec::new();
    let stays = bass_stretches(&own.changes, true);
    if let Some(kind) = wish.bass {
        let next = next.and_then(|next| self::bass_stretches(next.changes.get(..1)?, true).into_iter().next());
        let played = line(kind, &stays, next.as_ref(), &mut memory.bass, draw);
        let sound = |note: BassNote| Struck { at: note.at, beats: note.beats, sound: BandSound::Bass(note.pitch) };
        notes.extend(played.into_iter().map(sound));
    }
    for bar in 0..own.bars {
        let first = bar * own.meter;
        let under: Vec<&BassStretch> =
            stays.iter().filter(|stay| (first..first + own.meter).contains(&stay.at)).collect();
        if wish.chords {
            comp(first, own.meter, &under, wish, memory, &mut notes, draw);
        }
        if let Some(pulse) = wish.pulse {
            let sound = |draw: &mut dyn FnMut() -> f64| match pulse {
                TimeKeeping::Brush => BandSound::Brush((draw() * f64::from(u32::MAX)) as u32),
                TimeKeeping::Click => BandSound::Click { first: false },
            };
            for beat in marked(own.meter) {
                notes.push(Struck { at: f64::from(first + beat), beats: 0.5, sound: sound(draw) });
            }
        }
    }
    notes.sort_by_cached_key(|note| rank(note.at));
    notes
}

/// Adds the chords of one bar, which begins on beat `first`, to `notes`.
fn comp(
    first: u32,
    meter: u32,
    under: &[&BassStretch],
    wish: &BandWish,
    memory: &mut Memory,
    notes: &mut Vec<Struck>,
    draw: &mut dyn FnMut() -> f64,
) {
    let starts: Vec<u32> = under.iter().map(|stay| stay.at - first).collect();
    let ratio = if wish.swing { swing_at(wish.tempo) } else { 1.0 };
    let struck = places(meter, &starts, &mut memory.rhythm, draw);
    let swung = |place: f64| place.floor() + if place.fract() > 0.0 { ratio / (1.0 + ratio) } else { 0.0 };
    for (n, place) in struck.iter().enumerate() {
        let stay = under.iter().rev().find(|stay| f64::from(stay.at - first) <= *place);
        let Some(tones) = stay.and_then(|stay| stay.tones.as_ref()) else { continue };
        let (voices, colour) = shell(tones, memory.shell);
        memory.shell = Some(voices);
        let at = swung(*place);
        let room = struck.get(n + 1).map_or(1.0, |next| swung(*next) - at);
        let beats = (0.5f64).min(SHORT * wish.tempo.0 / 60.0).min(0.8 * room);
        for voice in voices.into_iter().chain(colour) {
            let sound = BandSound::Chord(Concert(voice));
            notes.push(Struck { at: f64::from(first) + at, beats, sound });
        }
    }
}

/// The notes of the form's pick-up, in beats from its own first beat; they sound in the last beats of the lead-in.
pub(super) fn pickup(own: &Chorus, wish: &BandWish, memory: &mut Memory, draw: &mut dyn FnMut() -> f64) -> Vec<Struck> {
    let stays = bass_stretches(&own.pickup, true);
    let next = self::bass_stretches(own.changes.get(..1).unwrap_or_default(), true).into_iter().next();
    let played = wish.bass.map(|kind| line(kind, &stays, next.as_ref(), &mut memory.bass, draw));
    let sound = |note: BassNote| Struck { at: note.at, beats: note.beats, sound: BandSound::Bass(note.pitch) };
    let mut notes: Vec<Struck> = played.into_iter().flatten().map(sound).collect();
    if wish.chords {
        notes.extend(stays.iter().flat_map(|stay| struck(stay, f64::from(stay.at), 0.4, memory)));
    }
    notes.sort_by_cached_key(|note| rank(note.at));
    notes
}

/// The notes of the end: bass and chord, struck once and held, on the last chord of the form whose root is the tonic, or on its first
/// chord where none is.
pub(super) fn end(own: &Chorus, wish: &BandWish, memory: &mut Memory, draw: &mut dyn FnMut() -> f64) -> Vec<Struck> {
    let home = |change: &&Change| change.place.as_ref().is_some_and(|place| place.root == Degree::TONIC);
    let last = own.changes.iter().rev().find(home).or(own.changes.first());
    let Some(last) = last.map(|change| Change { at: 0, beats: 1, ..change.clone() }) else { return Vec::new() };
    let stays = bass_stretches(std::slice::from_ref(&last), true);
    let mut notes = Vec::new();
    if let Some(kind) = wish.bass {
        for note in line(kind, &stays, None, &mut memory.bass, draw) {
            notes.push(Struck { at: 0.0, beats: END, sound: BandSound::Bass(note.pitch) });
        }
    }
    if wish.chords {
        notes.extend(stays.iter().flat_map(|stay| struck(stay, 0.0, END, memory)));
    }
    notes
}

/// The notes of one chord, struck once.
fn struck(stay: &BassStretch, at: f64, beats: f64, memory: &mut Memory) -> Vec<Struck> {
    let Some(tones) = &stay.tones else { return Vec::new() };
    let (voices, colour) = shell(tones, memory.shell);
    memory.shell = Some(voices);
    let sound = |voice| Struck { at, beats, sound: BandSound::Chord(Concert(voice)) };
    voices.into_iter().chain(colour).map(sound).collect()
}
