use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use crate::cue::{Cue, CueSound};
use crate::devices::{self, DeviceRequest, Devices, MeasuredDelay, MonotonicClock, PlayId, StderrRedirect, StreamInfo};
use crate::engine::audio::{AudioSource, CueOutput, PlacedCue};
use crate::room::{CalibrationError, DeviceError, Side};
use crate::sound::{Clip, Placement, SoundBlock};
use crate::units::{Decibels, Hertz, SampleRate, Seconds};
use crate::words::SoundFault;

/// Pause between two looks at the input: often enough that nothing waits, seldom enough that the processor rests.
const PAUSE: Duration = Duration::from_millis(4);

/// Silence after each clip that is played back.
const BETWEEN: Seconds = Seconds(0.4);

/// How long devices may take to give their first sound, and how long after its length a clip that is played to its end may take to end.
const FIRST_SOUND: Duration = Duration::from_secs(15);
/// Time for which a device may go on sounding after the last sample was handed to it.
const STILL_HELD: Duration = Duration::from_millis(300);

/// Microphone and loudspeaker, opened in the same way for the drill, the sound check, learning, calibration and the first run.
pub struct DeviceAudio {
    devices: Devices,
    /// Number of the cue that was ordered (0 for signs), and its clip, until it is known where the clip lies.
    unplaced: Option<(u32, PlayId)>,
    /// The clip of the last ordered cue.
    ordered: Option<PlayId>,
    /// The xruns of input and output when they were last counted.
    calm: [u64; 2],
}

impl DeviceAudio {
    /// Opens devices and waits for their first sound, which takes about a second; the sound libraries say nothing meanwhile.
    ///
    /// # Errors
    /// The first device that does not open, or one that stays silent for 15 seconds.
    pub fn open(wanted: &DeviceRequest) -> Result<Self, DeviceError> {
        let _quiet = quiet();
        let mut opening = Self::opening(wanted);
        opening.devices.wait(FIRST_SOUND)?;
        Ok(opening)
    }

    /// Begins to open devices and waits for nothing.
    #[must_use]
    pub fn opening(wanted: &DeviceRequest) -> Self {
        Self { devices: Devices::open(wanted), unplaced: None, ordered: None, calm: [0; 2] }
    }

    /// What is known of an open device.
    #[must_use]
    pub fn about(&self, side: Side) -> Option<&StreamInfo> {
        self.devices.about(side)
    }

    /// The clock that all devices share; where no microphone was asked for, it stands in for the clock of the input.
    #[must_use]
    pub fn clock(&self) -> MonotonicClock {
        self.devices.clock()
    }

    /// The rate of the microphone; that of most devices while none is open.
    #[must_use]
    pub fn input_rate(&self) -> SampleRate {
        self.about(Side::Input).map_or(SampleRate::DEVICE, |about| about.rate)
    }

    /// Measures the delay from loudspeaker to microphone with sweeps. A fault that would stop a drill is returned in place of
    /// the measurement, because without a working microphone nothing was measured; where the machine was too busy, only exact zeros
    /// and the loudspeaker's monitor are. A device that did not open is reported as such. `ready` is called once both give sound, two
    /// seconds before the first sweep.
    ///
    /// # Errors
    /// Why nothing could be measured.
    pub fn calibrate(&mut self, ready: impl FnOnce()) -> Result<MeasuredDelay, NotCalibrated> {
        let measured = devices::calibrate(&mut self.devices, ready);
        let stops = self.devices.faults().into_iter().find(|trouble| trouble.stops());
        let own_words = match &measured {
            Ok(_) | Err(CalibrationError::Unclear(_)) => false,
            // On a busy machine a device only seems to be gone, so that fault does not count.
            Err(CalibrationError::Busy) => !matches!(stops, Some(SoundFault::Zeros | SoundFault::Monitor)),
            Err(CalibrationError::Device(_)) => true,
        };
        match stops.filter(|_| !own_words) {
            Some(trouble) => Err(NotCalibrated::Stopped(trouble)),
            None => measured.map_err(NotCalibrated::Unmeasured),
        }
    }

    /// Holds the delay from callback to sound that calibration kept for these devices, if it kept one.
    pub fn hold(&mut self, ahead: Option<Seconds>) {
        devices::hold(&mut self.devices, ahead);
    }

