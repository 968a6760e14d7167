use std::collections::VecDeque;

use crate::midi::bending::Bending;
use crate::midi::doubtful::{Doubtful, doubt, softly_beside};
use crate::midi::hiding::{Strike, counting, hidden, hide, over};
use crate::midi::shaping::{Shaping, level};
use crate::midi::steering::Pedals;
use crate::midi::{
    ChannelMessage, ChannelSet, KeyMessage, KeySlip, KeySlips, KeysBeside, LineChoice, LongHolds, Steer, SteeringKey,
    WhichOfChord,
};
use crate::notes::{HeardNote, NoteEvent};
use crate::units::{Midi, Seconds};

/// Keys that go down within this are one chord: pianists strike its notes up to some 30 ms apart, the melody first (Goebl 2001,
/// from memory); the sixteenths of a line at quarter = 300 lie 50 ms apart.
const TOGETHER: Seconds = Seconds(0.04);
/// A key that "goes down" again within this was sent twice: by a local echo, or by two channels of one keyboard.
const TWICE: Seconds = Seconds(0.03);
/// A pad says at once that it is up again; such a note lasts at least this long, unless the next one begins.
const STRUCK: Seconds = Seconds(0.04);
/// A key that is held for at least this long is no pad that is up again at once.
const HELD: Seconds = Seconds(0.01);
/// A key that is down for less than this beside a longer note of the line was brushed on the way (common practice).
const BRUSHED: Seconds = Seconds(0.1);
/// No line asks for a longer note than this: the message that the key came up was lost.
const STUCK: Seconds = Seconds(20.0);
/// Fingers that play legato hold a key for less than this over the next (keys overlap by some hundredths to two tenths of a second:
/// Repp 1995, from memory); held longer, it is a note under which another hand plays.
const LEGATO: Seconds = Seconds(0.2);
/// The line that a player of keys plays: one note at a time, whatever the hands hold besides.
///
/// A note ends where its key comes up or the next note begins. Of keys that go down together one counts, and of two hands one: where the
/// highest counts, a key that goes down under a higher one that is held is the next note only if the higher one comes up within [`LEGATO`],
/// and before the lower one does (mirrored where the lowest counts). A key that goes down over a neighbour which is held is the next note
/// unless it comes up within [`BRUSHED`], and before the neighbour does. Until that is known the note waits, and then begins when it was
/// struck. The sustain pedal changes nothing: the key alone says how long a note lasts. Pitch is whole half steps without a spread, so that
/// intonation is not judged, except where the player says that the instrument is tuned by its bend: then it is the middle of what was bent
/// over the note.
#[derive(Debug, Clone, Default)]
pub struct KeyedLine {
    choice: LineChoice,
    /// Keys that are down.
    down: Vec<Strike>,
    /// The keys that went down last, in that order, while more may follow.
    gathering: Vec<Strike>,
    /// Keys that are down under one that counts more, each under the one before it, while the one above may come up yet.
    waiting: VecDeque<Strike>,
    /// The key that may have been brushed over a neighbour, until that is known.
    doubtful: Option<Doubtful>,
    /// The note of the line that sounds, and how it was struck.
    sounding: Option<(Strike, HeardNote)>,
    shaping: Shaping,
    /// How the bend of the note that sounds moves.
    bending: Bending,
    /// Number of the next note.
    next: u32,
    /// Number of keys that were struck so far.
    struck: u32,
    /// Those of them that were brushed, and those that were if the note that sounds is held for long enough.
    brushed: KeySlips,
    perhaps_brushed: Vec<KeySlip>,
    /// Those that bounced.
    bounced: KeySlips,
    /// Number of keys beyond those that are listened to.
    outside: u32,
    /// The keys that hid the most others.
    long: LongHolds,
    /// The channels on which keys went down.
    channels: ChannelSet,
    pedals: Pedals,
    /// The key or pedal that was pressed last, until somebody looks.
    pressed: Option<SteeringKey>,
    /// What was asked for, until somebody looks.
    asked: Option<Steer>,
}

impl KeyedLine {
    /// A line in which no key was pressed yet.
    #[must_use]
    pub fn new(choice: LineChoice) -> Self {
        Self { choice, ..Self::default() }
    }

    /// Whether a message is for the line: it comes on the channel of the line, is of its keys, and is no key that asks for something. A
    /// pedal passes, for it sounds nothing.
    #[must_use]
    pub fn plays(&self, said: ChannelMessage) -> bool {
        let other = match said.what {
            KeyMessage::Down { key, .. } | KeyMessage::Up { key } => {
                self.choice.steering.of(SteeringKey::Key(key)).is_some() || !self.listens_to(key)
            }
            _ => false,
        };
        !other && self.choice.channel.is_none_or(|channel| channel == said.channel)
    }

