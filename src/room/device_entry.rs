/// A sound device or a MIDI instrument in the list of devices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceEntry {
    /// What `--input`, `--output` and the settings call the device.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Whether the device is an input.
    pub input: bool,
    /// Whether the device is an output.
    pub output: bool,
    /// Whether this input is used where none is named.
    pub default_input: bool,
    /// Whether this output is used where none is named.
    pub default_output: bool,
    /// Whether the device is a MIDI instrument: it says notes over a cable and gives no sound.
    pub midi: bool,
}
