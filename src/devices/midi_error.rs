//! What can stand between the program and a MIDI instrument.

/// Why no MIDI instrument is heard: what is wrong, where, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MidiError {
    /// The system has no MIDI of its own.
    #[error(
        "the system's MIDI is not there ({0} is missing); load it with `sudo modprobe snd-seq`, or use a microphone"
    )]
    NoSystem(&'static str),
    /// The system has it and keeps it from this user.
    #[error(
        "the system does not let this program use MIDI ({0}); add yourself to the group that owns it (often `sudo usermod \
         -aG audio $USER`) and sign in again"
    )]
    Forbidden(&'static str),
    /// The system's MIDI does not answer.
    #[error("the system's MIDI does not answer; restart its service or the machine, or use a microphone")]
    Silent,
    /// The library between the system and this program gave up; what it said.
    #[error(
        "the system's MIDI failed inside ({0}); try again, restart the machine if it fails again, or use a microphone"
    )]
    Broke(String),
    /// No port at all.
    #[error("no MIDI instrument is there; plug one in and switch it on (`earfirst devices` lists it then)")]
    NoPort,
    /// No port of that name.
    #[error("there is no MIDI instrument called \"{name}\"; there is {there}")]
    Unknown {
        /// The name asked for.
        name: String,
        /// The names that there are, in one sentence.
        there: String,
    },
    /// The port was there a moment ago.
    #[error("the MIDI instrument \"{0}\" cannot be reached; is it plugged in and switched on?")]
    Gone(String),
    /// The port does not open: on most systems another program holds it.
    #[error("the MIDI instrument \"{name}\" does not open ({reported}); close the program that uses it and try again")]
    Taken {
        /// Name of the port.
        name: String,
        /// What the system said.
        reported: String,
    },
}
