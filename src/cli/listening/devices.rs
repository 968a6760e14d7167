use crate::cli::args::Json;
use crate::devices;
use crate::engine;
use crate::talk::failure::Failure;
use crate::talk::output::say;

/// Inputs and outputs, and which one would be used.
pub fn run(typed: &Json) -> Result<(), Failure> {
    let hushed = engine::quiet();
    let listed = devices::list();
    drop(hushed);
    if typed.json {
        let rows = listed.iter().map(|device| {
            serde_json::json!({
                "id": device.id, "name": device.name, "input": device.input, "output": device.output,
                "default_input": device.default_input, "default_output": device.default_output,
            })
        });
        return say(serde_json::Value::Array(rows.collect()));
    }
    if listed.is_empty() {
        return Err(Failure::device(
            "no sound device is there",
            "Plug one in; until then earfirst demo runs the same drill with a simulated player.",
        ));
    }
    for device in &listed {
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
    Ok(())
}
