/// The recent samples of one signal with their running energy, so that the energy of any window is one subtraction.
///
/// Before the first sample lies silence. Positions count samples from the first one ever pushed; those before it are negative.
/// The kept samples are always one slice; nothing is allocated after construction.
#[derive(Debug, Clone)]
pub(super) struct SampleHistory {
    /// The kept samples, the newest last.
    samples: Vec<f32>,
    /// `energy[i]` is the sum of squares of the samples before `i`; one entry more than `samples`.
    energy: Vec<f64>,
    /// Number of samples that are always kept.
    keep: usize,
    /// Position of the first kept sample.
    first: i64,
}

impl SampleHistory {
    /// A history that can always look `keep` samples back.
    pub(super) fn new(keep: usize) -> Self {
        let mut samples = Vec::with_capacity(2 * keep);
        let mut energy = Vec::with_capacity(2 * keep + 1);
        samples.resize(keep, 0.0);
        energy.resize(keep + 1, 0.0);
        Self { samples, energy, keep, first: -(keep as i64) }
    }

    /// Adds the newest sample.
    pub(super) fn push(&mut self, sample: f32) {
        self.extend(&[sample]);
    }

    /// Adds the newest samples.
    pub(super) fn extend(&mut self, samples: &[f32]) {
        let mut rest = samples;
        while !rest.is_empty() {
            if self.samples.len() == 2 * self.keep {
                self.forget();
            }
            let (now, later) = rest.split_at(rest.len().min(2 * self.keep - self.samples.len()));
            let mut sum = self.energy[self.samples.len()];
            self.samples.extend_from_slice(now);
            self.energy.extend(now.iter().map(|sample| {
                sum += f64::from(*sample) * f64::from(*sample);
                sum
            }));
            rest = later;
        }
    }

    /// Drops the older half and starts the running sum anew, so that it keeps its precision for ever.
    fn forget(&mut self) {
        let gone = self.samples.len() - self.keep;
        self.samples.copy_within(gone.., 0);
        self.samples.truncate(self.keep);
        let base = self.energy[gone];
        for i in 0..=self.keep {
            self.energy[i] = self.energy[gone + i] - base;
        }
        self.energy.truncate(self.keep + 1);
        self.first += gone as i64;
    }

    /// The position after the newest sample.
    pub(super) fn end(&self) -> i64 {
        self.first + self.samples.len() as i64
    }

    /// The newest `count` samples (at most as many as are kept).
    pub(super) fn tail(&self, count: usize) -> &[f32] {
        &self.samples[self.samples.len() - count.min(self.samples.len())..]
    }

    /// The samples from one position to another, cut to what is kept.
    pub(super) fn window(&self, from: i64, to: i64) -> &[f32] {
        let (from, to) = (self.place(from), self.place(to));
        &self.samples[from..to.max(from)]
    }

    /// The sum of squares from one position to another, cut to what is kept.
    pub(super) fn energy(&self, from: i64, to: i64) -> f64 {
        let (from, to) = (self.place(from), self.place(to));
        (self.energy[to.max(from)] - self.energy[from]).max(0.0)
    }

    /// The running sums of the newest `count` samples and the one before them.
    pub(super) fn running(&self, count: usize) -> &[f64] {
        &self.energy[self.energy.len() - 1 - count.min(self.samples.len())..]
    }

    /// Mean power of the samples from one position to another.
    pub(super) fn power(&self, from: i64, to: i64) -> f64 {
        self.energy(from, to) / (to - from).max(1) as f64
    }

    fn place(&self, position: i64) -> usize {
        (position - self.first).clamp(0, self.samples.len() as i64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_energy_of_a_window_survives_many_forgettings() {
        let mut history = SampleHistory::new(100);
        let samples: Vec<f32> = (0..1234).map(|i| (i % 7) as f32).collect();
        samples.chunks(37).for_each(|chunk| history.extend(chunk));
        assert_eq!(history.end(), 1234);
        let window = history.window(1180, 1230);
        let sum: f64 = window.iter().map(|s| f64::from(*s) * f64::from(*s)).sum();
        assert_eq!(window.len(), 50);
        assert_eq!(window[0], (1180 % 7) as f32);
        assert!((history.energy(1180, 1230) - sum).abs() < 1e-9);
    }

    #[test]
    fn before_the_first_sample_lies_silence() {
        let mut history = SampleHistory::new(10);
        history.push(1.0);
        assert_eq!(history.window(-3, 1), [0.0, 0.0, 0.0, 1.0]);
    }
}