    /// Plays a clip to its end. Stops waiting where the loudspeaker takes the clip and has not ended it 15 seconds after its
    /// length.
    ///
    /// # Errors
    /// Why the loudspeaker takes no sound.
    pub fn play_to_end<C: Into<Arc<Clip>>>(&mut self, make: impl FnOnce(SampleRate) -> C) -> Result<(), &'static str> {
        let clip = make(self.devices.output_rate().ok_or("the loudspeaker went away")?).into();
        let id = self.devices.play(&clip).ok_or("the loudspeaker takes no sound")?;
        let until = Instant::now() + Duration::from_secs_f64(clip.length().0) + FIRST_SOUND;
        let mut unheard = Vec::new();
        while self.devices.waits_or_sounds(id) && Instant::now() < until {
            self.devices.read(&mut unheard);
            thread::sleep(Duration::from_millis(10));
        }
        thread::sleep(STILL_HELD);
        Ok(())
    }

    fn counts(&self) -> [u64; 2] {
        [Side::Input, Side::Output].map(|side| self.devices.xruns_on(side))
    }
}

/// Why the delay of the devices was not measured.
#[derive(Debug, Clone, PartialEq)]
pub enum NotCalibrated {
    /// The sound has a fault that would stop a drill too.
    Stopped(SoundFault),
    /// A device gave no sound, the machine was too busy, or the sweeps gave no delay.
    Unmeasured(CalibrationError),
}

/// The system's sound libraries write to standard error whatever they come across. As long as this value lives, what they write
/// goes nowhere (on Unix): while they look for devices, and while the screen is up.
#[must_use]
pub fn quiet() -> Option<StderrRedirect> {
    let nowhere = std::fs::OpenOptions::new().write(true).open(if cfg!(windows) { "NUL" } else { "/dev/null" }).ok()?;
    StderrRedirect::begin(&nowhere).ok()
}

impl AudioSource for DeviceAudio {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        self.devices.read(into)
    }

    fn wait(&mut self) {
        thread::sleep(PAUSE);
    }

    fn trouble(&mut self) -> Option<SoundFault> {
        self.devices.faults().first().copied()
    }

    fn had_xrun(&mut self) -> bool {
        let now = self.counts();
        let [input, output] = std::mem::replace(&mut self.calm, now);
        // A loudspeaker that runs dry after the cue moves nothing, because the place of the cue is known by then.
        let sounds = self.ordered.is_some_and(|id| self.devices.waits_or_sounds(id));
        input != self.calm[0] || (sounds && output != self.calm[1])
    }

    fn dropped(&mut self) -> u64 {
        self.devices.totals().dropped
    }
}

impl CueOutput for DeviceAudio {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.devices.output_rate()
    }

    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.devices.choose_channel();
        self.calm = self.counts();
        let played = self.devices.play(&sound.clip);
        self.ordered = played;
        self.unplaced = played.map(|id| (cue.number, id));
        played.is_some()
    }

    fn play_signs(&mut self, sound: &CueSound) -> bool {
        let played = self.devices.play(&sound.clip);
        self.unplaced = played.map(|id| (0, id));
        played.is_some()
    }

    fn placed(&mut self) -> Option<PlacedCue> {
        let (cue, id) = self.unplaced?;
        let sounding = self.devices.sounding(id)?;
        self.unplaced = None;
        let faster = sounding.place.faster;
        // Two clocks differ by a thousandth at most; a line that is not settled yet may give any ratio, which is not used.
        let faster = if (faster - 1.0).abs() < 1e-3 { faster } else { 1.0 };
        Some(PlacedCue { cue, place: Placement { faster, ..sounding.place } })
    }

    fn hush(&mut self) {
        self.unplaced = None;
        self.devices.hush();
    }

    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        let Some(rate) = self.devices.output_rate() else { return };
        let mut samples = Vec::new();
        for clip in clips {
            let Some(clip) = clip.at_rate(rate) else { continue };
            samples.extend(clip.samples);
            samples.resize(samples.len() + rate.samples(BETWEEN), 0.0);
        }
        self.devices.play(&Arc::new(Clip { rate, samples }));
    }

    fn renew(&mut self) {
        self.devices.reopen();
    }

    fn key_down(&mut self, key: u8, pitch: Hertz, peak: Decibels, most: Decibels) {
        if let Some(loudspeaker) = self.devices.loudspeaker() {
            loudspeaker.key_down(key, pitch, peak, most);
        }
    }

    fn key_up(&mut self, key: Option<u8>) {
        if let Some(loudspeaker) = self.devices.loudspeaker() {
            loudspeaker.key_up(key);
        }
    }
}
