//! The devices that a musician can plug in, without the sound system's inner parts.

use cpal::traits::{DeviceTrait, HostTrait};

use crate::room::DeviceEntry;
use crate::units::SampleRate;

/// Kinds of names that ALSA lists as if they were devices, of converters, mixers and dummies (ALSA's plugin reference). The kind is what
/// stands before a colon or an underscore, with or without the digits at its end.
const PARTS: [&str; 24] = [
    "a52",
    "dmix",
    "dsnoop",
    "front",
    "hdmi",
    "hw",
    "iec958",
    "jack",
    "lavrate",
    "modem",
    "null",
    "oss",
    "phoneline",
    "rate",
    "rear",
    "samplerate",
    "side",
    "speex",
    "speexrate",
    "surround",
    "sysdefault",
    "upmix",
    "usbstream",
    "vdownmix",
];

/// Words in a name that show a device over radio. "hands-free" is the profile that turns a headset's sound into a telephone's.
const RADIO: [&str; 9] =
    ["bluetooth", "bluez", "wireless", "hands-free", "handsfree", "hands free", "hfp", "hsp/", "a2dp"];

/// A microphone at this rate or below is that of a telephone profile, so of a wireless headset.
const TELEPHONE_HZ: u32 = 24_000;

/// Lists the devices of this machine without opening them; the system's own choice of input and output comes first.
#[must_use]
pub fn list() -> Vec<DeviceEntry> {
    let host = cpal::default_host();
    let named = |device: cpal::Device| {
        let name = device.description().ok()?.name().to_owned();
        Some((device.id().ok()?.to_string(), name))
    };
    let [own_input, own_output] =
        [host.default_input_device(), host.default_output_device()].map(|it| it.and_then(named));
    let [input, output] = [&own_input, &own_output].map(|own| own.as_ref().map(|(id, _)| id.clone()));
    let mut listed: Vec<DeviceEntry> = host
        .devices()
        .into_iter()
        .flatten()
        .filter_map(|device| {
            let id = device.id().ok()?.to_string();
            let text = device.description().ok()?;
            Some(DeviceEntry {
                default_input: input.as_ref() == Some(&id),
                default_output: output.as_ref() == Some(&id),
                input: text.supports_input(),
                output: text.supports_output(),
                midi: false,
                name: text.name().to_owned(),
                id,
            })
        })
        .filter(|listed| listed.default_input || listed.default_output || !inner_part(&listed.id))
        .collect();
    // Some systems use a device that they do not list.
    with_own(&mut listed, own_input, own_output);
    listed.sort_by_cached_key(|listed| i64::from(!(listed.default_input || listed.default_output)));
    listed
}

/// Adds the system's own input and output, each by its identifier and name, where they are not listed.
fn with_own(listed: &mut Vec<DeviceEntry>, input: Option<(String, String)>, output: Option<(String, String)>) {
    let both = input.is_some() && input == output;
    let own = input.into_iter().map(|own| (own, true, both)).chain(output.into_iter().map(|own| (own, both, true)));
    for ((id, name), input, output) in own {
        if !listed.iter().any(|device| device.id == id) {
            let (default_input, default_output) = (input, output);
            listed.push(DeviceEntry { id, name, input, output, default_input, default_output, midi: false });
        }
    }
}

/// The listed device that a name means: by its identifier or whole name, else the first whose name contains it. The same rule opens a
/// device (`open_stream.rs`).
#[must_use]
pub fn meant_device<'a>(listed: &'a [DeviceEntry], name: &str) -> Option<&'a DeviceEntry> {
    let wanted = name.to_lowercase();
    let whole = |device: &&DeviceEntry| {
        device.id == name || device.id.rsplit(':').next() == Some(name) || device.name.to_lowercase() == wanted
    };
    let partly = |device: &&DeviceEntry| device.name.to_lowercase().contains(&wanted);
    listed.iter().find(whole).or_else(|| listed.iter().find(partly))
}

/// Whether an identifier names an inner part of the sound system.
#[must_use]
pub fn inner_part(id: &str) -> bool {
    let Some(name) = id.strip_prefix("alsa:") else { return false };
    // `surround51:CARD=0` and `samplerate_best` are of the kinds `surround` and `samplerate`.
    let kind = name.split([':', '_']).next().unwrap_or(name);
    let bare = kind.trim_end_matches(|c: char| c.is_ascii_digit());
    PARTS.iter().any(|part| *part == kind || *part == bare)
}

/// Whether a device looks wireless by its name, or by the telephone rate of its microphone.
#[must_use]
pub fn wireless(name: &str, input_rate: Option<SampleRate>) -> bool {
    let name = name.to_lowercase();
    RADIO.iter().any(|word| name.contains(word)) || input_rate.is_some_and(|rate| rate.hz() <= TELEPHONE_HZ)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn converters_and_dummies_are_not_offered_to_a_musician() {
        for id in
            ["null", "lavrate", "samplerate_best", "speexrate_medium", "surround51:CARD=PCH,DEV=0", "hw:CARD=0,DEV=0"]
        {
            assert!(inner_part(&format!("alsa:{id}")), "{id}");
        }
        for id in ["default", "pulse", "pipewire", "plughw:CARD=0,DEV=0", "hwmon-mic", "hw2-mine"] {
            assert!(!inner_part(&format!("alsa:{id}")), "{id}");
        }
        assert!(!inner_part("wasapi:null"));
    }

    #[test]
    fn what_the_system_uses_is_listed_though_it_lists_it_not_itself() {
        let own = || Some(("alsa:default".to_owned(), "Default Audio Device".to_owned()));
        let mut listed = Vec::new();
        with_own(&mut listed, own(), own());
        assert_eq!(listed.len(), 1, "one device for both: {listed:?}");
        assert!(listed[0].default_input && listed[0].default_output && listed[0].input && listed[0].output);
        with_own(&mut listed, own(), Some(("alsa:box".to_owned(), "Interface".to_owned())));
        assert_eq!(listed.len(), 2, "{listed:?}");
        assert!(!listed[1].default_input && listed[1].default_output && !listed[1].input);
    }

    #[test]
    fn a_headset_over_the_air_is_known_by_its_name_or_its_telephone_rate() {
        assert!(wireless("bluez_input.00_11", None));
        assert!(wireless("Headset (Hands-Free)", Some(SampleRate::DEVICE)));
        assert!(wireless("Headset", SampleRate::new(16_000)));
        assert!(!wireless("USB Audio", Some(SampleRate::CD)));
    }
}
