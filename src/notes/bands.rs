use super::clock::Clock;
use super::filters::{GentleHighPass, HighPass, dot, low_pass};
use super::history::History;
use super::hum::Hum;

/// How much heard sound is kept, in seconds: enough to look back over an onset and 300 ms of note.
const KEEP_S: f64 = 0.8;
/// Samples beyond this are taken for a broken device.
const LIMIT: f32 = 8.0;

/// A signal at a fraction of the heard rate.
#[derive(Debug, Clone)]
pub(super) struct Band {
    /// What was heard in it.
    pub(super) history: History,
    /// Heard samples to one of its own.
    pub(super) factor: usize,
    taps: Vec<f32>,
    high_pass: Option<GentleHighPass>,
}

/// The stream as the ear takes it in: free of rumble, and in three bands for short, middle and long periods.
#[derive(Debug, Clone)]
pub(super) struct Bands {
    /// All that is heard, the middle band (below 3.2 kHz) and the low band (below 1.8 kHz).
    pub(super) bands: [Band; 3],
    clock: Clock,
    rumble: HighPass,
    pub(super) hum: Hum,
    raw: History,
    thin_taps: Vec<f32>,
    taken: usize,
    pending: usize,
}

impl Band {
    fn new(clock: &Clock, factor: usize, cutoffs_hz: Option<(f64, f64)>, taps_44k: f64) -> Self {
        let keep = (clock.heard_hz * KEEP_S) as usize / factor;
        let scale = clock.heard_hz / 44_100.0;
        let taps = match cutoffs_hz {
            Some((top, _)) if top < 0.4 * clock.heard_hz => {
                low_pass(top, clock.heard_hz, ((taps_44k * scale).round() as usize).max(8))
            }
            _ => vec![1.0],
        };
        let high_pass = cutoffs_hz.map(|(_, bottom)| GentleHighPass::new(bottom, clock.heard_hz / factor as f64));
        Self { history: History::new(keep), factor, taps, high_pass }
    }

    fn fill(&mut self, all: &History, hop: usize) {
        let reach = self.taps.len();
        let window = all.tail(hop + reach - 1);
        for end in (self.factor..=hop).step_by(self.factor) {
            let sample = f64::from(dot(&window[end - 1..end - 1 + reach], &self.taps));
            let sample = self.high_pass.as_mut().map_or(sample, |filter| filter.next(sample));
            self.history.push(sample as f32);
        }
    }
}

impl Bands {
    /// The bands of a stream.
    pub(super) fn new(clock: Clock) -> Self {
        let stream_hz = clock.heard_hz * clock.thin as f64;
        let thin_taps = low_pass(0.42 * clock.heard_hz, stream_hz, Clock::taps(clock.thin));
        Self {
            bands: [
                Band::new(&clock, 1, None, 1.0),
                Band::new(&clock, clock.middle, Some((3200.0, 100.0)), 48.0),
                Band::new(&clock, clock.low, Some((1800.0, 60.0)), 32.0),
            ],
            rumble: HighPass::new(30.0, stream_hz),
            hum: Hum::new(&clock),
            raw: History::new(4 * thin_taps.len()),
            thin_taps,
            taken: 0,
            pending: 0,
            clock,
        }
    }

    /// Everything that was heard, at the heard rate.
    pub(super) fn all(&self) -> &History {
        &self.bands[0].history
    }

    /// Learns hum from the newest hop, where nobody plays; true when the room is another from here on.
    pub(super) fn learn_hum(&mut self, quiet: bool) -> bool {
        self.hum.hear(self.bands[0].history.tail(self.clock.hop), quiet)
    }

    /// Takes one sample of the stream; true when a hop is complete. What is not a number is silence.
    pub(super) fn take(&mut self, sample: f32) -> bool {
        let sample = if sample.is_finite() { sample.clamp(-LIMIT, LIMIT) } else { 0.0 };
        let quiet = self.rumble.next(f64::from(sample)) as f32;
        if self.clock.thin > 1 {
            self.raw.push(quiet);
            self.taken += 1;
            if self.taken < self.clock.thin {
                return false;
            }
            self.taken = 0;
            let thinned = dot(self.raw.tail(self.thin_taps.len()), &self.thin_taps);
            self.bands[0].history.push(self.hum.take(thinned));
        } else {
            self.bands[0].history.push(self.hum.take(quiet));
        }
        self.pending += 1;
        if self.pending < self.clock.hop {
            return false;
        }
        self.pending = 0;
        let (all, lower) = self.bands.split_at_mut(1);
        for band in lower {
            band.fill(&all[0].history, self.clock.hop);
        }
        true
    }
}
