use std::f64::consts::PI;
use std::sync::Arc;

use realfft::RealToComplex;

use super::{Bin, Canceller};

/// A pace further from that of the clocks' lines than this is not looked for, and would be a mistake.
pub const FARTHEST: f64 = 300e-6;
/// Distance of two paces that are tried.
const APART: f64 = 5e-6;
/// Number of paces that are tried.
const TRIED: usize = 121;
/// Highest frequency that is looked at, hertz: above it the band is soft, and the turn of a second no longer tells one pace from the next.
const HIGHEST: f64 = 2000.0;
/// A bin turns by this much at most from one pace that is tried to the next, radians: more cannot be told from less.
const MOST_TURN: f64 = 0.7;
/// What was heard counts this long, seconds: a player and his loudspeaker may move.
const MEMORY: f64 = 3.0;
/// Forgetting factor of what an older path leaves over, for each block.
const LEFT_MEMORY: f32 = 0.9;
/// Least share of a block's own power among what is left over: a player's attack counts at once.
const OWN: f32 = 0.3;
/// A path is never thought to be right to more than this share of its power.
const PATH_DOUBT: f32 = 0.03;
/// Share of the Kalman gain by which a bin becomes newer. Only half of a block's transform reaches the path, for it is cut to its length;
/// the rest was read off takes whose clocks are known.
const RENEWED: f64 = 0.25;
/// A path that was learned while the band was read at a pace this wrong counts half.
const READ_WRONG: f64 = 20e-6;
/// At the right pace at least this share of the band's power is found in the microphone.
const FOUND: f32 = 0.5;
/// The right pace must be this many times as likely as chance would make one.
const SURE: f32 = 8.0;

/// How far the band was read.
#[derive(Debug, Clone, Copy)]
pub struct BandReading {
    /// Number of samples of the input since the band began.
    pub at: f64,
    /// By how many samples the band was read further since then than the clocks' lines say, without jumps.
    pub ahead: f64,
    /// By how much faster than the clocks' lines say it is read now.
    pub hastened: f64,
}

/// Where the band was when a bin of the path was learned, in the mean: see [`BandReading`].
#[derive(Debug, Clone, Copy, Default)]
struct BinLearned {
    at: f64,
    ahead: f64,
}

/// A path's bins as they were learned, beside a path that was kept.
#[derive(Debug, Clone)]
struct KeptBins {
    bins: Vec<BinLearned>,
    /// By how much the pace of reading was corrected when the path was kept.
    hastened: f64,
}

/// The pace of the loudspeaker's clock against the microphone's: while both run apart, the echo turns away from what an older path predicts,
/// the more the higher a bin and the older its path is. Of many paces the one is taken at which the prediction fits best. Unlike a loop, which
/// mends its pace by each look, this weighs all that was heard in the newest seconds, knows how old each bin is, and cannot swing.
#[derive(Clone)]
pub struct PathPace {
    /// Fourier transform of two blocks.
    forward: Arc<dyn RealToComplex<f32>>,
    /// Hann window over two blocks.
    window: Vec<f32>,
    /// When the newest path was learned.
    learned: Vec<BinLearned>,
    /// When the path that is asked next was learned.
    newer: KeptBins,
    /// When the path that is asked was learned.
    older: KeptBins,
    /// What the older path predicted in the block before, and what came.
    before: [Vec<f32>; 2],
    /// Instant of the block in `before`, where it belongs to the older path.
    heard: Option<f64>,
    /// Spectra of what the older path predicts and of what came.
    spectra: [Vec<Bin>; 2],
    /// For each bin, the mean power of what came and was not predicted.
    left: Vec<f32>,
    /// How likely each pace is that is tried.
    likely: Vec<f32>,
    /// How likely the right pace would be, and the square of what chance makes of it.
    due: [f32; 2],
    /// The likeliest pace so far.
    best: Option<f64>,
    /// Forgetting factor of `likely` and `due`, for each block.
    kept: f32,
    /// Memory for two blocks in time.
    wave: Vec<f32>,
    /// Memory of the Fourier transforms.
    scratch: Vec<Bin>,
}

impl std::fmt::Debug for PathPace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PathPace").field("best", &self.best).finish_non_exhaustive()
    }
}

impl PathPace {
    /// For the paths of this canceller; nothing is known yet.
    #[must_use]
    pub fn new(canceller: &Canceller) -> Self {
        let block = canceller.block;
        let spacing = canceller.per_second / (2 * block) as f64;
        let looked_at = canceller.bins().min(2 + (HIGHEST / spacing) as usize);
        let kept = KeptBins { bins: vec![BinLearned::default(); looked_at], hastened: 0.0 };
        let (silence, spectrum) = (vec![0.0; block], vec![Bin::default(); canceller.bins()]);
        Self {
            forward: Arc::clone(&canceller.forward),
            window: canceller.window(),
            learned: kept.bins.clone(),
            newer: kept.clone(),
            older: kept,
            before: [silence.clone(), silence],
            heard: None,
            spectra: [spectrum.clone(), spectrum],
            left: vec![0.0; looked_at],
            likely: vec![0.0; TRIED],
            due: [0.0; 2],
            best: None,
            kept: (-(block as f64) / canceller.per_second / MEMORY).exp() as f32,
            wave: vec![0.0; 2 * block],
            scratch: canceller.scratch.clone(),
        }
    }

