use crate::cue::TapSound;
use crate::cue::knock::knock;
use crate::sound::{Clip, edge};
use crate::units::{SampleRate, Seconds};

/// The share of each new sample in the softened noise, 0 to 1: the coefficient of a low-pass filter with one pole.
const SOFTENED: f64 = 0.4;
/// How much stronger than a brush a dry tap is struck: it is over so soon that it would sound weak otherwise.
const DRY: f64 = 2.8;
/// From one tap of "your turn" to the other, before a free answer.
pub(super) const TAPS: Seconds = Seconds(0.15);

/// A sign that is told by sound alone: soft wood or brush, without pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoundSign {
    /// A cue comes: one rising stroke of the brush.
    Listen,
    /// The answer is due: a dry tap, sounded twice before an answer.
    YourTurn,
    /// The answer was early, or quicker than asked: a short stroke of the brush, then the knock of a beat.
    Early,
    /// The answer was late, or slower than asked: the knock of a beat, then two short strokes of the brush. (One stroke would differ from
    /// `Early` in the order alone.)
    Late,
    /// The answer was uneven, stood still, or had another rhythm: three short strokes of the brush, unevenly spaced.
    Uneven,
    /// The tempo rises: a run of four woods that come quicker and quicker, from low to high.
    Up,
    /// All right, and the tempo cannot rise or is kept: the run of `Up`, then one high wood by itself.
    Passed,
    /// The tempo stays: four low woods, evenly.
    Stay,
    /// The tempo falls: four woods that come slower and slower, from high to low.
    Down,
    /// What was played was another line, of which nothing counts: two short strokes of the brush and no wood.
    AnotherLine,
    /// The drill waits: one long falling stroke of the brush.
    Waits,
    /// The drill waits, for nothing comes from the microphone or the cable: one long falling stroke, then two knocks of a beat.
    Unheard,
    /// A pause or a rest is over, and the drill goes on: two rising strokes.
    GoesOn,
    /// The next cue is to be sung and not played: one stroke that swells and falls.
    Sing,
    /// The next cue is to be fingered in silence: two strokes that swell and fall.
    Finger,
    /// The drill rests and goes on by itself: two long falling strokes.
    Rests,
    /// The sitting is over: three long falling strokes.
    Over,
}

/// One stroke of a sign.
#[derive(Clone, Copy)]
enum SignStroke {
    Tap,
    /// The knock that counts a beat.
    Beat,
    Low,
    High,
    /// The brush: length in seconds, and where the stroke is strongest, as a share of its length.
    Brush(f64, f64),
}

const RISING: SignStroke = SignStroke::Brush(0.35, 0.85);
const SHORT: SignStroke = SignStroke::Brush(0.11, 0.3);
const LONG: SignStroke = SignStroke::Brush(0.7, 0.1);
const SWELL: SignStroke = SignStroke::Brush(0.8, 0.5);

impl SoundSign {
    /// All signs, in the order in which they are explained.
    pub const ALL: [Self; 17] = [
        Self::Listen,
        Self::YourTurn,
        Self::Early,
        Self::Late,
        Self::Uneven,
        Self::Up,
        Self::Passed,
        Self::Stay,
        Self::Down,
        Self::AnotherLine,
        Self::Waits,
        Self::Unheard,
        Self::GoesOn,
        Self::Sing,
        Self::Finger,
        Self::Rests,
        Self::Over,
    ];

    /// The strokes of the sign, each with its instant in seconds from the start of the sign. The woods of a verdict come in a run that no
    /// count is as quick as, so that they are told from the knocks of a count by their time and not by their pitch; whether the run gains,
    /// keeps even or falls behind says what the tempo does.
    const fn strokes(self) -> &'static [(f64, SignStroke)] {
        use SignStroke::{Beat, High, Low, Tap};
        match self {
            Self::Listen => &[(0.0, RISING)],
            Self::YourTurn => &[(0.0, Tap)],
            Self::Early => &[(0.0, SHORT), (0.15, Beat)],
            Self::Late => &[(0.0, Beat), (0.08, SHORT), (0.27, SHORT)],
            Self::Uneven => &[(0.0, SHORT), (0.15, SHORT), (0.42, SHORT)],
            Self::Up => &[(0.0, Low), (0.17, Low), (0.28, High), (0.35, High)],
            Self::Passed => &[(0.0, Low), (0.17, Low), (0.28, High), (0.35, High), (0.62, High)],
            Self::Stay => &[(0.0, Low), (0.12, Low), (0.24, Low), (0.36, Low)],
            Self::Down => &[(0.0, High), (0.07, High), (0.18, Low), (0.35, Low)],
            Self::AnotherLine => &[(0.0, SHORT), (0.3, SHORT)],
            Self::Waits => &[(0.0, LONG)],
            Self::Unheard => &[(0.0, LONG), (0.8, Beat), (1.1, Beat)],
            Self::GoesOn => &[(0.0, RISING), (0.45, RISING)],
            Self::Sing => &[(0.0, SWELL)],
            Self::Finger => &[(0.0, SWELL), (0.9, SWELL)],
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
    /// The samples of the stroke, with a peak near 1; of a dry tap near 1.5.
    fn render(self, rate: SampleRate) -> Vec<f32> {
        match self {
            Self::Beat => knock(rate, 1.0),
            Self::Low => knock(rate, 0.72),
            Self::High => knock(rate, 1.9),
            Self::Tap => hiss(rate, 0.03, |at| DRY * edge(at / 0.001) * (-at / 0.006).exp()),
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
