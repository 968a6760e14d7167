use crate::cue::TapSound;
use crate::cue::knock::knock;
use crate::sound::{Clip, edge};
use crate::units::{SampleRate, Seconds};

/// The share of each new sample in the softened noise, 0 to 1: the coefficient of a low-pass filter with one pole.
const SOFTENED: f64 = 0.4;
/// From one tap of "your turn" to the other, before a free answer.
pub(super) const TAPS: Seconds = Seconds(0.15);

/// A sign that is told by sound alone: soft wood or brush, without pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoundSign {
    /// A cue comes: one rising stroke of the brush.
    Listen,
    /// The answer is due: a dry tap, sounded twice before an answer.
    YourTurn,
    /// The answer was not in time: two short strokes of the brush.
    NotInTime,
    /// The tempo rises: low wood, then high.
    Up,
    /// The tempo stays: low wood twice.
    Stay,
    /// The tempo falls: high wood, then low.
    Down,
    /// The drill waits: one long falling stroke of the brush.
    Waits,
    /// The drill rests and goes on by itself: two long falling strokes.
    Rests,
    /// The sitting is over: three long falling strokes.
    Over,
}

/// One stroke of a sign.
#[derive(Clone, Copy)]
enum SignStroke {
    Tap,
    Low,
    High,
    /// The brush: length in seconds, and where the stroke is strongest, as a share of its length.
    Brush(f64, f64),
}

const RISING: SignStroke = SignStroke::Brush(0.35, 0.85);
const SHORT: SignStroke = SignStroke::Brush(0.11, 0.3);
const LONG: SignStroke = SignStroke::Brush(0.7, 0.1);

impl SoundSign {
    /// All signs, in the order in which they are explained.
    pub const ALL: [Self; 9] = [
        Self::Listen,
        Self::YourTurn,
        Self::NotInTime,
        Self::Up,
        Self::Stay,
        Self::Down,
        Self::Waits,
        Self::Rests,
        Self::Over,
    ];

    /// The strokes of the sign, each with its instant in seconds from the start of the sign.
    const fn strokes(self) -> &'static [(f64, SignStroke)] {
        match self {
            Self::Listen => &[(0.0, RISING)],
            Self::YourTurn => &[(0.0, SignStroke::Tap)],
            Self::NotInTime => &[(0.0, SHORT), (0.16, SHORT)],
            Self::Up => &[(0.0, SignStroke::Low), (0.18, SignStroke::High)],
            Self::Stay => &[(0.0, SignStroke::Low), (0.18, SignStroke::Low)],
            Self::Down => &[(0.0, SignStroke::High), (0.18, SignStroke::Low)],
            Self::Waits => &[(0.0, LONG)],
            Self::Rests => &[(0.0, LONG), (0.8, LONG)],
            Self::Over => &[(0.0, LONG), (0.8, LONG), (1.6, LONG)],
        }
    }

    /// Adds the sign to a clip from instant `at` on; its peak is about `peak`.
    pub(super) fn mix(self, clip: &mut Clip, at: Seconds, peak: f32) {
        for (later, struck) in self.strokes() {
            let samples: Vec<f32> = struck.render(clip.rate).iter().map(|sample| peak * sample).collect();
            clip.mix(clip.rate.samples(at + Seconds(*later)), &samples);
        }
    }
}

impl TapSound {
    /// Adds the tap to a clip at instant `at`, with the peak `peak`.
    pub(super) fn mix(self, clip: &mut Clip, at: Seconds, peak: f32) {
        let stroke = match self {
            Self::Wood => SignStroke::High,
            Self::Brush => SHORT,
        };
        let mut samples = stroke.render(clip.rate);
        let loudest = samples.iter().fold(1e-6_f32, |most, sample| most.max(sample.abs()));
        samples.iter_mut().for_each(|sample| *sample *= peak / loudest);
        clip.mix(clip.rate.samples(at), &samples);
    }
}

impl SignStroke {
    /// The samples of the stroke, with a peak near 1.
    fn render(self, rate: SampleRate) -> Vec<f32> {
        match self {
            Self::Low => knock(rate, 0.72),
            Self::High => knock(rate, 1.9),
            Self::Tap => hiss(rate, 0.03, |at| edge(at / 0.001) * (-at / 0.006).exp()),
            Self::Brush(length, top) => hiss(rate, length, |at| {
                let place = at / length;
                edge(place / top) * edge((1.0 - place) / (1.0 - top))
            }),
        }
    }
}

/// Noise under an envelope, the same samples in every call. Its lows are taken out, so that no pitch is heard in it, and its highs
/// are softened, for not every ear hears them and not every loudspeaker plays them.
fn hiss(rate: SampleRate, length: f64, envelope: impl Fn(f64) -> f64) -> Vec<f32> {
    let (mut seed, mut before, mut soft) = (0x2545_f491_u32, 0.0, 0.0);
    let mut noise = || {
        seed ^= seed << 13;
        seed ^= seed >> 17;
        seed ^= seed << 5;
        f64::from(seed) / f64::from(u32::MAX) - 0.5
    };
    let mut one = |n: usize| {
        let now = noise();
        let high = now - std::mem::replace(&mut before, now);
        soft += SOFTENED * (high - soft);
        (2.4 * soft * envelope(n as f64 / rate.per_second())) as f32
    };
    (0..rate.samples(Seconds(length))).map(&mut one).collect()
}
