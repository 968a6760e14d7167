use crate::cli::args::Calibrate;
use crate::engine::{self, DeviceAudio, NotCalibrated};
use crate::files::{Calibration, Places, UserSettings};
use crate::talk::calibrated;
use crate::talk::chosen_devices::{devices, has_delay};
use crate::talk::failure::Failure;

/// Measures the delay from loudspeaker to microphone, and keeps it for this pair of devices.
pub fn run(typed: &Calibrate) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    has_delay(typed.input.as_deref(), &settings)?;
    let quiet = engine::quiet();
    let mut audio = DeviceAudio::opening(&devices(typed.input.as_deref(), typed.output.as_deref(), &settings));
    let mut said = Ok(());
    let measured = audio.calibrate(|| {
        if !typed.json {
            said = calibrated::say_ready(settings.headphones != Some(false));
        }
    });
    drop(quiet);
    said?;
    let measured = measured.map_err(|why| match why {
        NotCalibrated::Stopped(trouble) => trouble.into(),
        NotCalibrated::Unmeasured(unmeasured) => {
            Failure::device(unmeasured, "Without it every reflex time at a microphone says that it is not calibrated.")
        }
    })?;
    let (pair, delay) = (&measured.pair, &measured.delay);
    let calibration = Calibration::new(&pair.input, &pair.output, pair.periods.0, delay.median, delay.spread);
    UserSettings::change(&places, |settings| settings.calibrate(calibration.from(measured.ahead)))?;
    calibrated::say_delay(&measured, typed.json)
}
