use super::filters::dot;
use super::history::History;

/// Background blocks weigh at least one part in this many.
const MEMORY: f64 = 200.0;
/// Neighbours on each side that the interpolation between lags looks at.
const SIDE: usize = 4;
const TAPS: usize = 2 * SIDE + 1;
/// Steps of the interpolation to one lag, and how far it reaches from a lag to each side.
const PHASES: f64 = 64.0;
const REACH: f64 = 1.5;

/// Correlation of one band with itself at every lag of a range, kept block by block.
///
/// Each hop adds one block, `c(L) = sum x[n] x[n-L]` over the new samples. The window of a lag is its newest `blocks(L)`
/// blocks, so that short periods are known soon and long ones on enough of them. From the window's correlation `r` and the
/// energies of the window and of the window one lag earlier comes the normalised square difference
/// `n(L) = 2 r / (e + e')` (McLeod and Wyvill, "A smarter way to find pitch", 2005), 1 for a perfect period.
#[derive(Debug, Clone)]
pub(super) struct Correlation {
    /// The shortest lag, in samples of the band.
    pub(super) first_lag: usize,
    /// `n` of every lag.
    pub(super) clarity: Vec<f32>,
    hop: usize,
    window: Vec<usize>,
    /// `from[j]`: the first index of a lag whose window has more than `j` blocks.
    from: Vec<usize>,
    blocks: Vec<f32>,
    newest: usize,
    sums: Vec<f32>,
    mean_block: Vec<f32>,
    mean_energy: f64,
    interpolation: Vec<f32>,
}

impl Correlation {
    /// A table for the lags `first..=last`; `window` gives the blocks of a lag and never falls with it.
    pub(super) fn new(hop: usize, first: usize, last: usize, window: impl Fn(usize) -> usize) -> Self {
        let lags = (last + 1).saturating_sub(first);
        let window: Vec<usize> = (0..lags).map(|i| window(first + i)).collect();
        let depth = window.last().copied().unwrap_or(1);
        let from = (0..depth).map(|j| window.partition_point(|k| *k <= j)).collect();
        Self {
            first_lag: first,
            clarity: vec![0.0; lags],
            hop,
            window,
            from,
            blocks: vec![0.0; lags * depth],
            newest: 0,
            sums: vec![0.0; lags],
            mean_block: vec![0.0; lags],
            mean_energy: 0.0,
            interpolation: interpolation(),
        }
    }

    /// Samples of history that the longest window needs.
    pub(super) fn reach(&self) -> usize {
        let lags = self.clarity.len();
        self.window.last().map_or(0, |k| k * self.hop + self.first_lag + lags)
    }

    /// Blocks of the window of the lag at `index`.
    pub(super) fn blocks_at(&self, index: usize) -> usize {
        self.window[index.min(self.window.len() - 1)]
    }

    /// Takes in the newest hop of `history` and renews every `n`; subtracts up to `share` of the energy as background.
    pub(super) fn renew(&mut self, history: &History, share: f64) {
        let lags = self.clarity.len();
        if lags == 0 {
            return;
        }
        let depth = self.from.len();
        self.newest = (self.newest + 1) % depth;
        let samples = history.tail(self.hop + self.first_lag + lags);
        let end = samples.len();
        let new = &samples[end - self.hop..];
        let block = &mut self.blocks[self.newest * lags..(self.newest + 1) * lags];
        for (i, c) in block.iter_mut().enumerate() {
            let lag = self.first_lag + i;
            *c = dot(new, &samples[end - self.hop - lag..end - lag]);
        }
        self.sums.fill(0.0);
        for (j, from) in self.from.iter().enumerate() {
            let slot = (self.newest + depth - j) % depth;
            let block = &self.blocks[slot * lags + from..(slot + 1) * lags];
            for (sum, c) in self.sums[*from..].iter_mut().zip(block) {
                *sum += c;
            }
        }
        self.normalise(history, share);
    }

