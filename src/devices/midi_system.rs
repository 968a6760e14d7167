//! The MIDI ports of the system: the thinnest layer over it that a stand-in can take the place of.

use std::any::Any;
use std::path::Path;

use midir::{ConnectErrorKind, Ignore, MidiInput};

use super::midi_error::MidiError;

/// How the program names itself to the system.
const CALLED: &str = "earfirst";
/// Where the kernel of Linux keeps its MIDI.
const SEQUENCER: &str = "/dev/snd/seq";

/// Is told the driver's stamp, in microseconds, and the bytes; called on a thread of the driver.
pub type PortListener = Box<dyn FnMut(u64, &[u8]) + Send>;

/// Gives MIDI ports: the system, or a stand-in of the tests.
pub trait MidiSystem {
    /// The names of the ports that there are, as the system writes them.
    ///
    /// # Errors
    /// Where the system has no MIDI, or keeps it to itself.
    fn ports(&mut self) -> Result<Vec<String>, MidiError>;
    /// Opens a port, until what comes back is dropped.
    ///
    /// # Errors
    /// Where it went away, or is taken.
    fn open(&mut self, port: &str, heard: PortListener) -> Result<Box<dyn Any>, MidiError>;
}

/// The system itself.
#[derive(Default)]
pub struct SystemPorts {
    /// Looks at what is there; kept, for each newcomer is announced to every program that uses MIDI.
    looks: Option<MidiInput>,
}

impl MidiSystem for SystemPorts {
    fn ports(&mut self) -> Result<Vec<String>, MidiError> {
        let looks = match self.looks.take() {
            Some(looks) => looks,
            None => client()?,
        };
        let names = looks.ports().iter().filter_map(|port| looks.port_name(port).ok()).collect();
        self.looks = Some(looks);
        Ok(names)
    }

    fn open(&mut self, port: &str, mut heard: PortListener) -> Result<Box<dyn Any>, MidiError> {
        let mut input = client()?;
        input.ignore(Ignore::All);
        let found = input.ports().into_iter().find(|there| input.port_name(there).is_ok_and(|name| name == port));
        let found = found.ok_or_else(|| MidiError::Gone(port.to_owned()))?;
        let hear = move |stamp_us: u64, bytes: &[u8], (): &mut ()| heard(stamp_us, bytes);
        let opened = input.connect(&found, CALLED, hear, ()).map_err(|error| match error.kind() {
            ConnectErrorKind::InvalidPort => MidiError::Gone(port.to_owned()),
            ConnectErrorKind::Other(why) => MidiError::Taken { name: port.to_owned(), reported: why.to_owned() },
        })?;
        Ok(Box::new(opened))
    }
}

fn client() -> Result<MidiInput, MidiError> {
    MidiInput::new(CALLED).map_err(|_| {
        if !cfg!(target_os = "linux") {
            MidiError::Silent
        } else if Path::new(SEQUENCER).exists() {
            MidiError::Forbidden(SEQUENCER)
        } else {
            MidiError::NoSystem(SEQUENCER)
        }
    })
}
