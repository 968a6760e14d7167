use crate::cli::args::{Calibrate, Drill};
use crate::cli::failure::Failure;
use crate::cli::listening::trouble;
use crate::cli::output::say;
use crate::cli::practice::drill;
use crate::devices::{self, CalibrationError, Devices};
use crate::files::{Calibration, Places, UserSettings};
use crate::words::SoundFault;

/// Measures the delay from loudspeaker to microphone, and keeps it for this pair of devices.
pub fn run(typed: &Calibrate) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut settings = UserSettings::load(&places)?;
    let named = Drill { input: typed.input.clone(), output: typed.output.clone(), ..Drill::default() };
    let quiet = drill::quiet();
    let mut devices = Devices::open(&drill::wanted(&named, &settings));
    if !typed.json {
        say("Eight short sweeps will sound, softly at first.")?;
        if settings.headphones != Some(false) {
            say("With headphones, hold one earpiece to the microphone.")?;
        }
        say("Keep still for six seconds, or press control-c to skip: pitch and pace need no calibration.")?;
    }
    let measured = devices::calibrate(&mut devices, |_| {});
    drop(quiet);
    // A delay measured through no microphone is none; a device that did not open has its own words.
    // Nor is a device lost that a busy machine kept waiting.
    let fault = trouble::stopping(&mut devices);
    let own_words = match &measured {
        Ok(_) | Err(CalibrationError::Unclear(_)) => false,
        Err(CalibrationError::Busy) => !matches!(fault, Some(SoundFault::Zeros | SoundFault::Monitor)),
        Err(CalibrationError::Device(_)) => true,
    };
    if let Some(fault) = fault.filter(|_| !own_words) {
        return Err(trouble::told(fault));
    }
    let measured = measured.map_err(|unmeasured| {
        Failure::device(unmeasured, "Without it every reflex time says that it is not calibrated.")
    })?;
    let (pair, delay) = (measured.pair, measured.delay);
    settings.calibrate(Calibration {
        input: pair.input.clone(),
        output: pair.output.clone(),
        buffer_frames: pair.periods.0,
        remainder_s: delay.median.0,
        spread_s: delay.spread.0,
    });
    settings.save(&places)?;
    if typed.json {
        return say(serde_json::json!({
            "input": pair.input, "output": pair.output, "buffer_frames": pair.periods.0,
            "remainder_s": delay.median.0, "spread_s": delay.spread.0, "agreed": delay.agreed,
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
