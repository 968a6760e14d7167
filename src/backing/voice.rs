use std::f64::consts::{PI, TAU};

use crate::backing::plan::{BandNote, BandSound};
use crate::sound::edge;
use crate::units::{Hertz, SampleRate, Seconds};

/// Partials of one tone at most.
const PARTIALS: usize = 28;
/// No partial lies higher, in hertz: a bass and a soft chord need none.
const HIGHEST: f64 = 5000.0;
/// How loud each part is: one bass note, three chord voices, a brush or a click, and the sum is 1.
const BASS: f64 = 0.50;
const CHORD: f64 = 0.12;
const PULSE: f64 = 0.14;
/// How long a tone falls when it is let go, ended before what follows.
const BASS_FALL: Seconds = Seconds(0.012);
const CHORD_FALL: Seconds = Seconds(0.03);
/// Rise of a plucked tone.
const RISE: Seconds = Seconds(0.004);
/// Length of a brush and of a click.
const BRUSH: Seconds = Seconds(0.12);
const CLICK: Seconds = Seconds(0.03);

/// A partial as it turns and dies: its sine and cosine, and by how much one sample turns and shrinks it.
#[derive(Debug, Clone, Copy, Default)]
struct Turning {
    sin: f64,
    cos: f64,
    by_sin: f64,
    by_cos: f64,
}

/// A plucked string, from its first sample on.
#[derive(Debug, Clone)]
struct PluckedString {
    partials: [Turning; PARTIALS],
    count: usize,
}

/// A note that sounds: sample by sample, so that the blocks in which it is read make no difference.
#[derive(Debug, Clone)]
pub(super) struct BandVoice {
    at: u64,
    /// Samples until it is let go, and until nothing is left.
    held: u64,
    length: u64,
    done: u64,
    rising: f64,
    falling: f64,
    gain: f64,
    source: VoiceSource,
}

#[derive(Debug, Clone)]
enum VoiceSource {
    Plucked(Box<PluckedString>),
    /// The state of its noise, and of two filters.
    Brush {
        state: u64,
        low: f64,
        lower: f64,
    },
    Click {
        lift: f64,
    },
}

/// How a string is plucked.
struct Pluck {
    /// Where, as a share of its length.
    place: f64,
    /// From here on partials grow weaker, in hertz.
    bright: f64,
    /// Time in which the fundamental sinks by 60 dB.
    dying: f64,
}

const LOW_STRING: Pluck = Pluck { place: 0.19, bright: 700.0, dying: 2.2 };
const CHORD_STRING: Pluck = Pluck { place: 0.31, bright: 1300.0, dying: 0.9 };

impl PluckedString {
    /// A string plucked at one place: the amplitude of a partial is `sin(n pi place) / n`, weaker above the bright point (the
    /// ideal string; Fletcher and Rossing, *The Physics of Musical Instruments*, 1998, from memory), and it dies the sooner the
    /// higher it is. Normalised so that no sample is beyond 1.
    fn new(pitch: Hertz, pluck: &Pluck, rate: SampleRate) -> Self {
        let most = (HIGHEST.min(0.45 * rate.per_second()) / pitch.0).floor().clamp(1.0, PARTIALS as f64) as usize;
        let mut amplitudes = [0.0; PARTIALS];
        let mut partials = [Turning::default(); PARTIALS];
        for (n, amplitude) in amplitudes.iter_mut().enumerate().take(most) {
            let number = (n + 1) as f64;
            *amplitude = (number * PI * pluck.place).sin() / number / (1.0 + (number * pitch.0 / pluck.bright).powi(2));
        }
        let peak = peak(&amplitudes[..most]);
        for (n, partial) in partials.iter_mut().enumerate().take(most) {
            let number = (n + 1) as f64;
            let sinking = pluck.dying / (1.0 + 0.3 * (number - 1.0));
            let shrink = 10f64.powf(-3.0 / (sinking * rate.per_second()));
            let (by_sin, by_cos) = (TAU * number * pitch.0 / rate.per_second()).sin_cos();
            let (by_sin, by_cos) = (by_sin * shrink, by_cos * shrink);
            *partial = Turning { sin: 0.0, cos: amplitudes[n] / peak, by_sin, by_cos };
        }
        Self { partials, count: most }
    }
    fn next(&mut self) -> f64 {
        let mut sum = 0.0;
        for partial in &mut self.partials[..self.count] {
            let sin = partial.sin * partial.by_cos + partial.cos * partial.by_sin;
            partial.cos = partial.cos * partial.by_cos - partial.sin * partial.by_sin;
            partial.sin = sin;
            sum += sin;
        }
        sum
    }
}

