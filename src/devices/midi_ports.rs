//! A MIDI instrument that may be plugged in, pulled out and plugged in again.
//!
//! A thread of its own looks four times a second whether the port is there: opening and listing can block, and every system reports
//! in its own way that a cable is out. A port that was opened once is found again by its name. One that went and came back between
//! two looks has another id, or the system no longer joins it to this program (ALSA gives an instrument its old numbers again): it
//! is opened anew.

use std::any::Any;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, TryRecvError, channel};
use std::thread;
use std::time::Duration;

use crate::midi::{ChannelMessage, MessageReader};
use crate::room::{DeviceError, MidiError};
use crate::units::Seconds;

use super::midi_guard::{Listens, guarded};
use super::midi_system::{MidiSystem, SystemPort, SystemPorts};
use super::stream_counters::MonotonicClock;

/// How often the ports are looked at.
const LOOK: Duration = Duration::from_millis(250);
/// Longest time for which a port may take to open.
const OPENS: Duration = Duration::from_secs(5);
/// Parts of the names of ports that the system makes itself and nobody plays, in lower case.
const NOBODY: [&str; 2] = ["midi through", "rtpmidi announcements"];

/// What happened to a port, or came from it.
#[derive(Debug, Clone, PartialEq)]
pub enum PortEvent {
    /// The port is open.
    Opened {
        /// The port's name, for people.
        name: String,
        /// When the port opened: many drivers count their stamps from there.
        at: Seconds,
    },
    /// The port is gone; it is opened again when it comes back.
    Closed,
    /// The port does not open; it is tried again.
    Failed(MidiError),
    /// The instrument said something.
    Said {
        /// The message.
        message: ChannelMessage,
        /// The driver's stamp, in microseconds from an origin of the driver's own.
        stamp_us: u64,
        /// When the message arrived, on the clock that all devices share.
        arrived: Seconds,
    },
}

/// Names of the instruments that are there, without the ports that nobody plays.
///
/// # Errors
/// Where the system has no MIDI, or keeps it to itself.
pub fn midi_instruments() -> Result<Vec<String>, MidiError> {
    Ok(played(guarded(|| SystemPorts::default().ports())?).iter().map(|port| called(&port.name).to_owned()).collect())
}

/// A MIDI instrument, plugged in or not: what its thread reports of its port.
#[derive(Debug)]
pub struct MidiPort {
    /// The events of the port; `None` when the thread that kept the port is gone.
    events: Option<Receiver<PortEvent>>,
    /// The event that the port opened, kept until it was given out.
    opened: Option<PortEvent>,
    clock: MonotonicClock,
    /// The thread ends when this is dropped.
    _until_dropped: Sender<()>,
}

impl MidiPort {
    /// Opens the port of a name or of a part of one; without a name, the first.
    ///
    /// # Errors
    /// Where the port is not there, or does not open.
    pub fn open(wanted: Option<&str>, clock: MonotonicClock) -> Result<Self, DeviceError> {
        let (tell, events) = channel();
        let (until_dropped, dropped) = channel();
        let wanted = wanted.map(str::to_owned);
        let keep = move || {
            let mut keeper = PortKeeper::new(SystemPorts::default(), wanted, tell, move || clock.now());
            while matches!(
                dropped.recv_timeout(if keeper.looked { LOOK } else { Duration::ZERO }),
                Err(RecvTimeoutError::Timeout)
            ) {
                keeper.look();
            }
        };
        let spawned = thread::Builder::new().name("midi".to_owned()).spawn(keep);
        let silent = || DeviceError::from(MidiError::Silent);
        spawned.map_err(|_| silent())?;
        loop {
            return match events.recv_timeout(OPENS) {
                // A key may go down while the port opens.
                Ok(PortEvent::Said { .. }) => continue,
                Ok(opened @ PortEvent::Opened { .. }) => {
                    Ok(Self { events: Some(events), opened: Some(opened), clock, _until_dropped: until_dropped })
                }
                Ok(PortEvent::Failed(error)) => Err(error.into()),
                _ => Err(silent()),
            };
        }
    }

    /// The next event; `None` when nothing new came.
    pub fn next_event(&mut self) -> Option<PortEvent> {
        if let opened @ Some(_) = self.opened.take() {
            return opened;
        }
        match self.events.as_ref()?.try_recv() {
            Ok(event) => Some(event),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => {
                self.events = None;
                Some(PortEvent::Failed(MidiError::Silent))
            }
        }
    }

    /// The present instant on the clock that all devices share.
    #[must_use]
    pub fn now(&self) -> Seconds {
        self.clock.now()
    }
}

/// Keeps a port open as long as it is there.
pub struct PortKeeper<S, C> {
    system: S,
    wanted: Option<String>,
    tell: Sender<PortEvent>,
    clock: C,
    open: Option<OpenPort>,
    /// The error that was reported last; `None` after the port opened.
    reported: Option<MidiError>,
    /// Whether the ports were looked at yet.
    looked: bool,
}

