use crate::cli::args::Json;
use crate::devices;
use crate::engine;
use crate::files::{Places, UserSettings};
use crate::talk::device_list;
use crate::talk::failure::Failure;

/// Lists inputs, outputs and MIDI instruments, and says which would be used.
pub fn run(typed: &Json) -> Result<(), Failure> {
    let quiet = engine::quiet();
    let (listed, instruments) = (devices::list(), devices::midi_instruments());
    drop(quiet);
    let stored = UserSettings::load(&Places::usual()?)?;
    device_list::tell(&listed, &instruments, &stored, typed.json)
}
