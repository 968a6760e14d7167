//! Playing the sweeps and listening for them on the open devices.
//!
//! This does not go through `engine::Listener`. A listener takes our own sound out of the input and makes notes of the rest; here
//! our own sound is all that is looked for, sample by sample, and sweeps are no notes. Both use the stream below them:
//! [`Devices::read`] with its gaps, [`Devices::sounding`] with its clock lines, and its faults ([`Devices::faults`]), which
//! `engine::DeviceAudio::calibrate` words as a drill does.

use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::room::{CalibrationError, DelayError, DeviceError, Side};
use crate::sound::Clip;
use crate::units::Seconds;

use super::handle::Devices;
use super::sweep_delay::{CHECK, Delay, Opening, SWEEPS, agreed, come_back_dry, delays, settle, sweeps};

/// Time between the word that all is ready and the first sweep.
const BEFORE: Duration = Duration::from_secs(2);
/// Time for which the microphone is heard after the clip of the sweeps has ended: the last sweep may come this late.
const AFTER: Seconds = Seconds(0.7);
/// Most rounds of sweeps; another is played only where an xrun spoiled the one before.
const ATTEMPTS: usize = 3;
/// Longest time of one round, and longest wait for the devices before the first.
const LIMIT: Duration = Duration::from_secs(20);

/// A delay and the devices it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredDelay {
    /// The pair of devices that the delay belongs to.
    pub pair: DevicePair,
    /// The delay that was measured between them.
    pub delay: Delay,
    /// The delay from the loudspeaker's callback to its sound from which `delay` counts; `None` where the backend's reports are to be
    /// followed.
    pub ahead: Option<Seconds>,
}

/// A pair of devices with their rates and buffers, for which a delay is valid.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct DevicePair {
    /// Identifier of the microphone.
    pub input: String,
    /// Identifier of the loudspeaker.
    pub output: String,
    /// Samples a second of input and output.
    pub rates_hz: (u32, u32),
    /// Frames of a callback of input and output, as the backend reports; 0 where it reports none.
    pub periods: (u32, u32),
}

/// The pair of devices that is open now; `None` while one of them is not.
#[must_use]
pub fn pair(devices: &Devices) -> Option<DevicePair> {
    let (input, output) = (devices.about(Side::Input)?, devices.about(Side::Output)?);
    Some(DevicePair {
        input: input.id.clone(),
        output: output.id.clone(),
        rates_hz: (input.rate.hz(), output.rate.hz()),
        periods: (input.period.unwrap_or(0), output.period.unwrap_or(0)),
    })
}

/// Plays the eight sweeps, measures the delay, and opens the devices anew to check it with three sweeps more; takes about twelve
/// seconds, longer where xruns spoil a round or the openings do not agree. `ready` is called once, where both devices give sound; the
/// first sweep comes two seconds later, so that an earpiece can be held to the microphone.
///
/// # Errors
/// Where no sound comes, or no delay on which enough sweeps agree, or the machine was too busy for either or for two openings to agree.
pub fn calibrate(devices: &mut Devices, ready: impl FnOnce()) -> Result<MeasuredDelay, CalibrationError> {
    let busy = |devices: &Devices| devices.late.was() || devices.totals().dropped > 0 || devices.xruns() > 0;
    hold(devices, None);
    let waited = devices.wait(LIMIT).map_err(CalibrationError::from);
    let measured = waited.and_then(|()| {
        ready();
        hear_for(devices, BEFORE);
        let round = calm_round(devices, &SWEEPS)?;
        // The watch of `devices` compares the end of the clip alone, which may have a hole.
        if round.dry {
            devices.monitor.is_a_monitor();
        }
        let first = match round.opening(SWEEPS.len()) {
            // A hole in the sound parts the sweeps; another opening may be spared it.
            Err(_) if busy(devices) && !round.dry => None,
            first => Some(first?),
        };
        // The watch would forget a monitor with its stream. No delay of one is kept, so that nothing is left to be checked.
        if let Some(first) = first.filter(|_| round.dry) {
            return Ok((first.delay, Some(first.ahead)));
        }
        check(devices, first)
    });
    let (delay, ahead) = match measured {
        // Where the sound had holes, nothing can be said of level, cable or plug.
        Err(CalibrationError::Unclear(_) | CalibrationError::Device(DeviceError::Silent(_))) if busy(devices) => {
            return Err(CalibrationError::Busy);
        }
        measured => measured?,
    };
    hold(devices, ahead);
    let pair = pair(devices).ok_or(DeviceError::Silent(Side::Input))?;
    Ok(MeasuredDelay { pair, delay, ahead })
}