/// The largest value of one turn of sines with these amplitudes, looked for at 512 places.
fn peak(amplitudes: &[f64]) -> f64 {
    let value = |step: u32| {
        let (sin, cos) = (TAU * f64::from(step) / 512.0).sin_cos();
        let (mut before, mut now, mut sum) = (0.0, sin, 0.0);
        for amplitude in amplitudes {
            sum += amplitude * now;
            (before, now) = (now, 2.0 * cos * now - before);
        }
        sum.abs()
    };
    // The turn is odd about its middle, so half of it has the peak; two in a hundred are left for what lies between.
    1.02 * (0..=256).map(value).fold(1e-9, f64::max)
}

impl BandVoice {
    /// The voice of a note at a reference of `a4`, its level a share of the band's.
    pub(super) fn new(note: &BandNote, a4: Hertz, rate: SampleRate) -> Self {
        let held = note.until.0.saturating_sub(note.at.0);
        let samples = |length: Seconds| rate.samples(length).max(1) as u64;
        let string = |pitch: crate::music::Concert, pluck: &Pluck| {
            VoiceSource::Plucked(Box::new(PluckedString::new(pitch.hertz(a4), pluck, rate)))
        };
        let (source, gain, held, fall) = match note.sound {
            BandSound::Bass(pitch) => (string(pitch, &LOW_STRING), BASS, held, samples(BASS_FALL)),
            BandSound::Chord(pitch) => (string(pitch, &CHORD_STRING), CHORD, held, samples(CHORD_FALL)),
            BandSound::Brush(seed) => {
                let state = u64::from(seed).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
                (VoiceSource::Brush { state, low: 0.0, lower: 0.0 }, PULSE, samples(BRUSH), 1)
            }
            BandSound::Click { first } => {
                (VoiceSource::Click { lift: if first { 1.26 } else { 1.0 } }, PULSE, samples(CLICK), 1)
            }
        };
        // What is let go has fallen silent when the next note of its part begins.
        let fall = fall.min(held / 2).max(1);
        Self {
            at: note.at.0,
            held: held.saturating_sub(fall),
            length: held,
            done: 0,
            rising: samples(RISE) as f64,
            falling: fall as f64,
            gain,
            source,
        }
    }
    /// Whether it has ended.
    pub(super) const fn over(&self) -> bool {
        self.done >= self.length
    }
    /// Adds what falls into a block that begins at sample `from`. Blocks follow one another without a gap.
    pub(super) fn add(&mut self, from: u64, level: f64, rate: SampleRate, out: &mut [f32]) {
        let first = (self.at + self.done).saturating_sub(from) as usize;
        for sample in out.iter_mut().skip(first) {
            if self.over() {
                return;
            }
            *sample += (level * self.gain * self.next(rate)) as f32;
        }
    }
    fn next(&mut self, rate: SampleRate) -> f64 {
        let index = self.done as f64;
        self.done += 1;
        let seconds = index / rate.per_second();
        match &mut self.source {
            VoiceSource::Plucked(string) => {
                let down = (index + 1.0 - self.held as f64) / self.falling;
                string.next() * edge((index + 1.0) / self.rising) * (1.0 - edge(down))
            }
            VoiceSource::Brush { state, low, lower } => {
                // Xorshift (Marsaglia, *Xorshift RNGs*, Journal of Statistical Software 8, 2003).
                *state ^= *state << 13;
                *state ^= *state >> 7;
                *state ^= *state << 17;
                let noise = (*state >> 11) as f64 / (1u64 << 52) as f64 - 1.0;
                // Between about 1 and 6 kHz: what a brush leaves of noise.
                let share = |hz: f64| 1.0 - (-TAU * hz / rate.per_second()).exp();
                *low += share(6000.0) * (noise - *low);
                *lower += share(1000.0) * (*low - *lower);
                let shape = edge(seconds / 0.008) * (-seconds / 0.035).exp();
                let close = 1.0 - edge((index + 1.0 - 0.8 * self.length as f64) / (0.2 * self.length as f64));
                (*low - *lower).clamp(-1.0, 1.0) * shape * close
            }
            VoiceSource::Click { lift } => {
                let knock: f64 = [(1130.0, 0.4), (1790.0, 0.28), (2870.0, 0.2), (4310.0, 0.12)]
                    .iter()
                    .map(|(hz, share)| share * (TAU * hz * *lift * (seconds + 1.0 / rate.per_second())).sin())
                    .sum();
                let close = 1.0 - edge((index + 1.0 - 0.6 * self.length as f64) / (0.4 * self.length as f64));
                knock * (-seconds / 0.006).exp() * close
            }
        }
    }
}
