//! The list of inputs, outputs and MIDI instruments.

use crate::devices::meant_instrument;
use crate::files::UserSettings;
use crate::report::devices_json;
use crate::room::{DeviceEntry, MidiError};
use crate::talk::chosen_devices;
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn};

/// Says which devices there are, for a player or for machines.
pub fn tell(
    listed: &[DeviceEntry],
    instruments: &Result<Vec<String>, MidiError>,
    stored: &UserSettings,
    json: bool,
) -> Result<(), Failure> {
    let names = instruments.as_deref().unwrap_or_default();
    let kept = chosen_devices::midi(None, stored);
    let used = meant_instrument(names, kept.as_ref().and_then(|kept| kept.name.as_deref())).ok();
    let midi = names.iter().map(|name| DeviceEntry {
        id: chosen_devices::as_midi_input(name),
        name: name.clone(),
        input: true,
        output: false,
        default_input: kept.is_some() && used == Some(name),
        default_output: false,
        midi: true,
    });
    if json {
        let rows: Vec<DeviceEntry> = listed.iter().cloned().chain(midi).collect();
        missing(instruments).into_iter().for_each(warn);
        return say(devices_json(&rows));
    }
    if listed.is_empty() && names.is_empty() {
        return Err(Failure::device(
            "no sound device is there",
            "Plug one in; until then earfirst demo runs the same drill with a simulated player.",
        ));
    }
    listed.iter().map(row).try_for_each(say)?;
    midi_rows(names, used, kept.is_some()).into_iter().try_for_each(say)?;
    missing(instruments).map_or(Ok(()), |missing| say(format!("\n{missing}.")))
}

/// The MIDI instruments, with a mark beside the one that is meant.
fn midi_rows(names: &[String], used: Option<&String>, kept: bool) -> Vec<String> {
    let row = |name: &String| {
        let used = if used == Some(name) { mark(kept) } else { "" };
        format!("{:10}  {}  MIDI instrument{used}", "in", chosen_devices::as_midi_input(name))
    };
    names.iter().map(row).collect()
}

/// Why no MIDI instrument is listed.
fn missing(instruments: &Result<Vec<String>, MidiError>) -> Option<String> {
    instruments.as_ref().err().map(|failure| format!("no MIDI instrument can be listed: {failure}"))
}

/// The mark of the instrument that is meant, by whether MIDI is kept as the input.
const fn mark(kept: bool) -> &'static str {
    if kept { "  (would be used in a drill)" } else { "  (would be used with --input midi)" }
}

fn row(device: &DeviceEntry) -> String {
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
    format!("{:10}  {}  {}{used}", sides, device.id, device.name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_instrument_that_a_drill_would_use_is_marked_and_no_other() {
        let names = ["Pads", "Stage Piano MIDI 1"].map(str::to_owned);
        let row = |at: usize, mark: &str| format!("in          midi:{}  MIDI instrument{mark}", names[at]);
        let meant = |wanted| meant_instrument(&names, wanted).ok();
        let usual = midi_rows(&names, meant(None), false);
        assert_eq!(usual, [row(0, "  (would be used with --input midi)"), row(1, "")]);
        let kept = midi_rows(&names, meant(Some("stage")), true);
        assert_eq!(kept, [row(0, ""), row(1, "  (would be used in a drill)")]);
        assert_eq!(midi_rows(&names, meant(Some("organ")), true), [row(0, ""), row(1, "")]);
    }
}
