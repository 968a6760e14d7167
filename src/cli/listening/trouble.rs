//! What is wrong with the devices outside a drill, in the drill's words.

use crate::cli::failure::Failure;
use crate::devices::Devices;
use crate::drill::Trouble;

/// The gravest of what would stop a drill.
pub fn stopping(devices: &mut Devices) -> Option<Trouble> {
    devices.faults().into_iter().map(Trouble::from).find(|trouble| trouble.stops())
}

/// What it is, and what to do.
pub fn told(trouble: Trouble) -> Failure {
    let (what, mend) = trouble.told();
    Failure::device(what, mend)
}
