//! The list of inputs, outputs and MIDI instruments.

use crate::devices::{meant_device, meant_instrument};
use crate::files::{Calibration, UserSettings};
use crate::report::{devices_json, with_remarks};
use crate::room::{DeviceEntry, MidiError};
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn, warned};
use crate::talk::{chosen_devices, rig};

/// Says which devices there are, for a player or for machines.
pub fn tell(
    listed: &[DeviceEntry],
    instruments: &Result<Vec<String>, MidiError>,
    stored: &UserSettings,
    json: bool,
) -> Result<(), Failure> {
    let listed = &used_by_settings(listed, stored);
    let by_settings = BySettings { input: stored.input.is_some(), output: stored.output.is_some() };
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
    let missing: Vec<String> = missing(listed, instruments, stored).into_iter().chain(older(listed, stored)).collect();
    if json {
        let rows: Vec<DeviceEntry> = listed.iter().cloned().chain(midi).collect();
        missing.into_iter().for_each(warn);
        let told = devices_json(&rows, by_settings.input, by_settings.output);
        return say(with_remarks(told, &warned()));
    }
    if listed.is_empty() && names.is_empty() {
        return Err(Failure::device(
            "no sound device is there",
            "Plug one in; until then earfirst demo runs the same drill with a simulated player.",
        ));
    }
    listed.iter().map(|device| row(device, by_settings)).try_for_each(say)?;
    midi_rows(names, used, kept.is_some()).into_iter().try_for_each(say)?;
    missing.into_iter().try_for_each(|missing| say(format!("\n{missing}.")))
}

/// Which of the two the settings name.
#[derive(Clone, Copy)]
struct BySettings {
    input: bool,
    output: bool,
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

/// Why no MIDI instrument is listed, and which device of the settings is not there.
fn missing(listed: &[DeviceEntry], instruments: &Result<Vec<String>, MidiError>, stored: &UserSettings) -> Vec<String> {
    let gone = |what: &str, name: &str| {
        format!("\"{name}\", the {what} in your settings, is not there, and a drill would not begin")
    };
    let none = instruments.as_ref().err().map(|failure| format!("no MIDI instrument can be listed: {failure}"));
    let input = stored.input.as_deref().filter(|name| match chosen_devices::midi(None, stored) {
        Some(kept) => {
            let names = instruments.as_deref().unwrap_or_default();
            meant_instrument(names, kept.name.as_deref()).is_err()
        }
        None => meant_device(listed, name).is_none_or(|device| !device.input),
    });
    let output = stored.output.as_deref().filter(|name| meant_device(listed, name).is_none_or(|device| !device.output));
    [none, input.map(|name| gone("input", name)), output.map(|name| gone("output", name))]
        .into_iter()
        .flatten()
        .collect()
}

/// That the microphone and the loudspeaker that would be used were measured by an earlier program, where they were.
fn older(used: &[DeviceEntry], stored: &UserSettings) -> Option<String> {
    let id = |is: fn(&DeviceEntry) -> bool| used.iter().find(|device| is(device)).map(|device| &device.id);
    let (input, output) = (id(|it| it.default_input)?, id(|it| it.default_output)?);
    let mut here = stored.calibrations.iter().filter(|kept| kept.input == *input && kept.output == *output).peekable();
    (here.peek().is_some() && here.all(Calibration::is_older)).then(|| rig::OLDER.trim_end_matches('.').to_owned())
}

/// The mark of the instrument that is meant, by whether MIDI is kept as the input.
const fn mark(kept: bool) -> &'static str {
    if kept {
        "  (would be used in a drill: the input in your settings)"
    } else {
        "  (would be used with --input midi)"
    }
}

