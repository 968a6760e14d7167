use crate::devices::{DeviceChoice, DeviceRequest};
use crate::files::UserSettings;

/// Microphone and loudspeaker as typed, as kept, or the system's own.
pub fn devices(input: Option<&str>, output: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest {
        input: want(input, stored.input.as_deref()),
        output: want(output, stored.output.as_deref()),
        period: None,
    }
}

/// The microphone alone.
pub fn microphone(input: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest { output: DeviceChoice::Nothing, ..devices(input, None, stored) }
}

/// The loudspeaker alone.
pub fn loudspeaker(stored: &UserSettings) -> DeviceRequest {
    DeviceRequest { input: DeviceChoice::Nothing, ..devices(None, None, stored) }
}

fn want(typed: Option<&str>, kept: Option<&str>) -> DeviceChoice {
    typed.or(kept).map_or(DeviceChoice::Default, |name| DeviceChoice::Named(name.to_owned()))
}
