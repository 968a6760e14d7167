use crate::units::{SampleRate, Seconds};

/// This many samples are summed to one: what is played lies far below the frequencies that this loses.
const THINNED: usize = 4;
/// Length of the sound that is compared.
const COMPARED: Seconds = Seconds(0.5);
/// Longest jump that is looked for.
const FARTHEST: Seconds = Seconds(0.012);
/// A shorter shift than this is left to the filter.
const SHORTEST: Seconds = Seconds(0.0005);
/// Least likeness, 0 to 1, at the new place.
const LIKE: f64 = 0.3;
/// The likeness at the new place must be this many times that at the old place.
const BETTER: f64 = 1.25;
/// At the new place at least this share of the predicted power must be found in the microphone, whatever the player adds: chords are like
/// themselves a few milliseconds on, but not so much.
const FOUND: f64 = 0.8;

/// Finds a jump of the delay between loudspeaker and microphone: what an older path predicts is then found a little earlier or later in the
/// microphone (generalised correlation, unweighted: Knapp and Carter, IEEE Trans. ASSP 24, 1976).
#[derive(Debug, Clone)]
pub(super) struct PathJump {
    /// The newest of the predicted echo and of the microphone, thinned: two rings of one length.
    heard: [Vec<f32>; 2],
    /// Index in the rings of the oldest.
    next: usize,
    /// How many were taken in since the last jump.
    known: usize,
    /// The same in order, for a comparison.
    ordered: [Vec<f32>; 2],
    /// Number of thinned samples of the longest jump.
    farthest: usize,
    /// Number of thinned samples of the shortest jump.
    shortest: f64,
    /// The jump that the last look found, in thinned samples.
    found: Option<f64>,
}

impl PathJump {
    /// Nothing heard yet, at this rate.
    pub fn new(rate: SampleRate) -> Self {
        let thinned = |seconds: Seconds| rate.samples(seconds) / THINNED;
        let room = || vec![0.0; thinned(COMPARED)];
        Self {
            heard: [room(), room()],
            next: 0,
            known: 0,
            ordered: [room(), room()],
            farthest: thinned(FARTHEST),
            shortest: rate.samples(SHORTEST) as f64 / THINNED as f64,
            found: None,
        }
    }

    /// Takes in a block, and what an older path predicts for it.
    pub fn hear(&mut self, predicted: &[f32], microphone: &[f32]) {
        for (echo, came) in predicted.chunks(THINNED).zip(microphone.chunks(THINNED)) {
            self.heard[0][self.next] = echo.iter().sum();
            self.heard[1][self.next] = came.iter().sum();
            self.next = (self.next + 1) % self.heard[0].len();
            self.known += 1;
        }
    }

    /// By how many samples the echo comes later than predicted, where two looks running say so.
    pub fn look(&mut self) -> Option<f64> {
        let (last, now) = (self.found, self.find());
        self.found = now;
        let (Some(last), Some(now)) = (last, now) else { return None };
        if (last - now).abs() > self.shortest {
            return None;
        }
        (self.known, self.found) = (0, None);
        Some(now * THINNED as f64)
    }

    /// The shift, in thinned samples, at which the two are most alike, where that is clearly not 0.
    fn find(&mut self) -> Option<f64> {
        if self.known < self.heard[0].len() {
            return None;
        }
        for (ordered, heard) in self.ordered.iter_mut().zip(&self.heard) {
            let (new, old) = heard.split_at(self.next);
            ordered[..old.len()].copy_from_slice(old);
            ordered[old.len()..].copy_from_slice(new);
        }
        let [echo, came] = &self.ordered;
        let far = self.farthest;
        let middle = &echo[far..echo.len() - far];
        let power = |of: &[f32]| of.iter().map(|it| f64::from(it * it)).sum::<f64>();
        let whole = (power(middle) * power(came)).sqrt();
        if whole <= 0.0 {
            return None;
        }
        let like = |shift: usize| -> f64 {
            let part = &came[shift..shift + middle.len()];
            f64::from(middle.iter().zip(part).map(|(a, b)| a * b).sum::<f32>()) / whole
        };
        let mut best = (0, like(0));
        for shift in 1..=2 * far {
            let now = like(shift);
            if now > best.1 {
                best = (shift, now);
            }
        }
        let (shift, most) = best;
        let found = most * whole / power(middle);
        if shift == 0 || shift == 2 * far || most < LIKE || found < FOUND || most < BETTER * like(far) {
            return None;
        }
        let (below, above) = (like(shift - 1), like(shift + 1));
        let bent = below - 2.0 * most + above;
        let between = if bent < 0.0 { 0.5 * (below - above) / bent } else { 0.0 };
        let jump = shift as f64 - far as f64 + between;
        (jump.abs() > self.shortest).then_some(jump)
    }
}