    /// Notes which bins of the path the newest block has taught.
    pub fn learn(&mut self, canceller: &Canceller, now: BandReading) {
        for (learned, gain) in self.learned.iter_mut().zip(&canceller.gains) {
            let newer = RENEWED * f64::from(*gain);
            learned.at += newer * (now.at - learned.at);
            learned.ahead += newer * (now.ahead - learned.ahead);
        }
    }

    /// The canceller's path was kept; the one that was kept before is asked from now on.
    pub fn keep(&mut self, now: BandReading) {
        std::mem::swap(&mut self.older, &mut self.newer);
        self.newer.bins.copy_from_slice(&self.learned);
        self.newer.hastened = now.hastened;
        self.heard = None;
    }

    /// The canceller was given the older path again.
    pub fn put_back(&mut self) {
        self.learned.copy_from_slice(&self.older.bins);
        self.newer.bins.copy_from_slice(&self.older.bins);
        self.newer.hastened = self.older.hastened;
    }

    /// Takes in a block and what the older path predicts in it; `fits` says that this path may be asked.
    pub fn hear(&mut self, predicted: &[f32], microphone: &[f32], now: BandReading, fits: bool) {
        let asked = fits && self.heard == Some(now.at - predicted.len() as f64);
        self.heard = Some(now.at);
        for (which, samples) in [predicted, microphone].into_iter().enumerate() {
            let before = &mut self.before[which];
            if asked {
                let both = before.iter().chain(samples);
                for ((wave, window), sample) in self.wave.iter_mut().zip(&self.window).zip(both) {
                    *wave = window * sample;
                }
                let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectra[which], &mut self.scratch);
            }
            before.copy_from_slice(samples);
        }
        if asked {
            self.weigh(predicted.len(), now);
            self.choose();
        }
    }

    /// Weighs every pace by the newest two blocks.
    fn weigh(&mut self, block: usize, now: BandReading) {
        let pace = self.best.unwrap_or(now.hastened);
        let wrong = (pace - self.older.hastened) / READ_WRONG;
        // Nothing is known yet: what comes first is to weigh little beside what comes once the pace is about known.
        let counts = if self.best.is_some() { (1.0 / (1.0 + wrong * wrong)) as f32 } else { 0.01 };
        self.likely.iter_mut().chain(&mut self.due).for_each(|sum| *sum *= self.kept);
        let step = PI / block as f64;
        let [echo, came] = &self.spectra;
        for (k, old) in self.older.bins.iter().enumerate().skip(1) {
            let (echo, came, turn) = (echo[k], came[k], step * k as f64);
            let (age, ahead) = (turn * (now.at - old.at), turn * (now.ahead - old.ahead));
            let left = (came * turned(ahead - pace * age) - echo).norm_sqr();
            self.left[k] = LEFT_MEMORY * self.left[k] + (1.0 - LEFT_MEMORY) * left;
            if age * APART > MOST_TURN {
                continue;
            }
            let power = echo.norm_sqr();
            let doubt = self.left[k].max(OWN * left) + PATH_DOUBT * power + 1e-9;
            self.due[0] += counts * power / doubt;
            self.due[1] += counts * counts * power / doubt;
            let mut found = came * echo.conj() * turned(ahead + FARTHEST * age) * (counts / doubt);
            let on = turned(-APART * age);
            for likely in &mut self.likely {
                *likely += found.re;
                found *= on;
            }
        }
    }

    /// Chooses the likeliest pace, where it is clearly more than chance.
    fn choose(&mut self) {
        let first = (0, f32::MIN);
        let (at, most) =
            self.likely.iter().enumerate().fold(first, |best, (n, it)| if *it > best.1 { (n, *it) } else { best });
        let [due, chance] = self.due;
        if (1..TRIED - 1).contains(&at) && most > FOUND * due && most > SURE * chance.sqrt() {
            let (below, above) = (self.likely[at - 1], self.likely[at + 1]);
            let bent = below - 2.0 * most + above;
            let between = if bent < 0.0 { 0.5 * (below - above) / bent } else { 0.0 };
            self.best = Some(APART * (at as f64 + f64::from(between)) - FARTHEST);
        }
    }

    /// By how much the loudspeaker's clock runs faster than the clocks' lines say; `None` where nothing has shown it yet.
    #[must_use]
    pub const fn pace(&self) -> Option<f64> {
        self.best
    }
}

/// One, turned by so many radians.
fn turned(by: f64) -> Bin {
    let (sine, cosine) = by.sin_cos();
    Bin::new(cosine as f32, sine as f32)
}
