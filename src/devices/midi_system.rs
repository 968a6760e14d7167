//! The MIDI ports of the system, as thin a layer over it as a test can replace by a stand-in.

use std::any::Any;
use std::fs::{self, File};
use std::io;

use crate::room::MidiError;
use midir::{ConnectErrorKind, Ignore, MidiInput, MidiInputPort};

/// How the program names itself to the system.
const CALLED: &str = "earfirst";
/// Where the kernel of Linux keeps its MIDI.
pub const SEQUENCER: &str = "/dev/snd/seq";
/// Where the kernel lists which clients and ports are joined.
const CLIENTS: &str = "/proc/asound/seq/clients";

/// Codes of "no such device (or address)" in the errno.h of Linux: the file is there, and its driver is not.
const NO_DRIVER: [i32; 2] = [6, 19];

/// What a port's messages are given to: the driver's stamp, in microseconds, and the bytes. It is called on a thread of the driver.
pub type PortListener = Box<dyn FnMut(u64, &[u8]) + Send>;

/// A port, as the system knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemPort {
    /// The port's name, as the system writes it.
    pub name: String,
    /// What tells the port from another of the same name; it may change when the instrument is plugged in again.
    pub id: String,
}

/// Gives MIDI ports: the system, or a stand-in of the tests.
pub trait MidiSystem {
    /// The ports that are there now.
    ///
    /// # Errors
    /// Where the system has no MIDI, or keeps it to itself.
    fn ports(&mut self) -> Result<Vec<SystemPort>, MidiError>;
    /// Opens a port, which stays open until what comes back is dropped.
    ///
    /// # Errors
    /// Where the port went away, or another program has it.
    fn open(&mut self, port: &SystemPort, heard: PortListener) -> Result<Box<dyn Any>, MidiError>;
    /// Whether the system still joins this program to a port that it opened; `true` where the system does not say.
    fn joined(&mut self, port: &SystemPort) -> bool;
}

/// The system itself.
#[derive(Default)]
pub struct SystemPorts {
    /// The client that lists ports. It is kept, since each new client is announced to every program that uses MIDI.
    looks: Option<MidiInput>,
}

impl MidiSystem for SystemPorts {
    fn ports(&mut self) -> Result<Vec<SystemPort>, MidiError> {
        let looks = match self.looks.take() {
            Some(looks) => looks,
            None => client()?,
        };
        let known = |port: &MidiInputPort| Some(SystemPort { name: looks.port_name(port).ok()?, id: port.id() });
        let ports = looks.ports().iter().filter_map(known).collect();
        self.looks = Some(looks);
        Ok(ports)
    }

    fn open(&mut self, port: &SystemPort, mut heard: PortListener) -> Result<Box<dyn Any>, MidiError> {
        let mut input = client()?;
        input.ignore(Ignore::All);
        let same = |there: &MidiInputPort| there.id() == port.id && input.port_name(there).as_ref() == Ok(&port.name);
        let found = input.ports().into_iter().find(same).ok_or_else(|| MidiError::Gone(port.name.clone()))?;
        let hear = move |stamp_us: u64, bytes: &[u8], (): &mut ()| heard(stamp_us, bytes);
        let opened = input.connect(&found, CALLED, hear, ()).map_err(|error| match error.kind() {
            ConnectErrorKind::InvalidPort => MidiError::Gone(port.name.clone()),
            ConnectErrorKind::Other(why) => MidiError::Taken { name: port.name.clone(), reported: why.to_owned() },
        })?;
        Ok(Box::new(opened))
    }

    fn joined(&mut self, port: &SystemPort) -> bool {
        !fs::read_to_string(CLIENTS).is_ok_and(|clients| parted(&clients, &port.id))
    }
}

/// Whether this program is in a list of ALSA's clients and none of its ports is joined to the port of this id: that port was pulled
/// out and came back under its old numbers, and this program no longer listens to it.
pub fn parted(clients: &str, id: &str) -> bool {
    let (mut ours, mut here, mut joined) = (false, false, false);
    for line in clients.lines() {
        if line.starts_with("Client ") {
            here = line.contains(&format!("\"{CALLED}\""));
            ours |= here;
        } else if here && let Some((_, from)) = line.split_once("Connected From: ") {
            // Such as `20:0[r:0], 24:0`.
            joined |= from.split([',', ' ', '[']).any(|word| word == id);
        }
    }
    ours && !joined
}

fn client() -> Result<MidiInput, MidiError> {
    let on_linux = || File::options().read(true).write(true).open(SEQUENCER).err();
    MidiInput::new(CALLED).map_err(|_| if cfg!(target_os = "linux") { refused(on_linux()) } else { MidiError::Silent })
}

/// Why the system gives no MIDI, by the error on opening its file.
pub fn refused(opening: Option<io::Error>) -> MidiError {
    match opening {
        Some(error) if error.kind() == io::ErrorKind::PermissionDenied => MidiError::Forbidden(SEQUENCER),
        Some(error) if error.kind() == io::ErrorKind::NotFound => MidiError::NoSystem(SEQUENCER),
        Some(error) if error.raw_os_error().is_some_and(|code| NO_DRIVER.contains(&code)) => {
            MidiError::NoSystem(SEQUENCER)
        }
        _ => MidiError::Silent,
    }
}
