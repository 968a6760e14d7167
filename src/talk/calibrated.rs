//! What was measured of the delay between two devices.

use crate::devices::MeasuredDelay;
use crate::report::{DelayRow, delay_json};
use crate::talk::failure::Failure;
use crate::talk::output::say;

/// Says what will sound, where both devices are there; the first sweep comes two seconds later.
pub fn say_ready(headphones: bool) -> Result<(), Failure> {
    say("Eight short sweeps will sound, softly at first, and three more to check them.")?;
    if headphones {
        say("With headphones, hold one earpiece to the microphone.")?;
    }
    say("Keep still for twelve seconds, or press control-c to skip: pitch and pace need no calibration.")
}

/// Says the delay that was kept, for a player or for machines.
pub fn say_delay(measured: &MeasuredDelay, json: bool) -> Result<(), Failure> {
    let (pair, delay) = (&measured.pair, &measured.delay);
    if json {
        return say(delay_json(&DelayRow {
            input: &pair.input,
            output: &pair.output,
            buffer_frames: pair.periods.0,
            remainder: delay.median,
            spread: delay.spread,
            agreed: delay.agreed,
        }));
    }
    say(format!(
        "{} of 8 agree: sound comes back {:.1} ms later than the clocks say (spread {:.1} ms). Kept for {} with {}.",
        delay.agreed,
        delay.median.ms(),
        delay.spread.ms(),
        pair.input,
        pair.output
    ))
}
