use crate::cue::knock::knock;
use crate::sound::{Clip, edge};
use crate::units::{SampleRate, Seconds};

/// How much of each new sample goes into softened noise.
const SOFTENED: f64 = 0.4;
/// From one tap of "your turn" to the other, in a free answer.
pub(super) const TAPS: Seconds = Seconds(0.15);

/// What is told by sound alone: soft wood and brush, no pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoundSign {
    /// A cue comes: one rising stroke of the brush.
    Listen,
    /// The answer is due: a dry tap; two of them lead in.
    YourTurn,
    /// It was not in time: two short strokes.
    NotInTime,
    /// The tempo rises: low wood, then high.
    Up,
    /// It stays: low wood twice.
    Stay,
    /// It falls: high wood, then low.
    Down,
    /// The drill waits: one long falling stroke.
    Waits,
    /// It rests, and goes on by itself: two.
    Rests,
    /// It is over: three.
    Over,
}

/// What is struck.
#[derive(Clone, Copy)]
enum SignStroke {
    Tap,
    Low,
    High,
    /// The brush: length in seconds, and where in it the stroke is strongest.
    Brush(f64, f64),
}

const RISING: SignStroke = SignStroke::Brush(0.35, 0.85);
const SHORT: SignStroke = SignStroke::Brush(0.11, 0.3);
const LONG: SignStroke = SignStroke::Brush(0.7, 0.1);

impl SoundSign {
    /// All of them, in the order in which they are explained.
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

    /// What is struck, each with its instant in seconds.
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

    /// Adds it to a clip from an instant on, with this peak or a little less.
    pub(super) fn mix(self, clip: &mut Clip, at: Seconds, peak: f32) {
        for (later, struck) in self.strokes() {
            let samples: Vec<f32> = struck.render(clip.rate).iter().map(|sample| peak * sample).collect();
            clip.mix(clip.rate.samples(at + Seconds(*later)), &samples);
        }
    }
}

impl SignStroke {
    /// Its samples, with a peak near 1.
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

/// Noise without its lows, so that no pitch is heard in it, and with little of its highs, which not every ear and loudspeaker has,
/// under an envelope. The same each time.
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