/// Holds the delay from callback to sound that calibration kept, also where the loudspeaker is opened anew; `None` follows the
/// backend's reports alone.
pub fn hold(devices: &mut Devices, ahead: Option<Seconds>) {
    devices.held = ahead;
    if let Some(loudspeaker) = devices.loudspeaker() {
        loudspeaker.hold(ahead);
    }
}

/// Opens the devices anew to check what the first opening showed, if it showed anything, and once more where it is not confirmed: the
/// sound of one opening may be moved as a whole, which none of its own sweeps can show.
fn check(devices: &mut Devices, first: Option<Opening>) -> Result<(Delay, Option<Seconds>), CalibrationError> {
    let (mut openings, eight) = (Vec::from_iter(first), &SWEEPS[..]);
    for starts in [if first.is_some() { &CHECK } else { eight }, eight] {
        devices.reopen();
        devices.wait(LIMIT)?;
        openings.extend(calm_round(devices, starts)?.opening(starts.len()));
        if let Some(delay) = agreed(&openings) {
            return Ok(delay);
        }
    }
    Err(CalibrationError::Busy)
}

/// Passes over what comes for so long, so that no ring runs over.
fn hear_for(devices: &mut Devices, time: Duration) {
    let (until, mut block) = (Instant::now() + time, Vec::new());
    while Instant::now() < until {
        while devices.read(&mut block).is_some() {}
        devices.late.nap();
    }
}

/// Plays the sweeps, again where an xrun spoiled them.
fn calm_round(devices: &mut Devices, starts: &[Seconds]) -> Result<Round, DeviceError> {
    let mut round = play_and_hear(devices, starts)?;
    for _ in 1..ATTEMPTS {
        if round.xrun {
            round = play_and_hear(devices, starts)?;
        }
    }
    Ok(round)
}

/// What came back of one round of sweeps.
struct Round {
    /// The delays of the sweeps that were recognised.
    delays: Vec<Seconds>,
    /// The delay from callback to sound from which they count.
    ahead: Seconds,
    /// Whether they came back without a room.
    dry: bool,
    /// Whether there was an xrun meanwhile.
    xrun: bool,
}

impl Round {
    /// What the round shows, where enough of so many sweeps agree.
    fn opening(&self, played: usize) -> Result<Opening, DelayError> {
        Ok(Opening { delay: settle(&self.delays, played)?, ahead: self.ahead })
    }
}

/// Plays the sweeps once and hears what comes back.
fn play_and_hear(devices: &mut Devices, starts: &[Seconds]) -> Result<Round, DeviceError> {
    let rate = devices.output_rate().ok_or(DeviceError::Silent(Side::Output))?;
    let clip = Arc::new(sweeps(rate, starts));
    let mut block = Vec::new();
    while devices.read(&mut block).is_some() {}
    let id = devices.play(&clip).ok_or(DeviceError::Silent(Side::Output))?;
    let (mut captured, mut began): (Option<Clip>, _) = (None, Seconds(0.0));
    let limit = Instant::now() + LIMIT;
    while Instant::now() < limit {
        while let Some(stretch) = devices.read(&mut block) {
            let fits = captured.as_ref().is_some_and(|clip| clip.rate == stretch.rate) && stretch.gap.0 == 0.0;
            match &mut captured {
                Some(clip) if fits => clip.samples.extend_from_slice(&block),
                _ => {
                    captured = Some(Clip { rate: stretch.rate, samples: block.clone() });
                    began = stretch.at;
                }
            }
        }
        if let (Some(sweeps), Some(captured)) = (devices.sounding(id), &captured)
            && began + captured.length() > sweeps.until + AFTER
        {
            let place = |start: &Seconds| sweeps.place.instant(rate.seconds(rate.samples(*start)));
            let due: Vec<Seconds> = starts.iter().map(place).collect();
            let ahead = devices.loudspeaker().map_or(Seconds(0.0), |loudspeaker| loudspeaker.ahead());
            let delays = delays(captured, began, &due);
            let dry = come_back_dry(captured, began, &due, &delays);
            return Ok(Round { delays, ahead, dry, xrun: sweeps.xrun });
        }
        devices.late.nap();
    }
    Err(DeviceError::Silent(Side::Input))
}