    fn normalise(&mut self, history: &History, share: f64) {
        let running = history.running(self.reach());
        let now = running.len() - 1;
        let (mut blocks, mut energy, mut quiet, mut weight) = (0, 0.0, 0.0, 0.0);
        for i in 0..self.clarity.len() {
            let lag = self.first_lag + i;
            if self.window[i] != blocks {
                blocks = self.window[i];
                energy = running[now] - running[now - blocks * self.hop];
                let background = self.mean_energy * blocks as f64;
                quiet = background.min(share * energy);
                weight = if background > 0.0 { quiet / background * blocks as f64 } else { 0.0 };
            }
            let lagged = running[now - lag] - running[now - lag - blocks * self.hop];
            let r = f64::from(self.sums[i]) - weight * f64::from(self.mean_block[i]);
            let both = energy + lagged - 2.0 * quiet;
            self.clarity[i] = if both > 1e-10 { (2.0 * r / both).min(1.5) as f32 } else { 0.0 };
        }
    }

    /// Learns the newest block as background, the `count`th so learnt.
    pub(super) fn learn(&mut self, history: &History, count: usize) {
        let lags = self.clarity.len();
        if lags == 0 {
            return;
        }
        let weight = 1.0 / (count.max(1) as f64).min(MEMORY);
        let block = &self.blocks[self.newest * lags..(self.newest + 1) * lags];
        for (mean, c) in self.mean_block.iter_mut().zip(block) {
            *mean += weight as f32 * (c - *mean);
        }
        let end = history.end();
        self.mean_energy += weight * (history.energy(end - self.hop as i64, end) - self.mean_energy);
    }

    /// Where between the lags the peak at `index` lies, and how high: the table is interpolated with a sinc under a Hann
    /// window, since a correlation has no more bandwidth than its signal, and a parabola is laid through close points.
    pub(super) fn peak(&self, index: usize) -> (f64, f64) {
        let value = |i: usize| f64::from(self.clarity[i]);
        let (left, middle, right) = (value(index - 1), value(index), value(index + 1));
        let shift = parabola(left, middle, right, 1.0);
        if index < SIDE || index + SIDE >= self.clarity.len() {
            return ((self.first_lag + index) as f64 + shift, (middle - 0.25 * (left - right) * shift).min(1.0));
        }
        let around = &self.clarity[index - SIDE..=index + SIDE];
        let grid = (shift * PHASES).round();
        let near = |phase: f64| -> f64 {
            let row = (phase + REACH * PHASES) as usize * TAPS;
            let taps = self.interpolation.get(row..row + TAPS).unwrap_or_default();
            around.iter().zip(taps).map(|(value, tap)| f64::from(value * tap)).sum()
        };
        let step = 0.25;
        let (a, b, c) = (near(grid - step * PHASES), near(grid), near(grid + step * PHASES));
        let fine = (grid / PHASES + parabola(a, b, c, step)).clamp(-1.0, 1.0);
        ((self.first_lag + index) as f64 + fine, b.max(middle).min(1.0))
    }
}

/// Where the top of a parabola through three points `step` apart lies, from the middle one.
pub(super) fn parabola(left: f64, middle: f64, right: f64, step: f64) -> f64 {
    let bend = left - 2.0 * middle + right;
    if bend.abs() < 1e-12 { 0.0 } else { (0.5 * (left - right) / bend * step).clamp(-step, step) }
}

/// Rows of taps for every phase from `-REACH` to `REACH` lags, each summing to 1.
fn interpolation() -> Vec<f32> {
    let rows = (2.0 * REACH * PHASES) as usize + 1;
    let mut taps = Vec::with_capacity(rows * TAPS);
    for row in 0..rows {
        let at = row as f64 / PHASES - REACH;
        let weights: Vec<f64> = (0..TAPS).map(|k| windowed_sinc(at - (k as f64 - SIDE as f64))).collect();
        let sum: f64 = weights.iter().sum();
        taps.extend(weights.iter().map(|w| (w / sum) as f32));
    }
    taps
}

fn windowed_sinc(t: f64) -> f64 {
    let turn = std::f64::consts::PI * t;
    if t.abs() < 1e-9 {
        1.0
    } else if t.abs() >= SIDE as f64 + 1.0 {
        0.0
    } else {
        turn.sin() / turn * (0.5 + 0.5 * (turn / (SIDE as f64 + 1.0)).cos())
    }
}
