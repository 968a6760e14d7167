use std::sync::Arc;
use std::thread;
use std::time::Duration;

use crate::cue::{Cue, CueSound};
use crate::devices::{Devices, Fault, PlayId, Side, Wanted};
use crate::drill::Trouble;
use crate::engine::{Place, Sound, Stretch};
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

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
    pub fn open(wanted: &Wanted) -> Self {
        Self::over(Devices::open(wanted))
    }

    fn counts(&self) -> [u64; 2] {
        [Side::Input, Side::Output].map(|side| self.devices.faltered_on(side))
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
        self.devices.renew();
    }

    fn hush(&mut self) {
        self.playing = None;
        self.devices.hush();
    }

    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        let Some(rate) = self.devices.output_rate() else { return };
        let mut samples = Vec::new();
        for clip in clips {
            samples.extend(if clip.rate == rate {
                clip.samples.clone()
            } else {
                stretched(&clip.samples, clip.rate, rate)
            });
            samples.resize(samples.len() + rate.samples(BETWEEN), 0.0);
        }
        self.devices.play(&Clip { rate, samples });
    }

    fn trouble(&mut self) -> Option<Trouble> {
        self.devices.faults().first().copied().map(Trouble::from)
    }

    fn dropped(&mut self) -> u64 {
        self.devices.counters().dropped
    }
}

impl From<Fault> for Trouble {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Lost(_) => Self::Lost,
            Fault::Opening => Self::Opening,
            Fault::Zeros => Self::Zeros,
            Fault::Gate => Self::Gate,
            Fault::Clipping => Self::Clipping,
            Fault::Monitor => Self::Monitor,
            Fault::Faltering => Self::Faltering,
        }
    }
}

/// The same sound at another rate, by straight lines between samples: good enough to hear what came out.
fn stretched(samples: &[f32], from: SampleRate, to: SampleRate) -> Vec<f32> {
    let length = to.samples(from.seconds(samples.len()));
    let step = from.per_second() / to.per_second();
    let at = |n: usize| {
        let place = n as f64 * step;
        let (whole, part) = (place as usize, (place - place.floor()) as f32);
        let here = samples.get(whole).copied().unwrap_or(0.0);
        let next = samples.get(whole + 1).copied().unwrap_or(here);
        here + (next - here) * part
    };
    (0..length).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_played_back_at_another_rate_lasts_as_long() {
        let heard = stretched(&vec![0.5; 44_100], SampleRate::CD, SampleRate::DEVICE);
        assert_eq!(heard.len(), 48_000);
        assert!(heard.iter().all(|sample| (sample - 0.5).abs() < 1e-6));
    }
}
