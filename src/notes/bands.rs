use super::filters::{GentleHighPass, HighPass, dot, dots, low_pass};
use super::hum::Hum;
use super::sample_history::SampleHistory;
use super::time_base::TimeBase;

/// Seconds of heard sound that are kept: enough to look back over an onset and 300 ms of note.
const KEEP_S: f64 = 0.8;
/// Samples beyond this size are clipped to this size: only a broken device sends such samples.
const LIMIT: f32 = 8.0;
/// Number of samples of a lower band that are filtered at once.
const TOGETHER: usize = 4;

/// A signal at a fraction of the heard rate.
#[derive(Debug, Clone)]
pub(super) struct Band {
    /// The samples of the band.
    pub(super) history: SampleHistory,
    /// Number of heard samples to one sample of the band.
    pub(super) factor: usize,
    /// Low-pass before every `factor`th sample is taken.
    taps: Vec<f32>,
    /// Takes out rumble below the band.
    high_pass: Option<GentleHighPass>,
    /// The newest samples of the band on their way to the history.
    fresh: Vec<f32>,
}

/// The stream as the ear takes it in: free of rumble, and in three bands for short, middle and long periods.
#[derive(Debug, Clone)]
pub(super) struct Bands {
    /// All that is heard, the middle band (below 3.2 kHz) and the low band (below 1.8 kHz).
    pub(super) bands: [Band; 3],
    /// Rates and lengths that follow from the rate of the stream.
    time: TimeBase,
    /// Takes out rumble below 30 Hz.
    rumble: HighPass,
    /// Mains hum, which is learnt and taken out.
    pub(super) hum: Hum,
    /// The newest samples of the stream on their way to the bands.
    fresh: Vec<f32>,
    /// The newest samples of the stream, for the filter that thins it.
    raw: SampleHistory,
    /// Low-pass before every `thin`th sample of the stream is taken.
    thin_taps: Vec<f32>,
    /// Samples of the stream since the last one that was taken.
    taken: usize,
    /// Heard samples since the last complete hop.
    pending: usize,
}

impl Band {
    fn new(time: &TimeBase, factor: usize, cutoffs_hz: Option<(f64, f64)>, taps_44k: f64) -> Self {
        let keep = (time.heard_hz * KEEP_S) as usize / factor;
        let scale = time.heard_hz / 44_100.0;
        let taps = match cutoffs_hz {
            Some((top, _)) if top < 0.4 * time.heard_hz => {
                low_pass(top, time.heard_hz, ((taps_44k * scale).round() as usize).max(8))
            }
            _ => vec![1.0],
        };
        let high_pass = cutoffs_hz.map(|(_, bottom)| GentleHighPass::new(bottom, time.heard_hz / factor as f64));
        let fresh = Vec::with_capacity(time.hop / factor);
        Self { history: SampleHistory::new(keep), factor, taps, high_pass, fresh }
    }

    fn fill(&mut self, all: &SampleHistory, hop: usize) {
        let reach = self.taps.len();
        let window = all.tail(hop + reach - 1);
        self.fresh.resize(hop / self.factor, 0.0);
        for (group, samples) in self.fresh.chunks_mut(TOGETHER).enumerate() {
            let from = &window[(group * TOGETHER + 1) * self.factor - 1..];
            if samples.len() == TOGETHER {
                samples.copy_from_slice(&dots::<TOGETHER>(&self.taps, from, self.factor));
            } else {
                for (place, sample) in samples.iter_mut().enumerate() {
                    *sample = dot(&self.taps, &from[place * self.factor..][..reach]);
                }
            }
        }
        if let Some(filter) = &mut self.high_pass {
            self.fresh.iter_mut().for_each(|sample| *sample = filter.next(f64::from(*sample)) as f32);
        }
        self.history.extend(&self.fresh);
    }
}

impl Bands {
    /// The bands of a stream.
    pub(super) fn new(time: TimeBase) -> Self {
        let stream_hz = time.heard_hz * time.thin as f64;
        let thin_taps = low_pass(0.42 * time.heard_hz, stream_hz, TimeBase::taps(time.thin));
        Self {
            bands: [
                Band::new(&time, 1, None, 1.0),
                Band::new(&time, time.middle, Some((3200.0, 100.0)), 48.0),
                Band::new(&time, time.low, Some((1800.0, 60.0)), 32.0),
            ],
            rumble: HighPass::new(30.0, stream_hz),
            hum: Hum::new(&time),
            fresh: Vec::with_capacity(time.hop * time.thin),
            raw: SampleHistory::new(4 * thin_taps.len()),
            thin_taps,
            taken: 0,
            pending: 0,
            time,
        }
    }

    /// Everything that was heard, at the heard rate.
    pub(super) fn all(&self) -> &SampleHistory {
        &self.bands[0].history
    }

    /// Learns hum from the newest hop, where nobody plays; true when the room has to be learnt anew.
    pub(super) fn learn_hum(&mut self, quiet: bool) -> bool {
        self.hum.hear(self.bands[0].history.tail(self.time.hop), quiet)
    }

    /// Takes samples of the stream up to the end of the hop; gives how many were taken, and whether the hop is complete. What is
    /// not a number is taken as silence.
    pub(super) fn take(&mut self, samples: &[f32]) -> (usize, bool) {
        let open = (self.time.hop - self.pending) * self.time.thin - self.taken;
        let count = open.min(samples.len());
        let sane = |sample: &f32| if sample.is_finite() { sample.clamp(-LIMIT, LIMIT) } else { 0.0 };
        self.fresh.clear();
        self.fresh.extend(samples[..count].iter().map(sane));
        self.rumble.filter(&mut self.fresh);
        if self.time.thin > 1 {
            self.thin();
        }
        self.hum.take_out(&mut self.fresh);
        self.bands[0].history.extend(&self.fresh);
        self.pending += self.fresh.len();
        if self.pending < self.time.hop {
            return (count, false);
        }
        self.pending = 0;
        self.rumble.rest();
        let (all, lower) = self.bands.split_at_mut(1);
        for band in lower {
            band.fill(&all[0].history, self.time.hop);
        }
        (count, true)
    }

    /// Leaves one heard sample of every `thin` fresh ones.
    fn thin(&mut self) {
        let mut heard = 0;
        for i in 0..self.fresh.len() {
            self.raw.push(self.fresh[i]);
            self.taken += 1;
            if self.taken == self.time.thin {
                self.taken = 0;
                self.fresh[heard] = dot(self.raw.tail(self.thin_taps.len()), &self.thin_taps);
                heard += 1;
            }
        }
        self.fresh.truncate(heard);
    }
}
