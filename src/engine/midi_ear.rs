//! An instrument that says itself which notes it plays, in the place of an ear.

use std::thread;
use std::time::Duration;

use crate::devices::{MidiPort, MonotonicClock, PortEvent};
use crate::drill::Command;
use crate::engine::device_audio::quiet;
use crate::engine::note_source::NoteSource;
use crate::midi::{
    ChannelMessage, KeyMessage, KeyedLine, KeysBeside, LineChoice, LongHolds, PortClock, Steer, SteeringKey,
};
use crate::notes::NoteEvent;
use crate::room::{DeviceError, MidiError};
use crate::units::Seconds;
use crate::words::SoundFault;

/// Time between two looks at a port while no message comes.
const STEP: Seconds = Seconds(0.004);
/// Pause between two looks at a port from which nothing came.
const PAUSE: Duration = Duration::from_millis(2);
/// Longest time that a message may be on its way; a chord waits so long for the rest of its messages. A message that is later keeps
/// its time, because the driver stamped it, but the line went on without it, so it is reported as uneven.
const ON_ITS_WAY: Seconds = Seconds(0.01);
/// A failure of the system's MIDI is reported for at least this long, however soon it is mended, because what was played meanwhile
/// is lost.
const TOLD: Seconds = Seconds(2.0);
/// For this long it is told that keys come on another channel or on two, once for each channel, and that a held key hides others, once.
const KEYS_TOLD: Seconds = Seconds(10.0);
/// A cable that is out for no longer than this is not reported, so that it interrupts no answer.
const CABLE_OUT: Seconds = Seconds(1.0);

/// Where the instrument's messages come from: a port, or a stand-in of the tests. Instants are on the clock of the cues.
pub trait KeySource {
    /// What came next; `None` when nothing new did.
    fn next_event(&mut self) -> Option<PortEvent>;
    /// The present instant.
    fn now(&self) -> Seconds;
    /// Waits until more may have come.
    fn wait(&mut self);
}

impl KeySource for MidiPort {
    fn next_event(&mut self) -> Option<PortEvent> {
        self.next_event()
    }
    fn now(&self) -> Seconds {
        self.now()
    }
    fn wait(&mut self) {
        thread::sleep(PAUSE);
    }
}

/// A MIDI instrument as a source of notes: no sound of it is heard, and its intonation is judged only where the
/// player tunes it by pitch bend.
pub struct MidiEar<K> {
    keys: K,
    line: KeyedLine,
    /// The only channel that is listened to.
    channel: Option<u8>,
    /// When it became known last that keys come on another channel, or on two, and which.
    channels: Option<(Seconds, SoundFault)>,
    /// When it became known first that a held key hides others.
    held: Option<Seconds>,
    clock: PortClock,
    /// While the port is not open: since when, and why.
    out: Option<(Seconds, SoundFault)>,
    /// When the system's MIDI failed last.
    failed: Option<Seconds>,
    /// The instant up to which everything is known.
    known: Seconds,
    /// When the port was looked at last.
    looked: Seconds,
    /// Messages of keys that are played and that the program still has to sound; `None` where it does not sound the keys.
    played: Option<Vec<ChannelMessage>>,
}

impl MidiEar<MidiPort> {
    /// Opens the port of an instrument by its name or a part of its name; without a name, the first port. The sound libraries write
    /// nothing meanwhile.
    ///
    /// # Errors
    /// Where it is not there, or does not open.
    pub fn open(wanted: Option<&str>, clock: MonotonicClock, choice: LineChoice) -> Result<Self, DeviceError> {
        let _quiet = quiet();
        Ok(Self::new(MidiPort::open(wanted, clock)?, choice))
    }
}

impl<K: KeySource> MidiEar<K> {
    /// An ear at an open port.
    pub fn new(keys: K, choice: LineChoice) -> Self {
        Self {
            keys,
            line: KeyedLine::new(choice),
            channel: choice.channel,
            channels: None,
            held: None,
            clock: PortClock::default(),
            out: None,
            failed: None,
            known: Seconds(0.0),
            looked: Seconds(0.0),
            played: None,
        }
    }

    /// How much later than the least late message of the last twenty seconds the most delayed one arrived; `None` under eight
    /// messages. Such lateness is taken out of every instant.
    #[must_use]
    pub fn jitter(&self) -> Option<Seconds> {
        self.clock.jitter()
    }

    /// Whether the driver of the port gives no times: then a key counts from when its message arrived, and no jitter is known.
    #[must_use]
    pub const fn unstamped(&self) -> bool {
        self.clock.unstamped()
    }

    /// What was played so far beside the line.
    #[must_use]
    pub fn beside(&self) -> KeysBeside {
        self.line.beside()
    }