fn row(device: &DeviceEntry, by_settings: BySettings) -> String {
    let sides = match (device.input, device.output) {
        (true, true) => "in and out",
        (true, false) => "in",
        (false, true) => "out",
        (false, false) => "-",
    };
    let used = [
        (device.default_input, "microphone", "input", by_settings.input),
        (device.default_output, "loudspeaker", "output", by_settings.output),
    ];
    let used: Vec<String> = used
        .into_iter()
        .filter(|(used, ..)| *used)
        .map(
            |(_, what, setting, kept)| {
                if kept { format!("{what}: the {setting} in your settings") } else { what.to_owned() }
            },
        )
        .collect();
    let used = if used.is_empty() { String::new() } else { format!("  (would be used as {})", used.join(", and as ")) };
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
        let said = |input, output| row(&listed[0], BySettings { input, output });
        assert!(said(false, false).ends_with("System  (would be used as microphone, and as loudspeaker)"));
        assert!(
            said(true, false)
                .ends_with("(would be used as microphone: the input in your settings, and as loudspeaker)")
        );
        assert!(!row(&listed[1], BySettings { input: true, output: true }).contains("would"));
    }

    #[test]
    fn devices_that_an_earlier_program_measured_are_told_to_be_calibrated_again() {
        let device = |id: &str, own: bool| DeviceEntry {
            id: id.to_owned(),
            name: id.to_owned(),
            input: true,
            output: true,
            default_input: own,
            default_output: own,
            midi: false,
        };
        let told = |ids: [&str; 2], measured: &str| {
            let [input, output] = ids;
            let kept = format!(
                "[[calibration]]\ninput = \"{input}\"\noutput = \"{output}\"\nbuffer_frames = 480\nremainder_s = 0.01\n\
                 spread_s = 0.0004\n{measured}"
            );
            older(&[device("box", true), device("hall", false)], &toml::from_str(&kept).unwrap()).is_some()
        };
        assert!(told(["box", "box"], ""));
        // What calibrate writes today, and what it writes where the delay changes with each opening.
        assert!(!told(["box", "box"], "ahead_s = 0.02") && !told(["box", "box"], "follows_reports = true"));
        assert!(!told(["hall", "hall"], ""), "other devices than those that are used");
        assert_eq!(older(&[device("box", true)], &UserSettings::default()), None);
    }

    #[test]
    fn an_instrument_of_the_settings_that_is_not_there_is_said() {
        let stored: UserSettings = toml::from_str("input = \"midi:organ\"").unwrap();
        let there = |names: &[&str]| missing(&[], &Ok(names.iter().map(|name| (*name).to_owned()).collect()), &stored);
        let said = there(&["Pads"]).concat();
        assert!(said.starts_with("\"midi:organ\", the input in your settings, is not there"), "{said}");
        assert!(there(&["Church Organ"]).is_empty());
        assert!(missing(&[], &Ok(Vec::new()), &UserSettings::default()).is_empty());
        let stored: UserSettings = toml::from_str("input = \"elsewhere\"\noutput = \"nowhere\"").unwrap();
        let said = missing(&[], &Ok(Vec::new()), &stored);
        assert!(
            said[0].contains("\"elsewhere\", the input") && said[1].contains("\"nowhere\", the output"),
            "{said:?}"
        );
    }

    #[test]
    fn the_instrument_that_a_drill_would_use_is_marked_and_no_other() {
        let names = ["Pads", "Stage Piano MIDI 1"].map(str::to_owned);
        let row = |at: usize, mark: &str| format!("in          midi:{}  MIDI instrument{mark}", names[at]);
        let meant = |wanted| meant_instrument(&names, wanted).ok();
        let usual = midi_rows(&names, meant(None), false);
        assert_eq!(usual, [row(0, "  (would be used with --input midi)"), row(1, "")]);
        let kept = midi_rows(&names, meant(Some("stage")), true);
        assert_eq!(kept, [row(0, ""), row(1, "  (would be used in a drill: the input in your settings)")]);
        assert_eq!(midi_rows(&names, meant(Some("organ")), true), [row(0, ""), row(1, "")]);
    }
}
