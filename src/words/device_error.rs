//! Why a device does not open and why no delay was measured: what is wrong, of which device, and how to mend it.

use std::fmt::{Display, Formatter, Result};

use crate::room::{CalibrationError, DelayError, DeviceError, MidiError, Side};

impl Display for Side {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        out.write_str(match self {
            Self::Input => "microphone",
            Self::Output => "loudspeaker",
        })
    }
}

const fn flag(side: Side) -> &'static str {
    match side {
        Side::Input => "input",
        Side::Output => "output",
    }
}

impl Display for DeviceError {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Self::Unknown { side, name } => {
                write!(out, "there is no {side} called \"{name}\"; `earfirst devices` lists what there is")
            }
            Self::None(side) => {
                write!(out, "this machine has no {side}; plug one in, or try `earfirst demo`, which needs none")
            }
            Self::NoCues(why) => {
                let why = why.to_string();
                // What ends with a question ends a sentence.
                let on = if why.ends_with('?') { " The" } else { "; the" };
                write!(
                    out,
                    "{why}{on} cues sound from this machine, never from the MIDI instrument, so it needs headphones or a loudspeaker \
                     (--output names one)"
                )
            }
            Self::Both(one, other) => write!(out, "{one}. And {other}"),
            Self::Gone { side, name } => {
                write!(out, "the {side} \"{name}\" cannot be reached; is it plugged in and switched on?")
            }
            Self::Busy { side, name } => {
                write!(out, "the {side} \"{name}\" is in use by another program; close that one and try again")
            }
            Self::Forbidden { side, name } => write!(
                out,
                "the system does not let this program use the {side} \"{name}\"; allow it in the privacy settings"
            ),
            Self::Unusable { side, name } => {
                write!(out, "the {side} \"{name}\" offers no sound format that can be used here; choose another device")
            }
            Self::Other { side, name, reported } => write!(
                out,
                "the {side} \"{name}\" does not open ({reported}); choose another device with --{}",
                flag(*side)
            ),
            Self::Silent(side) => {
                write!(out, "the {side} does not answer; unplug it and plug it in again, or choose another device")
            }
            Self::Midi(error) => error.fmt(out),
        }
    }
}

impl Display for MidiError {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Self::NoSystem(missing) => write!(
                out,
                "the system's MIDI is not there ({missing} is missing); load it with `sudo modprobe snd-seq`, or use a \
                 microphone"
            ),
            Self::Forbidden(refused) => write!(
                out,
                "the system does not let this program use MIDI ({refused}); add yourself to the group that owns it (often \
                 `sudo usermod -aG audio $USER`) and sign in again"
            ),
            Self::Silent => out.write_str(
                "the system's MIDI does not answer; restart its service or the machine, or use a microphone",
            ),
            Self::Broke(reported) => write!(
                out,
                "the system's MIDI failed inside ({reported}); try again, restart the machine if it fails again, or use a \
                 microphone"
            ),
            Self::NoPort => out.write_str(
                "no MIDI instrument is there; plug one in and switch it on (`earfirst devices` lists it then)",
            ),
            Self::Unknown { name, there } => {
                let quoted: Vec<String> = there.iter().map(|name| format!("\"{name}\"")).collect();
                let there = if there.is_empty() { "none at all".to_owned() } else { quoted.join(", ") };
                write!(out, "there is no MIDI instrument called \"{name}\"; there is {there}")
            }
            Self::Gone(name) => {
                write!(out, "the MIDI instrument \"{name}\" cannot be reached; is it plugged in and switched on?")
            }
            Self::Taken { name, reported } => write!(
                out,
                "the MIDI instrument \"{name}\" does not open ({reported}); close the program that uses it and try again"
            ),
        }
    }
}

impl Display for DelayError {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Self::Unheard { heard } => write!(
                out,
                "only {heard} of 8 sweeps came back: turn the loudspeaker up, hold one earpiece to the microphone, or skip this"
            ),
            Self::Wanders { spread } => write!(
                out,
                "the delay wanders by {:.0} ms: wireless sound cannot be timed; use a cable, or go on without reflex times",
                spread.ms()
            ),
        }
    }
}

impl Display for CalibrationError {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Self::Device(error) => error.fmt(out),
            Self::Busy => {
                out.write_str("the machine is too busy: the sound has holes; close other programs, and try again")
            }
            Self::Unclear(error) => error.fmt(out),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_ends_with_a_question_is_followed_by_a_sentence() {
        let gone = DeviceError::Gone { side: Side::Output, name: "Box".to_owned() };
        let said = DeviceError::NoCues(Box::new(gone)).to_string();
        assert!(said.contains("is it plugged in and switched on? The cues sound from this machine"), "{said}");
        let said = DeviceError::NoCues(Box::new(DeviceError::None(Side::Output))).to_string();
        assert!(said.contains("which needs none; the cues sound from this machine"), "{said}");
    }
}
