//! The MIDI ports of the system: the thinnest layer over it that a stand-in can take the place of.

use std::any::Any;
use std::fs::File;
use std::io;

use crate::room::MidiError;
use midir::{ConnectErrorKind, Ignore, MidiInput};

/// How the program names itself to the system.
const CALLED: &str = "earfirst";
/// Where the kernel of Linux keeps its MIDI.
const SEQUENCER: &str = "/dev/snd/seq";

/// "No such device (or address)" in the errno.h of Linux: a file without its driver.
const NO_DRIVER: [i32; 2] = [6, 19];

/// Gets the driver's stamp, in microseconds, and the bytes; called on a thread of the driver.
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
    let on_linux = || File::options().read(true).write(true).open(SEQUENCER).err();
    MidiInput::new(CALLED).map_err(|_| if cfg!(target_os = "linux") { refused(on_linux()) } else { MidiError::Silent })
}

/// Why the system gives no MIDI, by what came of opening its file.
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
