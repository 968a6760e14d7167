use crate::cli::args::Json;
use crate::devices;
use crate::engine;
use crate::talk::device_list;
use crate::talk::failure::Failure;

/// Inputs and outputs, and which one would be used.
pub fn run(typed: &Json) -> Result<(), Failure> {
    let quiet = engine::quiet();
    let (listed, instruments) = (devices::list(), devices::midi_instruments());
    drop(quiet);
    device_list::tell(&listed, &instruments, typed.json)
}
