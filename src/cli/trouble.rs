//! What is wrong with the devices outside a drill, in the drill's words.

use crate::cli::failure::Failure;
use crate::devices::{Devices, Fault};

/// The gravest of what would stop a drill.
pub fn stopping(devices: &mut Devices) -> Option<Fault> {
    devices.faults().into_iter().find(|fault| !matches!(fault, Fault::Gate | Fault::Clipping))
}

/// What it is, and what to do.
pub fn told(fault: Fault) -> Failure {
    let (what, mend) = match fault {
        Fault::Lost(_) => {
            ("the microphone or loudspeaker has stopped", "plug it in, or close what keeps the machine busy")
        }
        Fault::Opening => (
            "the sound system has not answered for 15 seconds",
            "close programs that hold it, or plug the device in again",
        ),
        Fault::Zeros => (
            "the microphone gives nothing at all",
            "unmute it, or allow this terminal to use it in the system settings",
        ),
        Fault::Gate => ("the microphone goes dead between sounds", "turn noise suppression off"),
        Fault::Clipping => ("too loud for this microphone", "move it away or turn its gain down"),
        Fault::Monitor => {
            ("this input is the loudspeaker itself, not a microphone", "choose another: earfirst devices lists them")
        }
        Fault::Faltering => {
            ("the sound has holes: microphone and loudspeaker are opened anew", "close what keeps the machine busy")
        }
    };
    Failure::device(what, mend)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::devices::Side;

    #[test]
    fn a_trouble_has_the_words_of_the_drill() {
        let drill = concat!(include_str!("../tui/view/mod.rs"), include_str!("../tui/view/pause.rs"));
        for fault in [
            Fault::Lost(Side::Input),
            Fault::Opening,
            Fault::Zeros,
            Fault::Gate,
            Fault::Clipping,
            Fault::Monitor,
            Fault::Faltering,
        ] {
            let told = told(fault);
            assert!(drill.contains(&told.what) && drill.contains(&told.mend), "{told}");
        }
    }
}
