//! The list of inputs, outputs and MIDI instruments.

use crate::devices::{DeviceEntry, MidiError};
use crate::talk::chosen_devices;
use crate::talk::failure::Failure;
use crate::talk::output::say;

/// Says what there is, for a player or for machines.
pub fn tell(listed: &[DeviceEntry], instruments: &Result<Vec<String>, MidiError>, json: bool) -> Result<(), Failure> {
    let names = instruments.as_deref().unwrap_or_default();
    if json {
        let rows = listed.iter().map(|device| {
            serde_json::json!({
                "id": device.id, "name": device.name, "input": device.input, "output": device.output,
                "default_input": device.default_input, "default_output": device.default_output,
                "midi": false,
            })
        });
        let midi = names.iter().map(|name| {
            serde_json::json!({
                "id": chosen_devices::as_midi_input(name), "name": name, "input": true, "output": false,
                "default_input": false, "default_output": false, "midi": true,
            })
        });
        return say(serde_json::Value::Array(rows.chain(midi).collect()));
    }
    if listed.is_empty() && names.is_empty() {
        return Err(Failure::device(
            "no sound device is there",
            "Plug one in; until then earfirst demo runs the same drill with a simulated player.",
        ));
    }
    for device in listed {
        let sides = match (device.input, device.output) {
            (true, true) => "in and out",
            (true, false) => "in",
            (false, true) => "out",
            (false, false) => "-",
        };
        let used = match (device.default_input, device.default_output) {
            (true, true) => "  (would be used for both)",
            (true, false) => "  (would be used as microphone)",
            (false, true) => "  (would be used as loudspeaker)",
            (false, false) => "",
        };
        say(format!("{:10}  {}  {}{used}", sides, device.id, device.name))?;
    }
    for name in names {
        say(format!("{:10}  {}  MIDI instrument", "in", chosen_devices::as_midi_input(name)))?;
    }
    match instruments {
        Ok(_) => Ok(()),
        Err(failure) => say(format!("\nNo MIDI instrument can be listed: {failure}.")),
    }
}
