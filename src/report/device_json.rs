use serde_json::{Value, json};

use crate::room::DeviceEntry;
use crate::units::Seconds;

/// The list of devices as JSON, under `devices`; whether the settings name the input and the output, rather than the system.
#[must_use]
pub fn devices_json(rows: &[DeviceEntry], input_by_settings: bool, output_by_settings: bool) -> Value {
    let rows = rows.iter().map(|row| {
        json!({
            "id": row.id, "name": row.name, "input": row.input, "output": row.output,
            "default_input": row.default_input, "default_output": row.default_output, "midi": row.midi,
            "input_by_settings": row.default_input && input_by_settings,
            "output_by_settings": row.default_output && output_by_settings,
        })
    });
    json!({ "devices": Value::Array(rows.collect()) })
}

/// What was measured of the delay between a loudspeaker and a microphone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DelayRow<'a> {
    /// Identifier of the microphone.
    pub input: &'a str,
    /// Identifier of the loudspeaker.
    pub output: &'a str,
    /// Length of a callback of the input, in frames.
    pub buffer_frames: u32,
    /// The delay that is left beyond what the clocks of the two streams say.
    pub remainder: Seconds,
    /// Median distance of the single measurements from the delay.
    pub spread: Seconds,
    /// Number of single measurements that agree.
    pub agreed: usize,
}

/// A measured delay as JSON; units stand in the names.
#[must_use]
pub fn delay_json(row: &DelayRow<'_>) -> Value {
    json!({
        "input": row.input, "output": row.output, "buffer_frames": row.buffer_frames,
        "remainder_s": row.remainder.0, "spread_s": row.spread.0, "agreed": row.agreed,
    })
}
