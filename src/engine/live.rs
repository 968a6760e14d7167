use std::sync::Arc;
use std::thread;
use std::time::Duration;

use crate::cue::{Cue, CueSound};
use crate::devices::{DeviceFault, DeviceRequest, Devices, PlayId, Side};
use crate::engine::{Place, Sound, Stretch};
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};
use crate::words::SoundFault;

/// Half a hop of the ear: often enough that nothing waits, seldom enough that nobody burns.
const PAUSE: Duration = Duration::from_millis(4);

/// Silence after each clip that is played back.
const BETWEEN: Seconds = Seconds(0.4);

/// Microphone and loudspeaker as the drill's sound.
pub struct Live {
    devices: Devices,
    playing: Option<(u32, PlayId)>,
    /// The cue that was ordered last.
    ordered: Option<PlayId>,
    /// How often either side had faltered when that was last looked at: input, output.
    calm: [u64; 2],
}

impl Live {
    /// Begins to open the devices.
    #[must_use]
    pub fn open(wanted: &DeviceRequest) -> Self {
        Self::over(Devices::open(wanted))
    }

    fn counts(&self) -> [u64; 2] {
        [Side::Input, Side::Output].map(|side| self.devices.xruns_on(side))
    }

    /// Devices that are already opening.
    #[must_use]
    pub const fn over(devices: Devices) -> Self {
        Self { devices, playing: None, ordered: None, calm: [0; 2] }
    }
}

impl Sound for Live {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<Stretch> {
        let heard = self.devices.read(into)?;
        Some(Stretch { at: heard.at, rate: heard.rate, gap: heard.gap })
    }

    fn wait(&mut self) {
        thread::sleep(PAUSE);
    }

    fn output_rate(&mut self) -> Option<SampleRate> {
        self.devices.output_rate()
    }

    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.devices.choose_channel();
        self.calm = self.counts();
        let played = self.devices.play(&sound.clip);
        self.ordered = played;
        self.playing = played.map(|id| (cue.number, id));
        played.is_some()
    }

    fn placed(&mut self) -> Option<Place> {
        let (cue, id) = self.playing?;
        let sounding = self.devices.sounding(id)?;
        self.playing = None;
        let rate = self.devices.output_rate().map(SampleRate::per_second);
        let faster = rate.map_or(1.0, |rate| sounding.pace / rate);
        // Clocks part by thousandths at most; a line that is not settled yet may say anything.
        let faster = if (faster - 1.0).abs() < 1e-3 { faster } else { 1.0 };
        Some(Place { cue, from: sounding.from, faster })
    }

    fn faltered(&mut self) -> bool {
        let now = self.counts();
        let [input, output] = std::mem::replace(&mut self.calm, now);
        // Once the cue is out, its place is known: a loudspeaker that runs dry in the silence after it moves nothing.
        let sounds = self.ordered.is_some_and(|id| self.devices.waits_or_sounds(id));
        input != self.calm[0] || (sounds && output != self.calm[1])
    }

    fn renew(&mut self) {
        self.devices.reopen();
    }

    fn hush(&mut self) {
        self.playing = None;
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
        self.devices.play(&Clip { rate, samples });
    }

    fn trouble(&mut self) -> Option<SoundFault> {
        self.devices.faults().first().copied().map(SoundFault::from)
    }

    fn dropped(&mut self) -> u64 {
        self.devices.totals().dropped
    }
}

impl From<DeviceFault> for SoundFault {
    fn from(fault: DeviceFault) -> Self {
        match fault {
            DeviceFault::Lost(_) => Self::Lost,
            DeviceFault::Opening => Self::Opening,
            DeviceFault::Zeros => Self::Zeros,
            DeviceFault::Gate => Self::Gate,
            DeviceFault::Clipping => Self::Clipping,
            DeviceFault::Monitor => Self::Monitor,
            DeviceFault::Xruns => Self::Faltering,
        }
    }
}