    /// Takes in what is played beside the line: on another channel than the one that is listened to, on a second one, or under a held key.
    fn hear_beside(&mut self, now: Seconds) {
        let beside = self.line.beside();
        if beside.long.told() != LongHolds::default() {
            self.held.get_or_insert(now);
        }
        let mut played = beside.channels.numbers();
        let fault = match (self.channel, played.next(), played.next_back()) {
            (None, Some(one), Some(other)) => SoundFault::TwoChannels(one, other),
            (Some(heard), first, last) => match [first, last].into_iter().flatten().find(|plays| *plays != heard) {
                Some(plays) => SoundFault::OtherChannel(plays, heard),
                None => return,
            },
            _ => return,
        };
        if self.channels.is_none_or(|(_, told)| told != fault) {
            self.channels = Some((now, fault));
        }
    }

    /// From now on keeps what is played until [`played`](Self::played) takes it.
    pub fn keep_played(&mut self) {
        self.played = Some(Vec::new());
    }

    /// Takes what was played since the last call.
    pub fn played(&mut self) -> impl Iterator<Item = ChannelMessage> {
        self.played.as_mut().map(|played| played.drain(..)).into_iter().flatten()
    }

    /// Counts every key as let go.
    pub fn let_go(&mut self, tell: &mut dyn FnMut(NoteEvent)) {
        self.line.let_go(self.keys.now(), tell);
    }

    /// The key or pedal that was pressed last, given once.
    pub const fn pressed(&mut self) -> Option<SteeringKey> {
        self.line.pressed()
    }

    /// The instant up to which everything is known.
    #[must_use]
    pub const fn known(&self) -> Seconds {
        self.known
    }

    fn take(&mut self, event: PortEvent, now: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        match event {
            PortEvent::Said { message, stamp_us, arrived } => {
                let at = self.clock.place(stamp_us, arrived);
                if let Some(played) = &mut self.played
                    && self.line.plays(message)
                {
                    played.push(message);
                }
                self.line.take(message, at, tell);
                self.hear_beside(now);
            }
            PortEvent::Opened { at, .. } => {
                self.clock = PortClock::opened(at);
                self.out = None;
            }
            PortEvent::Closed => {
                if let Some(played) = &mut self.played {
                    played.push(ChannelMessage { channel: 1, what: KeyMessage::AllUp });
                }
                self.line.let_go(now, tell);
                self.out = Some((now, SoundFault::Unplugged));
            }
            PortEvent::Failed(error) => {
                let (since, why) = (self.out.map_or(now, |(since, _)| since), fault(&error));
                self.out = Some((since, why));
                if why == SoundFault::MidiFailed {
                    self.failed = Some(now);
                }
            }
        }
    }
}

impl<K: KeySource> NoteSource for MidiEar<K> {
    fn listen(&mut self, tell: &mut dyn FnMut(&NoteEvent)) -> Option<Seconds> {
        let now = self.keys.now();
        let (mut came, mut tell) = (false, |event: NoteEvent| tell(&event));
        while let Some(event) = self.keys.next_event() {
            came = true;
            self.take(event, now, &mut tell);
        }
        if !came && now - self.looked < STEP {
            return None;
        }
        self.looked = now;
        self.line.until(now - ON_ITS_WAY, &mut tell);
        let known = self.line.open_since().map_or(now, |open| open.min(now));
        self.known = known.max(self.known);
        Some(self.known)
    }

    fn wait(&mut self) {
        self.keys.wait();
    }

    fn asked(&mut self) -> Option<Command> {
        Some(match self.line.asked()? {
            Steer::Pause => Command::Pause,
            Steer::Again => Command::Again,
            Steer::Misheard => Command::Misheard,
        })
    }

    fn trouble(&mut self) -> Option<SoundFault> {
        let now = self.keys.now();
        if self.failed.is_some_and(|at| now - at < TOLD) {
            return Some(SoundFault::MidiFailed);
        }
        let out = self.out.filter(|(since, _)| now - *since > CABLE_OUT).map(|(_, why)| why);
        let channels = self.channels.filter(|(since, _)| now - *since < KEYS_TOLD).map(|(_, fault)| fault);
        let held = self.held.filter(|since| now - *since < KEYS_TOLD).map(|_| SoundFault::KeyHeld);
        let late = self.clock.jitter().filter(|jitter| *jitter > ON_ITS_WAY);
        out.or(channels).or(held).or(late.map(|jitter| SoundFault::Uneven(jitter.ms().round() as u16)))
    }
}

/// The fault that a drill reports for this error.
const fn fault(error: &MidiError) -> SoundFault {
    match error {
        MidiError::NoPort | MidiError::Unknown { .. } | MidiError::Gone(_) => SoundFault::Unplugged,
        MidiError::Taken { .. } => SoundFault::MidiTaken,
        MidiError::Forbidden(_) => SoundFault::MidiForbidden,
        MidiError::NoSystem(_) | MidiError::Silent | MidiError::Broke(_) => SoundFault::MidiFailed,
    }
}