/// A port that is open.
struct OpenPort {
    port: SystemPort,
    /// Whether somebody still listens to the port.
    listens: Arc<AtomicBool>,
    /// What keeps the port open until it is dropped.
    connection: Option<Box<dyn Any>>,
}

impl OpenPort {
    /// Closes the port.
    fn close(&mut self) -> Result<(), MidiError> {
        let connection = self.connection.take();
        guarded(|| {
            drop(connection);
            Ok(())
        })
    }
}

impl Drop for OpenPort {
    fn drop(&mut self) {
        let _ = self.close();
    }
}

impl<S: MidiSystem, C: Fn() -> Seconds + Clone + Send + 'static> PortKeeper<S, C> {
    /// A keeper that has opened nothing yet; what happens goes to `tell`, dated by `clock`.
    pub fn new(system: S, wanted: Option<String>, tell: Sender<PortEvent>, clock: C) -> Self {
        Self { system, wanted, tell, clock, open: None, reported: None, looked: false }
    }

    /// Looks at the ports once: opens the wished-for port, or notices that it is gone. A port that nobody listens to any more is
    /// opened anew.
    pub fn look(&mut self) {
        self.looked = true;
        let there = guarded(|| self.system.ports());
        if let Some(mut open) = self.open.take() {
            let listens = open.listens.load(Ordering::Acquire);
            let there = there.as_ref().is_ok_and(|ports| ports.contains(&open.port));
            if listens && there && self.system.joined(&open.port) {
                self.open = Some(open);
                return;
            }
            let closed = open.close();
            self.say(PortEvent::Closed);
            if !listens {
                let broke = closed.err().unwrap_or_else(|| MidiError::Broke("it stopped listening".to_owned()));
                self.reported = Some(broke.clone());
                self.say(PortEvent::Failed(broke));
            }
        }
        if let Err(error) = there.and_then(|ports| self.open_one_of(played(ports)))
            && self.reported.as_ref() != Some(&error)
        {
            self.reported = Some(error.clone());
            self.say(PortEvent::Failed(error));
        }
    }

    /// The system behind the keeper, for a test that makes it fail.
    #[cfg(test)]
    pub const fn system(&mut self) -> &mut S {
        &mut self.system
    }

    fn open_one_of(&mut self, ports: Vec<SystemPort>) -> Result<(), MidiError> {
        let names: Vec<String> = ports.iter().map(|port| port.name.clone()).collect();
        let name = meant(&names, self.wanted.as_deref())?;
        let Some(port) = ports.into_iter().find(|port| port.name == *name) else { return Err(MidiError::NoPort) };
        let (tell, clock, mut reader) = (self.tell.clone(), self.clock.clone(), MessageReader::default());
        let (here, listens) = Listens::begin();
        let heard = move |stamp_us: u64, bytes: &[u8]| {
            let _ = &here;
            let arrived = clock();
            // The receiver may be gone already.
            let mut said = |message| drop(tell.send(PortEvent::Said { message, stamp_us, arrived }));
            reader.read(bytes, &mut said);
        };
        let connection = guarded(|| self.system.open(&port, Box::new(heard)))?;
        let (name, at) = (called(&port.name).to_owned(), (self.clock)());
        self.reported = None;
        // From now on this port is meant, whatever else is plugged in.
        self.wanted = Some(name.clone());
        self.open = Some(OpenPort { port, listens, connection: Some(connection) });
        self.say(PortEvent::Opened { name, at });
        Ok(())
    }

    fn say(&self, event: PortEvent) {
        let _ = self.tell.send(event);
    }
}

/// The ports without those that nobody plays.
fn played(ports: Vec<SystemPort>) -> Vec<SystemPort> {
    ports.into_iter().filter(|port| !NOBODY.iter().any(|name| port.name.to_lowercase().contains(name))).collect()
}

/// A port's name without the numbers that ALSA puts behind it (as in `Piano:Piano MIDI 1 24:0`), which change whenever the
/// instrument is plugged in.
fn called(port: &str) -> &str {
    let numbers = |word: &str| word.contains(':') && word.chars().all(|c| c.is_ascii_digit() || c == ':');
    port.rsplit_once(' ').filter(|(_, last)| numbers(last)).map_or(port, |(name, _)| name)
}

/// The port that a name means: one of this whole name, else one whose name contains it; without a name, the first port.
///
/// # Errors
/// Where there is no such port.
pub fn meant<'a>(ports: &'a [String], wanted: Option<&str>) -> Result<&'a String, MidiError> {
    let Some(wanted) = wanted else { return ports.first().ok_or(MidiError::NoPort) };
    let name = wanted.to_lowercase();
    let whole = ports.iter().find(|port| called(port).to_lowercase() == name || port.to_lowercase() == name);
    let partly = || ports.iter().find(|port| port.to_lowercase().contains(&name));
    whole.or_else(partly).ok_or_else(|| {
        let there = ports.iter().map(|port| called(port).to_owned()).collect();
        MidiError::Unknown { name: wanted.to_owned(), there }
    })
}