    fn listens_to(&self, key: u8) -> bool {
        self.choice.keys.is_none_or(|span| span.holds(key))
    }

    /// Takes in what was said at an instant, which is not before the last; tells what became known of the line.
    pub fn take(&mut self, said: ChannelMessage, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        if self.choice.channel.is_some_and(|channel| channel != said.channel) {
            if matches!(said.what, KeyMessage::Down { key, .. } if self.listens_to(key)) {
                self.channels.add(said.channel);
            }
            return;
        }
        self.until(at, tell);
        let open = self.sounding.map(|(_, note)| note.onset).or(self.open_since());
        self.shaping.forget(open.map_or(at, |open| open.min(at)));
        self.shaping.take(said, at);
        match said.what {
            KeyMessage::Down { key, .. } if self.asks(SteeringKey::Key(key)) => {}
            KeyMessage::Down { key, .. } if !self.listens_to(key) => self.outside += 1,
            KeyMessage::Down { key, velocity } => {
                self.apart(key, at, tell);
                self.strike(Strike::new(said.channel, key, velocity, at));
            }
            KeyMessage::Up { key } => self.release(key, at, tell),
            KeyMessage::AllUp => self.all_up(said.channel, at, tell),
            KeyMessage::Control { number, value } => {
                if let Some(pedal) = self.pedals.moved(number, value) {
                    self.asks(pedal);
                }
            }
            KeyMessage::Bend { .. } if self.sounding.is_some_and(|(strike, _)| strike.channel == said.channel) => {
                self.bending.bent(self.shaping.bend_of(said.channel), at);
            }
            KeyMessage::Bend { .. } | KeyMessage::Pressure { .. } => {}
        }
    }

    /// Takes in that time has come to `now`: a chord may be complete, a key under a held one may be no legato any more, and a stuck key is
    /// let go.
    pub fn until(&mut self, now: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        if self.gathering.first().is_some_and(|first| now - first.at > TOGETHER) {
            self.sound_chord(now, None, tell);
        }
        self.bend_away(now, tell);
        if self.doubtful.is_some_and(|doubtful| now - doubtful.strike.at >= BRUSHED) {
            self.settle(now, tell);
        }
        let legato = |strike: &Strike| now - strike.at < LEGATO;
        self.keep_waiting(legato, true);
        if let Some((strike, note)) = self.sounding
            && now - note.onset > STUCK
        {
            self.release(strike.key, note.onset + STUCK, tell);
        }
    }

    /// Where a held key is bent to another half step and stays there, that is the next note.
    fn bend_away(&mut self, now: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        let Some((strike, _)) = self.sounding.filter(|_| self.choice.bend) else { return };
        if let Some(since) = self.bending.another(now) {
            let bending = self.bending;
            self.struck += 1;
            self.begin(Strike { at: since, ..strike }, now, None, tell);
            self.bending = bending;
        }
    }

    /// Before a key goes down: where all keys that gather were held for a while and are up again, they are no chord with it, so the
    /// one of them that counts becomes the next note.
    fn apart(&mut self, key: u8, next: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        let over = |strike: &Strike| strike.up.is_some_and(|up| up - strike.at >= HELD);
        let twice = |strike: &Strike| strike.key == key && next - strike.at < TWICE;
        if self.gathering.iter().all(|strike| over(strike) && !twice(strike)) {
            self.sound_chord(next, Some(next), tell);
        }
    }

    /// The instrument says that every key of a channel is up. Those that count less come up first, for none of them was a line.
    fn all_up(&mut self, channel: u8, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        let mut keys: Vec<u8> = self.down.iter().filter(|held| held.channel == channel).map(|held| held.key).collect();
        keys.sort_unstable_by_key(|key| match self.choice.of_chord {
            WhichOfChord::Highest => *key,
            WhichOfChord::Lowest => u8::MAX - *key,
        });
        keys.into_iter().for_each(|key| self.release(key, at, tell));
    }

    /// What was played beside the line so far.
    #[must_use]
    pub fn beside(&self) -> KeysBeside {
        let waiting = self.waiting.len() + usize::from(self.doubtful.is_some());
        let open = self.next as usize + self.gathering.len() + waiting;
        let hidden = self.struck.saturating_sub(open as u32 + self.brushed.count());
        let (brushed, bounced) = (self.brushed, self.bounced);
        KeysBeside { hidden, brushed, bounced, outside: self.outside, long: self.long, channels: self.channels }
    }

