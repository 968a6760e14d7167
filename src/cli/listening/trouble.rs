//! What is wrong with the devices outside a drill, in the drill's words.

use crate::cli::failure::Failure;
use crate::devices::Devices;
use crate::words::SoundFault;

/// The gravest of what would stop a drill.
pub fn stopping(devices: &mut Devices) -> Option<SoundFault> {
    devices.faults().into_iter().map(SoundFault::from).find(|trouble| trouble.stops())
}

/// What it is, and what to do.
pub fn told(trouble: SoundFault) -> Failure {
    Failure::device(trouble.what(), trouble.mend())
}
