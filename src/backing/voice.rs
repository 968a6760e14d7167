use std::f64::consts::{PI, TAU};

use crate::backing::plan::{BandNote, BandSound};
use crate::sound::edge;
use crate::units::{Hertz, SampleRate, Seconds};

/// The most partials of one tone.
const PARTIALS: usize = 28;
/// The highest frequency of a partial, in hertz; a bass and a soft chord need no higher ones.
const HIGHEST: f64 = 5000.0;
/// The peak of one voice of each part. One bass note, three voices of a chord and one brush or click together have a peak of 1.
const BASS: f64 = 0.50;
const CHORD: f64 = 0.12;
const PULSE: f64 = 0.14;
/// How long a tone falls when it is let go; the fall ends before the next note of its part begins.
const BASS_FALL: Seconds = Seconds(0.012);
const CHORD_FALL: Seconds = Seconds(0.03);
/// Rise of a plucked tone.
const RISE: Seconds = Seconds(0.004);
/// Length of a brush and of a click.
const BRUSH: Seconds = Seconds(0.12);
const CLICK: Seconds = Seconds(0.03);

/// A decaying partial: its sine and cosine now, and the sine and cosine by which each sample turns and shrinks them.
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

/// A note that sounds. It is made sample by sample, so that the size of the blocks in which it is read makes no difference.
#[derive(Debug, Clone)]
pub(super) struct BandVoice {
    at: u64,
    /// The number of samples from its beginning until it is let go.
    until_release: u64,
    /// The number of all its samples.
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
    /// A brush: the state of the generator of its noise, and of its two filters.
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
    /// Where the string is plucked, as a share of its length.
    place: f64,
    /// The frequency, in hertz, above which partials grow weaker.
    bright: f64,
    /// The time in which the fundamental sinks by 60 dB, in seconds.
    dying: f64,
}

const LOW_STRING: Pluck = Pluck { place: 0.19, bright: 700.0, dying: 2.2 };
const CHORD_STRING: Pluck = Pluck { place: 0.31, bright: 1300.0, dying: 0.9 };

impl PluckedString {
    /// A string plucked at one place. Partial n has the amplitude `sin(n pi place) / n` (the ideal string; Fletcher and Rossing, *The
    /// Physics of Musical Instruments*, 1998, from memory), made weaker above the bright point; higher partials die sooner.
    /// Normalised so that no sample is beyond 1.
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

/// A bound that a sum of harmonic sines with these amplitudes does not exceed, from its values at 512 places of one period.
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
    // The second half of the period mirrors the first, so 257 places are enough; 2 % is added for peaks between two places.
    1.02 * (0..=256).map(value).fold(1e-9, f64::max)
}

impl BandVoice {
    /// The voice of a note, where `a4` is the frequency of A4.
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
        // The fall lies inside the note's length, so that the note is silent when the next note of its part begins.
        let fall = fall.min(held / 2).max(1);
        Self {
            at: note.at.0,
            until_release: held.saturating_sub(fall),
            length: held,
            done: 0,
            rising: samples(RISE) as f64,
            falling: fall as f64,
            gain,
            source,
        }
    }
    /// Whether the note has ended.
    pub(super) const fn over(&self) -> bool {
        self.done >= self.length
    }
    /// Adds the samples of the note that fall into `out`, a block that begins at sample `from`. Blocks have to follow one another
    /// without a gap.
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
                let down = (index + 1.0 - self.until_release as f64) / self.falling;
                string.next() * edge((index + 1.0) / self.rising) * (1.0 - edge(down))
            }
            VoiceSource::Brush { state, low, lower } => {
                // Xorshift (Marsaglia, *Xorshift RNGs*, Journal of Statistical Software 8, 2003).
                *state ^= *state << 13;
                *state ^= *state >> 7;
                *state ^= *state << 17;
                let noise = (*state >> 11) as f64 / (1u64 << 52) as f64 - 1.0;
                // Noise between about 1 and 6 kHz sounds like a brush.
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
