//! The list of inputs, outputs and MIDI instruments.

use crate::devices::{meant_device, meant_instrument};
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
    let listed = &used_by_settings(listed, stored);
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
        missing(instruments, stored).into_iter().for_each(warn);
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
    missing(instruments, stored).map_or(Ok(()), |missing| say(format!("\n{missing}.")))
}

/// The devices with their marks where a drill by the settings would listen and sound: on the device that is kept there, else on the
/// system's own. Where a MIDI instrument is kept, no microphone listens.
fn used_by_settings(listed: &[DeviceEntry], stored: &UserSettings) -> Vec<DeviceEntry> {
    let kept = |name: Option<&str>| name.map(|name| meant_device(listed, name).map(|device| device.id.clone()));
    let by_midi = chosen_devices::midi(None, stored).is_some();
    let (input, output) = (kept(stored.input.as_deref()), kept(stored.output.as_deref()));
    let marked = |device: &DeviceEntry| DeviceEntry {
        default_input: !by_midi && input.as_ref().map_or(device.default_input, |id| id.as_ref() == Some(&device.id)),
        default_output: output.as_ref().map_or(device.default_output, |id| id.as_ref() == Some(&device.id)),
        ..device.clone()
    };
    listed.iter().map(marked).collect()
}

/// The MIDI instruments, with a mark beside the one that is meant.
fn midi_rows(names: &[String], used: Option<&String>, kept: bool) -> Vec<String> {
    let row = |name: &String| {
        let used = if used == Some(name) { mark(kept) } else { "" };
        format!("{:10}  {}  MIDI instrument{used}", "in", chosen_devices::as_midi_input(name))
    };
    names.iter().map(row).collect()
}

/// Why no MIDI instrument is listed, or not the one that is kept.
fn missing(instruments: &Result<Vec<String>, MidiError>, stored: &UserSettings) -> Option<String> {
    let names = match instruments {
        Ok(names) => names,
        Err(failure) => return Some(format!("no MIDI instrument can be listed: {failure}")),
    };
    let kept = chosen_devices::midi(None, stored)?;
    meant_instrument(names, kept.name.as_deref()).err()?;
    let input = stored.input.as_deref().unwrap_or_default();
    Some(format!("\"{input}\", the input in your settings, is not there, and a drill would hear nothing"))
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
    fn the_marks_stand_where_a_drill_by_the_settings_would_listen_and_sound() {
        let device = |id: &str, name: &str, own: bool| DeviceEntry {
            id: id.to_owned(),
            name: name.to_owned(),
            input: true,
            output: true,
            default_input: own,
            default_output: own,
            midi: false,
        };
        let listed = [device("alsa:default", "System", true), device("alsa:box", "Interface", false)];
        let marks = |settings: &str| {
            let stored = toml::from_str(settings).unwrap();
            let used = used_by_settings(&listed, &stored);
            used.iter().map(|device| (device.default_input, device.default_output)).collect::<Vec<_>>()
        };
        assert_eq!(marks(""), [(true, true), (false, false)]);
        assert_eq!(marks("input = \"midi:stage\""), [(false, true), (false, false)], "no microphone listens");
        assert_eq!(marks("input = \"face\"\noutput = \"box\""), [(false, false), (true, true)]);
        assert_eq!(marks("input = \"elsewhere\""), [(false, true), (false, false)]);
    }

    #[test]
    fn an_instrument_of_the_settings_that_is_not_there_is_said() {
        let stored: UserSettings = toml::from_str("input = \"midi:organ\"").unwrap();
        let there = |names: &[&str]| missing(&Ok(names.iter().map(|name| (*name).to_owned()).collect()), &stored);
        let said = there(&["Pads"]).unwrap();
        assert!(said.starts_with("\"midi:organ\", the input in your settings, is not there"), "{said}");
        assert_eq!(there(&["Church Organ"]), None);
        assert_eq!(missing(&Ok(Vec::new()), &UserSettings::default()), None);
    }

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
