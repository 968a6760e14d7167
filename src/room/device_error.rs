//! What keeps the player from this program, as data: why a microphone, a loudspeaker or a MIDI instrument does not open, and why
//! the delay between two of them cannot be measured. `words/device_error.rs` has the sentences; `devices` finds the facts.

use crate::units::Seconds;

/// The side on which the sound goes: in or out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The microphone.
    Input,
    /// The loudspeaker.
    Output,
}

/// Why a device gives no sound: what is wrong, and of which device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DeviceError {
    /// There is no device of that name.
    Unknown {
        /// Microphone or loudspeaker.
        side: Side,
        /// The name asked for.
        name: String,
    },
    /// The machine has no device of this side at all.
    None(Side),
    /// No cue sounds beside a MIDI instrument; this is why.
    NoCues(Box<Self>),
    /// Two devices are missing, in the order in which they are told.
    Both(Box<Self>, Box<Self>),
    /// The device is there, or was, but cannot be reached.
    Gone {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// Another program uses the device.
    Busy {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// The system does not let this program use the device.
    Forbidden {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// The device offers no format that this program can use.
    Unusable {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// Another error, in the words of the system.
    Other {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
        /// What the system said.
        reported: String,
    },
    /// The device gave no sign in time.
    Silent(Side),
    /// The MIDI instrument does not answer; this is why.
    Midi(MidiError),
}

/// Why no MIDI instrument is heard: what is wrong, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MidiError {
    /// The system has no MIDI: the file of this name is not there, or nothing answers behind it.
    NoSystem(&'static str),
    /// The system has MIDI and keeps it from this user: the file of this name may not be opened.
    Forbidden(&'static str),
    /// The system's MIDI does not answer.
    Silent,
    /// The library between the system and this program gave up; the text is what it said.
    Broke(String),
    /// There is no port at all.
    NoPort,
    /// There is no port of that name.
    Unknown {
        /// The name asked for.
        name: String,
        /// The names of the ports that there are.
        there: Vec<String>,
    },
    /// The port of this name went away a moment ago.
    Gone(String),
    /// The port does not open: on most systems another program uses it.
    Taken {
        /// Name of the port.
        name: String,
        /// What the system said.
        reported: String,
    },
}

/// Why the sweeps give no delay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DelayError {
    /// Fewer than five sweeps were recognised.
    Unheard {
        /// Number of sweeps that were recognised.
        heard: usize,
    },
    /// Five sweeps or more were recognised, but the delays of fewer than five agree.
    Wanders {
        /// Median absolute deviation of the delays.
        spread: Seconds,
    },
}

/// Why calibration did not end well.
#[derive(Debug, Clone, PartialEq)]
pub enum CalibrationError {
    /// There was no sound, or it went away meanwhile.
    Device(DeviceError),
    /// The machine had other things to do, so that the sound had holes.
    Busy,
    /// Sound came, but no delay can be read from it.
    Unclear(DelayError),
}

impl From<MidiError> for DeviceError {
    fn from(error: MidiError) -> Self {
        Self::Midi(error)
    }
}

impl From<DeviceError> for CalibrationError {
    fn from(error: DeviceError) -> Self {
        Self::Device(error)
    }
}

impl From<DelayError> for CalibrationError {
    fn from(error: DelayError) -> Self {
        Self::Unclear(error)
    }
}