    /// Every key counts as up from now on: the cable is out, or nothing more comes.
    pub fn let_go(&mut self, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        self.sound_chord(at, None, tell);
        self.settle(at, tell);
        self.down.clear();
        self.uncover(at, tell);
        self.end(at, tell);
    }

    /// The instant from which something may still become known of what was taken in.
    #[must_use]
    pub fn open_since(&self) -> Option<Seconds> {
        let doubtful = self.doubtful.map(|doubtful| doubtful.begins());
        let first = self.waiting.front().or(self.gathering.first()).map(|first| first.at);
        doubtful.into_iter().chain(first).reduce(Seconds::min)
    }

    /// The key or pedal that was pressed last, once.
    pub const fn pressed(&mut self) -> Option<SteeringKey> {
        self.pressed.take()
    }

    /// What was asked for, once.
    pub const fn asked(&mut self) -> Option<Steer> {
        self.asked.take()
    }

    /// Takes in that something is pressed; gives whether that asks for something.
    fn asks(&mut self, presser: SteeringKey) -> bool {
        self.pressed = Some(presser);
        let steer = self.choice.steering.of(presser);
        self.asked = steer.or(self.asked);
        steer.is_some()
    }

    fn strike(&mut self, strike: Strike) {
        let twice = |known: &Strike| known.key == strike.key && strike.at - known.at < TWICE;
        if let Some(known) = self.gathering.iter_mut().find(|known| twice(known) && known.up.is_some()) {
            // The key bounced, or a pad is said twice: it goes on as it was struck first.
            known.up = None;
            let bounced = strike.at - known.at >= HELD;
            self.down.push(*known);
            if bounced {
                self.bounced.add(KeySlip { key: strike.key, at: strike.at });
            }
            return;
        }
        if self.down.iter().chain(&self.gathering).any(twice) {
            return;
        }
        self.down.retain(|held| held.key != strike.key);
        self.down.push(strike);
        self.gathering.push(strike);
        self.struck += 1;
        self.channels.add(strike.channel);
    }

    fn release(&mut self, key: u8, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        self.doubt_ends(key, at, tell);
        let short = self.down.iter().find(|held| held.key == key && !held.counted && at - held.at < BRUSHED).copied();
        self.down.retain(|held| held.key != key);
        if let Some(struck) = self.gathering.iter_mut().rev().find(|struck| struck.key == key) {
            struck.up.get_or_insert(at);
            return;
        }
        // What begins and ends under another key is no legato; what was brushed there is not counted as hidden by it.
        let same = |strike: &Strike| strike.key == key;
        if short.is_some() {
            self.waiting.retain(|strike| !same(strike));
        } else {
            self.keep_waiting(|strike| !same(strike), false);
        }
        let brushed = short.filter(|_| self.sounding.is_some());
        self.perhaps_brushed.extend(brushed.map(|held| KeySlip { key, at: held.at }));
        self.uncover(at, tell);
        if self.sounding.is_some_and(|(sounding, _)| sounding.key == key) {
            // A note that began before this became known ends where the next one will.
            self.end(self.doubtful.map_or(at, |doubtful| at.min(doubtful.begins())), tell);
        }
    }

    /// Before a key comes up: where it is the one that may have been brushed it was, and where it is the neighbour of that one the other
    /// is a note.
    fn doubt_ends(&mut self, key: u8, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        let Some(doubtful) = self.doubtful.filter(|doubtful| [doubtful.strike.key, doubtful.under].contains(&key))
        else {
            return;
        };
        if key == doubtful.under {
            self.settle(at, tell);
            return;
        }
        self.doubtful = None;
        // What was brushed hides nothing, and is down no more.
        self.down.retain(|held| held.key != key);
        if let Some(instead) = doubtful.instead {
            self.become_note(instead, at, None, tell);
        }
        self.perhaps_brushed.push(KeySlip { key, at: doubtful.strike.at });
    }

    /// The key that may have been brushed was not: it is the next note.
    fn settle(&mut self, known: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        if let Some(Doubtful { strike, .. }) = self.doubtful.take() {
            self.become_note(strike, known.min(strike.at + BRUSHED), None, tell);
        }
    }

    /// The key counts more than all that are held: those that waited under another are no notes.
    fn become_note(&mut self, strike: Strike, known: Seconds, next: Option<Seconds>, tell: &mut dyn FnMut(NoteEvent)) {
        self.keep_waiting(|_| false, false);
        self.begin(strike, known, next, tell);
    }

    /// After a key came up: begins the notes that waited under it and under no other key.
    fn uncover(&mut self, known: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        while let Some(next) = self.waiting.pop_front_if(|next| !hidden(&self.down, self.choice.of_chord, next)) {
            self.begin(next, known, None, tell);
        }
    }

    /// Keeps of the keys that wait those that may be notes of the line yet; the others stayed under the keys that are held over them, for
    /// longer than fingers that play legato where `long` says so.
    fn keep_waiting(&mut self, may: impl Fn(&Strike) -> bool, long: bool) {
        for strike in std::mem::take(&mut self.waiting) {
            if may(&strike) {
                self.waiting.push_back(strike);
            } else {
                hide(&mut self.down, self.choice.of_chord, &strike, long, &mut self.long);
            }
        }
    }

    /// Of the keys that went down together, the one that counts is the next note. A key that came up again before the chord
    /// was complete was brushed, where another is held.
    fn sound_chord(&mut self, known: Seconds, next: Option<Seconds>, tell: &mut dyn FnMut(NoteEvent)) {
        let struck = std::mem::take(&mut self.gathering);
        let Some(first) = struck.first() else { return };
        let known = known.min(first.at + TOGETHER);
        let held = struck.iter().any(|strike| strike.up.is_none());
        let softly = softly_beside(&struck);
        // What was brushed hides nothing.
        self.down.retain(|held| !softly.contains(&held.key));
        let (candidates, brushed): (Vec<Strike>, Vec<Strike>) =
            struck.into_iter().partition(|one| !softly.contains(&one.key) && (!held || one.up.is_none()));
        brushed.into_iter().for_each(|one| self.brushed.add(KeySlip { key: one.key, at: one.at }));
        let Some(counts) = counting(self.choice.of_chord, candidates.iter()) else { return };
        let short = |strike: &&Strike| strike.up.is_some_and(|up| up - strike.at < BRUSHED);
        let all_short = || candidates.iter().filter(short).map(|one| KeySlip { key: one.key, at: one.at });
        let of_chord = self.choice.of_chord;
        // Of two hands that play under a held key the one that counts more may be the line.
        self.keep_waiting(|strike| over(of_chord, strike.key, counts.key), false);
        if hidden(&self.down, of_chord, &counts) {
            match counts.up {
                None => self.waiting.push_back(counts),
                Some(_) => self.perhaps_brushed.extend(all_short()),
            }
            return;
        }
        self.settle(known, tell);
        let held = |one: &Strike| self.down.iter().any(|held| (held.key, held.at) == (one.key, one.at));
        let sounds = self.sounding.map(|(strike, _)| strike).filter(held);
        match doubt(of_chord, &counts, &candidates, sounds) {
            Some(_) if counts.up.is_some() => self.perhaps_brushed.extend(all_short()),
            Some(doubtful) => self.doubtful = Some(doubtful),
            None => self.become_note(counts, known, next, tell),
        }
    }

    /// A key is the next note of the line.
    fn begin(&mut self, counts: Strike, known: Seconds, next: Option<Seconds>, tell: &mut dyn FnMut(NoteEvent)) {
        self.end(counts.at, tell);
        let pitch = Midi(f64::from(counts.key));
        let struck = HeardNote {
            number: self.next,
            onset: counts.at,
            release: counts.at,
            pitch,
            spread: None,
            loudness: level(counts.velocity),
            confidence: 1.0,
            announced: known,
            announced_pitch: pitch,
        };
        let shaped = self.shaping.shaped(self.choice, &counts, struck, known);
        let note = HeardNote { announced_pitch: shaped.pitch, spread: None, ..shaped };
        self.bending = Bending::begun(counts.at, self.shaping.bend_of(counts.channel));
        self.next += 1;
        self.sounding = Some((counts, note));
        self.down.iter_mut().filter(|held| held.key == counts.key).for_each(|held| held.counted = true);
        tell(NoteEvent::On(note));
        if let Some(up) = counts.up {
            let struck = counts.at + STRUCK;
            self.end(up.max(next.map_or(struck, |next| next.min(struck))), tell);
        }
    }

    fn end(&mut self, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        if let Some((strike, note)) = self.sounding.take() {
            let release = at.max(note.onset);
            let perhaps = std::mem::take(&mut self.perhaps_brushed);
            perhaps.into_iter().filter(|_| release - note.onset >= BRUSHED).for_each(|key| self.brushed.add(key));
            tell(NoteEvent::Off(self.shaping.shaped(self.choice, &strike, HeardNote { release, ..note }, release)));
        }
    }
}
